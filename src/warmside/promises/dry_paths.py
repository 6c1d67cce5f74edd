"""Paths of a wall through the years, hour by hour: what is asked, and what each comes to.

What is asked is named by its content, so that paths that are alike, on whatever wall and option,
are run once.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any, TypeAlias, get_args

import numpy as np
from numpy.typing import NDArray

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
    MOULD,
    MOULD_LIMIT,
    ROT_DAYS,
    SUMMER_MOISTURE,
    JudgedInterface,
    PathName,
    Settings,
    WallYears,
    WetStart,
    wall_years,
)
from warmside.promises.leak_path import WorstJoint
from warmside.promises.room import Room
from warmside.survey import Wall
from warmside.wood import DRY_WOOD

Floats = NDArray[np.float64]
PATHS: tuple[PathName, ...] = get_args(PathName)
BOUND: PathName = "worst joint, bound"  # told beside the likely one, not judged
LIKELY: PathName = "worst joint"
AT_JOINT: tuple[PathName, ...] = (LIKELY, BOUND)
RAIN: PathName = "rain leak"  # told beside mid-bay, not judged
TOLD: tuple[PathName, ...] = (BOUND, RAIN)
# [-] of the rain that strikes the wall gets past the cladding: ASHRAE 160 (from memory). Half of
# what strikes it wets the cladding.
RAIN_PAST = 0.01 / Facade.rain_taken
USUAL_START = 0.70  # [-] humidity of all layers in autumn; own figure
# Against 80 cells and tight steps, 61 paths of the demonstration house and the opened walls of
# Portland (a test repeats one): mould index within 0.12, what summer leaves in wood within 0.15 %
# moisture, its wettest day within 0.2 % on nine paths in ten and, by the grid, 1.1 % on one stud.
GRIDS = (40, 60, 80)  # cells, the next where the one before does not converge
STEPS = Settings(humidity=4e-2, temperature=1.2, newton=0.2)


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
    def strain(self) -> float:
        """How much of what it may bear it bears: below 1 where it holds [-].

        The greatest of the mould index, the start of rot, the days of warm and wet wood and what
        summer leaves in it, each over its limit.
        """
        worn = [self.mould_most / MOULD_LIMIT, self.rot_most]
        worn += [wood.driest / SUMMER_MOISTURE for wood in self.wood]
        # as many days as allowed still hold
        worn += [wood.rotting_days / (ROT_DAYS * (1.0 + 1e-9)) for wood in self.wood]
        return max(worn)

    @property
    def holds(self) -> bool:
        """Over the whole run: no mould, no rot, no wood wet and warm for long or in summer."""
        wood = all(w.dries and w.rotting_days <= ROT_DAYS for w in self.wood)
        return self.mould_most < MOULD_LIMIT and self.rot_most < 1.0 and wood


@dataclass(frozen=True, eq=False)
class Exposure:
    """What all options of one wall share: weather from autumn on and on its face, and the meter.

    Built by ``exposure_of``.
    """

    weather: HourlyClimate
    shift: int  # [h] by which series of the calendar year are rolled
    faces: float  # [deg] clockwise from north
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
    face = facade_weather(autumn, Facade(wall.faces))
    start = wall.wettest if wall.wettest > DRY_WOOD else None
    return Exposure(autumn, shift, wall.faces, face, start)


@dataclass(frozen=True, eq=False)
class PathAsk:
    """One path that is to be run: through which layers, under which weather, with which air."""

    path: PathName
    stack: Stack
    exposure: Exposure
    room: Room
    years: int
    joint: WorstJoint | None = None

    @property
    def at(self) -> str:
        """The joint, or the kind of region."""
        return self.stack.kind if self.joint is None else self.joint.name

    @cached_property
    def leak(self) -> Floats:
        """Air past the cold face [kg/(m2 s)], hours of the calendar year; one zero without."""
        return np.zeros(1) if self.joint is None else self.joint.leak(bound=self.path == BOUND)

    @property
    def found_wet(self) -> bool:
        """Whether its wood or its fill was found wet."""
        wet = any(layer.found_water is not None for layer in self.stack.layers)
        return wet or self.exposure.start is not None

    @property
    def once_dry(self) -> PathAsk:
        """The same with its wood dried and its fill."""
        sheets = (replace(layer, found_water=None) for layer in self.stack.layers)
        return replace(self, stack=replace(self.stack, layers=tuple(sheets)))

    @cached_property
    def key(self) -> PathKey:
        """Names what decides the outcome: asks of one key under one year of weather are one."""
        sums = (self.leak.sum(), np.abs(self.leak).sum())
        air = " ".join(map("{:.9e}".format, sums)) if self.joint else ""
        # what is only told is not judged again once it has dried
        again = self.found_wet and self.path not in TOLD
        stand = self.exposure.faces, self.exposure.start, again, self.path == RAIN
        return (self.stack.layers, self.room.same_as, self.years, air, *stand)


@dataclass(frozen=True, eq=False)
class PathFound:
    """What a path comes to, and from dry wood where it was found wet and does not hold."""

    path: DryPath
    dried: DryPath | None = None

    def seen_by(self, ask: PathAsk) -> PathFound:
        """The same under the name of an ask that is alike."""
        if (self.path.path, self.path.at) == (ask.path, ask.at):
            return self
        dried = self.dried and replace(self.dried, path=ask.path, at=ask.at)
        return PathFound(replace(self.path, path=ask.path, at=ask.at), dried)


PathKey: TypeAlias = tuple[object, ...]
Found: TypeAlias = PathFound | SolverError  # that the model does not get through is an answer too


def asked_paths(
    build_up: BuildUp,
    exposure: Exposure,
    room: Room,
    *,
    years: int = 1,
    paths: Sequence[PathName] = PATHS,
    joint: WorstJoint | None = None,
) -> tuple[PathAsk, ...]:
    """Those of ``paths`` that the wall has.

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
        "mid-bay", "stud", "worst joint" and its bound, "rain leak"; what the wall does not have is
        left out.
    joint : WorstJoint, optional
        For the paths at the worst joint.

    Raises
    ------
    InputError
        A path of another name.
    """
    unknown = [path for path in paths if path not in PATHS]
    if unknown:
        raise InputError([Fault("path", f"'{unknown[0]}'", ", ".join(PATHS))])
    asked = []
    for path in paths:
        on = joint if path in AT_JOINT else None
        stack = path_stack(build_up.stacks, path, on)
        if stack is not None and (path not in AT_JOINT or on is not None):
            asked.append(PathAsk(path, stack, exposure, room, years, on))
    return tuple(asked)


def run_paths(asked: Sequence[PathAsk]) -> dict[PathKey, Found]:
    """Run each path once for all that are alike."""
    known: dict[PathKey, Found] = {}
    rooms: _Rooms = {}  # the same air for paths of one room
    for ask in asked:
        if ask.key not in known:
            known[ask.key] = _outcome(ask, rooms)
    return known


def outcome(ask: PathAsk, known: Mapping[PathKey, Found]) -> Found:
    """What ``run_paths`` found for ``ask`` or for one that is alike."""
    found = known[ask.key]
    return found if isinstance(found, SolverError) else found.seen_by(ask)


_Rooms: TypeAlias = dict[tuple[object, int], IndoorAir]  # by what a wall feels, and the weather


def _outcome(ask: PathAsk, rooms: _Rooms) -> Found:
    try:
        path = _run(ask, ask.exposure.start, rooms)
        again = ask.found_wet and not path.holds and ask.path not in TOLD
        return PathFound(path, _run(ask.once_dry, DRY_WOOD, rooms) if again else None)
    except SolverError as error:
        return error


def path_stack(
    stacks: Sequence[Stack], name: PathName, joint: WorstJoint | None = None
) -> Stack | None:
    """Largest stack of the path; a joint's air runs through a bay or along the wood."""
    by_kind = {kind: [s for s in stacks if s.kind == kind] for kind in ("bay", "stud")}
    wood = name == "stud" or (joint is not None and joint.along_wood)
    largest = max(by_kind["stud" if wood else "bay"], key=lambda stack: stack.area, default=None)
    return largest and replace(largest, layers=largest.sheets, rects=())


