"""One whole year from what there is: the one to study by."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime, timedelta

import numpy as np

from warmside.errors import Fault, InputError
from warmside.physics.climate import RANGES, FloatArray, HourlyClimate, cold_year

YEAR = 365 * 24  # [h]


def whole_year(weather: HourlyClimate) -> HourlyClimate:
    """The calendar year to study by, from 1 January on.

    Of several years the second coldest of ten (`cold_year`). The hour that ends at 0:00 on 1
    January, with which a year of observations begins, goes to its end.

    Raises
    ------
    InputError
        Less than one year.
    """
    begun = weather.time0
    if (begun + timedelta(hours=1)).strftime("%m-%d %H") == "01-01 00" and weather.hours in (
        YEAR, YEAR + 24,
    ):  # fmt: skip
        rolled = {name: np.roll(getattr(weather, name), -1) for name in RANGES}
        weather = replace(weather, time0=begun + timedelta(hours=1), **rolled)
    years = []
    for year in range(weather.time0.year, weather.time0.year + weather.hours // YEAR + 2):
        first = int((datetime(year, 1, 1) - weather.time0).total_seconds() // 3600)
        count = (datetime(year + 1, 1, 1) - datetime(year, 1, 1)).days * 24
        if first >= 0 and first + count <= weather.hours:
            years.append(weather.part(first, count))
    if years:
        one = cold_year(tuple(years))
        said = (f"year: {one.time0.year}, the second coldest of ten, of {len(years)} in the file",)
        return replace(one, notes=one.notes + said) if len(years) > 1 else one
    if weather.hours >= YEAR:
        return _turned(weather)
    days = weather.hours // 24
    raise InputError(
        [Fault("hourly weather", f"{days} day{'s' if days != 1 else ''}", "a whole year")]
    )


SEVERE = 2.0  # [K]


def severe_year(year: HourlyClimate) -> HourlyClimate:
    """A year to judge moisture by, severe where it is the cold that wets.

    Every hour 2 K colder at the same relative humidity: EN 15026:2007, the shift of a mean year
    where no series of years is at hand (from memory). The sky is as much colder.
    """
    note = f"severe year: every hour {SEVERE:g} K colder than the mean one (EN 15026, from memory)"
    return replace(warmer_year(year, (-SEVERE,) * 12), notes=(*year.notes, note))


def warmer_year(year: HourlyClimate, by_month: Sequence[float]) -> HourlyClimate:
    """A year whose months are warmer by so much [K], January first, at the same humidity."""
    warmer = np.asarray(by_month, dtype=np.float64)[year.month - 1]

    def shifted(name: str) -> FloatArray:
        return np.asarray(np.clip(getattr(year, name) + warmer, *RANGES[name][:2]))

    return replace(
        year, temperature=shifted("temperature"), sky_temperature=shifted("sky_temperature")
    )


def _turned(weather: HourlyClimate) -> HourlyClimate:
    """The first 365 days put in the order of the calendar, where a year begins within them."""
    year = weather.part(0, YEAR)
    named = [end - np.timedelta64(1, "h") for end in year.ends]
    stamps = np.array(named)
    first = int(np.argmax(stamps.astype("datetime64[Y]") != stamps[0].astype("datetime64[Y]")))
    rolled = {name: np.roll(getattr(year, name), -first) for name in RANGES}
    begun = datetime(year.time0.year + 1, 1, 1)
    said = (f"year: from {year.time0:%Y-%m-%d} on, put in the order of the calendar",)
    return replace(year, time0=begun, notes=year.notes + said, **rolled)
