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
from warmside.physics.airflow import STANDARD_DENSITY
from warmside.physics.assembly import Stack
from warmside.physics.climate import (
    Facade,
    FacadeWeather,
    HourlyClimate,
    IndoorAir,
    facade_weather,
    indoor_measured,
)
from warmside.physics.moisture import (
    MONTHS,
    MOULD,
    MOULD_LIMIT,
    JudgedInterface,
    PathName,
    Settings,
    WallYears,
    WetStart,
    wall_years,
)
from warmside.promises.finding import Finding
from warmside.promises.room import Room
from warmside.promises.tightness import WorstJoint
from warmside.survey import Wall
from warmside.wood import DRY_WOOD, ROT_STARTS
from warmside.wording import Figure, Sentence, Verdict, joined, say

Floats = NDArray[np.float64]
PATHS: tuple[PathName, ...] = get_args(PathName)
STRIP = 0.4  # [m] width of sheathing that a joint's leak wets, about a bay; own figure
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
_WOOD = Source("Wood below 19 % is dry, above 26 % can rot", "common practice")
_CARRIED = Source("Hourly heat and moisture model of EN 15026 with a leak", "computed")


@dataclass(frozen=True, eq=False)
class WoodCourse:
    """Moisture of a layer of wood or board, day by day."""

    name: str
    mean: Floats  # [kg/kg] over its thickness, (n_days,)
    days_above_20: float
    days_above_26: float
    drying_days: float | None  # until below 19 % for good; None if not within the years


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
    def holds(self) -> bool:
        """No mould, no rot, and no wood near fibre saturation at the end."""
        dries = all(w.drying_days is not None or w.mean[-1] <= ROT_STARTS for w in self.wood)
        return self.mould_most < MOULD_LIMIT and self.rot_most < 1.0 and dries


@dataclass(frozen=True, eq=False)
class DryYears:
    """Paths of one option of one wall through the years."""

    years: int
    first_month: int  # 1 to 12
    humidity: float  # [-] of the room in the coldest month
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
    paths: Sequence[PathName] = PATHS[:1],
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
        Room air of the coldest month; after tightening where the option tightens.
    years : int
        1 to 30, the same weather each [-].
    paths : sequence of PathName
        "mid-bay", "stud", "worst joint"; paths that the wall does not have are left out.
    joint : WorstJoint, optional
        For the path "worst joint".
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
    indoor = indoor_measured(exposure.weather, room.temperature, room.humidity)
    case = _Case(exposure, indoor, years, room.humidity, {} if known is None else known)
    run: list[DryPath] = []
    findings: list[Finding] = []
    for name in paths:
        stack = _stack(build_up, name)
        if stack is None or (name == "worst joint" and joint is None):
            continue
        on = joint if name == "worst joint" else None
        try:
            path = _path(case, stack, name, on, exposure.start)
            again = exposure.start is not None and not path.holds
            dried = _path(case, stack, name, on, DRY_WOOD) if again else None
        except SolverError as error:
            findings.append(_unsolved(name, error))
            continue
        run.append(path)
        findings += _findings(path, dried)
    return DryYears(
        years, exposure.weather.time0.month, room.humidity, tuple(run), tuple(findings),
        _assumptions(case, run),
    )  # fmt: skip


@dataclass(frozen=True, eq=False)
class _Case:
    exposure: Exposure
    indoor: IndoorAir
    years: int
    humidity: float
    known: dict[object, DryPath]


def _stack(build_up: BuildUp, name: PathName) -> Stack | None:
    """Largest stack of the path; with foam in the bays the last leaks run along the wood."""
    by_kind = {kind: [s for s in build_up.stacks if s.kind == kind] for kind in ("bay", "stud")}
    foamed = any(layer.role == "foam" for stack in by_kind["bay"] for layer in stack.layers)
    kind = "stud" if name == "stud" or (name == "worst joint" and foamed) else "bay"
    largest = max(by_kind[kind], key=lambda stack: stack.area, default=None)
    return largest and replace(largest, layers=largest.sheets, rects=())


