"""What may be kept: looked through once, before any transaction."""

from __future__ import annotations

import json
import math
import re
import tomllib
import unicodedata
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from warmside import survey
from warmside.errors import Fault, InputError
from warmside.store.moments import digest, folded

if TYPE_CHECKING:
    from warmside.catalog import Catalog

LONGEST_TEXT = 1 << 20  # characters of one text
LONGEST_WEATHER = 8 << 20  # characters of a file of hours; a year takes up to about 2 million
LARGEST_DATA = 1 << 20  # characters of one record or draft, as JSON
_DEEPEST = 20
_MOST_WORDS = 60_000  # characters of one part that a search looks through
_SOUGHT = ("name", "place", "client", "notes", "note", "where", "wall", "caption", "title", "text")


@dataclass(frozen=True)
class Facts:
    """What the job list shows of a survey."""

    name: str
    place: str
    client: str
    walls: str  # a JSON list


@dataclass(frozen=True)
class Prepared:
    """A text ready to be kept: its hash, what a search finds in it, what the job list shows."""

    text: str
    hash: str
    words: str
    facts: Facts | None = None


def prepared(part: str, text: str) -> Prepared:
    """``text`` as it goes into the tables; it has been checked before, now or long ago."""
    data = json.loads(text) if is_json(part) else tomllib.loads(text) if part == "survey" else {}
    words = folded("\n".join(_sought(data)))[:_MOST_WORDS]
    return Prepared(text, digest(text), words, _facts(data) if part == "survey" else None)


def is_json(part: str) -> bool:
    """Whether a part is JSON rather than a file of the person's own."""
    return part not in ("survey", "prices", "catalog", "weather", "mark")


def checked(part: str, text: str) -> None:
    """Refuse a text that part cannot hold, with every fault."""
    if not isinstance(text, str):
        raise InputError([Fault(part, type(text).__name__, "text")])
    most = longest(part)
    if len(text) > most:
        raise InputError([Fault(part, f"{len(text)} characters", f"up to {most} characters")])
    storable(part, text)
    _CHECKS[part](text)


def looked_through(part: str, text: str, was: tuple[str, str] | None) -> Prepared:
    """A text that somebody sent, as it goes into the tables.

    Parameters
    ----------
    was : tuple of str or None
        Survey and own rows as they stand, where ``part`` is one of them: a text is refused that
        could be kept, but not opened or studied any more.

    Raises
    ------
    InputError
        Every fault of it.
    """
    checked(part, text)
    if was is not None:
        after = (text, was[1]) if part == "survey" else (was[0], text)
        if faults := added_faults(was, after):
            raise InputError(faults)
    return prepared(part, text)


def longest(part: str) -> int:
    """Characters that the text of a part may have."""
    return LONGEST_WEATHER if part == "weather" else LONGEST_TEXT


def added_faults(before: tuple[str, str], after: tuple[str, str]) -> tuple[Fault, ...]:
    """What a survey with its own rows cannot be studied for, that was not so before.

    Every name is looked up and every wall is framed. A fault that stood already keeps nobody
    from changing something else.

    Parameters
    ----------
    before, after : tuple of str
        A survey ("" for none) and the job's own rows, as texts.
    """
    if before == after or not after[0]:
        return ()
    known = {(fault.place, fault.read) for fault in _faults(*before)} if before[0] else set()
    return tuple(f for f in _faults(*after) if (f.place, f.read) not in known)


def _faults(text: str, rows: str) -> tuple[Fault, ...]:
    from warmside.study.checking import check  # brings the compiled solvers with it

    return check(text, catalog_of(rows)).faults


def storable(place: str, text: str) -> None:
    """Refuse what a database cannot hold."""
    if "\0" in text or any("\ud800" <= c <= "\udfff" for c in text):
        raise InputError([Fault(place, "a character that is none", "text in UTF-8")])


def _survey(text: str) -> None:
    survey.read(text)


def _prices(text: str) -> None:
    from warmside.estimate import read_prices  # brings the compiled solvers with it

    read_prices(text)


def catalog_of(text: str) -> Catalog:
    """The catalog with a job's own rows (TOML text, "" for none) over the built-in ones."""
    from warmside import catalog

    if not text.strip():
        return catalog.load()
    return catalog.load_text(text)


def _catalog(text: str) -> None:
    catalog_of(text)


