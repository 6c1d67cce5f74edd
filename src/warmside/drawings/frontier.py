"""Price against saving: what each plan of a house buys."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import isfinite

from warmside.drawings.charts import SMALL, TEXT, nice
from warmside.drawings.svg import INK, WARM, drawing, line, polyline, rect, words
from warmside.errors import Fault, InputError

_HIGH = 150.0  # of the field of the chart [user units]
_MARK = 6.0  # across a mark [user units]


@dataclass(frozen=True)
class PlanPoint:
    """One plan: its price, its saving in a year, and its name where it has one."""

    cost: float  # [currency]
    saved: float  # a year, in the drawing's unit
    name: str = ""


def frontier(
    points: Sequence[PlanPoint], *, currency: str, width: float = 600.0, unit: str = "MWh"
) -> str:
    """The best plans by price, cheap to dear, as SVG; named ones are written beside their mark.

    Raises InputError on figures that are negative or not finite.
    """
    faults = [
        Fault(f"plan '{p.name}'", f"{p.cost}, {p.saved}", "finite, 0 or more")
        for p in points
        if not (isfinite(p.cost) and isfinite(p.saved) and p.cost >= 0 and p.saved >= 0)
    ]
    if faults:
        raise InputError(faults)
    dear = nice(max([p.cost for p in points if p.cost > 0], default=1.0))
    most = nice(max([p.saved for p in points if p.saved > 0], default=1.0))
    left, top, right = 62.0, 28.0, width - 20.0
    foot = top + _HIGH

    def at(point: PlanPoint) -> tuple[float, float]:
        return left + point.cost / dear * (right - left), foot - point.saved / most * _HIGH

    title = "What a price buys"
    parts = [
        words(0, 11, f"{title}: heat saved in a year", TEXT + 1.5, bold=True),
        line(left, foot, right, foot, stroke_width=0.9),
        line(left, foot, left, top, stroke_width=0.9),
        words(left - 4, foot + 3, "0", SMALL, anchor="end"),
        words(left - 4, top + 4, f"{most:g} {unit}", SMALL, anchor="end"),
        words(right, foot + 13, f"{currency} {dear:,.0f}", SMALL, anchor="end"),
        polyline([at(p) for p in points], stroke=WARM, stroke_width=1.6),
    ]
    for point in points:
        x, y = at(point)
        parts.append(
            rect(x - _MARK / 2, y - _MARK / 2, _MARK, _MARK, fill=WARM if point.name else "white",
                 stroke=INK, stroke_width=0.7)
        )  # fmt: skip
        if point.name:
            parts.append(_name(point.name, x, y, (left + right) / 2, foot))
    told = "; ".join(
        f"{p.name or 'a plan'}: {currency} {round(p.cost, -1):,.0f} "
        f"saves {p.saved:.1f} {unit} a year"
        for p in points
    )
    return drawing(width, foot + 20, title, f"{told}.", parts)


def _name(name: str, x: float, y: float, middle: float, foot: float) -> str:
    """Beside its mark, off the line, which rises the less the dearer: within the drawing."""
    if y > foot - 8:
        return words(x - 3, foot + 13, name, SMALL)
    if x > middle:
        return words(x + 3, y - 8, name, SMALL, anchor="end")
    return words(x + 6, y + 13, name, SMALL)
