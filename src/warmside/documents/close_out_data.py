"""The close-out for machines: JSON with everything, CSV for whoever pays a grant."""

from __future__ import annotations

import csv
import io
import json
from datetime import date

from warmside.errors import inert
from warmside.study import Proven, ProvenWall, Study
from warmside.study.json_keys import Json, Kinds, keys_of, plain
from warmside.units import BOARD_FOOT, FOOT, R_IMPERIAL
from warmside.wording import PROMISES, worst


def close_out_json(proven: Proven, today: date) -> str:
    """Every figure of the close-out, its unit in the name of its key, as JSON text."""
    head = {"close_out": 1, "date": today.isoformat()}
    data = head | plain(proven, proven.study, _KEYS)
    # a source stands as its text
    return json.dumps(data, ensure_ascii=False, indent=1, allow_nan=False, default=str) + "\n"


def _bays(wall: ProvenWall, study: Study) -> list[Json]:
    """The foam of every bay, with the area that it covers."""
    return [plain(b, study, _KEYS) | {"area_m2": wall.areas[b.bay]} for b in wall.measured.bays]


# by the name of the class
_KEYS: Kinds = {
    "Proven": keys_of(
        "synthetic=measured.synthetic house=study.survey.house.name "
        "place=study.survey.house.place volume_m3=study.survey.house.volume "
        "indoor_humidity=measured.humidity fan_test=measured.fan density=measured.density "
        "house_promises=house walls left_to_do=remedies notes=measured.notes",
        closed=lambda proven, _: proven.measured.closed and proven.measured.closed.isoformat(),
        promises=lambda proven, _: {promise: proven.verdict(promise) for promise in PROMISES},
    ),
    "FanChange": keys_of(
        "before after removed removed_low removed_high joints_reckoned=joints.best "
        "explained_by_joints=explained more_than_scatter=surely same_fan least_shown=least remarks"
    ),
    "HouseLeakage": keys_of(
        "flow_50_m3_s=flow_50.best flow_50_low_m3_s=flow_50.low flow_50_high_m3_s=flow_50.high "
        "basis",
        air_change_50_per_h=lambda found, study: (
            found.air_change_50(study.survey.house.volume).best
        ),
    ),
    "DensityProof": keys_of("densities_kg_m3 verdict checks remarks"),
    "Check": keys_of("name figure least=low unit state source"),
    "KeptPromise": keys_of(
        "promise key name unit promised measured limit limit_is verdict basis reason source"
    ),
    "ProvenWall": keys_of(
        "wall=wall.wall.name option=measured.option "
        "rsi_whole_wall_before_m2k_w=wall.as_found.warm.resistance "
        "rsi_whole_wall_promised_m2k_w=promised.warm.resistance thickness=measured.thickness "
        "pictures=measured.pictures pictures_lost=measured.lost joints_colder=measured.leaks "
        "moisture=measured.moisture "
        "promises=kept",
        rsi_whole_wall_as_built_m2k_w=lambda wall, _: (
            wall.built.warm.resistance if wall.measured.bays else None
        ),
        bays=_bays,
    ),
    "BayFoam": keys_of("bay thickness_m planned_m how"),
    "ThicknessProof": keys_of(
        "rule sold_m probes_asked=asked verdict source mean_m=found?.mean least_m=found?.least "
        "deviation_m=found?.sd",
        probes=lambda thickness, _: thickness.found.count if thickness.found else 0,
    ),
    "ThermalProof": keys_of(
        "conditions=rules weak likeness offset_k common_k common_doubt_k whole_wall bays"
    ),
    "LostPicture": keys_of("file why"),
    "Rule": keys_of("what read asked met source"),
    "BayLook": keys_of(
        "bay seen measured_c predicted_c deviation_k thickness_m thickness_low_m=low "
        "thickness_high_m=high causes why_not_seen=why"
    ),
    "Cause": keys_of("kind weight why"),
    "JointLook": keys_of("joint kind streak_k length_m at_m"),
    "TrueReading": keys_of(
        "where=reading.where read_kg_kg=reading.moisture corrected_kg_kg=moisture doubt_kg_kg "
        "foretold_kg_kg verdict source",
        day=lambda reading, _: reading.reading.day.isoformat(),
    ),
    "Remedy": keys_of("wall where what foam_m3 foam_board_feet=board_feet joint_m why"),
}


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
