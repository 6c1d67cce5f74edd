"""The hours of a study: every path that its options ask for, run once for all that are alike."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace

from warmside.promises import (
    PATHS,
    Exposure,
    Found,
    HouseAir,
    PathAsk,
    PathKey,
    asked_paths,
    judged_years,
    run_paths,
    worst_joints,
)
from warmside.study.parts import Hours, OptionStudy, WallStudy
from warmside.workers import Shared

AT_ONCE = 6  # paths in one share of the work: some tenths of a second
Asked = tuple[OptionStudy, tuple[PathAsk, ...]]


@dataclass(frozen=True)
class HourlyRuns:
    """Hours of options, run where they are asked for and shared out between processes.

    ``exposures`` hold sun and rain on every wall, in the survey's order. What was found stays for
    the next round: a plan that comes back asks for no hour twice.
    """

    exposures: Sequence[Exposure]
    hours: Hours
    air: HouseAir
    each: Shared
    known: dict[PathKey, Found] = field(default_factory=dict)

    def of_all(self, walls: tuple[WallStudy, ...]) -> tuple[WallStudy, ...]:
        """Hours of every option that can be built."""
        return self._with(walls, lambda wall: wall.options)

    def of_chosen(self, walls: tuple[WallStudy, ...]) -> tuple[WallStudy, ...]:
        """Hours of what is put forward, where a wall is to be worked on."""
        return self._with(walls, lambda wall: [o for o in (wall.chosen,) if o.option.kind.worked])

    def _with(
        self, walls: tuple[WallStudy, ...], which: Callable[[WallStudy], Iterable[OptionStudy]]
    ) -> tuple[WallStudy, ...]:
        asked = [
            self._asked(wall, exposure, [o for o in which(wall) if _unrun(o)])
            for wall, exposure in zip(walls, self.exposures, strict=True)
        ]
        if not any(asked):
            return walls
        self._run(ask for wall in asked for _, paths in wall for ask in paths)
        return tuple(
            self._told(wall, options) if options else wall
            for wall, options in zip(walls, asked, strict=True)
        )

    def _asked(
        self, wall: WallStudy, exposure: Exposure, options: Sequence[OptionStudy]
    ) -> list[Asked]:
        """What each option asks for."""
        if not options:
            return []
        paths = PATHS if self.hours.paths == "all" else PATHS[:1]
        joints = (
            worst_joints([o.build_up for o in options], wall.wall, self.air)
            if self.hours.paths == "all"
            else [None] * len(options)
        )
        return [
            (option, asked_paths(option.build_up, exposure, option.room, years=self.hours.years,
                                 paths=paths, joint=joint))
            for option, joint in zip(options, joints, strict=True)
        ]  # fmt: skip

    def _run(self, asked: Iterable[PathAsk]) -> None:
        """Run what is not known yet, walls that look one way together: they share their weather."""
        new: dict[PathKey, PathAsk] = {}
        for ask in asked:
            if ask.key not in self.known:
                new.setdefault(ask.key, ask)
        faced: dict[object, list[PathAsk]] = defaultdict(list)
        for ask in new.values():
            faced[ask.exposure.faces].append(ask)
        shares = [share for asks in faced.values() for share in _shares(asks)]
        for found in self.each(run_paths, shares, len):
            self.known.update(found)

    def _told(self, wall: WallStudy, options: Sequence[Asked]) -> WallStudy:
        run = {
            option.option.id: replace(
                option, dry=option.dry.with_hours(judged_years(asks, self.known))
            )
            for option, asks in options
        }
        return replace(wall, options=tuple(run.get(o.option.id, o) for o in wall.options))


def _unrun(option: OptionStudy) -> bool:
    return option.build_up.can_be_built and option.dry.hourly is None


def _shares(asks: Sequence[PathAsk]) -> Iterator[Sequence[PathAsk]]:
    return (asks[n : n + AT_ONCE] for n in range(0, len(asks), AT_ONCE))
