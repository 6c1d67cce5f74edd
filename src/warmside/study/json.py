"""The study as JSON: plain data, each key with its unit, no key without a value or null."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

from warmside.catalog import Source
from warmside.study.chances import Spread
from warmside.study.house import Study
from warmside.study.json_keys import plain

_LEVELS = 6  # of the text that start a new line


def json_text(study: Study, chances: Spread | None = None) -> str:
    """The study as JSON text; ``docs/study-json.md`` names every key.

    Parameters
    ----------
    study : Study
        The house studied.
    chances : Spread, optional
        From ``spread``; null in the result when not given.

    Returns
    -------
    str
        Strict JSON (no NaN): lengths in m, areas in m2, resistances in m2 K/W, temperatures in
        degC, money in the currency named. Its upper levels have a line each, what is deeper is on
        one line: quick to write and to read, and short enough to look through.
    """
    met: dict[Source, int] = {}  # each by its place, counted from 0

    def place(source: object) -> int:
        if not isinstance(source, Source):
            raise TypeError(f"{type(source).__name__} has no place in JSON")
        return met.setdefault(source, len(met))

    encode = json.JSONEncoder(ensure_ascii=False, allow_nan=False, default=place).encode
    # the sources stand last: when they are written, all others have been met
    last = {"chances": plain(chances, study), "sources": lambda: list(map(vars, met))}
    return _lines(plain(study, study) | last, encode, _LEVELS) + "\n"


def _lines(value: Any, encode: Callable[[Any], str], levels: int, indent: str = "") -> str:
    value = value() if callable(value) else value
    if levels == 0 or not value or not isinstance(value, (dict, list)):
        return encode(value)
    deeper = f"{indent} "
    if isinstance(value, list):
        rows = [_lines(item, encode, levels - 1, deeper) for item in value]
    else:
        rows = [
            f"{encode(key)}: {_lines(v, encode, levels - 1, deeper)}" for key, v in value.items()
        ]
    opened, closed = "[]" if isinstance(value, list) else "{}"
    return f"{opened}\n{deeper}" + f",\n{deeper}".join(rows) + f"\n{indent}{closed}"
