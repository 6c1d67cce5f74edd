"""Figures and texts as a paper says them."""

from __future__ import annotations

import re

from warmside import units
from warmside.documents.annex_data import Figure
from warmside.estimate import Price
from warmside.promises import Finding, Verdict
from warmside.wording import WORST, Style, raised

TRADE, METRIC = Style(), Style("metric", "m²", "m³", "°C", "RSI", "ng", "m³")


def grouped(text: str, currency: str) -> str:
    """``CAD 38258`` as ``CAD 38,258``, wherever money in that currency is told."""
    told = rf"(?<={re.escape(currency)} )-?\d{{4,}}\b"
    return re.sub(told, lambda m: f"{int(m[0]):,}", text) if currency else text


def resistance(value: float) -> Figure:
    """R with RSI below it, ``value`` [m2 K/W]."""
    return Figure(TRADE(value, "resistance"), METRIC(value, "resistance"))


def temperature(value: float, verdict: Verdict | None = None) -> Figure:
    """Temperature [degC] with degrees Fahrenheit below it."""
    return Figure(celsius(value), f"{value * 1.8 + 32:.0f} °F", verdict=verdict)


def celsius(value: float) -> str:
    """``21 °C`` or ``-3.4 °C``."""
    return f"{value:.0f} °C" if value == round(value) else f"{value:.1f} °C"


def length(value: float) -> str:
    """A length [m] in feet and inches."""
    return units.show(value, "length")


def area(value: float) -> Figure:
    """An area [m2] in square feet with m² below it."""
    trade, metric = units.show(value, "area", "trade", 3), units.show(value, "area", "metric", 3)
    return Figure(raised(trade), raised(metric))


def money(price: Price) -> str:
    """The total with its currency."""
    return f"{price.currency} {price.total:,.2f}"


def worst(findings: tuple[Finding, ...]) -> Verdict:
    """The worst verdict of the findings; 'holds' where there is none."""
    verdicts = {finding.verdict for finding in findings}
    return next((v for v in WORST if v in verdicts), "holds")
