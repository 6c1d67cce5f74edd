"""What is usual of a figure of the survey: where a person is asked to look again, and refused."""

from __future__ import annotations

from dataclasses import dataclass

from warmside.catalog._cells import Cells
from warmside.catalog._rows import Source
from warmside.wording import PAPER, Figure, Kind

_ENDS = ("refuse_low", "ask_low", "low", "high", "ask_high", "refuse_high")


@dataclass(frozen=True)
class Usual:
    """A range of a figure of the survey, SI; None where there is no such end.

    ``low`` to ``high`` is what is usual; beyond ``ask`` a second look is asked for; beyond
    ``refuse`` no house can be. ``kind`` is how the figure is written, ``after`` what follows it.
    """

    id: str
    name: str
    of: str
    kind: Kind
    after: str
    since: int
    before: int
    source: Source
    refuse_low: float | None
    ask_low: float | None
    low: float | None
    high: float | None
    ask_high: float | None
    refuse_high: float | None

    def impossible(self, value: float) -> bool:
        """Whether no house can be so."""
        return _outside(value, self.refuse_low, self.refuse_high)

    def unusual(self, value: float) -> bool:
        """Whether a second look is asked for."""
        return _outside(value, self.ask_low, self.ask_high)

    def written(self, value: float) -> str:
        """A figure of this kind with what follows it."""
        return f"{PAPER.figure(Figure(value, self.kind))}{self.after}"

    @property
    def range(self) -> str:
        """What is usual, in words."""
        return _span(self, self.low, self.high)

    @property
    def bounds(self) -> str:
        """What is possible at all, in words."""
        return _span(self, self.refuse_low, self.refuse_high)


def _outside(value: float, low: float | None, high: float | None) -> bool:
    return (low is not None and value < low) or (high is not None and value > high)


def _span(row: Usual, low: float | None, high: float | None) -> str:
    if low is None or high is None:
        end, word = (high, "at most") if low is None else (low, "at least")
        return "any" if end is None else f"{word} {row.written(end)}"
    if low == high:
        return row.written(low)
    return f"{PAPER.figure(Figure(low, row.kind))} to {row.written(high)}"


def check_usual(cells: Cells) -> None:
    """Refuse a row without an end, or with its ends crossed."""
    if not any(cells.holds(end) for end in _ENDS) and not cells.faulty(*_ENDS):
        cells.refuse("low", "nothing", "at least one end of the range")
    cells.ordered(*(end for end in _ENDS if cells.holds(end)))


def usual(cells: Cells) -> Usual:
    """The row of ``cells``."""
    after = cells.text("after")
    return Usual(
        cells.text("id"),
        cells.text("name"),
        cells.text("of"),
        cells.text("kind"),  # type: ignore[arg-type]  # a word of the wording room
        f" {after}" if after else "",
        int(cells.optional("built_from") or 0),
        int(cells.optional("built_before") or 9999),
        cells.source(),
        **{end: cells.optional(end) for end in _ENDS},
    )
