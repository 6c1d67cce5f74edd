"""Air for people and flames: ventilation rates, and what exhaust fans may do to an appliance."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any

from warmside.catalog._rows import Source
from warmside.errors import UnknownRowError


@dataclass(frozen=True)
class VentingRow:
    """How far the pressure indoors may fall for appliances of one kind of venting.

    ``kind`` is the survey's word. ``low`` is the strictest limit in use for that kind.
    """

    kind: str
    name: str
    limit: float  # [Pa]
    low: float  # [Pa]
    source: Source


@dataclass(frozen=True)
class AirFigure:
    """One rate or threshold, in ``unit``."""

    id: str
    name: str
    value: float
    unit: str
    source: Source


@cache
def venting_rows() -> dict[str, VentingRow]:
    """Depressurisation limits by kind of venting."""
    return {
        row["kind"]: VentingRow(
            row["kind"], row["name"], float(row["limit_pa"]), float(row["low_pa"]), _source(row)
        )
        for row in _data()["venting"]
    }


@cache
def _figures() -> dict[str, AirFigure]:
    return {
        row["id"]: AirFigure(row["id"], row["name"], float(row["value"]), row["unit"], _source(row))
        for row in _data()["figure"]
    }


def air_figure(id: str) -> AirFigure:
    """Look up a rate or threshold; raises UnknownRowError."""
    figures = _figures()
    if id not in figures:
        raise UnknownRowError("air figure", id, tuple(figures))
    return figures[id]


def _data() -> dict[str, Any]:
    path = resources.files("warmside.catalog").joinpath("data", "air.toml")
    return tomllib.loads(path.read_text(encoding="utf-8"))


def _source(row: dict[str, Any]) -> Source:
    return Source(row["source"], row["tag"])
