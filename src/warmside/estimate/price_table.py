"""The price file as a table: CSV and spreadsheet, out and in again, without a formula in a cell."""

from __future__ import annotations

import csv
import io
import json
import re
import zipfile
from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal, InvalidOperation
from pathlib import Path
from typing import Any

from warmside.errors import FORMULA, Fault, InputError, inert
from warmside.toml import parse

COLUMNS = ("part", "key", "value", "unit", "trade", "name", "rise", "own", "note")
_HEAD = "head"
# tables of single values
_PLAIN = (_HEAD, "subcontract", "travel", "saving", "contractor", "terms")
_ROWS = ("material", "labour", "disposal", "fixed", "rate", "energy")
_MANY = ("tax", "stage")  # tables that stand several times
_LARGEST = 1_000_000  # bytes of a file that is read
_UNPACKED = 20_000_000  # bytes of a spreadsheet when it is unpacked
_MOST_ROWS = 2000
_TEXTS = {"title", "currency", "place", "unit"}  # of single values, those that are no numbers
Row = tuple[str, ...]


def table_of(text: str) -> tuple[Row, ...]:
    """Rows of a price file's text under `COLUMNS`; what it holds of notes after ``#`` is not kept.

    Raises
    ------
    InputError
        No price file.
    """
    data = parse(text, "price file", _LARGEST, "TOML, one row a line", parse_float=Decimal)
    return tuple(_rows(data))


def _rows(data: dict[str, Any]) -> Iterator[Row]:
    for key, value in data.items():
        if not isinstance(value, dict | list):
            yield _row(_HEAD, key, _cell(value))
    for stage in data.get("stage", ()):
        yield _row("stage", stage.get("name", ""), _cell(stage.get("share", "")))
    for tax in data.get("tax", ()):
        yield _row("tax", tax.get("name", ""), _cell(tax.get("rate", "")), tax.get("place", ""))
    for part in _PLAIN[1:]:
        for key, value in data.get(part, {}).items():
            yield _row(part, key, _cell(value))
    for part in _ROWS:
        for key, fields in data.get(part, {}).items():
            value = fields.get("hours" if part == "rate" else "price", "")
            yield _row(
                part, key, _cell(value), fields.get("unit", ""), fields.get("trade", ""),
                fields.get("name", ""), _cell(fields.get("rise", "")), _cell(fields.get("own", "")),
                fields.get("note", ""),
            )  # fmt: skip


def _row(*cells: str) -> Row:
    return tuple(str(cell) for cell in cells) + ("",) * (len(COLUMNS) - len(cells))


def _cell(value: Any) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, list):
        return "; ".join(str(one) for one in value)
    return format(value, "f") if isinstance(value, Decimal) and value.is_finite() else str(value)


def text_of(rows: Iterable[Sequence[str]]) -> str:
    """A price file's text from rows under `COLUMNS`, to be read by ``read_prices``.

    Raises
    ------
    InputError
        A row that no table of the file could hold, or a formula; each with its line.
    """
    faults: list[Fault] = []
    parts: dict[str, list[str]] = {}
    for line, cells in enumerate(rows, 2):
        if line - 1 > _MOST_ROWS:
            faults.append(Fault("price table", f"{line} rows", f"up to {_MOST_ROWS}", line))
            break
        row = dict(zip(COLUMNS, (str(cell).strip() for cell in cells), strict=False))
        if not any(row.values()):
            continue
        told = _line(row, line, faults)
        if told:
            parts.setdefault(row["part"], []).append(told)
    if faults:
        raise InputError(faults)
    texts = ["\n".join(parts.pop(_HEAD, []))]
    for many in _MANY:
        texts += [f"[[{many}]]\n{one}" for one in parts.pop(many, [])]
    texts += [f"[{part}]\n" + "\n".join(lines) for part, lines in parts.items()]
    return "\n\n".join(texts) + "\n"


def _line(row: dict[str, str], line: int, faults: list[Fault]) -> str:
    part, key = row.get("part", ""), row.get("key", "")
    where = f"price table, {key or part or 'row'}"[:80]
    for name, cell in row.items():
        if cell.startswith(FORMULA) and not _is_number(cell):
            faults.append(Fault(f"{where}, {name}", repr(cell[:40]), "a value, no formula", line))
            return ""
    if part not in (*_PLAIN, *_ROWS, *_MANY) or not key:
        allowed = f"part: {', '.join((*_PLAIN, *_MANY, *_ROWS))}; and a key"
        faults.append(Fault(where, repr(part[:40]), allowed, line))
        return ""
    if part == "tax":
        place = f"\nplace = {_text(row['unit'])}" if row.get("unit") else ""
        return f"name = {_text(key)}\nrate = {_number(row['value'])}{place}"
    if part == "stage":
        return f"name = {_text(key)}\nshare = {_number(row['value'])}"
    if part in _PLAIN:
        value = _text(row["value"]) if part == "contractor" else _single(key, row["value"])
        return f"{_key(key)} = {value}"
    value = "hours" if part == "rate" else "price"
    fields = [f"{value} = {_number(row['value'])}"]
    fields += [f"{n} = {_text(row[n])}" for n in ("unit", "trade", "name", "note") if row.get(n)]
    fields += [f"rise = {_number(row['rise'])}"] if row.get("rise") else []
    fields += [f"own = {row['own'].lower()}"] if row.get("own", "").lower() in _BOOLS else []
    return f"{_key(key)} = {{ {', '.join(fields)} }}"


