"""The close-out for machines: JSON with everything, CSV for whoever pays a grant."""

from __future__ import annotations

import csv
import io
import json
from datetime import date
from typing import Any

from warmside.errors import inert
from warmside.proof import BayFoam, BayLook, FanChange, MeasuredWall, ThermalProof
from warmside.study import KeptPromise, Proven, ProvenWall
from warmside.units import BOARD_FOOT, FOOT, R_IMPERIAL
from warmside.wording import PROMISES, worst

Json = dict[str, Any]


def close_out_json(proven: Proven, today: date) -> str:
    """Every figure of the close-out, its unit in the name of its key, as JSON text."""
    house, fan = proven.study.survey.house, proven.measured.fan
    data: Json = {
        "close_out": 1,
        "date": today.isoformat(),
        "synthetic": proven.measured.synthetic,
        "house": house.name,
        "place": house.place,
        "volume_m3": house.volume,
        "closed": proven.measured.closed.isoformat() if proven.measured.closed else None,
        "indoor_humidity": proven.measured.humidity,
        "promises": {promise: proven.verdict(promise) for promise in PROMISES},
        "fan_test": _fan(fan, house.volume) if fan else None,
        "density": _density(proven),
        "house_promises": [_kept(k) for k in proven.house],
        "walls": [_wall(w) for w in proven.walls],
        "left_to_do": [
            {
                "wall": r.wall,
                "where": r.where,
                "what": r.what,
                "foam_m3": r.foam,
                "foam_board_feet": r.board_feet,
                "joint_m": r.joint,
                "why": r.why,
            }
            for r in proven.remedies
        ],
        "notes": list(proven.measured.notes),
    }
    return json.dumps(data, ensure_ascii=False, indent=1, allow_nan=False) + "\n"


def close_out_csv(proven: Proven) -> str:
    """One row a wall, for whoever pays a grant: areas, thickness, resistances, verdicts."""
    buffer = io.StringIO()
    writer = csv.DictWriter(buffer, COLUMNS, lineterminator="\n")
    writer.writeheader()
    for wall in proven.walls:
        if wall.promised.option.foam:
            writer.writerow({key: inert(value) for key, value in _row(wall, proven).items()})
    return buffer.getvalue()


COLUMNS = (
    "house", "wall", "synthetic", "option", "product", "area_m2", "area_ft2",
    "thickness_sold_mm", "thickness_installed_mean_mm", "thickness_probes", "r_product_m2k_w",
    "r_product_h_ft2_f_btu", "r_whole_wall_before_m2k_w", "r_whole_wall_promised_m2k_w",
    "r_whole_wall_as_built_m2k_w", "air_change_50_before_per_h", "air_change_50_after_per_h",
    "foam_board_feet", "verdict_warm", "verdict_dry", "verdict_thickness", "source",
)  # fmt: skip
_FOOT2 = FOOT**2


def _row(wall: ProvenWall, proven: Proven) -> Json:
    option, part = wall.promised.option, wall.measured
    foam = proven.study.catalog.foam(option.foam or "")
    areas = wall.areas
    thickness = {b.bay: b.thickness for b in part.bays} or dict.fromkeys(areas, option.thickness)
    area = sum(areas.values())
    volume = sum(areas[bay] * t for bay, t in thickness.items())
    mean = volume / area
    # area-weighted conductance of the product alone, each bay by the table at its own thickness
    flow = sum(areas[bay] * foam.conductivity(t) / t for bay, t in thickness.items() if t > 1e-3)
    covered = sum(areas[bay] for bay, t in thickness.items() if t > 1e-3)
    rsi = covered / flow if flow else 0.0
    fan, volume_m3 = proven.measured.fan, proven.study.survey.house.volume
    found = part.thickness
    return {
        "house": proven.study.survey.house.name,
        "wall": wall.wall.wall.name,
        "synthetic": str(proven.measured.synthetic).lower(),
        "option": option.id,
        "product": foam.name,
        "area_m2": f"{area:.2f}",
        "area_ft2": f"{area / _FOOT2:.1f}",
        "thickness_sold_mm": f"{option.thickness * 1e3:.1f}",
        "thickness_installed_mean_mm": f"{mean * 1e3:.1f}" if part.bays else "",
        "thickness_probes": found.found.count if found and found.found else 0,
        "r_product_m2k_w": f"{rsi:.3f}",
        "r_product_h_ft2_f_btu": f"{rsi / R_IMPERIAL:.2f}",
        "r_whole_wall_before_m2k_w": f"{wall.wall.as_found.warm.resistance:.3f}",
        "r_whole_wall_promised_m2k_w": f"{wall.promised.warm.resistance:.3f}",
        "r_whole_wall_as_built_m2k_w": f"{wall.built.warm.resistance:.3f}" if part.bays else "",
        "air_change_50_before_per_h":
            f"{fan.before.air_change_50(volume_m3).best:.2f}" if fan else "",
        "air_change_50_after_per_h":
            f"{fan.after.air_change_50(volume_m3).best:.2f}" if fan else "",
        "foam_board_feet": f"{volume / BOARD_FOOT:.0f}",
        "verdict_warm": worst(k.verdict for k in wall.kept if k.promise == "warm"),
        "verdict_dry": worst(k.verdict for k in wall.kept if k.promise == "dry"),
        "verdict_thickness": found.verdict if found else "needs a person",
        "source": str(foam.source_heat),
    }  # fmt: skip


