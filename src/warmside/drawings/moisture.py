"""Moisture through the years: wood layer by layer, and the worst interface against mould."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import ceil, isfinite

from warmside.drawings.charts import MONTHS, SMALL, TEXT
from warmside.drawings.svg import (
    COLD,
    INK,
    WARM,
    drawing,
    line,
    polyline,
    rect,
    shorten,
    spread,
    text_width,
    words,
)
from warmside.errors import Fault, InputError
from warmside.wood import DRY_WOOD, ROT_STARTS
from warmside.wording import PAPER, Style, capital

LEFT, HIGH = 34.0, 120.0  # margin and height of a panel [user units]
TOP = 0.40  # [kg/kg] of the wood's axis; wetter is cut there
LIMITS = (
    (ROT_STARTS, f"{ROT_STARTS * 100:.0f} % rot can start"),
    (0.20, "20 %"),
    (DRY_WOOD, f"{DRY_WOOD * 100:.0f} % dry"),
)
DASHES = (None, "7 3", "2 2.5", "9 3 2 3")
_FEWEST = 2


@dataclass(frozen=True)
class Course:
    """A value day by day, with the name of what it belongs to."""

    name: str
    values: Sequence[float]


def wood_years(
    courses: Sequence[Course],
    *,
    first_month: int = 1,
    title: str = "Moisture of the wood through the years",
    width: float = 600.0,
) -> str:
    """Wood moisture [kg/kg] of every layer day by day, against 19, 20 and 26 %, as SVG.

    The room side's layer comes first. Lines differ by their strokes and are named at their ends.
    Raises InputError without a course, with courses of unequal length, or values below 0 or not
    finite.
    """
    _check(courses)
    days = len(courses[0].values)
    names = min(0.3 * width, max(text_width(c.name, SMALL) for c in courses) + 8)
    right, base = width - names, 30 + HIGH
    top = max(0.3, min(TOP, ceil(20 * max(max(c.values) for c in courses)) / 20))

    def place(day: float, value: float) -> tuple[float, float]:
        at = LEFT + day / max(days - 1, 1) * (right - LEFT)
        return at, base - min(value, top) / top * HIGH

    parts = [words(0, 11, shorten(title, TEXT + 1.5, width, bold=True), TEXT + 1.5, bold=True)]
    parts += _frame(days, first_month, right, base, ("0", f"{top:.0%}"))
    low, high = place(0, LIMITS[2][0])[1], place(0, LIMITS[1][0])[1]
    parts.append(rect(LEFT, high, right - LEFT, low - high, fill=WARM, fill_opacity=0.15))
    for limit, name in LIMITS:
        y = place(0, limit)[1]
        parts.append(line(LEFT, y, right, y, stroke=WARM, stroke_width=1.0 if limit > 0.2 else 0.6))
        above = 9 if limit < 0.2 else -3
        parts.append(words(right - 4, y + above, name, SMALL - 1, anchor="end"))
    wish = [place(days - 1, c.values[-1])[1] for c in courses]
    ends = spread(wish, [11.0] * len(courses), 24, base + 4)
    for k, course in enumerate(courses):
        points = [place(day, value) for day, value in enumerate(course.values)]
        dash = DASHES[k % len(DASHES)]
        parts.append(polyline(points, stroke=COLD, stroke_width=1.6, stroke_dasharray=dash))
        parts.append(words(right + 5, ends[k] + 3, shorten(course.name, SMALL, names - 6), SMALL))
        parts.append(line(right - 1, wish[k], right + 4, ends[k], stroke=COLD, stroke_width=0.8))
    told = "; ".join(
        f"{c.name}: {c.values[0]:.0%} at the start, {max(c.values):.0%} at most, "
        f"{c.values[-1]:.0%} at the end" for c in courses
    )  # fmt: skip
    return drawing(width, base + 22, title, f"{told}. Above 26 % rot can start; below 19 % dry.",
                   parts)  # fmt: skip


def mould_years(
    temperature: Sequence[float],
    humidity: Sequence[float],
    limit: Callable[[float], float],
    index: Sequence[float],
    *,
    between: tuple[str, str],
    first_month: int = 1,
    title: str = "The most endangered interface against mould",
    width: float = 600.0,
    style: Style = PAPER,
) -> str:
    """Humidity and temperature day by day with the humidity from which mould grows, as SVG.

    ``humidity`` [-] against ``limit`` [-] of ``temperature`` [degC]; days above it are filled.
    ``between`` names the layers, room side first. Raises InputError on series of unequal length or
    not finite.
    """
    _check([Course("temperature", temperature)], least=-100.0)
    _check([Course("humidity", humidity), Course("mould index", index)])
    if len({len(temperature), len(humidity), len(index)}) > 1:
        raise InputError([Fault("mould chart", "series of unequal length", "equal ones")])
    days, right = len(humidity), width - 128.0
    low, base = 0.4, 42 + HIGH
    second = base + 34 + HIGH / 2

    def across(day: float) -> float:
        return LEFT + day / max(days - 1, 1) * (right - LEFT)

    def damp(value: float) -> float:
        return base - (min(max(value, low), 1.0) - low) / (1.0 - low) * HIGH

    limits = [limit(t) for t in temperature]
    warmest, coldest = max(*temperature, 1.0), min(*temperature, -1.0)

    def warm(value: float) -> float:
        return second - (value - coldest) / (warmest - coldest) * HIGH / 2

    where = f"between {between[0]} (room side) and {between[1]} (cold side)"
    parts = [
        words(0, 11, shorten(title, TEXT + 1.5, width, bold=True), TEXT + 1.5, bold=True),
        words(0, 25, shorten(capital(where), SMALL, width), SMALL),
    ]
    parts += _frame(days, first_month, right, base, (f"{low:.0%}", "100%"), months=False)
    for day, (value, most) in enumerate(zip(humidity, limits, strict=True)):
        if value > most:
            step = (right - LEFT) / days
            parts.append(rect(across(day) - step / 2, damp(value), step, damp(most) - damp(value),
                              fill=WARM, fill_opacity=0.5))  # fmt: skip
    for values, hue, thick, dash in ((limits, WARM, 1.0, "5 3"), (humidity, COLD, 1.6, None)):
        points = [(across(day), damp(value)) for day, value in enumerate(values)]
        parts.append(polyline(points, stroke=hue, stroke_width=thick, stroke_dasharray=dash))
    way = style.steps("temperature")
    cold, hot = (f"{(end - way['zero']) / way['si']:.0f}°" for end in (coldest, warmest))
    parts += _frame(days, first_month, right, second, (cold, hot), high=HIGH / 2)
    parts.append(line(LEFT, warm(0), right, warm(0), stroke_width=0.4, stroke_dasharray="2 2"))
    points = [(across(day), warm(value)) for day, value in enumerate(temperature)]
    parts.append(polyline(points, stroke=WARM, stroke_width=1.4))
    labels = [("Humidity there", damp(humidity[-1])), ("Mould grows above", damp(limits[-1]))]
    ends = spread([y for _, y in labels], [12.0] * 2, 34, base)
    parts += [
        words(right + 5, y + 3, name, SMALL) for (name, _), y in zip(labels, ends, strict=True)
    ]
    parts.append(
        words(
            right + 5,
            warm(temperature[-1]) + 3,
            f"Temperature, {way['pattern'].removeprefix('{} ')}",
            SMALL,
        )
    )
    above = sum(value > most for value, most in zip(humidity, limits, strict=True))
    said = f"Above it on {above} of {days} days; mould index {max(index):.1f}, limit 3."
    parts.append(words(0, second + 32, said, SMALL, bold=True))
    return drawing(width, second + 38, title, f"{where}. {said}", parts)


def _check(courses: Sequence[Course], least: float = 0.0) -> None:
    faults = []
    if not courses:
        faults.append(Fault("moisture chart", "no layer", "one or more"))
    for course in courses:
        if len(course.values) < _FEWEST or len(course.values) != len(courses[0].values):
            faults.append(Fault(f"moisture chart, {course.name}", f"{len(course.values)} days",
                                "two or more, as many as the others"))  # fmt: skip
        elif not all(isfinite(v) and v >= least for v in course.values):
            faults.append(Fault(f"moisture chart, {course.name}", "values out of range",
                                f"finite, {least:g} or more"))  # fmt: skip
    if faults:
        raise InputError(faults)


def _frame(
    days: int,
    first_month: int,
    right: float,
    base: float,
    ends: tuple[str, str],
    *,
    high: float = HIGH,
    months: bool = True,
) -> list[str]:
    """Axis from ``base`` up, and months of 365 / 12 days below; years where there are many."""
    parts = [
        line(LEFT, base, right, base, stroke_width=0.8),
        line(LEFT, base, LEFT, base - high, stroke_width=0.8),
        words(LEFT - 4, base + 1, ends[0], SMALL, anchor="end"),
        words(LEFT - 4, base - high + 6, ends[1], SMALL, anchor="end"),
    ]
    many = days > 3 * 366
    step = 365.0 if many else 365.0 / 12.0
    for k in range(ceil(days / step) if months else 0):
        x = LEFT + k * step / max(days - 1, 1) * (right - LEFT)
        name = f"year {k + 1}" if many else MONTHS[(first_month - 1 + k) % 12]
        parts.append(line(x, base, x, base + 3, stroke_width=0.6, stroke=INK))
        if x + text_width(name, SMALL) <= right + 6 and (many or days < 500 or k % 3 == 0):
            parts.append(words(x + 2, base + 12, name, SMALL))
    return parts
