"""Dry through the years: paths of a wall hour by hour, from what the survey's meter showed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any, get_args

import numpy as np
from numpy.typing import NDArray

from warmside.catalog import Source
from warmside.errors import Fault, InputError, SolverError
from warmside.options import BuildUp
from warmside.physics.assembly import Stack
from warmside.physics.climate import (
    Facade,
    FacadeWeather,
    HourlyClimate,
    IndoorAir,
    facade_weather,
)
from warmside.physics.moisture import (
    MONTHS,
    MOULD,
    MOULD_LIMIT,
    ROT_DAYS,
    ROT_TEMPERATURE,
    SUMMER_MOISTURE,
    JudgedInterface,
    PathName,
    Settings,
    WallYears,
    WetStart,
    wall_years,
)
from warmside.promises.finding import Finding
from warmside.promises.leak_path import SPREAD, STRIP, WorstJoint
from warmside.promises.room import Room
from warmside.survey import Wall
from warmside.wood import DRY_WOOD, ROT_STARTS
from warmside.wording import Figure, Sentence, Verdict, joined, say

Floats = NDArray[np.float64]
PATHS: tuple[PathName, ...] = get_args(PathName)
BOUND: PathName = "worst joint, bound"  # told beside the likely one, not judged
AT_JOINT: tuple[PathName, ...] = ("worst joint", BOUND)
USUAL_START = 0.70  # [-] humidity of all layers in autumn; own figure
# Against 80 cells and tight steps, 13 paths of the demonstration house (a test repeats one of
# them): mould index within 0.1, wood within 1 %. The steps alone change neither by a tenth of that.
GRIDS = (40, 60, 80)  # cells, the next where the one before does not converge
STEPS = Settings(humidity=2e-2, temperature=0.6, newton=0.1)
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
_JOINT = Source(
    "A leak in full exchange, throttled by the fill as measured walls leak (BSI-043), its width "
    "fitted to 96 opened walls (Tsongas 1980)",
    "second-hand",
)


@dataclass(frozen=True, eq=False)
class WoodCourse:
    """Moisture of a layer of wood or board, day by day."""

    name: str
    mean: Floats  # [kg/kg] over its thickness, (n_days,)
    meter: Floats  # [kg/kg] of the 3 mm next to the room, where a meter's pins read, (n_days,)
    days_above_20: float
    days_above_26: float
    rotting_days: float  # above 26 % while above 5 degC
    summer_least: float | None  # [kg/kg] in the summer that dries least; None without a summer
    drying_days: float | None  # until below 19 % for good; None if not within the years

    @property
    def driest(self) -> float:
        """What the summer that dries least leaves [kg/kg]; at the end where there is no summer."""
        return float(self.mean[-1]) if self.summer_least is None else self.summer_least

    @property
    def dries(self) -> bool:
        """Whether every summer brings it below 20 %."""
        return self.driest < SUMMER_MOISTURE


@dataclass(frozen=True, eq=False)
class DryPath:
    """One path through the years, judged at its most endangered interface."""

    path: PathName
    at: str  # the joint, or the kind of region
    start: float | None  # [kg/kg] moisture of the wood at the start; None at the usual humidity
    between: tuple[str, str]
    temperature: Floats  # [degC] daily means at that interface, (n_days,)
    humidity: Floats  # [-]
    humidity_least: float  # [-] below which nothing grows on its more sensitive face
    mould: Floats  # [-] index at the end of each day
    mould_most: float
    mould_month: int
    rot_most: float  # [-] activation; rot starts at 1
    rot_month: int
    wood: tuple[WoodCourse, ...]
    corrosion_hours: int  # at the worst interface
    frost_hours: int
    liquid_hours: int
    water_by_air: float  # [kg/m2] over all years
    water_by_diffusion: float  # [kg/m2]
    balance: float  # [-] of water, of what moved

    @property
    def air_share(self) -> float:
        """Share of the room's water that came with leaking air [-]."""
        total = self.water_by_air + self.water_by_diffusion
        return self.water_by_air / total if total > 0.0 else 0.0

    @property
    def wettest(self) -> WoodCourse | None:
        """The layer of wood that stays wet longest."""
        return max(self.wood, key=lambda w: (w.days_above_20, float(w.mean.max())), default=None)

    @property
    def rotting(self) -> WoodCourse | None:
        """The layer of wood that is warm and wet longest."""
        return max(self.wood, key=lambda w: w.rotting_days, default=None)

    @property
    def dampest(self) -> WoodCourse | None:
        """The layer of wood that dries least in summer."""
        return max(self.wood, key=lambda w: w.driest, default=None)

    @property
    def holds(self) -> bool:
        """Over the whole run: no mould, no rot, no wood wet and warm for long or in summer."""
        wood = all(w.dries and w.rotting_days <= ROT_DAYS for w in self.wood)
        return self.mould_most < MOULD_LIMIT and self.rot_most < 1.0 and wood


