"""One finding: a figure held against a limit."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Literal, Protocol

from warmside.promises.money import Three
from warmside.wording import Figure, Kind, Promise, Sentence, Source, Verdict, figure_told
from warmside.works import HOUSE_WORKS, HouseWork, WorkItem


@dataclass(frozen=True)
class Finding:
    """A figure, its limit and the verdict, told so that a client can follow it.

    ``figure`` and ``limit`` are SI, in ``unit`` (as text: "m2 K/W", "-", "kg/m2").
    """

    promise: Promise
    key: str  # stable, snake case, with the unit: "rsi_m2k_w"
    name: str
    figure: float | None
    unit: str
    limit: float | None
    limit_is: Literal["least", "most", "none"]
    verdict: Verdict
    reason: Sentence
    change: Sentence  # what would change it; empty where nothing needs to
    source: Source
    works: tuple[str, ...] = ()  # keys of the works that do what it asks for

    def figure_as(self, kind: Kind, option: str = "") -> Figure:
        """Its figure in an answer about ``option``; its unit must be that of ``kind`` in SI."""
        return Figure(self.figure or 0.0, kind, self.source, self.key, option=option)

    def limit_as(self, kind: Kind, option: str = "") -> Figure:
        """Its limit in an answer about ``option``."""
        return Figure(self.limit or 0.0, kind, self.source, self.key, option=option)

    @property
    def shown(self) -> tuple[Figure | None, Figure | None]:
        """Its figure and its limit, where it has them, as its sentence tells them."""
        ends = (self.figure, None if self.limit_is == "none" else self.limit)
        figure, limit = (
            None if end is None else figure_told(end, self.unit, self.reason.figures, self.source)
            for end in ends
        )
        return figure, limit


def carried(findings: Iterable[Finding], items: Sequence[WorkItem]) -> tuple[Finding, ...]:
    """The findings, each with the keys of the works that do what it asks for.

    Works of the wall are those of ``items``; those of the house are done whatever the walls take.
    """
    works: tuple[WorkItem | HouseWork, ...] = (*items, *HOUSE_WORKS)
    caused = defaultdict[str, list[str]](list)
    for work in works:
        for cause in dict.fromkeys(work.causes):
            caused[cause].append(work.key)

    def told(finding: Finding) -> Finding:
        keys = tuple(caused.get(finding.key, ()))
        if finding.works:
            keys = tuple(w.key for w in works if w.key in finding.works or w.key in keys)
        return finding if keys == finding.works else replace(finding, works=keys)

    return tuple(told(finding) for finding in findings)


class _Band(Protocol):
    """Least, best and most of a figure."""

    @property
    def low(self) -> float: ...
    @property
    def best(self) -> float: ...
    @property
    def high(self) -> float: ...


def banded(band: _Band | Three, kind: Kind, currency: str = "") -> Figure:
    """A figure with its band; money without its currency where a column's head names it."""
    low, best, high = band if isinstance(band, tuple) else (band.low, band.best, band.high)
    return Figure(best, kind, currency=currency, low=low, high=high)
