"""The one loop of a study: the plan makes the room, the room judges the options, until they agree.

A plan is one option on each wall. What it seals and what fans it brings make the room; every option
of a wall is judged in the room of the plan in which it takes the place of what that wall has.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

from warmside.catalog import Catalog
from warmside.identity import Same
from warmside.options import BuildUp
from warmside.physics.conduction import WallHeat
from warmside.promises import (
    Dry,
    FoundWet,
    HouseAir,
    Outside,
    Room,
    Tight,
    Warm,
    dry,
    room_after,
    tight,
    warm,
)
from warmside.study.parts import OptionStudy, Settling, WallStudy

MOST_ROUNDS = 8
Walls = tuple[WallStudy, ...]
# a wall as it stands, its warmth in any room, and what was read or seen wet in it
AsFound = tuple[BuildUp, Warm, Sequence[FoundWet]]
Judge = Callable[[tuple[float, ...]], Walls]  # walls, by what the plan's other walls remove


def settle(
    air: HouseAir, catalog: Catalog, judge: Judge, whole: Judge | None = None
) -> tuple[Walls, Settling]:
    """Judge every wall in the room of the plan that the judgement itself puts forward.

    Begun with every wall sealed, the most humid plan. Where plans follow one another in a circle,
    the most humid of them governs: its room is worse than that of any plan put forward in it.

    Parameters
    ----------
    air : HouseAir
        The house before.
    catalog : Catalog
        Rates of fresh air.
    judge : callable
        Judges every wall; given for each wall what all others of the plan remove [-].
    whole : callable, optional
        Judges as ``judge`` and in what takes long besides: asked once plan and room agree, and
        from then on, since it may put another plan forward.

    Returns
    -------
    walls, Settling
        Walls judged, and how it ended.
    """
    removed = sealed(air)
    tried: list[tuple[float, ...]] = []
    for rounds in range(1, MOST_ROUNDS + 1):
        walls = judge(others(removed))
        if whole is not None and agrees(walls, air, catalog):
            judge, whole, tried = whole, None, []
            removed = _plan(walls)
            walls = judge(others(removed))
        tried.append(removed)
        plan = _plan(walls)
        if agrees(walls, air, catalog):
            return walls, Settling(rounds, True)
        if plan in tried or rounds == MOST_ROUNDS:
            circle = tried[tried.index(plan) :] if plan in tried else [*tried, plan]
            worst, last = max(circle, key=sum), whole or judge
            if worst == removed and last is judge:  # judged in that room last
                return walls, Settling(rounds, False)
            return last(others(worst)), Settling(rounds, False)
        removed = plan
    raise AssertionError("the last round returns")


def sealed(air: HouseAir) -> tuple[float, ...]:
    """What each wall removes of the house's leakage [-] where all of them are sealed."""
    return tuple(wall.removed.best for wall in air.walls.values())


def _plan(walls: Walls) -> tuple[float, ...]:
    """What the option put forward on each wall removes of the house's leakage [-]."""
    return tuple(wall.chosen.change.removed.best for wall in walls)


def others(removed: Sequence[float]) -> tuple[float, ...]:
    """For each wall what all others remove of the house's leakage [-]."""
    total = sum(removed)
    return tuple(max(total - one, 0.0) for one in removed)


def agrees(walls: Walls, air: HouseAir, catalog: Catalog) -> bool:
    """Whether every option was judged in the room that the plan of ``walls`` gives it."""
    return all(
        plan_room(air, catalog, rest, option).same_as == option.room.same_as
        for wall, rest in zip(walls, others(_plan(walls)), strict=True)
        for option in wall.options
    )


def plan_room(air: HouseAir, catalog: Catalog, rest: float, option: OptionStudy) -> Room:
    """The room of the plan in which ``option`` joins what all other walls remove, ``rest`` [-]."""
    return room_after(air.house, air, rest + option.change.removed.best, catalog)


@dataclass(frozen=True)
class Surroundings:
    """What an option is judged against beside its room."""

    air: HouseAir
    outside: Outside

    def in_room(self, option: OptionStudy, room: Room, as_found: AsFound) -> OptionStudy:
        """An option judged again in ``room``; what it is, costs and saves in this house stays.

        Hours that were run stay where their room is the same; else they are left out.
        """
        case = (Same(option.build_up), room, Same(as_found[0]), self.outside)
        air = _air(case, Same(self.air))
        heat, water = option.warm, option.dry.without_hours()
        if room.same_as != option.room.same_as:
            heat = _heat(case, Same(option.warm.field), Same(as_found[1]))
            water = _water(case, tuple(as_found[2]))
        hourly = option.dry.hourly
        if hourly is not None and hourly.room.same_as == room.same_as:
            water = water.with_hours(hourly)
        return replace(
            option,
            room=room,
            warm=heat,
            dry=water,
            tight=air,
        )


# A house under the hand, and one by other prices, ask again for what was judged in the rooms of
# their plans: each is known by the very parts that it was judged of.
_Case = tuple[Same[BuildUp], Room, Same[BuildUp], Outside]
_SOME = 1024  # the options of a few houses, each in a few rooms


@lru_cache(maxsize=_SOME)
def _air(case: _Case, house: Same[HouseAir]) -> Tight:
    build_up, room, found, _ = case
    return tight(build_up.value, found.value, house.value, room)


@lru_cache(maxsize=_SOME)
def _heat(case: _Case, field: Same[WallHeat | None], before: Same[Warm]) -> Warm:
    build_up, room, found, outside = case
    as_found = (found.value, before.value) if build_up.value.option.kind.worked else None
    return warm(build_up.value, room, outside, field.value, as_found)


@lru_cache(maxsize=_SOME)
def _water(case: _Case, wet: tuple[FoundWet, ...]) -> Dry:
    build_up, room, _, outside = case
    return dry(build_up.value, room, outside, wet)
