"""A figure in a sentence: one formatter for all, so that a sentence cannot contradict a finding."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from warmside import units
from warmside.catalog import Source
from warmside.promises.finding import Finding
from warmside.promises.wording import Language

Kind = Literal[
    "length", "resistance", "temperature", "share", "factor", "permeance", "area", "hole",
    "metres", "water", "water mass", "money", "years", "air change", "flow", "pressure", "heat",
    "count", "board feet", "time", "density", "concentration", "force",
]  # fmt: skip

BOARD_FOOT = units.FOOT**2 * units.INCH  # [m3]
POUND_FORCE = 4.4482216152605  # [N]
_MINUTE, _HOUR, _DAY = 60.0, 3600.0, 86_400.0  # [s]


@dataclass(frozen=True)
class Figure:
    """A number with what it is and where it comes from.

    ``value`` is SI (money in ``currency``). ``finding`` is the key of the finding that it stands
    in, as its figure or its limit; empty where it is a datum of the survey or the catalog.
    ``option`` is the option that finding judges; empty for the house.
    """

    value: float
    kind: Kind
    source: Source
    finding: str = ""
    currency: str = ""
    option: str = ""

    def shown(self, language: Language = "en") -> str:
        """The figure as every sentence prints it."""
        return shown(self.value, self.kind, self.currency, language)


def figure_of(finding: Finding, kind: Kind, option: str = "") -> Figure:
    """The figure of a finding; its unit must be that of ``kind`` in SI."""
    return Figure(finding.figure or 0.0, kind, finding.source, finding.key, option=option)


def limit_of(finding: Finding, kind: Kind, option: str = "") -> Figure:
    """The limit of a finding."""
    return Figure(finding.limit or 0.0, kind, finding.source, finding.key, option=option)


def shown(value: float, kind: Kind, currency: str = "", language: Language = "en") -> str:
    """Write a number as sentences do: trade units first where the trade mixes them.

    Parameters
    ----------
    value : float
        SI value of ``kind``; money in ``currency``.
    kind : Kind
        What it is.
    currency : str
        For money: its code.
    language : {"en", "fr"}
        Decimal sign and unit words.

    Returns
    -------
    str
        The number with its unit.
    """
    if kind == "length":
        text = f"{units.show(value, 'length')} ({value * 1e3:.0f} mm)"
    elif kind == "money":
        text = f"{currency} {value:,.0f}".strip()
    elif kind == "time":
        text = _time(value, language)
    elif kind == "years":
        text = f"{value:.0f} {'ans' if language == 'fr' else 'years'}"
    else:
        text = _WRITERS[kind](value)
    return _french(text) if language == "fr" else text


def _time(value: float, language: Language) -> str:
    if value >= _DAY:
        day = "jour" if language == "fr" else "day"
        return f"{value / _DAY:g} {day}{'' if value == _DAY else 's'}"
    return f"{value / _HOUR:g} h" if value >= _HOUR else f"{value / _MINUTE:g} min"


def _french(text: str) -> str:
    """Comma for the decimal sign, narrow space between thousands."""
    return text.replace(",", "\u202f").replace(".", ",")


_WRITERS: dict[Kind, Callable[[float], str]] = {
    "resistance": lambda v: f"R-{v / units.R_IMPERIAL:.1f} (RSI {v:.2f})",
    "temperature": lambda v: f"{v:.1f} °C",
    "share": lambda v: f"{v * 100:.0f} %",
    "factor": lambda v: f"{v:.2f}",
    "permeance": lambda v: f"{v * 1e12:.0f} ng/(Pa s m²)",
    "area": lambda v: f"{v:,.1f} m²",
    "hole": lambda v: f"{v * 1e4:.0f} cm²",
    "metres": lambda v: f"{v:,.1f} m",
    "water": lambda v: f"{v * 1e3:,.0f} g/m²",
    "water mass": lambda v: f"{v:,.1f} kg",
    "air change": lambda v: f"{v:.1f}",
    "flow": lambda v: f"{v * 1e3:.0f} L/s",
    "pressure": lambda v: f"{v:.1f} Pa",
    "heat": lambda v: f"{v / 3.6e6:,.0f} kWh",
    "count": lambda v: f"{v:.0f}",
    "board feet": lambda v: f"{v / BOARD_FOOT:,.0f} board ft",
    "density": lambda v: f"{v:.0f} kg/m³",
    "concentration": lambda v: f"{v * 1e6:g} mg/m³",
    "force": lambda v: f"{v / POUND_FORCE:,.0f} lb",
}
