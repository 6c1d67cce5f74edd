"""What the camera gave: a matrix of temperatures, or a picture with its scale, read and checked.

A file is told by its content, never by its name.
"""

from __future__ import annotations

import io
import warnings
import zlib
from dataclasses import dataclass, replace
from typing import Any, Literal

import numpy as np
import numpy.typing as npt

from warmside.errors import Fault, InputError
from warmside.proof.palette import bar_of, inverted, is_grey

Floats = npt.NDArray[np.float64]
Unit = Literal["C", "F", "K"]

MOST_BYTES = 60_000_000
MOST_PIXELS = 20_000_000
KEPT_PIXELS = 1_500_000  # more are averaged block by block
LEAST_SIDE = 16  # [pixels]
COLDEST, WARMEST = -60.0, 120.0  # [degC] that any surface of a house has
_KELVIN = 273.15
_PLACE = "thermal picture"


@dataclass(frozen=True, eq=False)
class Picture:
    """Temperatures as the camera wrote them [degC], (rows, columns), top row first.

    NaN where the camera gave none. ``quantum`` is the step between neighbouring tones [K], 0 for
    a matrix of numbers; ``reduced`` by how much rows and columns were averaged.
    """

    values: Floats
    quantum: float = 0.0
    reduced: int = 1

    @property
    def shape(self) -> tuple[int, int]:
        """Rows and columns."""
        rows, columns = self.values.shape
        return rows, columns


def read_matrix(
    data: bytes, unit: Unit = "C", gain: float | None = None, offset: float = 0.0
) -> Picture:
    """Read a matrix of temperatures: CSV, or a TIFF of 32-bit floats or 16-bit counts.

    A CSV may carry places: x [m] in the first row and z [m] in the first column, the corner cell
    beginning with ``z_m``; comma, semicolon or tab part the fields. Empty fields are no reading.

    Parameters
    ----------
    data : bytes
        The file.
    unit : {"C", "F", "K"}
        Of the numbers in it.
    gain, offset : float
        For whole counts: temperature = gain x count + offset, in ``unit``.

    Returns
    -------
    Picture
        In degrees Celsius.

    Raises
    ------
    InputError
        Too large, not a matrix, no temperatures, or temperatures of another unit.
    """
    if len(data) > MOST_BYTES:
        read = f"{len(data) / 1e6:.0f} MB"
        raise InputError([Fault(_PLACE, read, f"a file up to {MOST_BYTES // 1_000_000} MB")])
    if not data.strip():
        raise InputError([Fault(_PLACE, "an empty file", "a CSV or TIFF of temperatures")])
    if data[:4] in (b"II*\0", b"MM\0*", b"II+\0", b"MM\0+"):
        values = _tiff(data, gain, offset)
    elif data[:8] == b"\x89PNG\r\n\x1a\n" and data[24:26] == b"\x10\0":
        values = _counts(_png(data), gain, offset)
    elif data[:8] == b"\x89PNG\r\n\x1a\n" or data[:3] == b"\xff\xd8\xff":
        read = "a picture of tones"
        raise InputError([Fault(_PLACE, read, "a CSV or TIFF; for a picture give its scale")])
    else:
        values = _csv(data)
    return checked(_celsius(values, unit), unit)


def read_toned(data: bytes, coldest: float, warmest: float) -> Picture:
    """Read an ordinary picture whose scale was read off it.

    Where a scale bar stands beside it, temperatures go by the bar's colours, whatever the palette;
    a picture without colours and without a bar goes by its tones, lighter being warmer. Colours
    without a bar are refused: nobody can tell what they mean.

    Parameters
    ----------
    data : bytes
        PNG or JPEG.
    coldest, warmest : float
        Temperatures at both ends of its scale [degC].

    Returns
    -------
    Picture
        Good to a step of the bar's colours at best; a matrix of numbers is better.
    """
    from PIL import Image, UnidentifiedImageError

    if len(data) > MOST_BYTES:
        raise InputError([Fault(_PLACE, f"{len(data) / 1e6:.0f} MB", "up to 60 MB")])
    if not COLDEST <= coldest < warmest <= WARMEST:
        read = f"scale {coldest:g} to {warmest:g} C"
        raise InputError([Fault(_PLACE, read, "the colder temperature first, -60 to 120 C")])
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error")
            image = Image.open(io.BytesIO(data), formats=("PNG", "JPEG"))
            if image.width * image.height > MOST_PIXELS:
                raise InputError([_too_many(image.height, image.width)])
            colours = np.asarray(image.convert("RGB"), dtype=float)
    except (UnidentifiedImageError, OSError, ValueError, Warning, SyntaxError) as error:
        if isinstance(error, InputError):
            raise
        raise InputError([Fault(_PLACE, "no picture that can be read", "PNG or JPEG")]) from error
    bar = bar_of(colours)
    if bar is not None:
        values, step = inverted(colours, bar, coldest, warmest)
        return replace(checked(values, "C"), quantum=step)
    if not is_grey(colours):
        read = "colours without a scale bar"
        allowed = "the picture with its scale bar, one in grey, or the camera's temperatures"
        raise InputError([Fault(_PLACE, read, allowed)])
    step = (warmest - coldest) / 255.0
    return replace(checked(coldest + colours.mean(axis=2) * step, "C"), quantum=step)


