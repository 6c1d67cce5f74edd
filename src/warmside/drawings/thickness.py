"""The thickness curve as a chart: resistance of the framed wall, and what each step costs and is
worth.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import isfinite
from typing import Literal

from warmside.drawings.charts import nice
from warmside.drawings.svg import (
    COLD,
    INK,
    WARM,
    drawing,
    hatch,
    line,
    polyline,
    rect,
    shorten,
    tag,
    text_width,
    words,
    wrap,
)
from warmside.errors import Fault, InputError
from warmside.units import R_IMPERIAL

Resistance = Literal["m² K/W", "R"]
TEXT, SMALL = 10.5, 9.5
LEFT, CURVE, BARS = 46.0, 92.0, 84.0  # margin and heights of the two panels [user units]


@dataclass(frozen=True)
class Thickness:
    """One thickness on the chart; money of what it adds beyond the one before."""

    label: str  # two lines at most: '2"|51 mm'
    resistance: float  # [m2 K/W] whole framed wall
    cost: float | None  # of the further insulation
    worth: tuple[float, float, float] | None  # today, of what it saves: least, best, most
    group: str = ""  # "": in the bays; else what it takes beyond: "furring", "board"
    note: str = ""  # short: "2 passes", "trim"


def thickness_curve(
    points: Sequence[Thickness],
    *,
    best: int | None = None,
    currency: str = "",
    sentence: str = "",
    title: str = "What each further half inch gives",
    width: float = 640.0,
    unit: Resistance = "m² K/W",
) -> str:
    """Resistance against thickness over bars of what each step costs and is worth, as SVG.

    ``best`` is the index after which a further step no longer pays. Cost stands as a hatched cold
    bar, worth as a plain warm one. Raises InputError without points, or on values that are not
    finite.
    """
    _check(points, best)
    step = (width - LEFT) / len(points)
    one = R_IMPERIAL if unit == "R" else 1.0
    top = nice(max(p.resistance for p in points) / one)
    money = [v for p in points for v in (p.cost, p.worth and p.worth[1]) if v is not None]
    most = _scale(money)
    curve_base = 40 + CURVE
    bars_base = curve_base + 46 + BARS
    parts = [words(0, 11, shorten(title, TEXT + 1.5, width, bold=True), TEXT + 1.5, bold=True)]
    called = "R of the framed wall" if unit == "R" else f"Resistance of the framed wall, {unit}"
    parts += _axis(40, curve_base, width, f"{top:g}", called, 6)
    name = f"Each step, {currency}: cost (hatched), worth of its saving (plain), its band (line)"
    parts += _axis(bars_base - BARS, bars_base, width, f"{most:,.0f}", name, 17)
    parts += _curve(points, step, top * one, curve_base, best)
    for k, point in enumerate(points):
        parts += _bars(point, LEFT + k * step, step, most, bars_base)
        parts += _labels(point, LEFT + (k + 0.5) * step, step, bars_base)
    parts += _groups(points, step, bars_base + 52)
    end = bars_base + 62
    if best is not None:
        x = LEFT + (best + 1) * step
        for high, low in ((30.0, curve_base), (bars_base - BARS, bars_base)):
            parts.append(line(x, high, x, low, stroke_width=1.2, stroke_dasharray="5 3"))
        right = best + 1 > len(points) / 2
        parts.append(words(x + (-5 if right else 5), 34, "pays best up to here", SMALL, bold=True,
                           anchor="end" if right else "start"))  # fmt: skip
    for row in wrap(sentence, TEXT, width, 4):
        end += 14
        parts.append(words(0, end, row, TEXT))
    return drawing(width, end + 8, title, _told(points, best, currency, sentence, unit), parts)


def _check(points: Sequence[Thickness], best: int | None) -> None:
    faults = []
    if not points:
        faults.append(Fault("thickness chart", "no thickness", "one or more"))
    for point in points:
        cost = () if point.cost is None else (point.cost,)
        values = [point.resistance, *cost, *(point.worth or ())]
        if not all(isfinite(v) for v in values) or point.resistance < 0:
            faults.append(Fault(f"thickness chart, {point.label}", f"{values}", "finite values"))
    if best is not None and not 0 <= best < len(points):
        faults.append(Fault("thickness chart, best", f"{best}", f"0 to {len(points) - 1}"))
    if faults:
        raise InputError(faults)


def _axis(high: float, base: float, width: float, top: str, name: str, gap: float) -> list[str]:
    return [
        words(LEFT, high - gap, shorten(name, SMALL, width - LEFT), SMALL),
        line(LEFT, high, width, high, stroke_width=0.3, stroke_opacity=0.5),
        line(LEFT, base, width, base, stroke_width=0.8),
        words(LEFT - 5, high + 4, top, SMALL, anchor="end"),
        words(LEFT - 5, base + 1, "0", SMALL, anchor="end"),
    ]


def _curve(points: Sequence[Thickness], step: float, top: float, base: float, best: int | None
           ) -> list[str]:  # fmt: skip
    """One line through the bays; furring and board each go on from the full depth."""
    places = [
        (LEFT + (k + 0.5) * step, base - p.resistance / top * CURVE) for k, p in enumerate(points)
    ]
    bays = [k for k, p in enumerate(points) if not p.group]
    parts = [polyline([places[k] for k in bays], stroke=WARM, stroke_width=2.0)]
    for group in dict.fromkeys(p.group for p in points if p.group):
        path = bays[-1:] + [k for k, p in enumerate(points) if p.group == group]
        parts.append(polyline([places[k] for k in path], stroke=WARM, stroke_width=1.4,
                              stroke_dasharray="4 3"))  # fmt: skip
    for k, (x, y) in enumerate(places):
        parts.append(tag("circle", cx=x, cy=y, r=4.5 if k == best else 2.8, fill=WARM))
        value = f"{points[k].resistance:.2f}"
        parts.append(words(x, y - 8, value, SMALL, anchor="middle", bold=k == best))
    return parts


def _bars(point: Thickness, x: float, step: float, most: float, base: float) -> list[str]:
    """Cost and worth side by side; a dash where the step cannot be built or priced."""
    parts: list[str] = []
    wide = step * 0.36
    if point.cost is None or point.worth is None:
        return [words(x + step / 2, base - 4, "not here", SMALL, anchor="middle")]
    for at, value, hue, lined in (
        (x + step * 0.12, point.cost, COLD, True),
        (x + step * 0.52, point.worth[1], WARM, False),
    ):
        tall = min(max(value, 0.0) / most, 1.0) * BARS
        shade = 0.15 if lined else 0.55
        parts.append(rect(at, base - tall, wide, tall, fill=hue, fill_opacity=shade, stroke=hue))
        if lined and tall > 2:
            parts.append(tag("path", d=hatch(at, base - tall, wide, tall, 5), stroke=hue,
                             stroke_width=0.8, fill="none"))  # fmt: skip
        if value > most:  # two strokes across a bar that is cut
            parts += [
                line(at - 2, y + 3, at + wide + 2, y - 3, stroke_width=1.4)
                for y in (base - BARS + 14, base - BARS + 19)
            ]
        number = f"{value:.0f}"
        if text_width(number, SMALL - 1) <= wide:
            x_number, anchor = at + wide / 2, "middle"
        else:  # the two numbers lean apart
            x_number, anchor = (at + wide, "end") if lined else (at, "start")
        parts.append(words(x_number, base - tall - 3, number, SMALL - 1, anchor=anchor))
    return parts + _whisker(point.worth, x + step * 0.93, most, base)


def _whisker(worth: tuple[float, float, float], x: float, most: float, base: float) -> list[str]:
    """Least to most of what a step is worth, a line with two ends beside its bar."""
    low, high = (base - min(max(v, 0.0) / most, 1.0) * BARS for v in (worth[0], worth[2]))
    return [
        line(x, low, x, high, stroke=WARM, stroke_width=1.2),
        line(x - 2.5, low, x + 2.5, low, stroke=WARM, stroke_width=1.2),
        line(x - 2.5, high, x + 2.5, high, stroke=WARM, stroke_width=1.2),
    ]


def _scale(money: Sequence[float]) -> float:
    """Top of the bars [currency] by the usual steps; a bar over four times their middle is cut."""
    values = sorted(v for v in money if v > 0.0)
    if not values:
        return 1.0
    middle = values[len(values) // 2]
    return nice(max(v for v in values if v <= 4.0 * middle))


def _labels(point: Thickness, x: float, step: float, base: float) -> list[str]:
    rows = [*point.label.split("|")[:2], *([point.note] if point.note else [])]
    return [
        words(x, base + 12 + 11 * k, shorten(row, SMALL - 0.5, step), SMALL - 0.5, anchor="middle",
              bold=k == 0)
        for k, row in enumerate(rows)
    ]  # fmt: skip


def _groups(points: Sequence[Thickness], step: float, y: float) -> list[str]:
    parts = []
    for group in dict.fromkeys(p.group for p in points):
        places = [k for k, p in enumerate(points) if p.group == group]
        x0, x1 = LEFT + places[0] * step + 4, LEFT + (places[-1] + 1) * step - 4
        name = f"beyond: {group}" if group else "foam in the bays"
        parts += [
            line(x0, y - 11, x1, y - 11, stroke_width=0.8, stroke=INK),
            words((x0 + x1) / 2, y, shorten(name, SMALL, x1 - x0), SMALL, anchor="middle"),
        ]
    return parts


def _told(
    points: Sequence[Thickness], best: int | None, currency: str, sentence: str, unit: Resistance
) -> str:
    rows = []
    for point in points:
        name = point.label.replace("|", ", ") + (f" with {point.group}" if point.group else "")
        metric = f"{point.resistance:.2f} m2 K/W"
        row = f"{name}: {f'R-{point.resistance / R_IMPERIAL:.1f}' if unit == 'R' else metric}"
        if point.cost is not None and point.worth is not None:
            row += f", costs {currency} {point.cost:.0f} more and is worth {point.worth[1]:.0f} "
            row += f"({point.worth[0]:.0f} to {point.worth[2]:.0f})"
        rows.append(row)
    mark = f" Pays best at {points[best].label.replace('|', ', ')}." if best is not None else ""
    return f"{'; '.join(rows)}.{mark} {sentence}"
