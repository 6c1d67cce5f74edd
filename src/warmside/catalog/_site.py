"""Figures of the working day: limits for spraying, the air of the work area, samples; signs."""

from __future__ import annotations

import math
import tomllib
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any, get_args

from warmside.catalog._rows import Source, Tag
from warmside.errors import CatalogError, Fault, UnknownRowError


@dataclass(frozen=True)
class SiteFigure:
    """What is allowed, from ``low`` to ``high`` in ``unit``; None where there is no such end."""

    id: str
    family: str  # of foam; "" holds for any
    name: str
    low: float | None
    high: float | None
    unit: str
    source: Source

    @property
    def least(self) -> float:
        """The lower end, which this figure must have."""
        return _there(self, self.low)

    @property
    def most(self) -> float:
        """The upper end, which this figure must have."""
        return _there(self, self.high)


@dataclass(frozen=True)
class Reminder:
    """What people must wear or mind, for a paper; the law and a trained person decide."""

    id: str
    text: str
    source: Source


@dataclass(frozen=True)
class Sign:
    """A sign to print and hang up."""

    id: str
    head: str
    text: str


@dataclass(frozen=True)
class SiteRows:
    """All rows of the file."""

    figures: tuple[SiteFigure, ...]
    reminders: tuple[Reminder, ...]
    signs: tuple[Sign, ...]

    def figure(self, id: str, family: str = "") -> SiteFigure:
        """The figure for a family of foam, or for any; raises UnknownRowError."""
        for wanted in (family, ""):
            for row in self.figures:
                if (row.id, row.family) == (id, wanted):
                    return row
        raise UnknownRowError("site figure", id, tuple({row.id: None for row in self.figures}))


@cache
def site_rows() -> SiteRows:
    """The rows that come with the program."""
    path = resources.files("warmside.catalog").joinpath("data", "site.toml")
    return read_site(path.read_text(encoding="utf-8"))


def site_figure(id: str, family: str = "") -> SiteFigure:
    """Look up a figure of the working day; raises UnknownRowError."""
    return site_rows().figure(id, family)


def read_site(text: str) -> SiteRows:
    """Rows of a text in TOML.

    Raises
    ------
    CatalogError
        A row without a source or a known tag, a figure without an end or with its ends crossed.
    """
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise CatalogError([Fault("site.toml", str(error), "TOML")]) from None
    faults = [fault for kind in ("figure", "reminder") for row in data.get(kind, ())
              for fault in _faults(kind, row)]  # fmt: skip
    if faults:
        raise CatalogError(faults)
    return SiteRows(
        tuple(_figure(row) for row in data.get("figure", ())),
        tuple(Reminder(row["id"], row["text"], _source(row)) for row in data.get("reminder", ())),
        tuple(Sign(row["id"], row["head"], row["text"]) for row in data.get("sign", ())),
    )


def _faults(kind: str, row: dict[str, Any]) -> list[Fault]:
    place = f"site.toml, {kind} '{row.get('id', '?')}'"
    faults = []
    if not str(row.get("source", "")).strip():
        faults.append(Fault(f"{place}, source", "nothing", "where the figure comes from"))
    if row.get("tag") not in get_args(Tag):
        faults.append(Fault(f"{place}, tag", repr(row.get("tag")), ", ".join(get_args(Tag))))
    if kind == "figure":
        ends = [row[end] for end in ("low", "high") if end in row]
        if not ends or not all(_is_number(end) for end in ends) or sorted(ends) != ends:
            faults.append(Fault(f"{place}, low, high", repr(ends), "one or two numbers, low first"))
    return faults


def _is_number(value: object) -> bool:
    return isinstance(value, (int, float)) and not isinstance(value, bool) and math.isfinite(value)


def _figure(row: dict[str, Any]) -> SiteFigure:
    low, high = (float(row[end]) if end in row else None for end in ("low", "high"))
    return SiteFigure(row["id"], row["family"], row["name"], low, high, row["unit"], _source(row))


def _source(row: dict[str, Any]) -> Source:
    return Source(row["source"], row["tag"])


def _there(figure: SiteFigure, value: float | None) -> float:
    if value is None:
        raise UnknownRowError("end of site figure", figure.id)
    return value
