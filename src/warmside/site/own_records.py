"""What a contractor's own day records teach the next price: hours of a task, sealant of a joint."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from warmside.errors import Fault, InputError
from warmside.estimate import CARTRIDGE
from warmside.site.entries import GateEntry
from warmside.site.foam_yield import band_of_ratio
from warmside.site.log import Log
from warmside.site.plan import WallPlan
from warmside.wording import Figure, say

LEAST_WALLS = 3  # before the next price may learn from them
BELIEVED = (0.2, 5.0)  # [-] of what was planned; beyond, the record is mistaken
_CLOSED = ("passed", "overridden")
_SEASONS = ("winter", "spring", "summer", "autumn")


@dataclass(frozen=True)
class Spent:
    """What closing one step of one wall took, beside what was planned for it."""

    wall: str
    day: date
    surface: str  # what the foam was sprayed on, or the sealant gunned to
    planned: float  # [h], or [m3] of sealant by geometry
    spent: float  # the same

    @property
    def season(self) -> str:
        """Of the northern half of the world."""
        return _SEASONS[self.day.month % 12 // 3]


@dataclass(frozen=True)
class Share:
    """What was spent over what was planned [-], walls taken together."""

    name: str
    walls: int
    share: float
    low: float | None = None  # of the two-sided band, None with fewer than two walls
    high: float | None = None


@dataclass(frozen=True)
class OwnRecord:
    """What finished walls teach of one task, or of sealant (``task`` empty)."""

    task: str  # key of the price file's hours
    whole: Share
    by_season: tuple[Share, ...]
    by_surface: tuple[Share, ...]

    @property
    def enough(self) -> bool:
        """Whether the next price may learn from it."""
        low, high = BELIEVED
        return self.whole.walls >= LEAST_WALLS and low <= self.whole.share <= high

    @property
    def words(self) -> str:
        """What stands in the price list beside the figure that was learnt."""
        low, high = self.whole.low, self.whole.high
        if low is None or high is None:
            return f"own records: {self.whole.walls} walls"
        spread = Figure((high - low) / 2 / self.whole.share, "share")
        told = say("own records: {walls} walls, give or take {spread}",
                   walls=str(self.whole.walls), spread=spread)  # fmt: skip
        return str(told)


def hours_of_tasks(jobs: Iterable[tuple[Sequence[WallPlan], Log]]) -> tuple[OwnRecord, ...]:
    """Hours noted at closed gates against the hours that a price list plans, task by task.

    A step of several tasks teaches all of them alike: nobody notes them apart. The share is a ratio
    of sums with its band, as for foam (`learned`).

    Parameters
    ----------
    jobs : iterable
        Plans of a job's walls by the price list that is to learn, and the job's log.

    Returns
    -------
    tuple of OwnRecord
        By task, those with the most walls first.
    """
    found: dict[str, list[Spent]] = {}
    for plans, log in jobs:
        for plan in plans:
            for step, noted in _closed(plan, log):
                planned = plan.time.by_step.get(step, 0.0)
                if noted.entry.hours and planned > 0:
                    spent = _spent(plan, noted.day, planned, noted.entry.hours)
                    for task in plan.tasks_of(step):
                        found.setdefault(task, []).append(spent)
    records = (_record(task, spent) for task, spent in found.items())
    return tuple(sorted(records, key=lambda one: (-one.whole.walls, one.task)))


def sealant_of_joints(jobs: Iterable[tuple[Sequence[WallPlan], Log]]) -> OwnRecord | None:
    """Cartridges noted at the gate of the joints against their beads by geometry."""
    found = [
        _spent(plan, noted.day, plan.cartridges * CARTRIDGE / (1 + plan.rough),
               noted.entry.cartridges * CARTRIDGE)
        for plans, log in jobs
        for plan in plans
        for step, noted in _closed(plan, log)
        if noted.entry.cartridges and plan.cartridges > 0 and step == "seal-joints"
    ]  # fmt: skip
    return _record("", found) if found else None


@dataclass(frozen=True)
class _Closing:
    """The gate of a step that was closed."""

    entry: GateEntry
    day: date


def _closed(plan: WallPlan, log: Log) -> Iterator[tuple[str, _Closing]]:
    for step in plan.steps:
        standing = log.standing(plan.wall, step)
        signed = standing.signed
        if standing.state in _CLOSED and signed and isinstance(signed.entry, GateEntry):
            yield step.id, _Closing(signed.entry, signed.day)


def _spent(plan: WallPlan, day: date, planned: float, spent: float) -> Spent:
    return Spent(plan.wall, day, plan.surface, planned, spent)


def _record(task: str, spent: Sequence[Spent]) -> OwnRecord:
    return OwnRecord(
        task, _share("", spent), _groups(spent, lambda one: one.season),
        _groups(spent, lambda one: one.surface),
    )  # fmt: skip


def _groups(spent: Sequence[Spent], by: Callable[[Spent], str]) -> tuple[Share, ...]:
    names = sorted({by(one) for one in spent})
    return tuple(_share(name, [one for one in spent if by(one) == name]) for name in names)


def _share(name: str, spent: Sequence[Spent]) -> Share:
    planned, used = [one.planned for one in spent], [one.spent for one in spent]
    share = math.fsum(used) / math.fsum(planned)
    return Share(name, len(spent), share, *band_of_ratio(used, planned, share))


def own_prices(
    rows: Iterable[Sequence[str]], hours: Iterable[OwnRecord], sealant: OwnRecord | None
) -> list[list[str]]:
    """Rows of a price table, with what was learnt in place of its hours and its sealant.

    Parameters
    ----------
    rows : iterable
        Under ``warmside.estimate.COLUMNS``.
    hours : iterable of OwnRecord
        Learnt by plans of the same table; those without records enough change nothing.
    sealant : OwnRecord, optional
        Likewise.

    Raises
    ------
    InputError
        Records too few, or none that could be true.
    """
    learnt = {one.task: one for one in hours if one.enough}
    rough = sealant.whole.share - 1 if sealant is not None and sealant.enough else None
    if not learnt and rough is None:
        allowed = (
            f"gates of {LEAST_WALLS} walls closed with the hours or the sealant that they took"
        )
        raise InputError([Fault("own records", "too few", allowed)])
    told = [_taught(list(row), learnt) for row in rows]
    if rough is None:
        return told
    own = ["head", "rough_wood", _digits(max(rough, 0.0))]
    return [*(row for row in told if row[:2] != own[:2]), own]


def _taught(row: list[str], learnt: Mapping[str, OwnRecord]) -> list[str]:
    part, key, value = row[:3]
    record = learnt.get(key)
    if part != "rate" or record is None:
        return row
    return [part, key, _digits(float(value) * record.whole.share), *row[3:7], "true", record.words]


def _digits(value: float) -> str:
    """As a price table writes a number: no record is finer than three digits."""
    return format(value, ".3g")