@dataclass(frozen=True, eq=False)
class DryYears:
    """Paths of one option of one wall through the years."""

    years: int
    first_month: int  # 1 to 12
    room: Room  # in which they were judged
    paths: tuple[DryPath, ...]
    findings: tuple[Finding, ...]
    assumptions: tuple[str, ...]


@dataclass(frozen=True, eq=False)
class Exposure:
    """What all options of one wall share: weather from autumn on and on its face, and the meter.

    Built by ``exposure_of``.
    """

    weather: HourlyClimate
    shift: int  # [h] by which series of the calendar year are rolled
    face: FacadeWeather
    start: float | None  # [kg/kg] highest reading of the wall's wood, if above 19 %


def exposure_of(wall: Wall, weather: HourlyClimate) -> Exposure:
    """Weather of a wall from October on, and its wettest reading.

    Parameters
    ----------
    wall : Wall
        As surveyed.
    weather : HourlyClimate
        A year of hours.
    """
    autumn = weather.from_autumn()
    shift = 0 if autumn is weather else int(np.flatnonzero(weather.month == autumn.month[0])[0])
    highest = max((reading.moisture for reading in wall.readings), default=0.0)
    face = facade_weather(autumn, Facade(wall.faces))
    return Exposure(autumn, shift, face, highest if highest > DRY_WOOD else None)


def dry_years(
    build_up: BuildUp,
    exposure: Exposure,
    room: Room,
    *,
    years: int = 1,
    paths: Sequence[PathName] = PATHS,
    joint: WorstJoint | None = None,
    known: dict[object, DryPath] | None = None,
) -> DryYears:
    """Judge paths of one option on one wall hour by hour.

    A path that the model does not get through becomes a finding that needs a person.

    Parameters
    ----------
    build_up : BuildUp
        The option applied to the wall.
    exposure : Exposure
        Of the wall.
    room : Room
        Room air of the plan that the option is part of.
    years : int
        1 to 30, the same weather each [-].
    paths : sequence of PathName
        "mid-bay", "stud", "worst joint" and its bound; what the wall does not have is left out.
    joint : WorstJoint, optional
        For the paths at the worst joint.
    known : dict, optional
        Paths run before for the same exposure; filled, so that options share what is the same.

    Raises
    ------
    InputError
        A path of another name, years out of range, a material without moisture properties.
    """
    unknown = [path for path in paths if path not in PATHS]
    if unknown:
        raise InputError([Fault("path", f"'{unknown[0]}'", ", ".join(PATHS))])
    case = _Case(
        exposure, room, room.hourly(exposure.weather), years, {} if known is None else known
    )
    run: list[DryPath] = []
    findings: list[Finding] = []
    for name in paths:
        on = joint if name in AT_JOINT else None
        stack = _stack(build_up, name, on)
        if stack is None or (name in AT_JOINT and on is None):
            continue
        try:
            path = _path(case, stack, name, on, exposure.start)
            again = exposure.start is not None and not path.holds and name != BOUND
            dried = _path(case, stack, name, on, DRY_WOOD) if again else None
        except SolverError as error:
            findings.append(_unsolved(name, error))
            continue
        run.append(path)
        findings += _findings(path, dried)
    return DryYears(
        years, exposure.weather.time0.month, room, tuple(run), tuple(findings),
        _assumptions(case, run),
    )  # fmt: skip


