"""What all readers of text share: decoding, rows, cells, columns."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence
from typing import IO

import numpy as np

from warmside.errors import Fault, InputError
from warmside.physics.climate._assemble import Times
from warmside.physics.climate._hourly import FloatArray

Source = str | bytes | IO[str] | IO[bytes]
MISSING = (9999.0, 99999.0)  # beside -9900 and -9999
LARGEST = 200_000_000  # [characters]


def text_of(source: Source) -> str:
    """The text of ``source``: UTF-8, else the code page of older government files."""
    raw = source if isinstance(source, (str, bytes)) else source.read(LARGEST + 1)
    if len(raw) > LARGEST:
        raise InputError([Fault("weather file", f"over {LARGEST} characters", "one station")])
    if isinstance(raw, str):
        return raw.removeprefix("\ufeff")
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        return raw.decode("cp1252", errors="replace")


def rows_of(text: str, what: str) -> list[list[str]]:
    """Rows that are not empty; an error if there is no hour among them."""
    rows = [row for row in csv.reader(io.StringIO(text)) if row]
    if len(rows) < 2:
        raise InputError([Fault(f"{what} file", f"{len(rows)} lines", "a header and hourly lines")])
    return rows


def number(cell: str) -> float:
    """The number in a cell; NaN for text and for the values that stand for none."""
    try:
        value = float(cell)
    except ValueError:
        return np.nan
    return np.nan if value <= -9000.0 or value in MISSING else value


def column(rows: Sequence[Sequence[str]], index: int | None) -> FloatArray | None:
    """Numbers of a column, shape (n_rows,), or None without one."""
    if index is None:
        return None
    return np.array([number(row[index]) if index < len(row) else np.nan for row in rows])


def find(header: Sequence[str], *names: str) -> int | None:
    """Index of the first header cell that starts with one of ``names``."""
    for name in names:
        for k, cell in enumerate(header):
            if cell.strip().lower().startswith(name.lower()):
                return k
    return None


def metadata(cells: Sequence[str], what: str, line: int) -> list[float]:
    """Numbers of the station's line."""
    try:
        return [float(cell) for cell in cells]
    except ValueError:
        raise InputError(
            [Fault(f"{what} file", f"{cells}", "latitude, longitude, zone, elevation", line=line)]
        ) from None


def times_of(parts: Sequence[str], what: str) -> Times:
    """Times from ISO 8601 text."""
    try:
        return np.array(parts, dtype="datetime64[m]")
    except ValueError as fault:
        raise InputError([Fault(f"{what} file, time", f"{fault}", "a date and hour")]) from None


def kept(columns: Mapping[str, FloatArray | None]) -> dict[str, FloatArray]:
    """The columns that the file has."""
    return {name: values for name, values in columns.items() if values is not None}


def scale(columns: dict[str, FloatArray | None], **factors: float) -> None:
    """Multiply columns in place by their factors to SI."""
    for name, factor in factors.items():
        values = columns.get(name)
        if values is not None:
            columns[name] = values * factor


def snow_is_no_rain(columns: dict[str, FloatArray | None]) -> None:
    """Take out precipitation of hours below freezing, in place."""
    rain, t = columns.get("rain"), columns.get("temperature")
    if rain is not None and t is not None:
        columns["rain"] = np.where(t > 0.0, np.nan_to_num(rain), 0.0)
