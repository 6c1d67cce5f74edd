"""Spreads side by side: from the low to the high end of each, its middle marked."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, isfinite

from warmside.drawings.charts import SMALL, TEXT, nice
from warmside.drawings.svg import COLD, INK, WARM, drawing, line, rect, shorten, text_width, words
from warmside.errors import Fault, InputError

_ROW = 24.0  # [user units]


@dataclass(frozen=True)
class Range:
    """Low, middle and high of one row, in the chart's unit, and what is written at its end."""

    name: str
    low: float
    middle: float
    high: float
    text: str


def spreads(
    ranges: Sequence[Range], *, unit: str, title: str, width: float = 600.0, warm: bool = True
) -> str:
    """One band per row on a common scale from zero, as SVG; ``warm`` chooses the hue.

    Raises InputError on values that are negative, not finite or not in rising order.
    """
    faults = [
        Fault(f"spread '{r.name}'", f"{r.low}, {r.middle}, {r.high}", "0 <= low <= middle <= high")
        for r in ranges
        if not (isfinite(r.high) and 0.0 <= r.low <= r.middle <= r.high)
    ]
    if faults:
        raise InputError(faults)
    hue = WARM if warm else COLD
    names = min(0.34 * width, max((text_width(r.name, TEXT) for r in ranges), default=0.0) + 12)
    ends = max((text_width(r.text, TEXT) for r in ranges), default=0.0) + 10
    room = max(width - names - ends, 40.0)
    most = nice(max((r.high for r in ranges), default=0.0) or 1.0)
    foot = 26 + len(ranges) * _ROW
    head = shorten(f"{title} [{unit}]", TEXT + 1.5, width, bold=True)
    parts = [words(0, 12, head, TEXT + 1.5, bold=True)]
    for k in range(5):
        x = names + room * k / 4
        parts += [
            line(x, 20, x, foot, stroke="#c8c8c8", stroke_width=0.6),
            words(x, foot + 12, f"{most * k / 4:g}", SMALL, anchor="middle"),
        ]
    for row, r in enumerate(ranges):
        y = 26 + row * _ROW
        x0, x, x1 = (names + room * value / most for value in (r.low, r.middle, r.high))
        parts += [
            words(names - 8, y + 12, shorten(r.name, TEXT, names - 8), TEXT, anchor="end"),
            rect(x0, y + 3, max(x1 - x0, 1.5), 12, fill=hue, fill_opacity=0.3, stroke=hue),
            line(x, y, x, y + 18, stroke=INK, stroke_width=2.0),
            words(x1 + 6, y + 12, r.text, TEXT),
        ]
    told = "; ".join(f"{r.name}: {r.text}" for r in ranges)
    about = f"In {unit}, from 5 to 95 of 100, the middle marked: {told}."
    return drawing(width, ceil(foot + 18), title, about, parts)