def checked(values: Floats, unit: Unit = "C") -> Picture:
    """A matrix that can be a picture of a wall, reduced where it is very large.

    Raises
    ------
    InputError
        Too small or large, nothing in it, the same everywhere, or no temperatures of ``unit``.
    """
    if values.ndim != 2 or min(values.shape) < LEAST_SIDE:
        read = f"shape {values.shape}"
        raise InputError([Fault(_PLACE, read, f"{LEAST_SIDE} rows and columns or more")])
    if values.size > MOST_PIXELS:
        raise InputError([_too_many(*values.shape)])
    if np.isinf(values).any():
        raise InputError([Fault(_PLACE, "values without end", "temperatures, or empty fields")])
    there = values[np.isfinite(values)]
    if there.size < LEAST_SIDE**2:
        read = f"{there.size} temperatures, the rest empty"
        raise InputError([Fault(_PLACE, read, "temperatures over most of the wall")])
    _refuse_units(there, unit)
    if float(np.ptp(there)) < 1e-6:
        read = f"{there[0]:.2f} C everywhere"
        raise InputError([Fault(_PLACE, read, "a picture of a wall, warm and cold places")])
    factor = int(np.ceil(np.sqrt(values.size / KEPT_PIXELS)))
    return Picture(reduced(values, factor), reduced=factor) if factor > 1 else Picture(values)


def _too_many(rows: int, columns: int) -> Fault:
    allowed = f"up to {MOST_PIXELS / 1e6:.0f} million pixels"
    return Fault(_PLACE, f"{columns} x {rows} pixels", allowed)


def _refuse_units(there: Floats, unit: Unit) -> None:
    """Say which unit the numbers look like where they cannot be degrees Celsius of a room."""
    middle = float(np.median(there))
    if COLDEST < middle < 40.0:
        return
    looks = ""
    if unit == "C" and 40.0 <= middle <= 104.0:
        looks = "; they look like degrees Fahrenheit: say so"
    elif unit == "C" and 230.0 <= middle <= 330.0:
        looks = "; they look like kelvin: say so"
    elif unit == "C" and middle > 1000.0:
        looks = "; they look like counts: give gain and offset"
    raise InputError(
        [
            Fault(
                _PLACE,
                f"half of the values above {middle:.1f} C",
                f"surfaces of a room, -60 to 40 C{looks}",
            )
        ]
    )


