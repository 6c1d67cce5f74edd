"""Text that somebody wrote, looked at before the TOML reader sees it."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable, Iterator
from typing import Any

from warmside.errors import Fault, InputError
from warmside.toml._lines import TOKEN

# The reader's cost grows with the square of a key's parts and of a line's brackets, and with the
# number of keys; Python refuses integers of more than 4300 digits.
LONGEST_LINE = 4096  # [characters]
MOST_LINES = 20_000
MOST_PARTS = 8  # of a dotted key
DEEPEST = 12  # tables and lists within each other


def parse(
    text: str,
    name: str,
    largest: int,
    allowed: str = "well-formed TOML",
    parse_float: Callable[[str], Any] = float,
) -> dict[str, Any]:
    """Tables of a text that a person wrote.

    Parameters
    ----------
    text : str
        TOML, a byte order mark in front or not.
    name : str
        What to call it in a fault.
    largest : int
        Most bytes of it.
    allowed : str
        What is said to be allowed where it is no TOML.
    parse_float : callable
        What a number with a point becomes.

    Returns
    -------
    dict
        As ``tomllib`` reads them.

    Raises
    ------
    InputError
        A text too large, too long a line or key, tables too deep, or no TOML; with its line.
    """
    text = text.removeprefix("\ufeff")
    unfit = next(unfit_for_reading(text, name, largest), None)
    if unfit is not None:
        raise InputError([unfit])
    try:
        data = tomllib.loads(text, parse_float=parse_float)
    except (ValueError, ArithmeticError) as error:
        at = re.search(r"at line (\d+)", str(error))
        line = int(at[1]) if at else None
        raise InputError([Fault(name, f"no TOML: {str(error)[:200]}", allowed, line)]) from None
    except RecursionError:
        raise InputError([too_deep(name)]) from None
    if is_too_deep(data):
        raise InputError([too_deep(name)])
    return data


def unfit_for_reading(text: str, name: str, largest: int) -> Iterator[Fault]:
    """Why a text is not worth reading as TOML: its size, its lines, the parts of its keys."""
    # a character is at least a byte
    if len(text) > largest or len(text.encode("utf-8", "replace")) > largest:
        yield Fault(name, f"{len(text)} characters", f"up to {largest} bytes")
        return
    lines = text.split("\n")
    if len(lines) > MOST_LINES:
        yield Fault(name, f"{len(lines)} lines", f"up to {MOST_LINES} lines")
        return
    for number, line in enumerate(lines, 1):
        if len(line) > LONGEST_LINE:
            read = f"a line of {len(line)} characters"
            yield Fault(name, read, f"lines of up to {LONGEST_LINE} characters", number)
            return
        if line.count(".") >= MOST_PARTS and _parts(line) > MOST_PARTS:
            read, allowed = "a key of many parts", f"keys of up to {MOST_PARTS} parts"
            yield Fault(name, read, allowed, number)
            return


def too_deep(name: str) -> Fault:
    """The fault of tables or lists too deep in each other."""
    return Fault(name, "tables or lists too deep in each other", f"{DEEPEST} levels")


def is_too_deep(data: object) -> bool:
    """Whether tables and lists lie more than ``DEEPEST`` levels in each other; no recursion."""
    level, depth = [data], 0
    while level and depth <= DEEPEST:
        below: list[object] = []
        for item in level:
            below.extend(
                item.values() if isinstance(item, dict) else item if isinstance(item, list) else ()
            )
        level, depth = below, depth + 1
    return depth > DEEPEST


def _parts(line: str) -> int:
    """Parts of the longest dotted key of a line."""
    most, parts, dotted = 0, 0, False
    for token in TOKEN.finditer(line):
        kind = token.lastgroup
        if kind in ("bare", "text"):
            parts, dotted = (parts + 1 if dotted else 1), False
            most = max(most, parts)
        elif token[0] == ".":
            dotted = True
        elif kind != "space":
            parts, dotted = 0, False
    return most
