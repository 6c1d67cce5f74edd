"""Rows that were read, built and put in order; every fault of a reading raised together."""

from __future__ import annotations

from typing import Any, cast

from warmside.catalog._build import Row, build, overlapping
from warmside.catalog._cells import Cells
from warmside.catalog._columns import KINDS, Kind
from warmside.catalog._files import RawRow, Reading
from warmside.catalog._rows import JointRow, Lumber, Tag
from warmside.errors import CatalogError

Key = str | tuple[str, ...]


class Shelf:
    """Rows by class and key, and where each was read.

    Faults of rows are noted while it is filled; ``settle`` raises all of them, also those that
    were noted later with ``refuse``.
    """

    def __init__(self, reading: Reading, default_tag: Tag | None) -> None:
        self.reading = reading
        self._rows: dict[Kind, dict[Key, Row]] = {kind: {} for kind in KINDS}
        self._cells: dict[tuple[Kind, Key], Cells] = {}
        served: dict[str, str] = {}
        for raw in reading.rows:
            cells = Cells(raw, reading, default_tag=default_tag)
            row = build(raw.kind, cells)
            if row is not None:
                self._put(raw, row, cells)
                if isinstance(row, JointRow):
                    _claim(row, served, cells)
        self._refuse_overlap()

    def of(self, kind: Kind) -> dict[Any, Any]:
        """Rows of a class by key."""
        return cast("dict[Any, Any]", self._rows[kind])

    def refuse(self, kind: Kind, key: Key, column: str, read: object, allowed: str) -> None:
        """Note a fault of a row that stands here."""
        self._cells[kind, key].refuse(column, read, allowed)

    def settle(self) -> None:
        """Raise CatalogError with every fault noted, if there is any."""
        if self.reading.faults:
            raise CatalogError(self.reading.faults)

    def places(self) -> dict[tuple[str, str], str]:
        """Where each row stands, by class and id."""
        return {
            (kind, key): cells.place for (kind, key), cells in self._cells.items()
            if isinstance(key, str)
        }  # fmt: skip

    def _put(self, raw: RawRow, row: Row, cells: Cells) -> None:
        key = _key(raw.kind, row, cells)
        if key in self._rows[raw.kind]:
            read = key if isinstance(key, str) else ", ".join(word for word in key if word)
            cells.refuse(_KEYS.get(raw.kind, ("id",))[0], read, "each id once")
        self._rows[raw.kind][key] = row
        self._cells[raw.kind, key] = cells

    def _refuse_overlap(self) -> None:
        pair = overlapping(list(self.of("lumber").values()))
        if pair is not None:
            a, b = pair
            years = f"{a.first}-{a.last} and {b.first}-{b.last}"
            place = f'lumber, row "{a.nominal}", column first_year'
            self.reading.refuse(place, years, "years apart")


# what names a row, where it is not its id
_KEYS: dict[Kind, tuple[str, ...]] = {
    "moisture": ("material",), "hazards": ("kind",), "venting": ("kind",),
    "site": ("id", "family"), "clauses": ("pack", "number", "title"),
    "lumber": ("nominal", "first_year"),
}  # fmt: skip


def _key(kind: Kind, row: Row, cells: Cells) -> Key:
    if isinstance(row, Lumber):
        return f"{row.nominal} {row.first}"
    words = tuple(cells.text(column) for column in _KEYS.get(kind, ("id",)))
    return words[0] if len(words) == 1 else words


def _claim(row: JointRow, served: dict[str, str], cells: Cells) -> None:
    for kind in row.kinds:
        if kind in served:
            cells.refuse("kinds", kind, f"each kind once; row '{served[kind]}' has it")
        served[kind] = row.id