def _wall(wall: ProvenWall) -> Json:
    part = wall.measured
    return {
        "wall": wall.wall.wall.name,
        "option": part.option,
        "rsi_whole_wall_before_m2k_w": wall.wall.as_found.warm.resistance,
        "rsi_whole_wall_promised_m2k_w": wall.promised.warm.resistance,
        "rsi_whole_wall_as_built_m2k_w": wall.built.warm.resistance if part.bays else None,
        "bays": [_bay(b, wall.areas) for b in part.bays],
        "thickness": _thickness(part),
        "pictures": [_picture(p) for p in part.pictures],
        "joints_colder": [
            {"joint": j.joint, "kind": j.kind, "streak_k": j.streak, "length_m": j.length,
             "at_m": list(j.at) if j.at else None}
            for j in part.leaks
        ],
        "moisture": [
            {"where": r.reading.where, "day": r.reading.day.isoformat(),
             "read_kg_kg": r.reading.moisture, "corrected_kg_kg": r.moisture,
             "doubt_kg_kg": r.doubt, "foretold_kg_kg": r.foretold, "verdict": r.verdict,
             "source": str(r.source)}
            for r in part.moisture
        ],
        "promises": [_kept(k) for k in wall.kept],
    }  # fmt: skip


def _bay(bay: BayFoam, areas: dict[str, float]) -> Json:
    return {
        "bay": bay.bay,
        "area_m2": areas[bay.bay],
        "thickness_m": bay.thickness,
        "planned_m": bay.planned,
        "how": bay.how,
    }


def _thickness(part: MeasuredWall) -> Json | None:
    found = part.thickness
    if found is None:
        return None
    s = found.found
    return {
        "rule": found.rule,
        "sold_m": found.sold,
        "probes_asked": found.asked,
        "probes": s.count if s else 0,
        "mean_m": s.mean if s else None,
        "least_m": s.least if s else None,
        "deviation_m": s.sd if s else None,
        "verdict": found.verdict,
        "source": str(found.source),
    }


def _picture(picture: ThermalProof) -> Json:
    return {
        "conditions": [
            {"what": r.what, "read": r.read, "asked": r.asked, "met": r.met,
             "source": str(r.source)}
            for r in picture.rules
        ],
        "weak": picture.weak,
        "likeness": picture.likeness,
        "offset_k": picture.offset,
        "common_k": picture.common,
        "common_doubt_k": picture.common_doubt,
        "whole_wall": picture.whole_wall,
        "bays": [_look(b) for b in picture.bays],
    }  # fmt: skip


def _look(look: BayLook) -> Json:
    return {
        "bay": look.bay,
        "seen": look.seen,
        "measured_c": look.measured,
        "predicted_c": look.predicted,
        "deviation_k": look.deviation,
        "thickness_m": look.thickness,
        "thickness_low_m": look.low,
        "thickness_high_m": look.high,
        "causes": [{"kind": c.kind, "weight": c.weight, "why": c.why} for c in look.causes],
        "why_not_seen": look.why,
    }


def _kept(kept: KeptPromise) -> Json:
    return {
        "promise": kept.promise,
        "key": kept.key,
        "name": kept.name,
        "unit": kept.unit,
        "promised": kept.promised,
        "measured": kept.measured,
        "limit": kept.limit,
        "limit_is": kept.limit_is,
        "verdict": kept.verdict,
        "basis": kept.basis,
        "reason": kept.reason,
        "source": str(kept.source),
    }


def _fan(fan: FanChange, volume: float) -> Json:
    def flows(which: str) -> Json:
        leakage = getattr(fan, which)
        band = leakage.flow_50
        return {
            "flow_50_m3_s": band.best,
            "flow_50_low_m3_s": band.low,
            "flow_50_high_m3_s": band.high,
            "air_change_50_per_h": leakage.air_change_50(volume).best,
            "basis": leakage.basis,
        }

    return {
        "before": flows("before"),
        "after": flows("after"),
        "removed": fan.removed,
        "removed_low": fan.removed_low,
        "removed_high": fan.removed_high,
        "joints_reckoned": fan.joints.best,
        "explained_by_joints": fan.explained,
        "more_than_scatter": fan.surely,
        "same_fan": fan.same_fan,
        "least_shown": fan.least,
        "remarks": list(fan.remarks),
    }


def _density(proven: Proven) -> Json | None:
    found = proven.measured.density
    if found is None:
        return None
    return {
        "densities_kg_m3": list(found.densities),
        "verdict": found.verdict,
        "checks": [
            {"name": c.name, "figure": c.figure, "least": c.low, "unit": c.unit, "state": c.state,
             "source": str(c.source)}
            for c in found.checks
        ],
        "remarks": list(found.remarks),
    }  # fmt: skip
