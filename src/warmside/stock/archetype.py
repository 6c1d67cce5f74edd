"""An archetype: the survey of a usual house of its kind, and what varies from house to house."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from warmside.catalog import Catalog
from warmside.errors import Fault, InputError
from warmside.stock.unknown import Unknown, Value, read_unknowns
from warmside.study import check
from warmside.survey import Survey, load
from warmside.toml import parse

_LARGEST = 1 << 20  # [byte] as a survey file
_UNKNOWN = re.compile(r"\s*\[\[\s*unknown\s*\]\]")
_HEADING = re.compile(r"\s*\[")


@dataclass(frozen=True)
class Known:
    """What a table says of one house; ``values`` by field, SI or text."""

    row: int
    id: str
    archetype: str
    values: tuple[tuple[str, Value], ...] = ()


@dataclass(frozen=True)
class Archetype:
    """One kind of house, with every option that is looked at on its walls."""

    name: str
    survey: Survey
    unknowns: tuple[Unknown, ...]


def read_archetype(text: str, name: str, catalog: Catalog | None = None) -> Archetype:
    """Read a survey file with ``[[unknown]]`` tables.

    Parameters
    ----------
    text : str
        The file's text.
    name : str
        What the table of houses calls it.
    catalog : Catalog, optional
        Rows that names in the file must match; the built-in ones when not given.

    Returns
    -------
    Archetype
        Survey and spreads, SI.

    Raises
    ------
    InputError
        With every fault found, each with its line.
    """
    plain, lines = _without_unknowns(text)
    checked = check(plain, catalog)
    faults = [Fault(f"{name}: {f.place}", f.read, f.allowed, f.line) for f in checked.faults]
    faults += [
        Fault(f"{name}: {d.place}", f"{d.read}: {d.shows}",
              f"{d.usual}; or an [[accepted]] table: warning, read, reason", d.line)
        for d in checked.doubts
    ]  # fmt: skip
    unknowns: tuple[Unknown, ...] = ()
    if lines and not faults:
        tables = parse(text, name, _LARGEST, "one key to a line").get("unknown", [])
        unknowns, wrong = read_unknowns(tables, name, lines)
        faults += wrong
    if faults or checked.survey is None:
        raise InputError(faults)
    return Archetype(name, checked.survey, unknowns)


def read_archetypes(folder: Path, catalog: Catalog | None = None) -> Mapping[str, Archetype]:
    """Every ``*.toml`` of a folder as an archetype, by the name of its file.

    Raises
    ------
    InputError
        With every fault of every file; a folder without such files.
    """
    found: dict[str, Archetype] = {}
    faults: list[Fault] = []
    for path in sorted(folder.glob("*.toml")):
        try:
            found[path.stem] = read_archetype(load(path), path.stem, catalog)
        except InputError as error:
            faults += error.faults
    if not found and not faults:
        faults = [Fault(str(folder), "no archetype", "a folder with survey files, *.toml")]
    if faults:
        raise InputError(faults)
    return found


def read_surveys(
    folder: Path, catalog: Catalog | None = None
) -> tuple[list[Known | InputError], dict[str, Archetype]]:
    """A folder of survey files, each a house of its own; a file with faults is told, not read.

    Returns
    -------
    tuple
        What ``run`` takes: a row and an archetype for each file.

    Raises
    ------
    InputError
        No survey file lies there.
    """
    rows: list[Known | InputError] = []
    kinds: dict[str, Archetype] = {}
    for number, path in enumerate(sorted(folder.glob("*.toml")), 1):
        try:
            kinds[path.stem] = read_archetype(load(path), path.stem, catalog)
            rows.append(Known(number, path.stem, path.stem))
        except InputError as error:
            rows.append(error)
    if not rows:
        raise InputError([Fault(str(folder), "no survey", "a folder with survey files, *.toml")])
    return rows, kinds


def _without_unknowns(text: str) -> tuple[str, list[int]]:
    """The text with its ``[[unknown]]`` tables blanked, and the line of each of them."""
    kept, lines, inside = [], [], False
    for number, line in enumerate(text.split("\n"), 1):
        if _UNKNOWN.match(line):
            inside = True
            lines.append(number)
        elif inside and _HEADING.match(line):
            inside = False
        kept.append("" if inside else line)
    return "\n".join(kept), lines
