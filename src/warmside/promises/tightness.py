"""Tight: how much leakage an option takes from the wall and the house, and where it pays."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from warmside.catalog import Source
from warmside.identity import Same
from warmside.options import BuildUp
from warmside.physics.airflow import (
    STANDARD_DENSITY,
    Band,
    HouseLeakage,
    LeakWater,
    flow_coefficient,
    leak_water,
)
from warmside.physics.conduction import profile
from warmside.promises.air import HouseAir, JointGain, WallAir
from warmside.promises.finding import Finding, banded
from warmside.promises.leakage import JointLeak
from warmside.promises.room import Room
from warmside.survey import Wall
from warmside.units import HOUR
from warmside.wording import Figure, say

Floats = NDArray[np.float64]
NOTHING = Band(0.0, 0.0, 0.0)
_OUTSIDE = ("sheathing", "paper", "board", "cladding")
_JOINTS = Source(
    "Joint rows of the catalog, scaled so that the walls hold 18-50 %, best 35 %, of the house's "
    "leakage (ASHRAE Handbook Fundamentals 2021, chapter 16)",
    "from memory",
)
_WATER = Source(
    "Air leaves saturated at the inner face of the sheathing, behind the bay or, with foam, "
    "behind the wood (ASHRAE Handbook Fundamentals 2021, "
    "chapter 25): an upper bound",
    "published",
)


@dataclass(frozen=True)
class Tight:
    """Air through one option of one wall, and what the house becomes if only it is done."""

    before: Band  # [m2] effective leakage area of the wall at 4 Pa
    after: Band  # [m2]
    removed: Band  # [-] of the house's leakage
    air_change_before: Band  # [1/h] of the house at 50 Pa
    air_change_after: Band  # [1/h]
    gains: tuple[JointGain, ...]  # kinds of joint, the one that pays most per metre first
    water_before: float  # [kg] most that leaks may leave in the wall over the year
    water_after: float  # [kg]
    findings: tuple[Finding, ...]


def seals_joints(build_up: BuildUp) -> bool:
    """Whether the joints of the wall are sealed: asked for, and buildable.

    Foam alone passes the joints between wood and wood by.
    """
    return build_up.option.seal_joints and build_up.can_be_built


def leakage_removed(build_up: BuildUp, air: HouseAir) -> Band:
    """Share of the house's leakage that an option takes away [-]."""
    if not seals_joints(build_up):
        return NOTHING
    return air.walls[build_up.wall].within(build_up.option.kind.reaches).removed


def tight(build_up: BuildUp, as_found: BuildUp, air: HouseAir, room: Room | None = None) -> Tight:
    """Judge the air of one option on one wall.

    Parameters
    ----------
    build_up, as_found : BuildUp
        The option applied to the wall, and the wall as found.
    air : HouseAir
        The house before.
    room : Room, optional
        The room of the plan that the option is part of; today's when not given.

    Returns
    -------
    Tight
        Leakage areas [m2], air changes [1/h], water [kg] and findings.
    """
    kind, seals = build_up.option.kind, seals_joints(build_up)
    wall = air.walls[build_up.wall].within(kind.reaches)
    removed = leakage_removed(build_up, air)
    after = air.leakage.without(removed)
    water = (
        _water_before(Same(as_found), Same(wall), Same(air.room)),
        water_left(build_up, wall, room or air.room, sealed=seals),
    )
    change = air.leakage.air_change_50(air.volume), after.air_change_50(air.volume)
    return Tight(
        before=wall.open,
        after=wall.sealed if seals else wall.open,
        removed=removed,
        air_change_before=change[0],
        air_change_after=change[1],
        gains=wall.gains,
        water_before=water[0],
        water_after=water[1],
        findings=()
        if not kind.worked
        else (
            _leakage(wall.open, wall.sealed if seals else wall.open, seals, kind.opened.bays),
            _air_change(*change, air.leakage),
            _carried(*water),
        ),
    )


@lru_cache(maxsize=256)  # the same for every option of a wall that reaches the same joints
def _water_before(as_found: Same[BuildUp], wall: Same[WallAir], room: Same[Room]) -> float:
    return water_left(as_found.value, wall.value, room.value, sealed=False)


def water_left(build_up: BuildUp, wall: WallAir, room: Room, *, sealed: bool) -> float:
    """Water that leaking room air can leave on the sheathing over the year, at most.

    ``sum rho Q max(w_i - w_sat(T), 0) dt`` with T the inner face of the sheathing behind a bay.

    Parameters
    ----------
    build_up : BuildUp
        What the wall is then.
    wall : WallAir
        Its joints, and the year of pressures on them.
    room : Room
        Room air; its humidity of the coldest month is held all year.
    sealed : bool
        Whether its joints are sealed.

    Returns
    -------
    float
        Water [kg].
    """
    drive, face = wall.drive, face_factor(build_up)
    air = room.temperature, room.vapour_pressure
    left = sum(
        areas[sealed] * drive.year.leaving(drive.faces, height, face, *air).water
        for height, areas in wall.bands.items()
    )
    return STANDARD_DENSITY * flow_coefficient(1.0, drive.year.exponent) * left * HOUR


