"""The study as JSON: plain data, each key with its unit, no key without a value or null."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from math import inf
from typing import Any

from warmside import __version__
from warmside.catalog import Source
from warmside.estimate import Price
from warmside.framing import Frame
from warmside.options import LayerSources, Quantity
from warmside.physics.airflow import Band
from warmside.physics.assembly import Stack
from warmside.physics.conduction import WallHeat
from warmside.promises import DryPath, DryYears, Finding, HouseTight, JointGain, Tight, Worth
from warmside.study.answers import answers
from warmside.study.chances import Spread
from warmside.study.comparison import Comparison, compare
from warmside.study.parts import OptionStudy, Study, WallStudy
from warmside.study.thickness import thickness_curve
from warmside.wording import PROMISES

_LEVELS = 6  # of the text that start a new line
FORMAT = 2  # raised when a key changes its meaning or goes

Json = dict[str, Any]


def to_json(study: Study, chances: Spread | None = None) -> Json:
    """The study as JSON-able data; ``docs/study-json.md`` names every key.

    Parameters
    ----------
    study : Study
        The house studied.
    chances : Spread, optional
        From ``spread``; null in the result when not given.

    Returns
    -------
    dict
        Lengths in m, areas in m2, resistances in m2 K/W, temperatures in degC, money in the
        currency named.
    """
    read: Json = json.loads(json_text(study, chances))
    return read


def json_text(study: Study, chances: Spread | None = None) -> str:
    """The study as JSON text: its upper levels a line each, what is deeper on one line.

    Parameters
    ----------
    study, chances
        As for `to_json`.

    Returns
    -------
    str
        Strict JSON (no NaN), quick to write and to read, and short enough to look through.
    """
    sources = _Sources()
    encode = json.JSONEncoder(ensure_ascii=False, allow_nan=False, default=sources.place).encode
    # the sources stand last: when they are written, all others have been met
    return _lines({**_tree(study, chances), "sources": sources.met}, encode, _LEVELS) + "\n"


class _Sources:
    """Each source by its place, counted from 0, in a list of all that were met."""

    def __init__(self) -> None:
        self.met: list[Json] = []
        self.places: dict[Source, int] = {}

    def place(self, source: object) -> int:
        """Place of a source; what else JSON does not know is refused."""
        if not isinstance(source, Source):
            raise TypeError(f"{type(source).__name__} has no place in JSON")
        place = self.places.setdefault(source, len(self.met))
        if place == len(self.met):
            self.met.append({"text": source.text, "tag": source.tag})
        return place


def _lines(value: Any, encode: Callable[[Any], str], levels: int, indent: str = "") -> str:
    if levels == 0 or not value or not isinstance(value, (dict, list)):
        return encode(value)
    deeper = f"{indent} "
    if isinstance(value, list):
        rows = [_lines(item, encode, levels - 1, deeper) for item in value]
    else:
        rows = [
            f"{encode(key)}: {_lines(v, encode, levels - 1, deeper)}" for key, v in value.items()
        ]
    opened, closed = "[]" if isinstance(value, list) else "{}"
    return f"{opened}\n{deeper}" + f",\n{deeper}".join(rows) + f"\n{indent}{closed}"


def _tree(study: Study, chances: Spread | None) -> Json:
    """All but the sources, each of which stands where its place is to be."""
    house, climate = study.survey.house, study.outside.climate
    return {
        "format": FORMAT,
        "made_by": f"warmside {__version__}",
        "house": {
            "name": house.name,
            "place": house.place,
            "year_built": house.year_built,
            "volume_m3": house.volume,
        },
        "room": {
            "temperature_c": study.room.temperature,
            "humidity_share": study.room.humidity,
            "dew_point_c": study.room.dew_point,
            "assumption": study.room.assumption,
        },
        "outside": {
            "climate": climate.id,
            "station": climate.name,
            "design_temperature_c": study.outside.design,
            "coldest_month_c": study.outside.coldest_month,
            "degree_days_k_d": climate.degree_days,
            "source": climate.source,
        },
        "weather": {"name": study.weather.name, "notes": list(study.weather.notes)},
        "house_tight": _house_tight(study.tight),
        "house_worth": _worth(study.worth, study.prices.currency),
        "air_assumptions": list(study.air.assumptions),
        "house_findings": [_finding(finding) for finding in study.findings],
        "joints": [_gain(gain) for gain in study.air.gains],
        "hazards": [hazard.model_dump() for hazard in study.survey.hazards],
        "comparison": _comparison(compare(study)),
        "chances": None if chances is None else _chances(chances),
        "walls": [
            {
                **_wall(wall, study.prices.currency),
                "answers": _answers(study, wall.wall.name),
                "thickness_curve": _curve(study, wall.wall.name),
            }
            for wall in study.walls
        ],
        "takeoff": [_quantity(q) for q in study.takeoff],
        "price": _price(study.price),
        "code_packs": [
            {"id": p.id, "name": p.name, "edition": p.edition, "closing": p.closing}
            for p in study.packs
        ],
        "prices": {
            "title": study.prices.title,
            "invented": study.prices.invented,
            "currency": study.prices.currency,
        },
    }


def _wall(study: WallStudy, currency: str) -> Json:
    wall, frame = study.wall, study.frame
    return {
        "name": wall.name,
        "frame": wall.frame,
        "faces_deg": wall.faces,
        "length_m": frame.length,
        "height_m": frame.height,
        **_framing(frame),
        "joints": [_gain(gain) for gain in study.as_found.tight.gains],
        "as_found": wall.found.model_dump(exclude_none=True),
        "readings": [r.model_dump(exclude_none=True) for r in wall.readings],
        "chosen": study.chosen_id,
        "why_chosen": study.why_chosen,
        "options": [_option(option, currency) for option in study.options],
    }


def _curve(study: Study, wall: str) -> Json:
    """Of the thicknesses that were studied: nothing is solved for it."""
    found = thickness_curve(study, wall, studied_only=True)
    return {
        "sentence": str(found.sentence),
        "best": found.best.option.id if found.best else None,
        "years": found.years,
        "steps": [
            {
                "option": step.option.id,
                "beyond": step.beyond,
                "foam_m": step.foam,
                "rsi_m2k_w": step.resistance,
                "further_rsi_m2k_w": step.further_resistance,
                "further_cost": step.further_cost,
                "further_heat_saved_j_per_year": step.further_heat,
                "further_money_saved_per_year": _cases(step.further_money, "low", "high"),
                "further_value": _cases(step.further_value, "low", "high"),
                "pays": step.pays,
                "passes": step.passes,
                "trimming": step.trimming,
                "into_room_m": step.into_room,
                "outwards_m": step.outwards,
            }
            for step in found.steps
        ],
    }


def _answers(study: Study, wall: str) -> list[Json]:
    return [
        {
            "key": answer.key,
            "question": answer.question,
            "text": str(answer.text),
            "about": answer.about,
            "measure": answer.measure,
            "findings": [{"option": option, "key": key} for option, key in answer.findings],
            "figures": [
                {
                    "shown": str(figure),
                    "value": figure.value,
                    "low": figure.low,
                    "high": None if figure.high == inf else figure.high,
                    "kind": figure.kind,
                    "option": figure.option,
                    "finding": figure.finding,
                    "source": figure.source,
                }
                for figure in answer.figures
            ],
        }
        for answer in answers(study, wall)
    ]


def _chances(found: Spread) -> Json:
    return {
        "draws": found.draws,
        "seed": found.seed,
        "assumptions": list(found.assumptions),
        "walls": [
            {
                "wall": wall.wall,
                "option": wall.option,
                "promises": [
                    {"promise": c.promise, "what": c.what, "holds": c.holds, "sentence": c.sentence}
                    for c in wall.chances
                ],
                "rsi_m2k_w": _percentiles(wall.resistance),
                "coldest_surface_c": _percentiles(wall.surface),
                "condensate_peak_kg_m2": _percentiles(wall.condensate),
                "heat_saved_j_per_year": _percentiles(wall.heat),
            }
            for wall in found.walls
        ],
    }


def _percentiles(values: tuple[float, float, float]) -> Json:
    return dict(zip(("p5", "p50", "p95"), values, strict=True))


def _comparison(found: Comparison) -> Json:
    return {
        "weights": found.weights.by_name(),
        "sentence": str(found.sentence),
        "house": [
            {
                "option": row.id,
                "name": row.name,
                "walls": row.walls,
                "of_walls": row.of_walls,
                "keeps_its_promises": row.keeps,
                "verdicts": dict(row.verdicts),
                "rsi_m2k_w": row.resistance,
                "cost": row.cost,
                "money_saved_per_year": _band(row.saving) if row.saving else None,
                "simple_payback_years": _cases(row.payback, "early", "late"),
            }
            for row in found.rows
        ],
        "walls": [
            {
                "wall": wall.wall,
                "sentence": str(wall.sentence),
                "least": wall.least,
                "ranked": [
                    {
                        "option": row.id,
                        "rank": row.rank,
                        "score": row.score,
                        "keeps_its_promises": row.keeps,
                    }
                    for row in wall.rows
                ],
                "next_steps": [
                    {
                        "option": step.id,
                        "beyond": step.beyond,
                        "sentence": str(step.sentence),
                        "further_rsi_m2k_w": step.further_resistance,
                        "further_cost": step.further_cost,
                        "further_money_saved_per_year": _cases(step.further_saving, "low", "high"),
                    }
                    for step in wall.steps
                ],
            }
            for wall in found.walls
        ],
    }


def _framing(frame: Frame) -> Json:
    joints: dict[str, float] = {}
    for joint in frame.joints:
        joints[joint.kind] = joints.get(joint.kind, 0.0) + joint.length
    return {
        "gross_area_m2": frame.gross_area,
        "opening_area_m2": frame.hole_area,
        "net_area_m2": frame.net_area,
        "area_by_kind_m2": frame.area_by_kind(),
        "framing_share": frame.framing_share,
        "stud_depth_m": frame.depth,
        "bays": len(frame.bays),
        "bay_volume_m3": sum(bay.volume for bay in frame.bays),
        "joint_length_by_kind_m": joints,
        "pockets": [{"name": p.name, "why": p.why} for p in frame.pockets],
        "assumptions": list(frame.assumptions),
    }


def _option(study: OptionStudy, currency: str) -> Json:
    heat, option = study.warm.heat, study.option
    return {
        "id": option.id,
        "name": option.name,
        "kind": option.kind.name,
        "foam": option.foam,
        "foam_thickness_m": option.thickness,
        "joints_sealed": option.seal_joints,
        "can_be_built": study.build_up.can_be_built,
        "refusals": [{"reason": r.reason, "instead": r.instead} for r in study.build_up.refusals],
        "cautions": list(study.build_up.cautions),
        "rsi_m2k_w": study.warm.resistance,
        "rsi_by": "field" if study.warm.field else "combined method",
        "rsi_combined_m2k_w": heat.resistance,
        "rsi_parallel_path_m2k_w": heat.upper,
        "rsi_isothermal_planes_m2k_w": heat.lower,
        "rsi_code_m2k_w": study.warm.code,
        "u_w_m2k": 1.0 / study.warm.resistance,
        "field": _field(study.warm.field) if study.warm.field else None,
        "method_valid": heat.valid,
        "method_note": heat.note,
        "coldest_surface_c": study.warm.coldest.surface,
        "coldest_surface_at": study.warm.coldest.kind,
        "coldest_surface_low_c": study.warm.coldest.band[0],
        "surface_factor": study.warm.coldest.factor,
        "surface_factor_error": study.warm.coldest.error,
        "surface_factor_needed": study.warm.factor_needed,
        "condensate_peak_kg_m2": study.dry.worst.peak,
        "condensate_left_kg_m2": max(b.residual for b in study.dry.balances),
        "hourly": _dry_years(study.dry.hourly) if study.dry.hourly else None,
        "tight": _tight(study.tight),
        "worth": _worth(study.worth, currency),
        "comfort": {
            "radiant_temperature_before_c": study.comfort.before.radiant_temperature,
            "radiant_temperature_after_c": study.comfort.after.radiant_temperature,
            "draught_before_m_s": study.comfort.before.draught_speed,
            "draught_after_m_s": study.comfort.after.draught_speed,
            "floor_lost_m2": study.comfort.floor_lost,
        },
        "stacks": [_stack(stack, study.build_up.sources) for stack in study.build_up.stacks],
        "verdicts": {p: study.verdict(p) for p in PROMISES},
        "findings": [_finding(finding) for finding in study.findings],
        "takeoff": [_quantity(q) for q in study.quantities],
        "price": _price(study.price) if study.price else None,
    }


def _dry_years(found: DryYears) -> Json:
    return {
        "years": found.years,
        "first_month": found.first_month,
        "room_humidity_share": found.humidity,
        "assumptions": list(found.assumptions),
        "paths": [_dry_path(path) for path in found.paths],
    }


def _dry_path(path: DryPath) -> Json:
    return {
        "path": path.path,
        "at": path.at,
        "holds": path.holds,
        "start_moisture_kg_kg": path.start,
        "between": list(path.between),
        "mould_index_most": path.mould_most,
        "mould_month": path.mould_month,
        "rot_activation_most": path.rot_most,
        "rot_month": path.rot_month,
        "corrosion_hours": path.corrosion_hours,
        "frost_hours": path.frost_hours,
        "liquid_hours": path.liquid_hours,
        "water_by_air_kg_m2": path.water_by_air,
        "water_by_diffusion_kg_m2": path.water_by_diffusion,
        "air_share": path.air_share,
        "water_balance_error": path.balance,
        "wood": [
            {
                "name": wood.name,
                "most_kg_kg": float(wood.mean.max()),
                "end_kg_kg": float(wood.mean[-1]),
                "days_above_20_percent": wood.days_above_20,
                "days_above_26_percent": wood.days_above_26,
                "drying_days": wood.drying_days,
            }
            for wood in path.wood
        ],
    }


def _tight(found: Tight) -> Json:
    return {
        "wall_leakage_before_m2": _band(found.before),
        "wall_leakage_after_m2": _band(found.after),
        "house_leakage_removed_share": _band(found.removed),
        "house_air_change_50_before_per_h": _band(found.air_change_before),
        "house_air_change_50_after_per_h": _band(found.air_change_after),
        "leak_water_before_kg_per_year": found.water_before,
        "leak_water_after_kg_per_year": found.water_after,
    }


def _gain(gain: JointGain) -> Json:
    return {
        "kind": gain.kind,
        "name": gain.name,
        "length_m": gain.length,
        "leakage_before_m2": gain.open,
        "leakage_after_m2": gain.sealed,
        "removed_per_metre_m2_m": gain.per_metre,
    }


def _house_tight(found: HouseTight) -> Json:
    return {
        "air_change_50_before_per_h": _band(found.air_change_before),
        "air_change_50_after_per_h": _band(found.air_change_after),
        "ventilation_need_m3_s": found.need,
        "ventilation_need_by_rooms_m3_s": found.need_by_rooms,
        "infiltration_credit_m3_s": found.credit,
        "ventilation_to_add_m3_s": found.to_add,
        "exhaust_m3_s": found.exhaust,
        "depressurisation_pa": _band(found.depressurisation),
        "depressurisation_limit_pa": found.depressurisation_limit,
        "humidity_before_share": found.humidity_before,
        "humidity_after_share": found.humidity_after,
        "humidity_ventilated_share": found.humidity_ventilated,
    }


def _worth(found: Worth, currency: str) -> Json:
    return {
        "heat_saved_j_per_year": _band(found.heat),
        "present_heat_j_per_year": found.present,
        "fuel_saved_per_year": _band(found.fuel),
        "fuel_unit": found.fuel_unit,
        "co2_saved_kg_per_year": _band(found.co2),
        "summer_heat_kept_out_j_per_year": found.cooling,
        "design_loss_before_w": found.design[0],
        "design_loss_after_w": found.design[1],
        "currency": currency,
        "money_saved_per_year": _band(found.money) if found.money else None,
        "cost": found.cost,
        "simple_payback_years": _cases(found.payback, "early", "late"),
        "net_present_value": _cases(found.net_present_value, "low", "high"),
        "conserved_energy_cost_per_kwh": _cases(found.conserved_cost, "low", "high"),
    }


def _band(band: Band) -> Json:
    return {"low": band.low, "best": band.best, "high": band.high}


def _cases(values: tuple[float | None, float | None, float | None] | None, first: str,
           last: str) -> Json | None:  # fmt: skip
    return None if values is None else {first: values[0], "best": values[1], last: values[2]}


def _field(heat: WallHeat) -> Json:
    places = {place.kind: place for place in heat.places}
    return {
        "rsi_error_m2k_w": heat.resistance_error,
        "cells": heat.cells,
        "iterations": heat.iterations,
        "residual": heat.residual,
        "closure": heat.closure,
        "by_kind": [
            {
                "kind": k.kind,
                "area_m2": k.area,
                "heat_share": k.share,
                "excess_w_mk": k.excess,
                "lowest_factor": places[k.kind].factor,
                "lowest_factor_error": places[k.kind].error,
                "lowest_at_x_m": places[k.kind].x,
                "lowest_at_z_m": places[k.kind].z,
            }
            for k in heat.by_kind
        ],
    }


def _stack(stack: Stack, sources: Mapping[str, LayerSources]) -> Json:
    return {
        "kind": stack.kind,
        "area_m2": stack.area,
        "layers": [
            {
                "name": layer.name,
                "material": layer.material,
                "role": layer.role,
                "thickness_m": layer.thickness,
                "conductivity_w_mk": layer.conductivity,
                "permeability_dry_kg_m_s_pa": layer.permeability_dry,
                "source_heat": sources[layer.material].heat,
                "source_vapour": sources[layer.material].vapour,
            }
            for layer in stack.sheets
        ],
    }


def _finding(finding: Finding) -> Json:
    return {
        "promise": finding.promise,
        "key": finding.key,
        "name": finding.name,
        "figure": finding.figure,
        "unit": finding.unit,
        "limit": finding.limit,
        "limit_is": finding.limit_is,
        "verdict": finding.verdict,
        "reason": str(finding.reason),
        "change": str(finding.change),
        "source": finding.source,
    }


def _quantity(quantity: Quantity) -> Json:
    return {
        "key": quantity.key,
        "name": quantity.name,
        "amount": quantity.amount,
        "unit": quantity.unit,
        "how": str(quantity.how),
        "source": quantity.source,
    }


def _price(price: Price) -> Json:
    return {
        "currency": price.currency,
        "lines": [
            {"key": line.quantity.key, "unit_price": float(line.price), "total": float(line.total)}
            for line in price.lines
        ],
        "cost": float(price.cost),
        "margin": float(price.margin),
        "top_up": float(price.top_up),
        "taxes": [{"name": name, "amount": float(amount)} for name, amount in price.taxes],
        "total": float(price.total),
        "missing_prices": list(price.missing),
    }
