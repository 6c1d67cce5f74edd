"""What the trade calls a row otherwise: never taken for it, but told as the nearest."""

from __future__ import annotations

from dataclasses import dataclass

from warmside.catalog._cells import Cells
from warmside.catalog._rows import Source


@dataclass(frozen=True)
class TradeWord:
    """A word of the trade, small and with hyphens, and the rows that may be meant by it."""

    id: str
    kind: str  # of row: material, fuel, foam
    means: tuple[str, ...]
    source: Source


def trade_word(cells: Cells) -> TradeWord:
    """The row of ``cells``."""
    means = tuple(part.strip() for part in cells.text("means").split(";") if part.strip())
    return TradeWord(cells.text("id"), cells.text("kind"), means, cells.source())