def leak_waters(build_up: BuildUp, wall: Wall, air: HouseAir) -> tuple[tuple[str, LeakWater], ...]:
    """Water that each joint of a wall can leave over the year, the worst first.

    Parameters
    ----------
    build_up : BuildUp
        What the wall is then; its joints sealed where the option seals them.
    wall : Wall
        The wall as surveyed.
    air : HouseAir
        Weather, room, pressures.

    Returns
    -------
    tuple of (str, LeakWater)
        Name of the joint in the frame; air [m3], water [kg], hours [h].
    """
    outdoors = air.weather.temperature
    face = outdoors + face_factor(build_up) * (air.room.temperature - outdoors)
    vapour, exponent = air.room.vapour_pressure, air.leakage.exponent
    pressure = pressure_on(wall, air)
    found = [
        (leak.joint.name, leak_water(area, pressure(leak.height), face, vapour, exponent))
        for leak, area in joint_areas(build_up, wall, air)
    ]
    return tuple(sorted(found, key=lambda pair: -pair[1].water))


def joint_areas(build_up: BuildUp, wall: Wall, air: HouseAir) -> Iterator[tuple[JointLeak, float]]:
    """Every joint and its leakage area at 4 Pa [m2], sealed where the option seals it."""
    seals, part = seals_joints(build_up), air.walls[wall.name]
    total = part.leakage.open.best
    scale = part.open.best / total if total else 0.0
    for leak in part.leakage.leaks:
        best = min(leak.sealed.best, leak.open.best) if seals else leak.open.best
        yield leak, best * scale


def pressure_on(wall: Wall, air: HouseAir) -> Callable[[float], Floats]:
    """Pressure of the room over outdoors [Pa], (n_hours,), by height above the wall's foot [m]."""
    wind = air.pressures.wind_on(wall.faces)
    base = max(wall.storey - 1, 0) * air.site.height / air.site.storeys
    return lambda height: np.asarray(air.pressures.still(base + height) - wind)


def face_factor(build_up: BuildUp, along_wood: bool = False) -> float:
    """Temperature of the sheathing's inner face between outdoors (0) and indoors (1) [-].

    Behind an open bay; where foam holds the bay, or ``along_wood``, behind the wood that leaks run
    along.
    """
    return _face_factor(Same(build_up), along_wood)


@lru_cache(maxsize=2048)  # the options of some houses
def _face_factor(of: Same[BuildUp], along_wood: bool) -> float:
    build_up = of.value
    bays = [stack for stack in build_up.stacks if stack.kind == "bay"]
    foamed = any(layer.role == "foam" for stack in bays for layer in stack.layers)
    wood = [stack for stack in build_up.stacks if stack.kind in ("stud", "plate")]
    paths = wood if (foamed or along_wood) and wood else bays or build_up.stacks
    path = max(paths, key=lambda stack: stack.area)
    outside = next(
        (k for k, layer in enumerate(path.layers) if layer.role in _OUTSIDE and k > 0),
        len(path.layers),
    )
    return profile(path, 1.0, 0.0).temperatures[outside]


def _leakage(before: Band, after: Band, seals: bool, bays: bool) -> Finding:
    holds = seals or not bays  # joints out of reach behind closed bays are no worse than before
    leaks = banded(before, "hole")
    reason = (
        say(
            "Joints, openings and boxes of the wall leak as much as one hole of {before}; sealed, "
            "{after}.",
            before=leaks,
            after=banded(after, "hole"),
        )
        if seals
        else say(
            "The joints stay open: {before}; insulation alone does not seal them.", before=leaks
        )
        if bays
        else say("The bays stay closed, and the joints as they are: {before}.", before=leaks)
    )
    return Finding(
        promise="tight",
        key="wall_leakage_m2",
        name="Leakage area of the wall after the work",
        figure=after.best,
        unit="m2",
        limit=before.best,
        limit_is="most",
        verdict="holds" if holds else "falls short",
        reason=reason,
        change=say("" if holds else "Seal the joints, wood to wood, before insulating."),
        source=_JOINTS,
    )


def _air_change(before: Band, after: Band, leakage: HouseLeakage) -> Finding:
    return Finding(
        promise="tight",
        key="air_change_50_per_h",
        name="Air change of the house at 50 Pa, if only this wall is done",
        figure=after.best,
        unit="1/h",
        limit=before.best,
        limit_is="most",
        verdict="holds" if leakage.measured else "needs a person",
        reason=say(
            "{before} before, {after} after. {basis}",
            before=banded(before, "air change"),
            after=banded(after, "air change"),
            basis=leakage.basis,
        ),
        change=say("" if leakage.measured else "A fan test before the work, and one after."),
        source=_JOINTS,
    )


def _carried(before: float, after: float) -> Finding:
    holds = after <= before
    return Finding(
        promise="tight",
        key="leak_water_kg",
        name="Water that leaking room air may leave in the wall in a year, at most",
        figure=after,
        unit="kg",
        limit=before,
        limit_is="most",
        verdict="holds" if holds else "needs a person",
        reason=say(
            "At most {before} a year as found, {after} after: behind insulation the sheathing is "
            "colder, so that what is left of a leak leaves more water. This is the worst case: in "
            "practice some of the moisture leaves with the air.",
            before=Figure(before, "mass"),
            after=Figure(after, "mass"),
        ),
        change=say(
            ""
            if holds
            else "Prove the seals with smoke and a fan test before the wall is closed; drier room "
            "air."
        ),
        source=_WATER,
    )
