"""The one door: a file in any open format, opened, recognised, read, its gaps closed."""

from __future__ import annotations

import lzma
from functools import lru_cache
from pathlib import Path

from warmside.errors import Fault, InputError
from warmside.physics.climate import HourlyClimate
from warmside.weather.assembly import Station, assemble
from warmside.weather.formats import FORMATS, Format
from warmside.weather.formats.text import LARGEST, Source, text_of

_HEAD = 8000  # [characters] by which a format is recognised


def format_of(text: str) -> Format | None:
    """The format that a text is in; None where it is in none of them."""
    head = text[:_HEAD].removeprefix("\ufeff").replace("\r\n", "\n").lower()
    return next((one for one in FORMATS if one.is_it(head)), None)


def read_weather(source: Source, near: Station | None = None) -> HourlyClimate:
    """Hours from a file in any of the open formats.

    Parameters
    ----------
    source : str, bytes or file
        The file's text; several files of one format after each other where it allows them.
    near : Station, optional
        The house: its place and zone where the file names none.

    Returns
    -------
    HourlyClimate
        Local standard time, each hour named by its end; what was missing is in its notes.

    Raises
    ------
    InputError
        A text in none of the formats, or every fault in it with line and column.
    """
    text = text_of(source)
    if "\0" in text:
        raise InputError([Fault("weather file", "a zero character", "text")])
    if len(text) > LARGEST:
        read = f"{len(text)} characters"
        raise InputError([Fault("weather file", read, f"up to {LARGEST}")])
    one = format_of(text)
    if one is None:
        first = text.lstrip()[:60].split("\n", 1)[0]
        known = "; ".join(f"{f.name}: {f.marked}" for f in FORMATS)
        raise InputError(
            [Fault("weather file", repr(first), f"one of the open formats ({known})", 1)]
        )
    return assemble(one.read(text.replace("\r\n", "\n"), near))


def open_weather(*paths: Path, near: Station | None = None) -> HourlyClimate:
    """Hours from one file, or from several parts of one, ``.xz`` or plain (`read_weather`)."""
    parts = []
    for path in paths:
        with (lzma.open if path.suffix == ".xz" else open)(path, "rb") as file:
            parts.append(text_of(file))
    return read_weather("\n".join(parts), near)


@lru_cache(maxsize=4)
def cached_weather(text: str, near: Station | None = None) -> HourlyClimate:
    """`read_weather` of a text that is asked for again and again."""
    return read_weather(text, near)
