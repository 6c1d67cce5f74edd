"""Hazards that stop work: what they stop, who clears them, what to do first."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from warmside.catalog._cells import Cells
from warmside.catalog._rows import Only, Source


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


@dataclass(frozen=True)
class Presumption:
    """A hazard that a house is presumed to have until it is ruled out; empty does not narrow it.

    Years are those of the house or the wall, ``before`` not included.
    """

    id: str
    hazard: str  # its kind
    country: str
    since: int
    before: int
    frame: str
    venting: tuple[str, ...]
    asks: str
    source: Source


def presumption(cells: Cells) -> Presumption:
    """The row of ``cells``."""
    return Presumption(
        id=cells.text("id"),
        hazard=cells.text("hazard"),
        country=cells.text("country"),
        since=int(cells.optional("built_from") or 0),
        before=int(cells.optional("built_before") or 9999),
        frame=cells.text("frame"),
        venting=_parted(cells.text("venting")),
        asks=cells.text("asks"),
        source=cells.source(),
    )


@dataclass(frozen=True)
class NeverAlone:
    """Findings that never hold by computation; a dated clearance of the hazard settles them."""

    id: str
    findings: tuple[str, ...]  # their keys
    only: Only | Literal[""]
    hazard: str  # its kind
    source: Source


def never_alone(cells: Cells) -> NeverAlone:
    """The row of ``cells``."""
    return NeverAlone(
        cells.text("id"),
        _parted(cells.text("findings")),
        cells.text("only"),  # type: ignore[arg-type]  # checked with its column
        cells.text("hazard"),
        cells.source(),
    )


def _parted(text: str) -> tuple[str, ...]:
    return tuple(part.strip() for part in text.split(";") if part.strip())
