"""The hours of a study: every path that its options ask for, run once for all that are alike."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace

from warmside.physics.moisture import PathName
from warmside.promises import (
    BOUND,
    LIKELY,
    PATHS,
    RAIN,
    TOLD,
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
MOST_KNOWN = 3000  # paths; some ten studies of a house, while it is edited
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
        """Hours of every option that can be built, by the paths that it is judged by."""
        return self._with(walls, lambda wall: wall.options, self.judged)

    def of_chosen(self, walls: tuple[WallStudy, ...], *, told: bool) -> tuple[WallStudy, ...]:
        """Hours of what is put forward; with what is ``told`` beside the paths it is judged by."""
        return self._with(walls, _chosen, self.paths if told else self.judged)

    @property
    def paths(self) -> Sequence[PathName]:
        """All that are looked at."""
        return PATHS if self.hours.paths == "all" else PATHS[:1]

    @property
    def judged(self) -> Sequence[PathName]:
        """Those that an option is judged by."""
        return [path for path in self.paths if path not in TOLD]

    def _with(
        self,
        walls: tuple[WallStudy, ...],
        which: Callable[[WallStudy], Iterable[OptionStudy]],
        paths: Sequence[PathName],
    ) -> tuple[WallStudy, ...]:
        asked = [
            self._asked(wall, exposure, [o for o in which(wall) if _unrun(o, paths)], paths)
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
        self,
        wall: WallStudy,
        exposure: Exposure,
        options: Sequence[OptionStudy],
        paths: Sequence[PathName],
    ) -> list[Asked]:
        """What each option asks for."""
        if not options:
            return []
        joints = (
            worst_joints([o.build_up for o in options], wall.wall, self.air)
            if len(paths) > 1
            else [None] * len(options)
        )
        return [
            (option, asked_paths(option.build_up, exposure, option.room, years=self.hours.years,
                                 paths=paths, joint=joint))
            for option, joint in zip(options, joints, strict=True)
        ]  # fmt: skip

    def _run(self, asked: Iterable[PathAsk]) -> None:
        """Run what is not known yet, walls that look one way together: they share their weather."""
        if len(self.known) > MOST_KNOWN:
            self.known.clear()
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


def _chosen(wall: WallStudy) -> list[OptionStudy]:
    """What is put forward; a wall that is left as it stands only beside all its options."""
    chosen = wall.chosen
    return [chosen] if chosen.option.kind.worked or chosen.dry.hourly else []


def _unrun(option: OptionStudy, paths: Sequence[PathName]) -> bool:
    """Whether hours of ``paths`` are still to be run; the bound where there is a likely path."""
    hourly = option.dry.hourly
    if hourly is None:
        return option.build_up.can_be_built
    beside = {LIKELY: BOUND, "mid-bay": RAIN}
    return any(
        told in paths and judged in hourly.asked and told not in hourly.asked
        for judged, told in beside.items()
    )


def _shares(asks: Sequence[PathAsk]) -> Iterator[Sequence[PathAsk]]:
    return (asks[n : n + AT_ONCE] for n in range(0, len(asks), AT_ONCE))
