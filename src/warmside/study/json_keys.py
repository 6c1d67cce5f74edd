"""The keys of ``study.json``: what is written of each kind of object, under which name.

``docs/study-json.md`` says what each key means and in which unit.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from decimal import Decimal
from math import inf
from operator import attrgetter
from typing import Any

from warmside import __version__
from warmside.catalog import Source
from warmside.study.answers import answers
from warmside.study.comparison import compare
from warmside.study.house import Study
from warmside.study.measures import measures
from warmside.study.parts import OptionStudy
from warmside.study.thickness import thickness_curve
from warmside.wording import PAPER, PROMISES, Sentence

FORMAT = 2  # raised when a key changes its meaning or goes
Json = dict[str, Any]
Rule = Callable[[Any, Study], Any]
Kinds = Mapping[str, Mapping[str, Rule]]
_UNIT = re.compile(
    "_(?:c|k|k_d|m|m2|m3|m_s|m3_s|pa|w_k|w_mk|m2k_w|kg_kg|kg_m2|kg_m3|kg_m_s_pa|share|j_per_year"
    "|per_year)$"
)


def keys_of(paths: str, **rules: Rule) -> Mapping[str, Rule]:
    """Keys of one kind of object: by paths of attributes, and by rules.

    In ``paths`` a key alone is an attribute with its unit behind; ``key=path`` names another,
    ``key=path[0]`` an item of it, ``key=path:low,best,high`` all of its items, each by a name;
    ``key=part?.path`` is null where there is no such part.
    """
    pairs = [word.partition("=") for word in paths.split()]
    return {key: _at(path or _UNIT.sub("", key)) for key, _, path in pairs} | rules


def _at(path: str) -> Rule:
    """What stands at a path of attributes: an item of it, or all of its items by their names."""
    part, maybe, rest = path.partition("?.")
    if maybe:
        first, then = attrgetter(part), attrgetter(rest)
        return lambda value, _: None if first(value) is None else then(first(value))
    path, _, names = path.partition(":")
    path, _, item = path.rstrip("]").partition("[")
    get = attrgetter(path)
    if names:
        return lambda value, _: _named(get(value), names.split(","))
    return lambda value, _: get(value)[int(item)] if item else get(value)


def _named(items: Any, names: Sequence[str]) -> Any:
    """Items as an object, a list of those where each item is a tuple; null where there is none."""
    if items and isinstance(items[0], tuple):
        return [_named(item, names) for item in items]
    return items and dict(zip(names, items, strict=True))


def _stacks(option: OptionStudy, study: Study) -> list[Json]:
    """Every stack, its layers with the sources of their rows, which the build-up holds."""
    rows = option.build_up.sources
    return [
        plain(stack, study)
        | {"layers": [plain(x, study) | plain(rows[x.material], study) for x in stack.sheets]}
        for stack in option.build_up.stacks
    ]


# by the name of the class
KEYS: Kinds = {
    "Study": keys_of(
        "room room_after settling outside weather walls takeoff price prices house=survey.house "
        "house_tight=tight house_worth=worth air_assumptions=air.assumptions "
        "house_findings=findings joints=air.gains code_packs=packs",
        format=lambda *_: FORMAT,
        made_by=lambda *_: f"warmside {__version__}",
        hazards=lambda study, _: [hazard.model_dump() for hazard in study.survey.hazards],
        comparison=lambda study, _: compare(study),
        advice=lambda study, _: study.plans,
        measures=lambda study, _: measures(study),
        bills=lambda study, _: study.heating.billed,
    ),
    "Measures": keys_of("shares steps"),
    "PartShare": keys_of("part share surveyed loss_w_k"),
    "Billed": keys_of(
        "heat_j_per_year loss_w_k base_load_j_per_day=base why_not "
        "saved_j_per_year=saved:low,best,high balance_point_c=fit?.balance_point "
        "explained_share=fit?.explained"
    ),
    "Plans": keys_of(
        "recommended plans walls=advice quotes shared_net_present_value=shared charged_once=once "
        "frontier solver_gap_share=gap solver_rounds=rounds"
    ),
    "Plan": keys_of(
        "id name options quotes net_present_value=net heat_saved_j_per_year=heat "
        "left_undone=undone total=whole.price.total missing_prices=whole.price.missing "
        "money_saved_per_year=whole.worth.money co2_saved_kg_per_year=whole.worth.co2 "
        "air_change_50_after_per_h=whole.tight.air_change_after coldest_surface_c=coldest "
        "simple_payback_years=whole.worth.payback:early,best,late"
    ),
    "Advice": keys_of(
        "wall recommended kind reason net_present_value=net stopped once_dry=then "
        "without_foam=beside"
    ),
    "Undone": keys_of("wall why"),
    "QuoteAdvice": keys_of("part taken net_present_value=net"),
    "HousePart": keys_of(
        "kind area_m2 rsi_m2k_w=resistance rsi_offered_m2k_w=better below_ground_m=depth "
        "leakage_sealed_share=seals price"
    ),
    "Frontier": keys_of("cost heat_saved_j_per_year=heat"),
    "House": keys_of("name place year_built volume_m3"),
    "Room": keys_of("temperature_c humidity_share dew_point_c assumption excess_kg_m3"),
    "Settling": keys_of("rounds settled sentence=words"),
    "Outside": keys_of(
        "coldest_month_c climate=climate.id station=climate.name design_temperature_c=design "
        "degree_days_k_d=climate.degree_days source=climate.source",
    ),
    "HourlyClimate": keys_of("name notes"),
    "CodePack": keys_of("id name edition closing"),
    "PriceList": keys_of("title invented currency"),
    "WallStudy": keys_of(
        "options name=wall.name frame=wall.frame faces_deg=wall.faces length_m=frame.length "
        "height_m=frame.height gross_area_m2=frame.gross_area opening_area_m2=frame.hole_area "
        "net_area_m2=frame.net_area framing_share=frame.framing_share stud_depth_m=frame.depth "
        "pockets=frame.pockets assumptions=frame.assumptions joints=as_found.tight.gains "
        "chosen=chosen_id why_chosen",
        area_by_kind_m2=lambda wall, _: wall.frame.area_by_kind(),
        bays=lambda wall, _: len(wall.frame.bays),
        bay_volume_m3=lambda wall, _: sum(bay.volume for bay in wall.frame.bays),
        joint_length_by_kind_m=lambda wall, _: wall.frame.joint_length_by_kind(),
        as_found=lambda wall, _: wall.wall.found.model_dump(exclude_none=True),
        readings=lambda wall, _: [r.model_dump(exclude_none=True) for r in wall.wall.readings],
        answers=lambda wall, study: answers(study, wall.wall.name),
        thickness_curve=lambda wall, study: thickness_curve(
            study, wall.wall.name, studied_only=True
        ),
    ),
    "Pocket": keys_of("name why"),
    "OptionStudy": keys_of(
        "tight worth comfort findings price id=option.id name=option.name kind=option.kind.name "
        "foam=option.foam foam_thickness_m=option.thickness joints_sealed=option.seal_joints "
        "can_be_built=build_up.can_be_built refusals=build_up.refusals cautions=build_up.cautions "
        "rsi_m2k_w=warm.resistance rsi_combined_m2k_w=warm.heat.resistance "
        "rsi_parallel_path_m2k_w=warm.heat.upper rsi_isothermal_planes_m2k_w=warm.heat.lower "
        "rsi_code_m2k_w=warm.code field=warm.field method_valid=warm.heat.valid "
        "method_note=warm.heat.note coldest_surface_c=warm.coldest.surface "
        "coldest_surface_at=warm.coldest.kind surface_factor=warm.coldest.factor "
        "surface_factor_error=warm.coldest.error surface_factor_needed=warm.factor_needed "
        "condensate_peak_kg_m2=dry.worst.peak hourly=dry.hourly takeoff=quantities "
        "room_humidity_share=room.humidity coldest_surface_low_c=warm.coldest.band[0]",
        rsi_by=lambda option, _: "field" if option.warm.field else "combined method",
        u_w_m2k=lambda option, _: 1.0 / option.warm.resistance,
        condensate_left_kg_m2=lambda option, _: max(b.residual for b in option.dry.balances),
        stacks=_stacks,
        verdicts=lambda option, _: {p: option.verdict(p) for p in PROMISES},
    ),
    "Refusal": keys_of("reason instead"),
    "WallHeat": keys_of(
        "rsi_error_m2k_w=resistance_error cells iterations residual closure junctions",
        by_kind=lambda heat, study: [  # with the coldest place of each
            plain(kind, study) | plain(heat.place(kind.kind), study) for kind in heat.by_kind
        ],
    ),
    "Junction": keys_of("end length_m psi_w_mk beyond_w_mk factor factor_error=error"),
    "KindHeat": keys_of("kind area_m2 heat_share=share excess_w_mk"),
    "Place": keys_of(
        "lowest_factor=factor lowest_factor_error=error lowest_at_x_m=x lowest_at_z_m=z"
    ),
    "DryYears": keys_of("years first_month assumptions paths room_humidity_share=room.humidity"),
    "DryPath": keys_of(
        "path at holds between mould_month rot_month corrosion_hours frost_hours liquid_hours "
        "water_by_air_kg_m2 water_by_diffusion_kg_m2 wood start_moisture_kg_kg=start "
        "mould_index_most=mould_most rot_activation_most=rot_most air_share=air_share "
        "water_balance_error=balance",
    ),
    "WoodCourse": keys_of(
        "name drying_days days_above_20_percent=days_above_20 days_above_26_percent=days_above_26 "
        "warm_days_above_26_percent=rotting_days summer_least_kg_kg",
        meter_most_kg_kg=lambda wood, _: float(wood.meter.max()),
        most_kg_kg=lambda wood, _: float(wood.mean.max()),
        end_kg_kg=lambda wood, _: float(wood.mean[-1]),
    ),
    "Stack": keys_of("kind area_m2"),
    "Layer": keys_of("name material role thickness_m conductivity_w_mk permeability_dry_kg_m_s_pa"),
    "LayerSources": keys_of("source_heat=heat source_vapour=vapour"),
    "Finding": keys_of(
        "promise key name figure unit limit limit_is verdict reason change source works"
    ),
    "Tight": keys_of(
        "wall_leakage_before_m2=before wall_leakage_after_m2=after "
        "house_leakage_removed_share=removed house_air_change_50_before_per_h=air_change_before "
        "house_air_change_50_after_per_h=air_change_after "
        "leak_water_before_kg_per_year=water_before leak_water_after_kg_per_year=water_after",
    ),
    "HouseTight": keys_of(
        "exhaust_m3_s depressurisation_pa depressurisation_limit_pa "
        "air_change_50_before_per_h=air_change_before air_change_50_after_per_h=air_change_after "
        "ventilation_need_m3_s=need ventilation_standard=fresh.standard "
        "ventilation_need_by_rooms_m3_s=fresh.need_by_rooms infiltration_credit_m3_s=fresh.credit "
        "fans_m3_s=fresh.fans ventilation_to_add_m3_s=to_add "
        "ventilation_owed_before_m3_s=fresh.owed_before ventilation_increase_m3_s=fresh.increase "
        "ventilation_built_m3_s=built exhaust_assumed=assumed moisture_release_kg_per_s=release "
        "humidity_before_share humidity_after_share humidity_unbuilt_share humidity_limit_share "
        "humidity_ventilated_share leaks_bring_before_m3_s=fresh.leaks[0] "
        "leaks_bring_after_m3_s=fresh.leaks[1]",
    ),
    "Band": keys_of("low best high"),
    "Net": keys_of("low best high"),
    "JointGain": keys_of(
        "kind name length_m leakage_before_m2=open leakage_after_m2=sealed "
        "removed_per_metre_m2_m=per_metre",
    ),
    "Comfort": keys_of(
        "radiant_temperature_before_c=before.radiant_temperature "
        "radiant_temperature_after_c=after.radiant_temperature "
        "draught_before_m_s=before.draught_speed draught_after_m_s=after.draught_speed "
        "floor_lost_m2",
    ),
    "Worth": keys_of(
        "fuel_unit cost heat_saved_j_per_year=heat heat_computed_j_per_year=computed "
        "present_heat_j_per_year=present fuel_saved_per_year=fuel co2_saved_kg_per_year=co2 "
        "summer_heat_kept_out_j_per_year=cooling cooling_electricity_saved_j_per_year=cooled "
        "money_saved_per_year=money design_loss_before_w=design[0] "
        "design_loss_after_w=design[1] simple_payback_years=payback:early,best,late "
        "net_present_value=net_present_value:low,best,high "
        "conserved_energy_cost_per_kwh=conserved_cost:low,best,high",
        currency=lambda _, study: study.prices.currency,
    ),
    "Quantity": keys_of("key name amount unit how source"),
    "Price": keys_of(
        "currency lines cost margin subcontract reduction top_up total "
        "missing_prices=missing taxes=taxes:name,amount"
    ),
    "PriceLine": keys_of(
        "total amount unit trade key=quantity.key step=quantity.step unit_price=price"
    ),
    "Answer": keys_of("key question text about measure figures findings=findings:option,key"),
    "Figure": keys_of(
        "value low kind option finding source",
        shown=lambda figure, _: PAPER.figure(figure),
        high=lambda figure, _: None if figure.high == inf else figure.high,
    ),
    "ThicknessCurve": keys_of("sentence years steps best=best?.option.id"),
    "ThicknessStep": keys_of(
        "beyond foam_m further_cost pays passes trimming into_room_m outwards_m "
        "option=option.id rsi_m2k_w=resistance further_rsi_m2k_w=further_resistance "
        "further_heat_saved_j_per_year=further_heat "
        "further_money_saved_per_year=further_money:low,best,high "
        "further_value=further_value:low,best,high"
    ),
    "Comparison": keys_of(
        "sentence walls house=rows", weights=lambda found, _: found.weights.by_name()
    ),
    "HouseRow": keys_of(
        "name walls of_walls cost option=id keeps_its_promises=keeps rsi_m2k_w=resistance "
        "money_saved_per_year=saving simple_payback_years=payback:early,best,late",
        verdicts=lambda row, _: dict(row.verdicts),
    ),
    "WallComparison": keys_of("wall sentence least ranked=rows next_steps=steps"),
    "Compared": keys_of("rank score option=id keeps_its_promises=keeps"),
    "NextStep": keys_of(
        "beyond sentence further_cost option=id further_rsi_m2k_w=further_resistance "
        "further_money_saved_per_year=further_saving:low,best,high"
    ),
    "Spread": keys_of("draws seed assumptions walls"),
    "WallSpread": keys_of(
        "wall option promises=chances rsi_m2k_w=resistance:p5,p50,p95 "
        "coldest_surface_c=surface:p5,p50,p95 condensate_peak_kg_m2=condensate:p5,p50,p95 "
        "heat_saved_j_per_year=heat:p5,p50,p95"
    ),
    "Chance": keys_of("promise what holds draws sentence most_by"),
}


def plain(value: Any, study: Study, kinds: Kinds | None = None) -> Any:
    """``value`` as JSON's own types, each object with the keys of its kind; sources stay.

    Parameters
    ----------
    value
        The study, or a part of it.
    study : Study
        The house that it belongs to.
    kinds : mapping, optional
        Keys by the name of a class, where they are others than ``KEYS``.
    """
    kinds = kinds or KEYS
    if isinstance(value, (str, int, float, Source)) or value is None:
        return value
    if isinstance(value, Decimal):
        return float(value)
    if isinstance(value, Sentence):
        return str(value)
    if isinstance(value, Mapping):
        return {key: plain(item, study, kinds) for key, item in value.items()}
    if isinstance(value, (tuple, list)):
        return [plain(item, study, kinds) for item in value]
    rules = kinds[type(value).__name__].items()
    return {key: plain(rule(value, study), study, kinds) for key, rule in rules}
