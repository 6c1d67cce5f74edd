"""A case: a published or exact figure, what is computed for it, and how far they may differ."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from importlib.util import find_spec
from math import isfinite
from typing import Literal

Tag = Literal[
    "measured",  # somebody measured it; the source says how it was read
    "published",  # read in the named source
    "second-hand",  # read in another text that quotes it
    "from memory",  # not read; always shown as such
    "exact",  # a definition, a sum by hand, or a solution in closed form
    "reference library",  # a general-purpose library, computed in the same run
    "other method",  # the same quantity by an independent way
    "common practice",  # a fact of the trade, no source
]

Kind = Literal["outside", "remembered", "own method", "arithmetic"]
# What a figure is worth as evidence. Only the first is somebody else's word that was read, measured
# or computed by another's library; the second is somebody else's too, but nobody looked it up.
KINDS: dict[Tag, Kind] = {
    "measured": "outside",
    "published": "outside",
    "second-hand": "outside",
    "reference library": "outside",
    "from memory": "remembered",
    "common practice": "remembered",
    "other method": "own method",
    "exact": "arithmetic",
}


@dataclass(frozen=True)
class Check:
    """One figure of a case.

    It holds where ``|computed - expected| <= absolute + relative * |expected|``.
    """

    name: str
    expected: float
    computed: float
    absolute: float = 0.0  # in the unit of the case
    relative: float = 0.0  # [-]

    @property
    def difference(self) -> float:
        """Computed less expected."""
        return self.computed - self.expected

    @property
    def allowed(self) -> float:
        """The most that they may differ by."""
        return self.absolute + self.relative * abs(self.expected)

    @property
    def used(self) -> float:
        """Share of what is allowed that the difference takes [-]; above 1 it does not hold."""
        if not isfinite(self.computed):
            return float("inf")
        if self.allowed == 0.0:
            return 0.0 if self.difference == 0.0 else float("inf")
        return abs(self.difference) / self.allowed

    @property
    def holds(self) -> bool:
        """Whether the figures agree as closely as is asked."""
        return self.used <= 1.0


@dataclass(frozen=True)
class Case:
    """Figures of one source, and how they are computed here."""

    id: str  # "iso-10211-1"
    room: str  # whose work it is: "conduction"
    what: str
    source: str
    tag: Tag
    unit: str
    compute: Callable[[], Iterable[Check]]
    needs: tuple[str, ...] = ()  # libraries that the program itself does without

    @property
    def kind(self) -> Kind:
        """What its figures are worth as evidence."""
        return KINDS[self.tag]

    @property
    def missing(self) -> tuple[str, ...]:
        """Libraries that are not installed; with any of them the case is left out."""
        return tuple(name for name in self.needs if find_spec(name) is None)


@dataclass(frozen=True)
class Outcome:
    """A case that was computed, or left out."""

    case: Case
    checks: tuple[Check, ...]
    failed: str = ""  # what stopped the computation

    @property
    def left_out(self) -> bool:
        """A library that it needs is not there."""
        return bool(self.case.missing)

    @property
    def worst(self) -> Check | None:
        """The check that takes most of what it is allowed."""
        return max(self.checks, key=lambda check: check.used, default=None)

    @property
    def used(self) -> float:
        """Share of what is allowed that the worst check takes [-]."""
        if self.failed:
            return float("inf")
        return self.worst.used if self.worst else 0.0

    @property
    def verdict(self) -> Literal["agrees", "disagrees", "left out"]:
        """In a word."""
        if self.left_out:
            return "left out"
        return "agrees" if self.used <= 1.0 else "disagrees"


def table(
    names: Sequence[object],
    expected: Iterable[float],
    computed: Iterable[float],
    absolute: float = 0.0,
    relative: float = 0.0,
) -> list[Check]:
    """A check for each name."""
    return [
        Check(str(name), float(e), float(c), absolute, relative)
        for name, e, c in zip(names, expected, computed, strict=True)
    ]
