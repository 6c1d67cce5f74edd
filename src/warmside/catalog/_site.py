"""Figures of the working day: limits for spraying, the air of the work area, samples; signs."""

from __future__ import annotations

from dataclasses import dataclass

from warmside.catalog._cells import Cells
from warmside.catalog._rows import Source
from warmside.errors import UnknownRowError


@dataclass(frozen=True)
class SiteFigure:
    """What is allowed, from ``low`` to ``high`` in ``unit``; None where there is no such end."""

    id: str
    family: str  # of foam; "" holds for any
    name: str
    low: float | None
    high: float | None
    unit: str
    source: Source

    @property
    def least(self) -> float:
        """The lower end, which this figure must have."""
        return _end(self, self.low)

    @property
    def most(self) -> float:
        """The upper end, which this figure must have."""
        return _end(self, self.high)


@dataclass(frozen=True)
class Reminder:
    """What people must wear or mind, for a paper; the law and a trained person decide."""

    id: str
    text: str
    source: Source


@dataclass(frozen=True)
class Sign:
    """A sign to print and hang up."""

    id: str
    head: str
    text: str


# What a figure in each unit may be: the widest that makes sense, to catch a wrong unit.
_SPANS = {
    "degC": (-40.0, 120.0), "kg/kg": (0.01, 1.0), "K": (0.5, 30.0), "m/s": (0.5, 40.0),
    "h": (0.1, 1000.0), "Pa": (0.5, 5e7), "m": (1e-4, 1.0), "kg/m3": (1e-9, 200.0),
    "kg": (1e-4, 10.0), "m2": (0.5, 200.0), "1/h": (0.05, 200.0), "-": (0.01, 1000.0),
}  # fmt: skip


def check_site(cells: Cells) -> None:
    """Refuse a figure without an end, with its ends crossed, or out of range for its unit."""
    ends = [end for end in ("low", "high") if cells.holds(end)]
    if not ends and not cells.faulty("low", "high"):
        cells.refuse("low", "nothing", "low, high or both")
    cells.ordered("low", "high")
    span = _SPANS.get(cells.text("unit"))
    if span:
        for end in ends:
            cells.within(end, cells.number(end), span, cells.text("unit"))


def site_figure(cells: Cells) -> SiteFigure:
    """The row of ``cells``."""
    return SiteFigure(
        cells.text("id"),
        cells.text("family"),
        cells.text("name"),
        cells.optional("low"),
        cells.optional("high"),
        cells.text("unit"),
        cells.source(),
    )


def reminder(cells: Cells) -> Reminder:
    """The row of ``cells``."""
    return Reminder(cells.text("id"), cells.text("text"), cells.source())


def sign(cells: Cells) -> Sign:
    """The row of ``cells``."""
    return Sign(cells.text("id"), cells.text("head"), cells.text("text"))


def _end(figure: SiteFigure, value: float | None) -> float:
    if value is None:
        raise UnknownRowError("end of site figure", figure.id)
    return value