@dataclass(frozen=True, eq=False)
class _Case:
    exposure: Exposure
    room: Room
    indoor: IndoorAir
    years: int
    known: dict[object, DryPath]


def _stack(build_up: BuildUp, name: PathName, joint: WorstJoint | None) -> Stack | None:
    """Largest stack of the path; a joint's air runs through a bay or along the wood."""
    by_kind = {kind: [s for s in build_up.stacks if s.kind == kind] for kind in ("bay", "stud")}
    wood = name == "stud" or (joint is not None and joint.along_wood)
    largest = max(by_kind["stud" if wood else "bay"], key=lambda stack: stack.area, default=None)
    return largest and replace(largest, layers=largest.sheets, rects=())


def _path(
    case: _Case, stack: Stack, name: PathName, joint: WorstJoint | None, start: float | None
) -> DryPath:
    leak = np.zeros(1) if joint is None else joint.leak(bound=name == BOUND)
    key = (
        stack.layers, start, case.room.same_as, case.years, joint and joint.name, float(leak.sum()),
        float(np.abs(leak).sum()),
    )  # fmt: skip
    found = case.known.get(key)
    if found is None:
        wet = WetStart(start, ("sheathing", "wood")) if start is not None else None
        run = _run(
            stack, case.exposure.weather, case.indoor, case.exposure.face, path=name,
            years=case.years, leak=np.roll(leak, -case.exposure.shift) if joint else 0.0,
            start_humidity=USUAL_START, wet=wet,
        )  # fmt: skip
        at = joint.name if joint is not None else stack.kind
        found = case.known[key] = _told(run, name, at, start, case)
    return replace(found, path=name)


def _run(*what: Any, **how: Any) -> WallYears:
    """The run on the first grid that gets through every cloudburst."""
    for cells in GRIDS[:-1]:
        try:
            return wall_years(*what, cells=cells, settings=STEPS, **how)
        except SolverError:
            continue
    return wall_years(*what, cells=GRIDS[-1], **how)


def _told(run: WallYears, name: PathName, at: str, start: float | None, case: _Case) -> DryPath:
    """The run at its most endangered interface, by day."""
    months = np.tile(case.exposure.weather.month, case.years)
    worst = max(run.judged, key=_danger)
    rotten = max(run.judged, key=lambda one: one.decay_activation)
    return DryPath(
        path=name,
        at=at,
        start=start,
        between=worst.between,
        temperature=_daily(worst.temperature),
        humidity=_daily(worst.humidity),
        humidity_least=MOULD[worst.mould_class].humidity_min / 100.0,
        mould=worst.mould[23::24],
        mould_most=worst.mould_most,
        mould_month=int(months[worst.mould_hour]),
        rot_most=rotten.decay_activation,
        rot_month=int(months[rotten.decay_hour]),
        wood=tuple(
            WoodCourse(
                w.name,
                _daily(w.mean),
                _daily(w.meter),
                w.days_above_20,
                w.days_above_26,
                w.rotting_days,
                w.summer_least,
                w.drying_days,
            )
            for w in run.wood
        ),
        corrosion_hours=max(one.corrosion_hours for one in run.judged),
        frost_hours=max(one.frost_hours for one in run.judged),
        liquid_hours=max(one.liquid_hours for one in run.judged),
        water_by_air=run.by_air,
        water_by_diffusion=run.by_diffusion,
        balance=run.balance.water_error,
    )


def _danger(face: JudgedInterface) -> tuple[float, float]:
    return face.mould_most, float(face.humidity.mean())


def _daily(values: Floats) -> Floats:
    days = values.size // 24
    return np.asarray(values[: days * 24].reshape(days, 24).mean(axis=1))