def _run(ask: PathAsk, start: float | None, rooms: _Rooms) -> DryPath:
    """The path from wood at ``start`` [kg/kg], on the first grid that gets through every rain."""
    shown = ask.exposure
    at = ask.room.same_as, id(shown.weather)
    if at not in rooms:
        rooms[at] = ask.room.hourly(shown.weather)
    what = ask.stack, shown.weather, rooms[at], shown.face
    how: dict[str, Any] = {
        "path": ask.path,
        "years": ask.years,
        "leak": np.roll(ask.leak, -shown.shift) if ask.joint else 0.0,
        "start_humidity": USUAL_START,
        "wet": None if start is None else WetStart(start, ("sheathing", "wood")),
        "rain_past": RAIN_PAST if ask.path == RAIN else 0.0,
    }
    for cells in GRIDS[:-1]:
        try:
            return _told(wall_years(*what, cells=cells, settings=STEPS, **how), ask, start)
        except SolverError:
            continue
    return _told(wall_years(*what, cells=GRIDS[-1], **how), ask, start)


def _told(run: WallYears, ask: PathAsk, start: float | None) -> DryPath:
    """The run at its most endangered interface, by day."""
    months = np.tile(ask.exposure.weather.month, ask.years)
    worst = max(run.judged, key=_danger)
    rotten = max(run.judged, key=lambda one: one.decay_activation)
    return DryPath(
        path=ask.path,
        at=ask.at,
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
