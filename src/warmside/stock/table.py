"""The table of houses, CSV or Parquet of any size, read row by row; faults by row and column."""

from __future__ import annotations

import csv
import re
from array import array
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from hashlib import blake2b
from math import isfinite
from pathlib import Path
from typing import Any

from warmside import units
from warmside.errors import Fault, InputError, UnitError
from warmside.stock.archetype import Archetype, Known
from warmside.stock.unknown import Value, field_path
from warmside.survey import allowed_at, quantity_at

# Short headings of the usual columns; any other is a field of the survey or an unknown's name
USUAL = {
    "id": "id",
    "archetype": "archetype",
    "area": "house.floor_area",
    "floor area": "house.floor_area",
    "year": "house.year_built",
    "year built": "house.year_built",
    "climate": "house.climate",
    "place": "house.place",
}
_HEADING = re.compile(r"(?P<name>[^\[(]*?)\s*(?:[\[(]\s*(?P<unit>[^\])]+?)\s*[\])])?\s*")
_LETTERS = re.compile("[^0-9.,/ +-]")
_MOST_COLUMNS = 200
_LONGEST = 200  # characters of a cell
_BATCH = 10_000  # rows of Parquet at a time
_ENCODING = {"encoding": "utf-8-sig", "errors": "surrogateescape"}
_HIDDEN = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u200e\u200f\u202a-\u202e\ud800-\udfff]")


@dataclass(frozen=True)
class Column:
    """One column that is read: its heading, the field it fills, the unit of its heading."""

    heading: str
    field: str
    unit: str = ""


Cells = Mapping[str, object] | Sequence[object]


@dataclass(frozen=True)
class Table:
    """A table whose headings were understood; ``faults`` are those of its columns.

    Iterating gives every row as what is known of a house, or as the error that says why not.
    """

    path: Path
    columns: tuple[Column | None, ...]
    faults: tuple[Fault, ...]
    rows: int  # as counted at opening
    twice: frozenset[int]  # hashes of ids that stand in more than one row

    def __iter__(self) -> Iterator[Known | InputError]:
        first: dict[str, int] = {}
        for number, cells in _rows(self.path):
            try:
                known = _known(number, cells, self.columns)
            except InputError as error:
                yield error
                continue
            if _hash(known.id) in self.twice:
                if known.id in first:
                    allowed = f"an id of its own; row {first[known.id]} has this one and is kept"
                    yield InputError([Fault(f"row {number}, id", f'"{known.id}"', allowed)])
                    continue
                first[known.id] = number
            yield known


def open_table(path: Path, archetypes: Mapping[str, Archetype]) -> Table:
    """Look a table through once: its headings, how many rows, which ids stand there twice.

    Parameters
    ----------
    path : Path
        ``*.csv`` (comma, semicolon or tab; UTF-8) or ``*.parquet``.
    archetypes : mapping
        By name; a column may carry the name of one of their unknowns.

    Returns
    -------
    Table
        To be iterated, as often as wanted; never more than a batch of rows is held.

    Raises
    ------
    InputError
        A file that cannot be read; no column ``id`` or ``archetype``; a heading given twice.
    """
    try:
        columns, faults = _columns(_headings(path), _names(archetypes))
        hashes = array("Q")
        at = next(k for k, column in enumerate(columns) if column and column.field == "id")
        for _, cells in _rows(path):
            hashes.append(_hash(_text(cells[at]) if at < len(cells) else ""))
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        raise InputError([Fault(str(path), reason, "a table that can be read")]) from None
    return Table(path, columns, tuple(faults), len(hashes), _twice(hashes))


def _twice(hashes: array[int]) -> frozenset[int]:
    """Hashes that stand there more than once; eight bytes a row, sorted in place."""
    import numpy as np

    found = np.frombuffer(hashes, dtype=np.uint64).copy() if hashes else np.empty(0, np.uint64)
    found.sort()
    return frozenset(int(h) for h in np.unique(found[1:][found[1:] == found[:-1]]))


def _hash(id: str) -> int:
    return int.from_bytes(blake2b(id.encode("utf-8", "replace"), digest_size=8).digest(), "little")


def _names(archetypes: Mapping[str, Archetype]) -> dict[str, str]:
    """Headings that stand for fields: the usual ones and the names of unknowns."""
    of_unknowns = {u.name.casefold(): u.field for a in archetypes.values() for u in a.unknowns}
    return of_unknowns | USUAL


