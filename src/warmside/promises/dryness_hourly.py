"""Dry through the years: paths of a wall hour by hour, from what the survey's meter showed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from warmside.catalog import Source
from warmside.errors import SolverError
from warmside.options import BuildUp
from warmside.physics.moisture import (
    MONTHS,
    MOULD_LIMIT,
    ROT_DAYS,
    ROT_TEMPERATURE,
    SUMMER_MOISTURE,
    PathName,
)
from warmside.promises.dry_paths import (
    BOUND,
    PATHS,
    RAIN,
    USUAL_START,
    DryPath,
    Exposure,
    Found,
    PathAsk,
    PathKey,
    WoodCourse,
    asked_paths,
    outcome,
    run_paths,
)
from warmside.promises.finding import Finding
from warmside.promises.leak_path import SPREAD, STRIP, WorstJoint
from warmside.promises.room import Room
from warmside.wood import DRY_WOOD, ROT_STARTS
from warmside.wording import PAPER, Figure, Sentence, Verdict, joined, lowered, say

_MOULD = Source(
    "Mould index of Hukka and Viitanen 1999 as improved in 2010; below 3 by ASHRAE 160",
    "second-hand",
)
_ROT = Source("Viitanen, Toratti, Makkonen et al. 2010: rot starts at activation 1", "from memory")
_WOOD = Source(
    "Wood above 26 % can rot; how long, and how dry a summer must make it, is our own limit",
    "common practice",
)
_CARRIED = Source("Hourly heat and moisture model of EN 15026 with a leak", "computed")
_LATE = range(8, 12)  # months in which mould that rain feeds is at its most; our own choice
_RAIN = Source("A hundredth of the rain gets past the cladding: ASHRAE 160", "from memory")
_JOINT = Source(
    "A leak in full exchange, throttled by the fill as measured walls leak (BSI-043), its width "
    "fitted to 96 opened walls (Tsongas 1980)",
    "second-hand",
)


@dataclass(frozen=True, eq=False)
class DryYears:
    """Paths of one option of one wall through the years."""

    years: int
    first_month: int  # 1 to 12
    room: Room  # in which they were judged
    asked: tuple[PathName, ...]  # of the paths that the wall has
    paths: tuple[DryPath, ...]
    findings: tuple[Finding, ...]
    assumptions: tuple[str, ...]


def dry_years(
    build_up: BuildUp,
    exposure: Exposure,
    room: Room,
    *,
    years: int = 1,
    paths: Sequence[PathName] = PATHS,
    joint: WorstJoint | None = None,
    known: dict[PathKey, Found] | None = None,
) -> DryYears:
    """Run and judge paths of one option on one wall hour by hour.

    Parameters
    ----------
    build_up, exposure, room, years, paths, joint
        As for `asked_paths`.
    known : dict, optional
        What was run before under the same weather; filled, so that options share what is alike.

    Raises
    ------
    InputError
        As `asked_paths`; a material without moisture properties.
    """
    asked = asked_paths(build_up, exposure, room, years=years, paths=paths, joint=joint)
    found = {} if known is None else known
    found |= run_paths([ask for ask in asked if ask.key not in found])
    return judged_years(asked, found)


def judged_years(asked: Sequence[PathAsk], found: Mapping[PathKey, Found]) -> DryYears:
    """Judge what `run_paths` found for the paths of one option.

    A path that the model does not get through becomes a finding that needs a person.

    Parameters
    ----------
    asked : sequence of PathAsk
        One at least, all of one wall, option and room.
    found : mapping
        Of all of them.
    """
    run: list[DryPath] = []
    findings: list[Finding] = []
    for ask in asked:
        told = outcome(ask, found)
        if isinstance(told, SolverError):
            findings.append(_unsolved(ask.path, told))
            continue
        run.append(told.path)
        findings += _findings(ask, told.path, told.dried)
    first = asked[0]
    return DryYears(
        first.years, first.exposure.weather.time0.month, first.room,
        tuple(ask.path for ask in asked), tuple(run), tuple(findings),
        _assumptions(first, run),
    )  # fmt: skip


def _assumptions(ask: PathAsk, run: Sequence[DryPath]) -> tuple[str, ...]:
    said = [
        f"The room has {PAPER(ask.room.humidity, 'share')} in the coldest month, and in every "
        "other what the same living and its own outdoor air make; windows open as it gets warm, "
        "and at 20 °C outside nothing is left of the excess (ISO 13788, from memory).",
        f"The wall starts in {MONTHS[ask.exposure.weather.time0.month - 1]} at "
        + (
            f"{PAPER(USUAL_START, 'share')} humidity throughout."
            if ask.exposure.start is None
            else f"{PAPER(ask.exposure.start, 'share')} moisture in its wood, the survey's "
            "highest reading."
        ),
        "Three tenths of the driven rain reach an unvented wall and half of that stays "
        "(own figures).",
    ]
    if any(path.path == "worst joint" for path in run):
        said.append(
            "Air that leaks at the worst joint brings its heat and its water, passes the fill as "
            "measured walls let it, and comes into balance with the sheathing over "
            f"{SPREAD:.1f} m (fitted to 96 opened walls)."
        )
    return tuple(said)


# ------------------------------------------------------------------ findings


def _findings(ask: PathAsk, path: DryPath, dried: DryPath | None) -> list[Finding]:
    """Mould, rot and wood of one path; for the joint also what its air carries, and the bound.

    What falls short only because the wall was found wet can be mended by a person first.
    """
    if path.path == BOUND:
        return [_bound(path)]
    if path.path == RAIN:
        return [_rain_leak(path)]
    cure = _cure(ask, path)
    judges = (_mould, _rot, _wet, _dries)
    made = [judge(path, dried, cure) for judge in judges]
    return [*made, _carried(path)] if path.path == "worst joint" else made


def _unsolved(name: PathName, error: SolverError) -> Finding:
    what = name.replace(" ", "_").replace("-", "_")
    return Finding(
        "dry", f"unsolved_{what}", f"Years hour by hour: {name}", None, "-", None, "none",
        "needs a person", say("The hours were not computed: {error}.", error=str(error)),
        say("Judge by the monthly balance."), _CARRIED,
    )  # fmt: skip


def _verdict(short: bool, dried_holds: bool, cure: Sentence) -> tuple[Verdict, Sentence]:
    if not short:
        return "holds", say("")
    if dried_holds:
        return "needs a person", say(
            "Let the wood dry below {limit} before the wall is closed; it then holds.",
            limit=Figure(DRY_WOOD, "share"),
        )
    return "falls short", cure


def _cure(ask: PathAsk, path: DryPath) -> Sentence:
    """What would keep the path dry, by where its water comes from."""
    if _rained_on(ask, path):
        return say(
            "This damp comes from rain in the warm months, not from the room: mend gutters, "
            "flashings and joints of the cladding first, and give it an air gap when it is renewed."
        )
    if path.path == "worst joint":
        return say(
            "Seal the joints, and prove the seals with smoke and a fan test before the wall is "
            "closed; drier room air."
        )
    return say(
        "Drier room air, vapour control on the warm side, foam against the cold side, or a layer "
        "outside that lets vapour pass."
    )


def _rained_on(ask: PathAsk, path: DryPath) -> bool:
    """Whether rain brings the damp: cladding without a gap behind it, and mould that grows on
    until autumn; damp of the room has dried by then, its mould is at its most in early summer.

    A wall found wet and a cooled room have other causes.
    """
    unvented = any(sheet.role == "cladding" and not sheet.vented for sheet in ask.stack.layers)
    autumn = path.mould_month in _LATE
    return unvented and autumn and not (ask.found_wet or ask.room.cooled)


def _key(path: DryPath, what: str) -> str:
    return f"{what}_{path.path.replace(' ', '_').replace('-', '_')}"


def _place(path: DryPath) -> str:
    return {
        "mid-bay": "Mid-bay",
        "stud": "Through the stud",
        RAIN: "Mid-bay",
    }.get(path.path, f"At the worst joint ({path.at})")


def _mould(path: DryPath, dried: DryPath | None, cure: Sentence) -> Finding:
    short = path.mould_most >= MOULD_LIMIT
    verdict, change = _verdict(short, dried is not None and dried.mould_most < MOULD_LIMIT, cure)
    place = f"between {lowered(path.between[0])} and {lowered(path.between[1])}"
    reason = (
        say(
            "{path} the index reaches {index} in {month}, {place}.",
            path=_place(path),
            index=Figure(path.mould_most, "index"),
            month=MONTHS[path.mould_month - 1],
            place=place,
        )
        if path.mould_most >= 0.05
        else say(
            "{path} no layer stays damp and warm long enough to grow mould. The spot most at risk "
            "is {place}.",
            path=_place(path),
            place=place,
        )
    )
    return Finding(
        "dry", _key(path, "mould_index"), f"Mould index hour by hour: {path.path}",
        path.mould_most, "-", MOULD_LIMIT, "most", verdict, reason, change, _MOULD,
    )  # fmt: skip


def _rot(path: DryPath, dried: DryPath | None, cure: Sentence) -> Finding:
    verdict, change = _verdict(
        path.rot_most >= 1.0, dried is not None and dried.rot_most < 1.0, cure
    )
    month = MONTHS[path.rot_month - 1]
    if path.rot_most >= 1.0:
        reason = say("{path} rot can start in {month}.", path=_place(path), month=month)
    elif path.rot_most >= 0.005:
        reason = say(
            "{path} wood comes to {share} of what starts rot, in {month}.",
            path=_place(path),
            share=Figure(path.rot_most, "share"),
            month=month,
        )
    else:
        reason = say(
            "{path} wood is never above {damp} humidity and {frost} for long.",
            path=_place(path),
            damp=Figure(0.95, "share"),
            frost=Figure(0.0, "temperature"),
        )
    return Finding(
        "dry", _key(path, "rot_activation"), f"Start of rot hour by hour: {path.path}",
        path.rot_most, "-", 1.0, "most", verdict, reason, change, _ROT,
    )  # fmt: skip


def _wet(path: DryPath, dried: DryPath | None, cure: Sentence) -> Finding:
    """How long wood is above 26 % and 5 degC; iron, frost and liquid beside it."""
    wood = path.rotting
    days = wood.rotting_days if wood else 0.0
    recovers = dried is not None and all(w.rotting_days <= ROT_DAYS for w in dried.wood)
    verdict, change = _verdict(days > ROT_DAYS, recovers, cure)
    reason = joined([_course(_place(path), wood), _iron(path)])
    name = f"Days with wood above 26 %, warmer than 5 °C (41 °F): {path.path}"
    return Finding(
        "dry", _key(path, "rotting_days"), name,
        days, "days", ROT_DAYS, "most", verdict, reason, change, _WOOD,
    )  # fmt: skip


def _course(place: str, wood: WoodCourse | None) -> Sentence:
    """How wet the wood gets, for how long, and what a meter would read."""
    if wood is None:
        return say("{path} there is no wood in the path.", path=place)
    name, most = lowered(wood.name), float(wood.mean.max())
    if most > 1.0:
        return say("{path} {wood} is brought more water than it can hold.", path=place, wood=name)
    meter = Figure(float(wood.meter.max()), "share")
    if wood.days_above_20 < 0.5:
        return say(
            "{path} {wood} stays below {limit}, {most} most; a meter pressed into its room side "
            "would read {meter} at most.",
            path=place,
            wood=name,
            limit=Figure(SUMMER_MOISTURE, "share"),
            most=Figure(most, "share"),
            meter=meter,
        )
    return say(
        "{path} {wood} is above {damp} on {days} and above {wet} on {days_wet}, {days_warm} of "
        "them above {warm}; a meter pressed into its room side would read {meter} at most.",
        path=place,
        wood=name,
        damp=Figure(SUMMER_MOISTURE, "share"),
        days=Figure(wood.days_above_20, "days"),
        wet=Figure(ROT_STARTS, "share"),
        days_wet=Figure(wood.days_above_26, "days"),
        days_warm=Figure(wood.rotting_days, "days"),
        warm=Figure(ROT_TEMPERATURE, "temperature"),
        meter=meter,
    )


def _iron(path: DryPath) -> Sentence:
    return say(
        "Damp enough to rust iron {rust}, frost {frost}, liquid water {liquid}.",
        rust=Figure(path.corrosion_hours, "hours"),
        frost=Figure(path.frost_hours, "hours"),
        liquid=Figure(path.liquid_hours, "hours"),
    )


def _dries(path: DryPath, dried: DryPath | None, cure: Sentence) -> Finding:
    """Whether every summer dries the wood."""
    wood = path.dampest
    least = 0.0 if wood is None else wood.driest
    recovers = dried is not None and all(w.dries for w in dried.wood)
    verdict, change = _verdict(wood is not None and not wood.dries, recovers, cure)
    name = f"Moisture that summer leaves in the wood: {path.path}"
    return Finding(
        "dry", _key(path, "summer_moisture"), name, least, "kg/kg", SUMMER_MOISTURE,
        "most", verdict, _dried(_place(path), wood), change, _WOOD,
    )  # fmt: skip


def _dried(place: str, wood: WoodCourse | None) -> Sentence:
    if wood is None:
        return say("{path} there is no wood in the path.", path=place)
    limit = Figure(DRY_WOOD, "share")
    if wood.drying_days is None:
        when = say("it is not below {limit} for good within the run", limit=limit)
    elif wood.drying_days > 0.0:
        after = Figure(wood.drying_days, "days")
        when = say("below {limit} for good after {days}", limit=limit, days=after)
    else:
        when = say("never at {limit} or more", limit=limit)
    return say(
        "{path} {wood} comes down to {least} {season}; {when}.",
        path=place,
        wood=lowered(wood.name),
        least=Figure(wood.driest, "share"),
        season="at the end of the run" if wood.summer_least is None else "in summer",
        when=when,
    )


def _bound(path: DryPath) -> Finding:
    """The worst joint with nothing in the way of its air: told, not judged."""
    days = max((wood.rotting_days for wood in path.wood), default=0.0)
    return Finding(
        "dry", "bound_worst_joint", "Mould index hour by hour: worst joint, at most",
        path.mould_most, "-", None, "none", "holds",
        say(
            "If no fill slowed the air of {joint} and all of it passed a strip {width} wide, the "
            "mould index would reach {index}, rot {rot} of its start, and wood would be above "
            "{wet} and {warm} on {days}. This is the worst case, not a forecast, and no part of "
            "the verdict: it is what smoke and a fan test must rule out.",
            joint=path.at,
            width=Figure(STRIP, "length"),
            index=Figure(path.mould_most, "index"),
            rot=Figure(path.rot_most, "share"),
            wet=Figure(ROT_STARTS, "share"),
            warm=Figure(ROT_TEMPERATURE, "temperature"),
            days=Figure(days, "days"),
        ),
        say(""), _JOINT,
    )  # fmt: skip


def _rain_leak(path: DryPath) -> Finding:
    """Mid-bay with rain getting past the cladding: told, not judged."""
    days = max((wood.rotting_days for wood in path.wood), default=0.0)
    ends = (
        say("The wall would bear it.")
        if path.holds
        else say("It would not stay dry: flashings, laps and joints of the cladding are looked at.")
    )
    told = say(
        "If a hundredth of the rain that strikes the wall got past the cladding, the mould index "
        "mid-bay would reach {index}, rot {rot} of its start, and wood would be above {wet} and "
        "{warm} on {days}. No part of the verdict: nobody saw a leak.",
        index=Figure(path.mould_most, "index"),
        rot=Figure(path.rot_most, "share"),
        wet=Figure(ROT_STARTS, "share"),
        warm=Figure(ROT_TEMPERATURE, "temperature"),
        days=Figure(days, "days"),
    )
    return Finding(
        "dry", "rain_leak", "Mould index hour by hour: rain past the cladding",
        path.mould_most, "-", None, "none", "holds", joined([told, ends]), say(""), _RAIN,
    )  # fmt: skip


def _carried(path: DryPath) -> Finding:
    reason = say(
        "{path} leaking air leaves {air} and diffusion brings {diffusion} over the years run.",
        path=_place(path),
        air=Figure(path.water_by_air, "water"),
        diffusion=Figure(path.water_by_diffusion, "water"),
    )
    return Finding(
        "dry", _key(path, "air_share"), "Share of the room's water that comes with air",
        path.air_share, "-", None, "none", "holds", reason, say(""), _JOINT,
    )  # fmt: skip
