"""A figure: a number with what it is, how far it is known, and where it comes from."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Literal

from warmside.units import BOARD_FOOT

Tag = Literal[
    "published",  # read in the named source
    "second-hand",  # read in another text that quotes it
    "from memory",  # not read; always shown as such
    "common practice",  # a fact of the trade, no source
    "computed",  # worked out from rows with a source
    "own figure",  # the user's own row
    "invented",  # demonstration only
]
Kind = Literal[
    "length", "size", "span", "area", "hole", "hole per metre", "volume", "foam", "temperature",
    "difference", "resistance", "conductivity", "permeance", "share", "factor", "index",
    "air change",
    "flow", "pressure", "pump pressure", "speed", "wind", "liquid", "bead", "water", "mass",
    "density", "concentration", "force", "heat",
    "power", "time", "hours", "labour", "days", "degree days", "years", "money", "cents", "price",
    "count", "number",
]  # fmt: skip


@dataclass(frozen=True)
class Source:
    """Where a figure comes from; every row has one."""

    text: str
    tag: Tag

    def __str__(self) -> str:
        return f"{self.text} ({self.tag})"


@dataclass(frozen=True)
class Figure:
    """A number with what it is and where it comes from; a ``Style`` writes it.

    ``value`` is SI (money in ``currency``), ``low`` and ``high`` its band where one is known. With
    ``to`` it is a range from ``value`` to there.
    ``noun`` is what a "count" counts, in the singular. ``unit`` follows a "number" as it stands,
    and an "air change" where no sentence says that it is one.
    ``finding`` is the key of the finding that the figure stands in, as its figure or its limit;
    empty where it is a datum of the survey or the catalog. ``option`` is the option that finding
    judges; empty for the house.
    """

    value: float
    kind: Kind
    source: Source | None = None
    finding: str = ""
    currency: str = ""
    option: str = ""
    low: float | None = None
    high: float | None = None
    noun: str = ""
    unit: str = ""
    to: float | None = None

    def __str__(self) -> str:
        raise TypeError("a figure is no text: a style writes it")


_BY_UNIT: dict[str, Kind] = {
    "m": "length", "m2": "area", "m3": "volume", "degC": "temperature", "K": "difference",
    "m2 K/W": "resistance", "kg/(m2 s Pa)": "permeance", "kg/m2": "water", "kg": "mass",
    "J": "heat", "W": "power", "Pa": "pressure", "m3/s": "flow", "m/s": "speed", "s": "time",
    "kg/kg": "share", "h": "hours", "days": "days", "years": "years", "kg/m3": "density",
}  # fmt: skip


# units of a takeoff: as what they are shown, and SI of one
_BOUGHT: dict[str, tuple[Kind, float]] = {
    "board ft": ("foam", BOARD_FOOT), "m": ("span", 1.0), "L": ("liquid", 1e-3),
    "h": ("labour", 1.0),
}  # fmt: skip
_COUNTED = ("sheet", "bag", "cartridge", "set", "each")


def amount_by_unit(value: float, unit: str, source: Source | None = None) -> Figure:
    """An amount of the takeoff, by the unit that it is bought in: metres are those of a run."""
    if unit in _BOUGHT:
        kind, si = _BOUGHT[unit]
        return Figure(value * si, kind, source)
    if unit in _COUNTED:
        if unit == "each" or value == round(value):
            return Figure(value, "count", source, noun="" if unit == "each" else unit)
        return Figure(value, "number", source, unit=f"{unit}s")
    return figure_by_unit(value, unit, source)


def figure_by_unit(value: float, unit: str, source: Source | None = None) -> Figure:
    """A figure kept with the text of its SI unit: ``figure_by_unit(2.1, "m2 K/W")``."""
    kind = _BY_UNIT.get(unit)
    if re.fullmatch("[A-Z]{3}", unit):
        return Figure(value, "money", source, currency=unit)
    if unit == "-":  # an index or a factor; below a tenth none is known finer than a hundredth
        return Figure(value if abs(value) >= 0.1 else round(value, 2), "number", source)
    if unit == "1/h":
        return Figure(value, "air change", source, unit="an hour")
    if unit == "kg/(m2 s)":
        return Figure(value * 3.6e6, "number", source, unit="g/(m² h)")
    if kind is None:
        return Figure(value, "number", source, unit=unit)
    return Figure(value, kind, source)


_PURE = ("share", "factor", "index", "number", "count")  # kinds without a unit


def figure_told(
    value: float, unit: str, told: Iterable[Figure], source: Source | None = None
) -> Figure:
    """A figure kept with the text of its SI unit, as a sentence about it tells it.

    The sentence knows more of it than the unit: its band, or that it is a share.
    """
    plain = figure_by_unit(value, unit, source)
    kinds = _PURE if unit == "-" else (plain.kind,)
    same = (f for f in told if f.value == value and f.kind in kinds)
    found = next(same, plain)
    return replace(found, source=source, unit=plain.unit or found.unit)
