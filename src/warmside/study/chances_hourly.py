"""Chances of staying dry hour by hour: what is put forward, at its governing place, in every draw.

The draws are paired: each has one year of weather, one way of living and one quality of work for
the whole house.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from warmside.errors import SolverError
from warmside.physics.assembly import Stack
from warmside.physics.climate import HourlyClimate
from warmside.physics.moisture import PathName
from warmside.promises import (
    LIKELY,
    TOLD,
    DryPath,
    Exposure,
    Found,
    PathAsk,
    Room,
    WorstJoint,
    exposure_of,
    outcome,
    path_stack,
    run_paths,
    worst_joints,
)
from warmside.study.house import Study
from warmside.study.parts import OptionStudy, WallStudy
from warmside.survey import Wall
from warmside.weather import warmer_year
from warmside.workers import shared

Floats = NDArray[np.float64]
Months = tuple[float, ...]  # [K] January first


@dataclass(frozen=True)
class DrawnWall:
    """The option put forward on a wall in every draw."""

    wall: WallStudy
    stacks: Sequence[Sequence[Stack]]  # by draw
    rooms: Sequence[Room]  # by draw
    leaks: Floats  # [-] of a joint, over what the study took, by draw


def governing(option: OptionStudy) -> DryPath | None:
    """The path that is nearest to its limits, or farthest beyond; None where no hours were run."""
    hourly = option.dry.hourly
    paths = [path for path in hourly.paths if path.path not in TOLD] if hourly else []
    return max(paths, key=lambda path: path.strain, default=None)


def strains(
    study: Study, walls: Sequence[DrawnWall], warmer: Sequence[Months], workers: int
) -> list[Floats | None]:
    """Strain of each wall's governing path in every draw, infinite where it was not solved.

    Parameters
    ----------
    study : Study
        The house studied.
    walls : sequence of DrawnWall
        What is put forward on them.
    warmer : sequence of 12 floats
        By how much the months of each draw are warmer than the study's [K].
    workers : int
        Processes that share the draws.

    Returns
    -------
    list of arrays
        By wall (draws,) [-], below 1 where it holds; None for one whose hours were not run.
    """
    made = [(one, governing(one.wall.chosen)) for one in walls]
    told = [(one, path) for one, path in made if path is not None]
    hours, faced = study.hours, tuple(one.wall.wall for one, _ in told)
    work = _Draws(hours.year(study.weather), hours.years, faced)
    joints = [_joint(study, one.wall, path.path) for one, path in told]
    items = [
        _Draw(months, tuple(
            _asked(one, path.path, joint, k)
            for (one, path), joint in zip(told, joints, strict=True)
        ))
        for k, months in enumerate(warmer)
    ]  # fmt: skip
    if not told:
        return [None] * len(walls)
    with shared(workers) as each:
        by_draw = np.array(list(each(work, items)))
    columns = iter(by_draw.T)
    return [next(columns) if path is not None else None for _, path in made]


@dataclass(frozen=True)
class _Asked:
    """A path in one draw, without its weather."""

    path: PathName
    stack: Stack
    room: Room
    joint: WorstJoint | None


@dataclass(frozen=True)
class _Draw:
    warmer: Months
    paths: tuple[_Asked, ...]  # one for each wall


@dataclass(frozen=True)
class _Draws:
    """What all draws share; called with one of them."""

    year: HourlyClimate
    years: int
    walls: tuple[Wall, ...]

    def __call__(self, draw: _Draw) -> list[float]:
        """Strain of every wall's path [-]."""
        year = warmer_year(self.year, draw.warmer)
        faced: dict[tuple[float, float], Exposure] = {}
        asks = []
        for wall, asked in zip(self.walls, draw.paths, strict=True):
            at = wall.faces, wall.wettest
            if at not in faced:
                faced[at] = exposure_of(wall, year)
            asks.append(
                PathAsk(asked.path, asked.stack, faced[at], asked.room, self.years, asked.joint)
            )
        found = run_paths(asks)
        return [_strain(outcome(ask, found)) for ask in asks]


def _strain(found: Found) -> float:
    """Of the path; where only the wet that was found makes it fail, once that has dried."""
    if isinstance(found, SolverError):
        return float("inf")
    return (found.dried or found.path).strain


def _joint(study: Study, wall: WallStudy, path: PathName) -> WorstJoint | None:
    if path != LIKELY:
        return None
    return worst_joints([wall.chosen.build_up], wall.wall, study.air)[0]


def _asked(one: DrawnWall, path: PathName, joint: WorstJoint | None, k: int) -> _Asked:
    """The path in draw ``k``."""
    leaking = joint and replace(joint, coefficient=joint.coefficient * one.leaks[k])
    stack = path_stack(one.stacks[k], path, joint)
    if stack is None:
        raise AssertionError(f"no path {path} in {one.wall.wall.name}")
    return _Asked(path, stack, one.rooms[k], leaking)
