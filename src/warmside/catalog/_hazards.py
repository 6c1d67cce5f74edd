"""Hazards that stop work: what they stop, who clears them, what to do first."""

from __future__ import annotations

from dataclasses import dataclass

from warmside.catalog._cells import Cells
from warmside.catalog._rows import Source


@dataclass(frozen=True)
class HazardRow:
    """What is known of one kind of hazard; ``kind`` is the word that surveys use."""

    kind: str
    title: str
    stops: str
    clears: str
    do: str
    source: Source


def hazard(cells: Cells) -> HazardRow:
    """The row of ``cells``."""
    words = {column: cells.text(column) for column in ("kind", "title", "stops", "clears", "do")}
    return HazardRow(**words, source=cells.source())