def reduced(values: Floats, factor: int) -> Floats:
    """Means of blocks of ``factor`` rows and columns; the rest at right and below is cut off."""
    rows, columns = (n // factor for n in values.shape)
    blocks = values[: rows * factor, : columns * factor].reshape(rows, factor, columns, factor)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", RuntimeWarning)  # a block without any reading stays NaN
        return np.asarray(np.nanmean(blocks, axis=(1, 3)))


def _celsius(values: Floats, unit: Unit) -> Floats:
    if unit == "F":
        return (values - 32.0) / 1.8
    if unit == "K":
        return values - _KELVIN
    if unit != "C":
        raise InputError([Fault(f"{_PLACE}, unit", f"{unit!r}", "C, F or K")])
    return values


def _tiff(data: bytes, gain: float | None, offset: float) -> Floats:
    import logging

    import tifffile

    logging.getLogger("tifffile").setLevel(logging.CRITICAL)  # what is wrong is told below
    try:
        with tifffile.TiffFile(io.BytesIO(data)) as file:
            page = file.pages[0]
            if int(np.prod(page.shape)) > MOST_PIXELS:
                raise InputError([_too_many(page.shape[0], page.shape[1])])
            _refuse_swelling(data, page)
            raw = page.asarray()
    except InputError:
        raise
    except Exception as error:  # a broken file raises whatever its reader meets first
        raise InputError([Fault(_PLACE, "a broken TIFF", "a TIFF that can be read")]) from error
    values = np.squeeze(raw)
    if values.ndim != 2:
        raise InputError([Fault(_PLACE, f"a TIFF of shape {raw.shape}", "one channel")])
    if np.issubdtype(values.dtype, np.integer):
        return _counts(values, gain, offset)
    if not np.issubdtype(values.dtype, np.floating):
        raise InputError([Fault(_PLACE, f"values of type {values.dtype}", "numbers")])
    return values.astype(float)


def _counts(values: npt.NDArray[Any], gain: float | None, offset: float) -> Floats:
    """Temperatures of whole counts."""
    if gain is None:
        read = f"{values.dtype} counts without a scale"
        raise InputError([Fault(_PLACE, read, "gain and offset of the camera's counts")])
    if not (np.isfinite(gain) and np.isfinite(offset)) or gain == 0.0:
        raise InputError([Fault(_PLACE, f"gain {gain}, offset {offset}", "numbers, gain not 0")])
    return np.asarray(values.astype(float) * gain + offset)


def _png(data: bytes) -> npt.NDArray[Any]:
    """Counts of a grey PNG of 16 bits."""
    from PIL import Image

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error")
            image = Image.open(io.BytesIO(data), formats=("PNG",))
            if image.width * image.height > MOST_PIXELS:
                raise InputError([_too_many(image.height, image.width)])
            values = np.asarray(image)
    except InputError:
        raise
    except Exception as error:  # a broken file raises whatever its reader meets first
        raise InputError([Fault(_PLACE, "a broken PNG", "a PNG that can be read")]) from error
    if values.ndim != 2:
        raise InputError([Fault(_PLACE, f"a PNG of shape {values.shape}", "one channel")])
    return values


_STORED, _DEFLATED = (1,), (8, 32946)  # TIFF 6.0, compression; the rest is refused


def _refuse_swelling(data: bytes, page: Any) -> None:
    """Refuse strips that inflate to more than their part of the page; none is inflated whole."""
    if int(page.compression) not in (*_STORED, *_DEFLATED):
        read = f"a TIFF packed by method {int(page.compression)}"
        raise InputError([Fault(_PLACE, read, "one stored plainly or deflated")])
    most = MOST_PIXELS * 8  # [byte] of all strips
    for offset, count in zip(page.dataoffsets, page.databytecounts, strict=True):
        strip = data[offset : offset + count]
        if int(page.compression) in _DEFLATED:
            strip = zlib.decompressobj().decompress(strip, most + 1)
        most -= len(strip)
        if most < 0:
            allowed = f"up to {MOST_PIXELS / 1e6:.0f} million numbers"
            raise InputError([Fault(_PLACE, "strips that inflate to more", allowed)])


def _csv(data: bytes) -> Floats:
    try:
        text = data.decode(_code(data))
    except UnicodeDecodeError as error:
        raise InputError([Fault(_PLACE, "neither text nor TIFF", "a CSV or a TIFF")]) from error
    lines = _without_head([line for line in text.splitlines() if line.strip()])
    mark = next((m for m in ("\t", ";") if m in lines[0]), ",")
    comma = mark != ","  # where commas do not part the fields they may part decimals
    placed = lines[0].lstrip().lower().startswith("z_m")
    rows = [line.split(mark)[placed:] for line in lines[placed:]]
    wide = max(len(row) for row in rows) if rows else 0
    if any(len(row) not in (wide, wide - 1) for row in rows):
        raise InputError([Fault(_PLACE, "rows of unequal length", "the same fields in every row")])
    values = np.full((len(rows), wide), np.nan)
    for n, row in enumerate(rows):
        for k, field in enumerate(row):
            values[n, k] = _number(field, n + 1 + placed, comma)
    empty = ~np.isfinite(values).any(axis=0)
    return values[:, :-1] if wide and empty[-1] else values


def _code(data: bytes) -> str:
    """How a text is coded: wide characters are told by their mark, or by the zeros between."""
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        return "utf-16"
    begin = data[:400]
    for first, code in ((1, "utf-16-le"), (0, "utf-16-be")):
        if len(begin) > 8 and begin[first::2].count(0) > 0.8 * len(begin[first::2]):
            return code
    return "utf-8-sig"


MOST_HEAD = 60  # lines of notes before the numbers


def _without_head(lines: list[str]) -> list[str]:
    """Lines from the first row of numbers on, where notes of fewer fields stand before them."""
    for n, line in enumerate(lines[: MOST_HEAD + 1]):
        mark = next((m for m in ("\t", ";") if m in line), ",")
        fields = [f.strip().strip('"') for f in line.split(mark)]
        if line.lstrip().lower().startswith("z_m"):
            return lines[n:]
        if len(fields) >= LEAST_SIDE and sum(_is_number(f) for f in fields) > 0.5 * len(fields):
            return lines[n:]
    return lines


def _is_number(field: str) -> bool:
    return field.replace(",", ".").lstrip("+-").replace(".", "", 1).isdigit()


def _number(field: str, line: int, comma: bool) -> float:
    text = field.strip().strip('"')
    if not text or text.lower() == "nan":
        return float("nan")
    try:
        return float(text.replace(",", ".") if comma else text)
    except ValueError:
        raise InputError([Fault(_PLACE, f"'{text[:30]}'", "a number", line)]) from None
