"""Bar charts of options: moisture through the year, and figures side by side."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, floor, isfinite, log10

from warmside.drawings.svg import (
    COLD,
    INK,
    WARM,
    drawing,
    line,
    rect,
    shorten,
    text_width,
    words,
)
from warmside.errors import Fault, InputError

TEXT = 10.5
SMALL = 9.5
_HIGH = 18.0  # of a row's scale [user units]
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


@dataclass(frozen=True)
class Year:
    """One option's moisture at its wettest interface at the end of each month.

    ``accumulated`` holds twelve values [kg/m2]; ``first_month`` is 1 for January.
    """

    name: str
    accumulated: tuple[float, ...]
    first_month: int = 1
    verdict: str = ""


@dataclass(frozen=True)
class Bar:
    """One bar: its value in the chart's unit, and what to write at its end."""

    name: str
    value: float
    text: str
    mark: str = ""  # a word or two after the value, such as a verdict


def moisture_year(
    years: Sequence[Year], *, width: float = 600.0, title: str = "Moisture through the year"
) -> str:
    """Moisture held at the wettest interface, month by month, one row per option, as SVG.

    All rows share one scale [g/m2]. Raises InputError unless every year has twelve finite,
    non-negative values.
    """
    _check_years(years)
    most = max((max(year.accumulated) for year in years), default=0.0) * 1000
    top = nice(most) if most > 0 else 1.0
    beside = width >= 450  # names stand beside their rows where there is room, else above
    names = min(0.42 * width, max((text_width(_told(y), SMALL) for y in years), default=0) + 8)
    row, left = (24.0, names + 34) if beside else (45.0, 40.0)
    step = (width - left) / 12
    parts = [words(0, 11, shorten(title, TEXT + 1.5, width, bold=True), TEXT + 1.5, bold=True)]
    end = (24.0 if beside else 38.0) + (len(years) - 1) * row + 20
    for i, year in enumerate(years):
        base = end - (len(years) - 1 - i) * row
        if beside:
            name = shorten(_told(year), SMALL, names)
            parts.append(words(0, base - 4, name, SMALL))
        else:
            name = shorten(_told(year), TEXT, width, bold=True)
            parts.append(words(0, base - _HIGH - 5, name, TEXT, bold=True))
        parts += _year(year, base, left, step, top, width)
    end += 14
    order = [(year.first_month - 1 + k) % 12 for year in years[:1] for k in range(12)]
    for k, month in enumerate(order):
        parts.append(words(left + (k + 0.5) * step, end, MONTHS[month], SMALL, anchor="middle"))
    note = (
        "g of water per m² of wall at the wettest layer boundary, end of month; one scale for all"
    )
    parts.append(words(0, end + 14, shorten(note, SMALL, width), SMALL))
    told = [
        f"{year.name}: most {max(year.accumulated) * 1000:.0f} g/m2, "
        f"least {min(year.accumulated) * 1000:.0f} g/m2 {year.verdict}"
        for year in years
    ]
    return drawing(width, end + 20, title, ". ".join(told) or "No options.", parts)


def _told(year: Year) -> str:
    return f"{year.name}: {year.verdict}" if year.verdict else year.name


def _check_years(years: Sequence[Year]) -> None:
    faults = [
        Fault(f"moisture chart, {year.name}", f"{year.accumulated}", "twelve values, 0 or more")
        for year in years
        if len(year.accumulated) != 12
        or not all(isfinite(v) and v >= 0 for v in year.accumulated)
        or len({y.first_month for y in years}) > 1
    ]
    if faults:
        raise InputError(faults)


def _year(year: Year, base: float, left: float, step: float, top: float, width: float) -> list[str]:
    """Twelve bars with their grams, between a line for none and a line for the scale's end."""
    parts = [
        line(left, base, width, base, stroke_width=0.8),
        line(left, base - _HIGH, width, base - _HIGH, stroke_width=0.3, stroke_opacity=0.5),
        words(left - 4, base - _HIGH + 6, f"{top:g}", SMALL - 1, anchor="end"),
        words(left - 4, base + 1, "0", SMALL - 1, anchor="end"),
    ]
    for k, value in enumerate(year.accumulated):
        grams = value * 1000
        if grams < 0.5:
            continue
        tall = grams / top * _HIGH
        x = left + k * step + step * 0.2
        parts.append(
            rect(x, base - tall, step * 0.6, tall, fill=COLD, fill_opacity=0.75, stroke=COLD)
        )
        inside = tall > 12
        parts.append(
            words(
                x + step * 0.3,
                base - tall + (10 if inside else -2),
                f"{grams:.0f}",
                SMALL,
                anchor="middle",
                fill="white" if inside else INK,
            )
        )
    return parts


def nice(value: float) -> float:
    """The least of 1, 2, 2.5, 5 times a power of ten that is not below ``value`` (> 0)."""
    power = 10.0 ** floor(log10(value))
    return next(k * power for k in (1, 2, 2.5, 5, 10) if k * power >= value * (1 - 1e-12))


def thickness_bars(
    bars: Sequence[Bar], *, unit: str, title: str, width: float = 600.0, warm: bool = True
) -> str:
    """One bar per option or thickness from a common zero, its value written at its end, as SVG.

    ``warm`` chooses the hue (heat kept: warm; water, cold: cold). Raises InputError on values that
    are negative or not finite.
    """
    faults = [
        Fault(f"bar '{bar.name}'", f"{bar.value}", "a finite value, 0 or more")
        for bar in bars
        if not (isfinite(bar.value) and bar.value >= 0)
    ]
    if faults:
        raise InputError(faults)
    hue = WARM if warm else COLD
    names = min(0.42 * width, max((text_width(bar.name, TEXT) for bar in bars), default=0) + 10)
    ends = max((text_width(_end(bar), TEXT) for bar in bars), default=0) + 8
    room = max(width - names - ends, 20.0)
    most = max((bar.value for bar in bars), default=0.0) or 1.0
    parts = [
        words(0, 11, shorten(f"{title} [{unit}]", TEXT + 1.5, width, bold=True), TEXT + 1.5,
              bold=True)
    ]  # fmt: skip
    for i, bar in enumerate(bars):
        y = 24 + i * 20
        long = bar.value / most * room
        parts += [
            words(names - 8, y + 10.5, shorten(bar.name, TEXT, names - 8), TEXT, anchor="end"),
            rect(names, y, long, 14, fill=hue, fill_opacity=0.3, stroke=hue, stroke_width=1.2),
            words(names + long + 5, y + 10.5, _end(bar), TEXT),
        ]
    end = 24 + len(bars) * 20
    parts.append(line(names, 20, names, end, stroke_width=1.0))
    told = "; ".join(f"{bar.name}: {_end(bar)}" for bar in bars)
    return drawing(width, ceil(end + 6), title, f"In {unit}: {told}.", parts)


def _end(bar: Bar) -> str:
    return f"{bar.text}  {bar.mark}" if bar.mark else bar.text