_BOOLS = ("true", "false")


def _single(key: str, value: str) -> str:
    if key in _TEXTS:
        return _text(value)
    if key == "trades":
        return f"[{', '.join(_text(one.strip()) for one in value.split(';') if one.strip())}]"
    return value.lower() if value.lower() in _BOOLS else _number(value)


def _is_number(cell: str) -> bool:
    try:
        return Decimal(cell).is_finite()
    except InvalidOperation:
        return False


def _number(cell: str) -> str:
    """A number as TOML writes it; anything else as text, which the reader then refuses by name."""
    cell = cell.replace(",", ".") if re.fullmatch(r"\d+,\d+", cell) else cell
    return format(Decimal(cell), "f") if _is_number(cell) and len(cell) < 40 else _text(cell)


def _text(cell: str) -> str:
    return json.dumps(cell, ensure_ascii=False).replace("\x7f", "\\u007f")


def _key(key: str) -> str:
    return key if re.fullmatch(r"[A-Za-z0-9_-]+", key) else _text(key)


def to_csv(text: str) -> str:
    """A price file's text as CSV; a cell that a spreadsheet would compute is led by an apostrophe.

    Raises
    ------
    InputError
        No price file.
    """
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    writer.writerow(COLUMNS)
    for row in table_of(text):
        writer.writerow(cell if _is_number(cell) else inert(cell) for cell in row)
    return out.getvalue()


def from_csv(text: str) -> str:
    """A price file's text from CSV with the columns of `COLUMNS`, in any order.

    Raises
    ------
    InputError
        No such table, or a fault in it.
    """
    if len(text) > _LARGEST:
        raise InputError([Fault("price table", f"{len(text)} characters", f"up to {_LARGEST}")])
    try:
        return text_of(_ordered(list(csv.reader(io.StringIO(text.removeprefix("\ufeff"),
                                                            newline="")))))  # fmt: skip
    except csv.Error as error:
        raise InputError([Fault("price table", str(error), "CSV")]) from None


def _ordered(rows: list[list[str]]) -> list[list[str]]:
    """Rows under `COLUMNS`, without the line of headers."""
    heads = [cell.strip().lower() for cell in rows[0]] if rows else []
    lacking = [name for name in COLUMNS[:3] if name not in heads]
    if lacking:
        read = ", ".join(heads)[:80] or "nothing"
        allowed = f"a line of headers: {', '.join(COLUMNS)}"
        raise InputError([Fault("price table", read, allowed, 1)])
    places = [heads.index(name) if name in heads else -1 for name in COLUMNS]
    return [[_bare(row[n]) if 0 <= n < len(row) else "" for n in places] for row in rows[1:]]


def _bare(cell: str) -> str:
    """A cell without the apostrophe that `to_csv` puts before it."""
    return cell[1:] if len(cell) > 1 and cell[0] == "'" and cell[1] in FORMULA else cell


def to_xlsx(text: str) -> bytes:
    """A price file's text as a spreadsheet; numbers are numbers, all else is text.

    Raises
    ------
    InputError
        No price file.
    """
    from openpyxl import Workbook

    book = Workbook()
    sheet = book.active
    sheet.title = "prices"
    sheet.append(COLUMNS)
    sheet.freeze_panes = "A2"
    for n, row in enumerate(table_of(text), 2):
        for column, cell in enumerate(row, 1):
            if not cell:
                continue
            at = sheet.cell(n, column)
            if COLUMNS[column - 1] in ("value", "rise") and _is_number(cell):
                at.value = float(cell)
            else:
                at.value, at.data_type = cell, "s"  # a text, whatever it begins with
    for letter, width in zip("ABCDEFGHI", (12, 34, 12, 12, 14, 40, 8, 8, 60), strict=True):
        sheet.column_dimensions[letter].width = width
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def from_xlsx(data: bytes) -> str:
    """A price file's text from the first sheet of a spreadsheet; a formula in it is refused.

    Raises
    ------
    InputError
        No spreadsheet, one that is too large, or a fault in it.
    """
    from openpyxl import load_workbook

    allowed = "a spreadsheet (xlsx) of prices"
    if len(data) > _LARGEST:
        raise InputError([Fault("price table", f"{len(data)} bytes", f"up to {_LARGEST}")])
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as packed:
            if sum(one.file_size for one in packed.infolist()) > _UNPACKED:
                raise InputError([Fault("price table", "a file that unpacks too large", allowed)])
        sheet = load_workbook(io.BytesIO(data), read_only=True).worksheets[0]
        rows = [
            [_shown(cell) for cell in row]
            for row in sheet.iter_rows(max_row=_MOST_ROWS + 2, max_col=40, values_only=True)
        ]
    except InputError:
        raise
    except Exception as error:  # what a broken file raises is as many kinds as it has layers
        raise InputError([Fault("price table", type(error).__name__, allowed)]) from None
    return text_of(_ordered(rows))


def _shown(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, float):
        return format(Decimal(repr(value)), "f") if value == value else "nan"
    return str(value)


def price_text(path: Path) -> str:
    """Text of a price file, be it TOML, CSV or a spreadsheet by its ending.

    Raises
    ------
    InputError
        A table that cannot be read.
    OSError
        No such file.
    """
    kind = path.suffix.lower()
    with path.open("rb") as file:
        raw = file.read(_LARGEST + 1)
    if kind == ".xlsx":
        return from_xlsx(raw)
    text = raw.decode("utf-8-sig")
    return from_csv(text) if kind == ".csv" else text
