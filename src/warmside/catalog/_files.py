"""Reading a catalog file: CSV or TOML text to cells, with the place of each."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping
from dataclasses import dataclass, field
from importlib.resources.abc import Traversable
from pathlib import Path

from warmside.catalog._columns import COLUMNS, HEADINGS, KINDS, OLD_HEADINGS, Kind
from warmside.catalog._near import nearest
from warmside.errors import CatalogError, Fault, InputError
from warmside.toml import Path as Keys
from warmside.toml import locate, parse

MOST_FAULTS = 200
LARGEST_FILE = 1_000_000  # bytes; the built-in files together are a tenth of it


@dataclass(frozen=True)
class RawRow:
    """A row as read: cells by column, and where it stands."""

    kind: Kind
    file: str
    cells: Mapping[str, object]
    number: int  # counted from 1 in its file
    lines: Mapping[Keys, int]  # of its file
    path: Keys = ()  # where it stands in those lines

    @property
    def line(self) -> int | None:
        """Line at which it begins."""
        return self.lines.get(self.path)

    def place(self, column: str | None = None) -> str:
        """Where a cell stands, for a message."""
        named = (self.cells.get(key) for key in _NAMES.get(self.kind, ("id",)))
        key = " ".join(word for word in named if isinstance(word, str) and word)
        row = f'row "{shown(key)}"' if key else f"row {self.number}"
        return f"{self.file}, {row}" + (f", column {column}" if column else "")

    def line_of(self, column: str) -> int | None:
        """Line of a cell, or of the row where the cell is left out."""
        return self.lines.get((*self.path, column), self.line)


# what names a row of a kind in a message, where it is not its id
_NAMES: dict[Kind, tuple[str, ...]] = {
    "lumber": ("nominal",), "moisture": ("material",), "hazards": ("kind",), "venting": ("kind",),
    "site": ("id", "family"), "clauses": ("pack", "number"),
}  # fmt: skip


@dataclass
class Reading:
    """What was read so far: rows, and every fault found."""

    rows: list[RawRow] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)

    def refuse(self, place: str, read: str, allowed: str, line: int | None = None) -> None:
        """Note a fault; a file with more than the first hundreds is mended from the top."""
        if len(self.faults) < MOST_FAULTS:
            self.faults.append(Fault(place, shown(read), allowed, line))


def shown(value: object) -> str:
    """Show a value in a message: on one line, printable, not too long."""
    try:
        text = value if isinstance(value, str) else repr(value)
    except ValueError:  # whole numbers of thousands of digits
        return "a value too long to show"
    text = " ".join(text[:400].split())
    text = "".join(c if c.isprintable() else "\ufffd" for c in text)
    return text if len(text) <= 80 else text[:77] + "..."


def read_file(file: Traversable, name: str, reading: Reading) -> None:
    """Read one CSV or TOML file into ``reading``; faults are noted, not raised."""
    text = text_of(file, name, reading)
    if text is not None:
        read_text(text, name, reading)


def read_text(text: str, name: str, reading: Reading) -> None:
    """Read the text of such a file; CSV unless its name ends in ``.toml``."""
    if name.lower().endswith(".toml"):
        _read_toml(text, name, reading)
    else:
        _read_csv(text, name, reading)


def files_in(own: Path) -> list[Path]:
    """The catalog files of a path: itself, or the CSV and TOML files of a folder, by name."""
    if own.is_dir():
        found = sorted(
            p for p in own.iterdir() if p.suffix.lower() in (".csv", ".toml") and p.is_file()
        )
        if found:
            return found
        raise CatalogError([Fault(str(own), "a folder without any", "CSV or TOML files in it")])
    if not own.is_file():
        raise CatalogError([Fault(str(own), "no such file", "a CSV or TOML file, or a folder")])
    if own.suffix.lower() not in (".csv", ".toml"):
        raise CatalogError(
            [Fault(str(own), f"a file ending in '{own.suffix}'", "a .csv or .toml file")]
        )
    return [own]


def text_of(
    file: Traversable, name: str, reading: Reading, largest: int = LARGEST_FILE
) -> str | None:
    """Text of a file in UTF-8, or None with the fault noted."""
    try:
        with file.open("rb") as stream:
            data = stream.read(largest + 1)
    except OSError as error:
        reading.refuse(name, error.strerror or "nothing", "a file that can be read")
        return None
    if len(data) > largest:
        reading.refuse(name, f"more than {largest} bytes", f"at most {largest} bytes")
        return None
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        reading.refuse(name, f"byte 0x{data[error.start]:02x}", "text saved as UTF-8", line)
        return None
    if "\0" in text:
        reading.refuse(name, "a zero byte", "plain text", text[: text.index("\0")].count("\n") + 1)
        return None
    return text


def _kind_of(name: str, reading: Reading) -> Kind | None:
    """The class a CSV file holds: its name ends in it, as ``our-materials.csv``."""
    stem = Path(name).stem.lower()
    for kind in KINDS:
        if stem == kind or stem.endswith((f"-{kind}", f"_{kind}", f" {kind}")):
            return kind
    reading.refuse(name, f"the name '{Path(name).stem}'", "a name ending in " + ", ".join(KINDS))
    return None


def _read_csv(text: str, name: str, reading: Reading) -> None:
    kind = _kind_of(name, reading)
    if kind is None:
        return
    lines = csv.reader(io.StringIO(text, newline=""), strict=True)
    try:
        header = [cell.strip() for cell in next(lines, [])]
        if not _header_fits(kind, header, name, reading):
            return
        number = 0
        line = lines.line_num + 1
        for cells in lines:
            if any(cell.strip() for cell in cells):
                number += 1
                _csv_row(kind, header, cells, name, line, number, reading)
            line = lines.line_num + 1
    except csv.Error as error:
        reading.refuse(name, str(error), "well-formed CSV, quotes closed", lines.line_num)


def _csv_row(
    kind: Kind,
    header: list[str],
    cells: list[str],
    name: str,
    line: int,
    number: int,
    reading: Reading,
) -> None:
    if len(cells) != len(header):
        where = f"{name}, row {number}"
        reading.refuse(where, f"{len(cells)} cells", f"{len(header)} cells, as the header", line)
        return
    filled = {
        column: cell.strip() for column, cell in zip(header, cells, strict=True) if cell.strip()
    }
    reading.rows.append(RawRow(kind, name, dict(filled), number, {(): line}))


def _header_fits(kind: Kind, header: list[str], name: str, reading: Reading) -> bool:
    known = {column.name for column in COLUMNS[kind]}
    before = len(reading.faults)
    if len(header) == 1 and any(mark in header[0] for mark in ";\t"):
        allowed = "cells parted by commas, decimals with a point"
        reading.refuse(f"{name}, header", "cells parted by semicolons or tabs", allowed, 1)
        return False
    for read in header:
        if read not in known:
            allowed = ", ".join(sorted(known)) + nearest(read, known)
            reading.refuse(f"{name}, header", f"column '{read}'", allowed, 1)
    for read in sorted({c for c in header if header.count(c) > 1}):
        reading.refuse(f"{name}, header", f"column '{read}' twice", "each column once", 1)
    for column in COLUMNS[kind]:
        # a tag may be left out of a user's own file: its rows are then "own figure"
        if column.required and column.name not in header and not column.name.startswith("tag"):
            reading.refuse(f"{name}, header", "nothing", f"a column '{column.name}'", 1)
    return len(reading.faults) == before


def _read_toml(text: str, name: str, reading: Reading) -> None:
    data = parsed(text, name, reading, LARGEST_FILE)
    if data is None:
        return
    tables, lines = data
    for heading, rows in tables.items():
        kind = HEADINGS.get(heading) or OLD_HEADINGS.get(heading)
        if kind is None:
            allowed = "[[" + "]], [[".join(HEADINGS) + "]]" + nearest(heading, HEADINGS)
            reading.refuse(
                f"{name}, {shown(heading)}", "an unknown table", allowed, lines.get((heading,))
            )
        else:
            toml_rows(kind, heading, rows, name, reading, lines)


def parsed(
    text: str, name: str, reading: Reading, largest: int
) -> tuple[dict[str, object], Mapping[Keys, int]] | None:
    """Tables of a text and the line of every key, or None with the fault noted."""
    try:
        return parse(text, name, largest), locate(text.removeprefix("\ufeff"))
    except InputError as error:
        reading.faults += error.faults
        return None


def toml_rows(
    kind: Kind,
    heading: str,
    rows: object,
    name: str,
    reading: Reading,
    lines: Mapping[Keys, int],
    more: Mapping[str, object] | None = None,
) -> None:
    """Take the tables under one heading as rows; ``more`` are cells that each of them has."""
    if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
        allowed = f"tables headed [[{heading}]]"
        reading.refuse(f"{name}, {heading}", "something else", allowed, lines.get((heading,)))
        return
    for n, cells in enumerate(rows):
        row = RawRow(kind, name, {**cells, **(more or {})}, n + 1, lines, (heading, n))
        _known_columns_only(row, cells, reading)
        reading.rows.append(row)


def _known_columns_only(row: RawRow, cells: Mapping[str, object], reading: Reading) -> None:
    known = sorted(column.name for column in COLUMNS[row.kind])
    for column in cells:
        if column not in known:
            allowed = ", ".join(known) + nearest(column, known)
            read = f"column '{shown(column)}'"
            reading.refuse(row.place(), read, allowed, row.line_of(column))