def _path(
    case: _Case, stack: Stack, name: PathName, joint: WorstJoint | None, start: float | None
) -> DryPath:
    key = (
        stack.layers, start, case.humidity, case.years,
        None if joint is None else (joint.name, float(joint.flow.sum())),
    )  # fmt: skip
    found = case.known.get(key)
    if found is None:
        wet = WetStart(start, ("sheathing", "wood")) if start is not None else None
        leak: Floats | float = 0.0
        if joint is not None:
            rolled = np.roll(joint.flow, -case.exposure.shift)
            leak = STANDARD_DENSITY * rolled / (joint.length * STRIP)
        run = _run(
            stack, case.exposure.weather, case.indoor, case.exposure.face, path=name,
            years=case.years, leak=leak, start_humidity=USUAL_START, wet=wet,
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
            WoodCourse(w.name, _daily(w.mean), w.days_above_20, w.days_above_26, w.drying_days)
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
        f"The room has {case.humidity:.0%} in the coldest month; its excess of vapour over "
        "outdoors falls to none at 20 °C outside (ISO 13788, from memory).",
        f"The wall starts in {MONTHS[case.exposure.weather.time0.month - 1]} at "
        + (
            f"{USUAL_START:.0%} humidity throughout."
            if case.exposure.start is None
            else f"{case.exposure.start:.0%} moisture in its wood, the survey's highest reading."
        ),
        "Three tenths of the driven rain reach an unvented wall and half of that stays "
        "(own figures).",
    ]
    if any(path.path == "worst joint" for path in run):
        said.append(
            f"What leaks at the worst joint wets a strip {STRIP * 1000:.0f} mm wide (own figure)."
        )
    return tuple(said)


# ------------------------------------------------------------------ findings


def _findings(path: DryPath, dried: DryPath | None) -> list[Finding]:
    """Mould, rot and wood of one path; for the joint also what its air carries.

    What falls short only because the wall was found wet can be mended by a person first.
    """
    made = [_mould(path, dried), _rot(path, dried), _wet(path, dried)]
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
    if path.path == "worst joint":
        return "needs a person", say(
            "Prove the seals with smoke and a fan test before the wall is closed; drier room air. "
            "This is the worst case: we assumed all the condensation stays in the wall."
        )
    if dried_holds:
        return "needs a person", say(
            "Let the wood dry below {limit} before the wall is closed; it then holds.",
            limit=Figure(DRY_WOOD, "share"),
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
        "worst joint": f"At the worst joint ({path.at})",
    }[path.path]


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
    """Wood: how long above 20 % and 26 %, when dry; iron, frost and liquid beside it."""
    wood = path.wettest
    left = float(wood.mean[-1]) if wood else 0.0
    stays = wood is not None and wood.drying_days is None and left > ROT_STARTS
    verdict, change = _verdict(path, stays, dried is not None and dried.holds)
    reason = joined([_course(_place(path), wood), _iron(path)])
    return Finding(
        "dry", _key(path, "wood_moisture"), f"Moisture of the wood at the end: {path.path}",
        left, "kg/kg", ROT_STARTS, "most", verdict, reason, change, _WOOD,
    )  # fmt: skip


def _course(place: str, wood: WoodCourse | None) -> Sentence:
    """How wet the wood gets, and when it is dry again."""
    if wood is None:
        return say("{path} there is no wood in the path.", path=place)
    name, most = _lowered(wood.name), float(wood.mean.max())
    if most > 1.0:
        return say("{path} {wood} is brought more water than it can hold.", path=place, wood=name)
    if wood.days_above_20 < 0.5:
        return say(
            "{path} {wood} stays below {limit}, {most} most.",
            path=place,
            wood=name,
            limit=Figure(0.2, "share"),
            most=Figure(most, "share"),
        )
    dry: Figure | str = "not within the run"
    if wood.drying_days is not None:
        dry = Figure(wood.drying_days, "days")
    return say(
        "{path} {wood} is above {damp} on {days}, above {wet} on {days_wet}; below {limit} for "
        "good after: {dry}.",
        path=place,
        wood=name,
        damp=Figure(0.2, "share"),
        days=Figure(wood.days_above_20, "days"),
        wet=Figure(ROT_STARTS, "share"),
        days_wet=Figure(wood.days_above_26, "days"),
        limit=Figure(DRY_WOOD, "share"),
        dry=dry,
    )


def _iron(path: DryPath) -> Sentence:
    return say(
        "Damp enough to rust iron {rust}, frost {frost}, liquid water {liquid}.",
        rust=Figure(path.corrosion_hours, "hours"),
        frost=Figure(path.frost_hours, "hours"),
        liquid=Figure(path.liquid_hours, "hours"),
    )


def _carried(path: DryPath) -> Finding:
    reason = say(
        "{path} leaking air leaves {air} and diffusion brings {diffusion} over the years run.",
        path=_place(path),
        air=Figure(path.water_by_air, "water"),
        diffusion=Figure(path.water_by_diffusion, "water"),
    )
    return Finding(
        "dry", _key(path, "air_share"), "Share of the room's water that comes with air",
        path.air_share, "-", None, "none", "holds", reason, say(""), _CARRIED,
    )  # fmt: skip