def _choices(text: str) -> None:
    data = parsed("the choices", text)
    if len(data) > 200:
        raise InputError([Fault("the choices", f"{len(data)} walls", "up to 200 walls")])
    for wall, option in data.items():
        if not isinstance(option, str) or not 0 < len(option) <= 200 or len(wall) > 200:
            read = json.dumps(option)[:80]
            raise InputError([Fault(f'the choice of wall "{wall[:80]}"', read, "an option's id")])


def _weather(text: str) -> None:
    from warmside.weather import Station, read_weather, whole_year  # as for the prices

    if text.strip():
        # anywhere will do: where a file names no place, that of the house turns only the sun
        whole_year(read_weather(text, Station(45.0, -90.0, -6.0)))


def _mark(text: str) -> None:
    from warmside.documents.picture import mark  # brings the compiled solvers with it

    if text:
        mark(text.encode("utf-8"), "")


_CHECKS: dict[str, Callable[[str], None]] = {
    "survey": _survey,
    "prices": _prices,
    "catalog": _catalog,
    "choices": _choices,
    "weather": _weather,
    "mark": _mark,
}


def who_of(name: str) -> str:
    """A name under which something is kept."""
    bare = unicodedata.normalize("NFC", name).strip() if isinstance(name, str) else ""
    if not 0 < len(bare) <= 80 or not bare.isprintable():
        read = repr(name)[:80] if isinstance(name, str) else type(name).__name__
        raise InputError([Fault("who", read, "a name of 1 to 80 letters")])
    return bare


def word(place: str, text: str, pattern: str, allowed: str) -> str:
    """``text`` if it is a word of the given form."""
    if not isinstance(text, str) or not re.fullmatch(pattern, text):
        raise InputError([Fault(place, repr(text)[:80], allowed)])
    return text


def canonical(place: str, data: Mapping[str, Any]) -> str:
    """Plain data as JSON, the same text for the same data."""
    if not isinstance(data, Mapping):
        raise InputError([Fault(place, type(data).__name__, "named values")])
    try:
        _plain(data, 0)
        # ASCII only: a lone surrogate or a zero character from a form stays what it was
        text = json.dumps(data, sort_keys=True, allow_nan=False, separators=(",", ":"))
    except (TypeError, ValueError) as error:
        allowed = "named values: text, finite numbers, yes or no, lists, tables"
        raise InputError([Fault(place, str(error)[:80], allowed)]) from None
    if len(text) > LARGEST_DATA:
        read = f"{len(text)} characters"
        raise InputError([Fault(place, read, f"up to {LARGEST_DATA} characters")])
    return text


def _plain(data: Any, depth: int) -> None:
    """Refuse what would not come back from JSON as it was."""
    if depth > _DEEPEST:
        raise ValueError("tables too deep in each other")
    if isinstance(data, Mapping):
        for key, value in data.items():
            if not isinstance(key, str):
                raise TypeError(f"a {type(key).__name__} as a name")
            _plain(value, depth + 1)
    elif isinstance(data, (list, tuple)):
        for value in data:
            _plain(value, depth + 1)
    elif isinstance(data, float) and not math.isfinite(data):
        raise ValueError(f"the number {data}")
    elif isinstance(data, int) and abs(data) > 1 << 63:
        raise ValueError("a whole number of more than 63 bits")
    elif data is not None and not isinstance(data, (str, int, float)):
        raise TypeError(f"a {type(data).__name__}")


def parsed(place: str, text: str) -> dict[str, Any]:
    """JSON text of an object; faults for anything else."""
    try:
        data = json.loads(text, parse_constant=_refuse_constant)
    except (ValueError, RecursionError) as error:
        raise InputError([Fault(place, str(error)[:80], "JSON")]) from None
    if not isinstance(data, dict):
        raise InputError([Fault(place, type(data).__name__, "a JSON object")])
    return data


def _refuse_constant(name: str) -> None:
    raise ValueError(f"the number {name}")


def _facts(data: Mapping[str, Any]) -> Facts:
    house, walls = data.get("house"), data.get("wall")
    house = house if isinstance(house, dict) else {}
    name, place, client = (str(house.get(key, "")).strip() for key in ("name", "place", "client"))
    listed = [w for w in walls if isinstance(w, dict)] if isinstance(walls, list) else []
    return Facts(name, place, client, json.dumps([str(w.get("name", "")).strip() for w in listed]))


def _sought(data: Any, wanted: bool = False) -> Iterator[str]:
    """Every text under a key that people search by."""
    if isinstance(data, Mapping):
        for key, value in data.items():
            yield from _sought(value, key in _SOUGHT)
    elif isinstance(data, list):
        for value in data:
            yield from _sought(value, wanted)
    elif wanted and isinstance(data, str):
        yield data