def _columns(
    headings: Sequence[str], names: Mapping[str, str]
) -> tuple[tuple[Column | None, ...], list[Fault]]:
    """The columns in their order, None where a heading says nothing to us."""
    columns: list[Column | None] = []
    faults: list[Fault] = []
    for number, heading in enumerate(headings, 1):
        match = _HEADING.fullmatch(heading.strip())
        name = match["name"].strip() if match else heading
        field = names.get(name.casefold().replace("_", " "), name)
        if field not in ("id", "archetype") and not allowed_at(field_path(field)):
            allowed = "id, archetype, area, year, climate, a field of the survey, an unknown's name"
            place = f"column {number}, its heading"
            faults.append(Fault(place, f'"{heading[:60]}"; the column is left out', allowed))
            columns.append(None)
            continue
        columns.append(Column(name, field, (match["unit"] or "") if match else ""))
    fields = [column.field for column in columns if column]
    wrong = [Fault("the table's columns", f'no column "{key}"', f'one column "{key}"')
             for key in ("id", "archetype") if key not in fields]  # fmt: skip
    wrong += [Fault("the table's columns", f"{field} twice", "each field in one column")
              for field in sorted({f for f in fields if fields.count(f) > 1})]  # fmt: skip
    if wrong:
        raise InputError(wrong)
    return tuple(columns), faults


def _headings(path: Path) -> list[str]:
    if path.suffix.lower() == ".parquet":
        return list(_scan(path).collect_schema().names())
    with path.open(newline="", **_ENCODING) as file:  # type: ignore[call-overload]
        line = file.readline(1 << 16)
    headings = next(csv.reader([line], delimiter=_delimiter(line)), [])
    if len(headings) > _MOST_COLUMNS:
        raise InputError([Fault(str(path), f"{len(headings)} columns", f"up to {_MOST_COLUMNS}")])
    return headings


def _delimiter(line: str) -> str:
    return max(",;\t", key=line.count)


def _rows(path: Path) -> Iterator[tuple[int, Sequence[object]]]:
    """Number of each row as a person counts (the headings are row 1) and its cells."""
    if path.suffix.lower() == ".parquet":
        number = 1
        for batch in _scan(path).collect_batches(chunk_size=_BATCH, maintain_order=True):
            for cells in batch.iter_rows():
                number += 1
                yield number, cells
        return
    with path.open(newline="", **_ENCODING) as file:  # type: ignore[call-overload]
        headings = file.readline(1 << 16)
        reader = csv.reader(file, delimiter=_delimiter(headings))
        while True:
            try:
                cells = next(reader, None)
            except csv.Error:  # a quote that is never closed, or a cell without end
                yield reader.line_num + 1, ()
                continue
            if cells is None:
                return
            if any(cells):
                yield reader.line_num + 1, cells


def _scan(path: Path) -> Any:
    import polars as pl

    try:
        frame = pl.scan_parquet(path, glob=False)
        frame.collect_schema()
    except (OSError, pl.exceptions.PolarsError) as error:
        told = str(error).splitlines()[0][:120]
        raise InputError([Fault(str(path), told, "a Parquet table that can be read")]) from None
    return frame


def _text(cell: object) -> str:
    """A cell as text; numbers as they would be typed."""
    if cell is None:
        return ""
    if isinstance(cell, float) and cell.is_integer():
        return str(int(cell))
    return str(cell).strip()


def _known(number: int, cells: Sequence[object], columns: Sequence[Column | None]) -> Known:
    """What one row says, each cell read by its field."""
    place, faults = f"row {number}", []
    if not cells:
        read = "a quote that is not closed, or a cell of more than 100 000 characters"
        raise InputError([Fault(place, read, "cells in one pair of quotes each")])
    if len(cells) > len(columns):
        read = f"{len(cells)} cells"
        raise InputError([Fault(place, read, f"{len(columns)}, one for each heading")])
    values: dict[str, Value] = {}
    for column, cell in zip(columns, cells, strict=False):
        text = _text(cell)
        if column is None or not text:
            continue
        try:
            values[column.field] = _value(text, column)
        except UnitError as error:
            faults.append(Fault(f"{place}, {column.heading}", error.read, error.allowed))
    for field in ("id", "archetype"):
        if not values.get(field) and not faults:
            faults.append(Fault(f"{place}, {field}", "nothing", f"the {field} of the house"))
    if faults:
        raise InputError(faults)
    id, archetype = str(values.pop("id")), str(values.pop("archetype"))
    return Known(number, id, archetype, tuple(values.items()))


def _value(text: str, column: Column) -> Value:
    """A cell as SI, a number or text; a unit in the cell goes before that of the heading."""
    path = field_path(column.field)
    allowed = allowed_at(path) or "text"
    if len(text) > _LONGEST or _HIDDEN.search(text):
        raise UnitError(repr(text[:60]), f"{allowed}; up to {_LONGEST} characters that can be seen")
    if column.field in ("id", "archetype"):
        if len(text) > 80:
            raise UnitError(repr(text[:60]), "up to 80 characters")
        return text
    quantity = quantity_at(path)
    if quantity is not None:
        bare = not _LETTERS.search(text)
        return units.parse(f"{text} {column.unit}" if bare and column.unit else text, quantity)
    number = _number(text)
    if "number" not in allowed.split(",")[0]:
        return text
    if number is None:
        raise UnitError(f'"{text[:60]}"', allowed)
    return int(number) if number.is_integer() else number


def _number(text: str) -> float | None:
    try:
        number = float(text.replace(",", ".") if text.count(",") == 1 else text)
    except ValueError:
        return None
    return number if isfinite(number) and "_" not in text else None
