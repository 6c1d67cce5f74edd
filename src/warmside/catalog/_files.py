"""Reading a catalog file: CSV or TOML text to cells, with the place of each."""

from __future__ import annotations

import csv
import io
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass, field
from importlib.resources.abc import Traversable
from pathlib import Path

from warmside.catalog._columns import COLUMNS, KINDS, Kind
from warmside.errors import CatalogError, Fault

LARGEST_FILE = 1_000_000  # bytes; the built-in files together are a tenth of it


@dataclass(frozen=True)
class RawRow:
    """A row as read: cells by column, and where it stands."""

    kind: Kind
    file: str
    line: int | None
    cells: dict[str, object]
    number: int  # counted from 1 in its file

    def place(self, column: str | None = None) -> str:
        """Where a cell stands, for a message."""
        key = self.cells.get("id") or self.cells.get("nominal")
        row = f'row "{shown(key)}"' if isinstance(key, str) else f"row {self.number}"
        return f"{self.file}, {row}" + (f", column {column}" if column else "")


@dataclass
class Reading:
    """What was read so far: rows, and every fault found."""

    rows: list[RawRow] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)

    def refuse(self, place: str, read: str, allowed: str, line: int | None = None) -> None:
        """Note a fault."""
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
    text = _text_of(file, name, reading)
    if text is None:
        return
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


def _text_of(file: Traversable, name: str, reading: Reading) -> str | None:
    try:
        with file.open("rb") as stream:
            data = stream.read(LARGEST_FILE + 1)
    except OSError as error:
        reading.refuse(name, error.strerror or "nothing", "a file that can be read")
        return None
    if len(data) > LARGEST_FILE:
        reading.refuse(name, f"more than {LARGEST_FILE} bytes", f"at most {LARGEST_FILE} bytes")
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
    reading.rows.append(RawRow(kind, name, line, dict(filled), number))


def _header_fits(kind: Kind, header: list[str], name: str, reading: Reading) -> bool:
    known = {column.name for column in COLUMNS[kind]}
    before = len(reading.faults)
    if len(header) == 1 and any(mark in header[0] for mark in ";\t"):
        allowed = "cells parted by commas, decimals with a point"
        reading.refuse(f"{name}, header", "cells parted by semicolons or tabs", allowed, 1)
        return False
    for read in header:
        if read not in known:
            reading.refuse(f"{name}, header", f"column '{read}'", ", ".join(sorted(known)), 1)
    for read in sorted({c for c in header if header.count(c) > 1}):
        reading.refuse(f"{name}, header", f"column '{read}' twice", "each column once", 1)
    for column in COLUMNS[kind]:
        # a tag may be left out of a user's own file: its rows are then "own figure"
        if column.required and column.name not in header and not column.name.startswith("tag"):
            reading.refuse(f"{name}, header", "nothing", f"a column '{column.name}'", 1)
    return len(reading.faults) == before


def _read_toml(text: str, name: str, reading: Reading) -> None:
    try:
        content = tomllib.loads(text)
    except (ValueError, RecursionError) as error:
        reading.refuse(name, f"text that is not TOML: {error}", "well-formed TOML")
        return
    for key, tables in content.items():
        kind = next((k for k in KINDS if k == key), None)
        if kind is None:
            reading.refuse(f"{name}, {shown(key)}", "an unknown table", "[[" + "]], [[".join(KINDS))
        elif not isinstance(tables, list) or not all(isinstance(t, dict) for t in tables):
            reading.refuse(f"{name}, {key}", "something else", f"tables headed [[{key}]]")
        else:
            lines = _table_lines(text, key)
            for number, cells in enumerate(tables, start=1):
                row = RawRow(kind, name, next(lines, None), cells, number)
                _known_columns_only(row, reading)
                reading.rows.append(row)


def _known_columns_only(row: RawRow, reading: Reading) -> None:
    known = {column.name for column in COLUMNS[row.kind]}
    for column in row.cells:
        if column not in known:
            reading.refuse(
                row.place(), f"column '{shown(column)}'", ", ".join(sorted(known)), row.line
            )


def _table_lines(text: str, key: str) -> Iterator[int]:
    for number, line in enumerate(text.splitlines(), start=1):
        if line.split("#")[0].strip().replace(" ", "") == f"[[{key}]]":
            yield number
