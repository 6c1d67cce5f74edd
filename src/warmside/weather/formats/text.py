"""What all readers of text share: decoding, rows, cells, faults with line and column."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import IO, Any, NamedTuple

import numpy as np

from warmside.errors import Fault, InputError
from warmside.physics.climate import FloatArray
from warmside.weather.assembly import Times

Source = str | bytes | IO[str] | IO[bytes]
MISSING = (9999.0, 99999.0)  # beside -9900 and -9999
LARGEST = 16_000_000  # [characters] a year of the widest format has about 2 million
MOST_FAULTS = 12


class Line(NamedTuple):
    """One line of a table and its number in the file, from 1 on."""

    number: int
    cells: list[str]


def text_of(source: Source) -> str:
    """The text of ``source``: UTF-8, else the code page of older government files."""
    raw = source if isinstance(source, (str, bytes)) else source.read(LARGEST + 1)
    if len(raw) > LARGEST:
        raise InputError(
            [Fault("weather file", f"over {LARGEST / 1e6:.0f} million characters", "one station")]
        )
    if isinstance(raw, str):
        return raw.removeprefix("\ufeff")
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        return raw.decode("cp1252", errors="replace")


def lines_of(text: str, what: str) -> list[Line]:
    """Lines that are not empty; an error if there is no hour among them."""
    reader = csv.reader(io.StringIO(text))
    try:
        rows = [Line(reader.line_num, row) for row in reader if row]
    except csv.Error as error:
        raise InputError([Fault(f"{what} file", str(error), "CSV", reader.line_num)]) from None
    if len(rows) < 2:
        count = f"{len(rows)} line" + ("s" if len(rows) != 1 else "")
        raise InputError([Fault(f"{what} file", count, "a header and hourly lines")])
    return rows


def number(cell: str) -> float:
    """The number in a cell; NaN where it is empty or stands for none.

    Raises
    ------
    ValueError
        Text that is no number.
    """
    bare = cell.strip()
    if bare in ("", "M", "NA", "N/A"):
        return np.nan
    value = float(bare)
    return np.nan if value <= -9000.0 or value in MISSING else value


def column(
    lines: Sequence[Line], header: Sequence[str], index: int | None, what: str
) -> FloatArray | None:
    """Numbers of a column, shape (n_lines,), NaN where missing; None without such a column.

    Raises
    ------
    InputError
        Cells that are no number, each with its line and the name of its column.
    """
    if index is None:
        return None
    values = np.full(len(lines), np.nan)
    faults: list[Fault] = []
    for k, line in enumerate(lines):
        if index >= len(line.cells):
            continue
        try:
            values[k] = number(line.cells[index])
        except ValueError:
            name = header[index].strip() or f"column {index + 1}"
            faults.append(_no_number(what, name, line.cells[index], line.number))
            if len(faults) == MOST_FAULTS:
                break
    if faults:
        raise InputError(faults)
    return values


def _no_number(what: str, name: str, cell: str, line: int) -> Fault:
    return Fault(f"{what} file, column {name}", repr(cell[:40]), "a number, or nothing", line)


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
        values = [float(cell) for cell in cells]
    except ValueError:
        values = [np.nan]
    if not np.isfinite(values).all():
        raise InputError(
            [Fault(f"{what} file", f"{cells}", "latitude, longitude, zone, elevation", line=line)]
        )
    return values


def times_of(stamps: Sequence[str], numbers: Sequence[int], what: str) -> Times:
    """Times from ISO 8601 text; a fault names the line of the first that is none."""
    try:
        return np.array(stamps, dtype="datetime64[m]")
    except ValueError:
        pass
    for stamp, line in zip(stamps, numbers, strict=True):
        try:
            np.datetime64(stamp, "m")
        except ValueError:
            fault = Fault(f"{what} file, time", repr(stamp[:40]), "a date and hour", line)
            raise InputError([fault]) from None
    raise InputError([Fault(f"{what} file, time", "dates of several forms", "one form")])


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


# What a reader of the solar library raises at a file that is not as it should be
BROKEN = (ValueError, KeyError, IndexError, AttributeError, TypeError, OverflowError, StopIteration,
          RecursionError)  # fmt: skip


def by_library(read: Callable[[], Any], text: str, header: int, what: str) -> Any:
    """What ``read`` gives back; its faults as ours, with line and column where they can be told.

    Parameters
    ----------
    read : callable
        Calls a reader of the solar library.
    text : str
        What it reads.
    header : int
        Number of the line of column names, from 1 on.
    what : str
        The format, as errors name it.
    """
    try:
        return read()
    except BROKEN as error:
        faults = list(_blamed(text, header, what))
        said = " ".join(str(error).split())[:100] or type(error).__name__
        raise InputError(
            faults or [Fault(f"{what} file", said, "a file as it is given out")]
        ) from None


def refuse_words(text: str, header: int, what: str) -> None:
    """Refuse lines below the header with cells too few, or with text among numbers.

    For a reader that lets them through with a warning.
    """
    faults = list(_blamed(text, header, what))
    if faults:
        raise InputError(faults)


def frame_column(frame: Any, name: str, header: int, what: str) -> FloatArray | None:
    """A column of a table that the library read [its unit], NaN where missing; None without it."""
    import pandas as pd

    if name not in frame.columns:
        return None
    given = frame[name]
    if given.dtype == object:  # whole numbers too large for the library are text to it
        given = given.where(given.isna(), given.astype(str))
    values = pd.to_numeric(given, errors="coerce").to_numpy(dtype=np.float64)
    wrong = np.flatnonzero(~np.isfinite(values) & given.notna().to_numpy())
    if wrong.size:
        raise InputError(
            [
                _no_number(what, name, str(given.iloc[k]), header + 1 + int(k))
                for k in wrong[:MOST_FAULTS]
            ]
        )
    gone = (values <= -9000.0) | np.isin(values, MISSING)
    return np.asarray(np.where(gone, np.nan, values))


def _blamed(text: str, header: int, what: str) -> Iterator[Fault]:
    """Lines below the header with cells too few, or with text among numbers."""
    lines = text.splitlines()
    if len(lines) <= header:
        return
    names = [name.strip() for name in lines[header - 1].split(",")]
    found = 0
    for at, line in enumerate(lines[header:], header + 1):
        cells = line.split(",")
        if not line.strip() or found >= MOST_FAULTS:
            return
        if len(cells) < len(names):
            found += 1
            yield Fault(f"{what} file", f"{len(cells)} cells", f"{len(names)} as in its header", at)
        for name, cell in zip(names, cells, strict=False):
            if cell.strip() and not _is_plain(cell, name):
                found += 1
                yield _no_number(what, name, cell, at)


def _is_plain(cell: str, name: str) -> bool:
    """Whether a cell can be what its column holds: a number, or a date or time."""
    low = name.lower()
    if any(word in low for word in ("source", "code", "flag", "uncert")):
        return True
    if "date" in low or "time" in low:
        return any(c.isdigit() for c in cell)
    try:
        float(cell)
    except ValueError:
        return False
    return True
