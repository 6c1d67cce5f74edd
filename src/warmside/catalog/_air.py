"""Air for people and flames: ventilation rates, and what exhaust fans may do to an appliance."""

from __future__ import annotations

from dataclasses import dataclass

from warmside.catalog._cells import Cells
from warmside.catalog._rows import Source


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


# What a figure in each unit may be: the widest that makes sense, to catch a wrong unit.
_SPANS = {
    "m3/(s m2)": (1e-5, 0.01),
    "m3/s": (1e-4, 1.0),
    "Bq/m3": (20.0, 2000.0),
    "-": (0.001, 5.0),
}


def check_air(cells: Cells) -> None:
    """Refuse a value that its unit cannot have."""
    span = _SPANS.get(cells.text("unit"))
    if span and cells.holds("value"):
        cells.within("value", cells.number("value"), span, cells.text("unit"))


def air_figure(cells: Cells) -> AirFigure:
    """The row of ``cells``."""
    return AirFigure(
        cells.text("id"),
        cells.text("name"),
        cells.number("value"),
        cells.text("unit"),
        cells.source(),
    )


def venting(cells: Cells) -> VentingRow:
    """The row of ``cells``."""
    return VentingRow(
        cells.text("kind"),
        cells.text("name"),
        cells.number("limit_pa"),
        cells.number("low_pa"),
        cells.source(),
    )