def _assumptions(case: _Case, run: Sequence[DryPath]) -> tuple[str, ...]:
    said = [
        f"The room has {Figure(case.room.humidity, 'share')} in the coldest month, and in every "
        "other what the same living and its own outdoor air make; windows open as it gets warm, "
        "and at 20 °C outside nothing is left of the excess (ISO 13788, from memory).",
        f"The wall starts in {MONTHS[case.exposure.weather.time0.month - 1]} at "
        + (
            f"{Figure(USUAL_START, 'share')} humidity throughout."
            if case.exposure.start is None
            else f"{Figure(case.exposure.start, 'share')} moisture in its wood, the survey's "
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


def _findings(path: DryPath, dried: DryPath | None) -> list[Finding]:
    """Mould, rot and wood of one path; for the joint also what its air carries, and the bound.

    What falls short only because the wall was found wet can be mended by a person first.
    """
    if path.path == BOUND:
        return [_bound(path)]
    made = [_mould(path, dried), _rot(path, dried), _wet(path, dried), _dries(path, dried)]
    return [*made, _carried(path)] if path.path == "worst joint" else made


def _unsolved(name: PathName, error: SolverError) -> Finding:
    what = name.replace(" ", "_").replace("-", "_")
    return Finding(
        "dry", f"unsolved_{what}", f"Years hour by hour: {name}", None, "-", None, "none",
        "needs a person", say("The hours were not computed: {error}.", error=str(error)),
        say("Judge by the monthly balance."), _CARRIED,
    )  # fmt: skip


def _verdict(path: DryPath, short: bool, dried_holds: bool) -> tuple[Verdict, Sentence]:
    if not short:
        return "holds", say("")
    if dried_holds:
        return "needs a person", say(
            "Let the wood dry below {limit} before the wall is closed; it then holds.",
            limit=Figure(DRY_WOOD, "share"),
        )
    if path.path == "worst joint":
        return "falls short", say(
            "Seal the joints, and prove the seals with smoke and a fan test before the wall is "
            "closed; drier room air."
        )
    return "falls short", say(
        "Drier room air, vapour control on the warm side, foam against the cold side, or a layer "
        "outside that lets vapour pass."
    )


def _key(path: DryPath, what: str) -> str:
    return f"{what}_{path.path.replace(' ', '_').replace('-', '_')}"


def _place(path: DryPath) -> str:
    return {
        "mid-bay": "Mid-bay",
        "stud": "Through the stud",
    }.get(path.path, f"At the worst joint ({path.at})")


def _lowered(name: str) -> str:
    return name[0].lower() + name[1:]


def _mould(path: DryPath, dried: DryPath | None) -> Finding:
    short = path.mould_most >= MOULD_LIMIT
    verdict, change = _verdict(path, short, dried is not None and dried.mould_most < MOULD_LIMIT)
    place = f"between {_lowered(path.between[0])} and {_lowered(path.between[1])}"
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


def _rot(path: DryPath, dried: DryPath | None) -> Finding:
    verdict, change = _verdict(
        path, path.rot_most >= 1.0, dried is not None and dried.rot_most < 1.0
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


def _wet(path: DryPath, dried: DryPath | None) -> Finding:
    """How long wood is above 26 % and 5 degC; iron, frost and liquid beside it."""
    wood = path.rotting
    days = wood.rotting_days if wood else 0.0
    recovers = dried is not None and all(w.rotting_days <= ROT_DAYS for w in dried.wood)
    verdict, change = _verdict(path, days > ROT_DAYS, recovers)
    reason = joined([_course(_place(path), wood), _iron(path)])
    return Finding(
        "dry", _key(path, "rotting_days"), f"Days with wood above 26 % and 5 °C: {path.path}",
        days, "days", ROT_DAYS, "most", verdict, reason, change, _WOOD,
    )  # fmt: skip


def _course(place: str, wood: WoodCourse | None) -> Sentence:
    """How wet the wood gets, for how long, and what a meter would read."""
    if wood is None:
        return say("{path} there is no wood in the path.", path=place)
    name, most = _lowered(wood.name), float(wood.mean.max())
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


def _dries(path: DryPath, dried: DryPath | None) -> Finding:
    """Whether every summer dries the wood."""
    wood = path.dampest
    least = 0.0 if wood is None else wood.driest
    recovers = dried is not None and all(w.dries for w in dried.wood)
    verdict, change = _verdict(path, wood is not None and not wood.dries, recovers)
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
        wood=_lowered(wood.name),
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
