"""A climate row of one's own, made of an hourly file: what the catalog asks of a station."""

from __future__ import annotations

import json
import re
import unicodedata

import numpy as np

from warmside.errors import Fault, InputError
from warmside.physics.climate import FloatArray, HourlyClimate

BASE = 18.0  # [degC] of degree-days


def climate_row(year: HourlyClimate, name: str, region: str, source: str) -> str:
    """A ``[[climates]]`` table of a whole year of hours, as text for a file of own rows.

    Parameters
    ----------
    year : HourlyClimate
        One calendar year (`whole_year`).
    name, region : str
        As they are to be shown; the id is made of the name.
    source : str
        Where the file is from; the figures are computed from it.

    Returns
    -------
    str
        Months' means of temperature, daily extremes, humidity and, where the file has them, wind
        and rain; 2.5 and 1 % of January's hours; degree-days below 18 degC.

    Raises
    ------
    InputError
        No name, no source, or not a whole year.
    """
    faults = [
        Fault(what, repr(text)[:60], "a few words")
        for what, text in (("name", name), ("region", region), ("source", source))
        if not text.strip() or len(text) > 200 or not text.isprintable()
    ]
    id = _id(name)
    if not id:
        faults.append(Fault("name", repr(name)[:60], "letters to make an id of"))
    if year.hours not in (8760, 8784):
        faults.append(Fault("hourly weather", f"{year.hours} hours", "one calendar year"))
    if faults:
        raise InputError(faults)
    days = year.temperature.reshape(-1, 24)
    month = year.month.reshape(-1, 24)[:, 0]
    january = year.temperature[year.month == 1]
    design, design_1 = np.quantile(january, [0.025, 0.01])
    mean = days.mean(axis=1)
    lacking = " ".join(year.notes)
    lines = [
        "[[climates]]",
        f"id = {_text(id)}", f"name = {_text(name.strip())}", f"region = {_text(region.strip())}",
        f"latitude_deg = {year.latitude:g}", f"longitude_deg = {year.longitude:g}",
        f"utc_h = {year.utc_offset:g}", f"elevation_m = {year.elevation:g}",
        f"mean_c = {_months(mean, month)}",
        f"daily_max_c = {_months(days.max(axis=1), month)}",
        f"daily_min_c = {_months(days.min(axis=1), month)}",
        f"humidity = {_months(year.humidity.reshape(-1, 24).mean(axis=1), month, 3)}",
        f"design_c = {design:.1f}", f"design_1_c = {min(design_1, design):.1f}",
        f"degree_days_kd = {np.maximum(BASE - mean, 0.0).sum():.0f}",
    ]  # fmt: skip
    if "wind: 3 m/s throughout" not in lacking:
        lines.append(f"wind_m_s = {_months(year.wind_speed.reshape(-1, 24).mean(axis=1), month)}")
    if "rain: 0 throughout" not in lacking:
        rain = [float(year.rain[year.month == m].sum()) for m in range(1, 13)]
        lines.append(f"rain_mm = [{', '.join(f'{total:.1f}' for total in rain)}]")
    told = f"computed from one year of hours: {source.strip()}"
    for suffix in ("", "_humidity", "_design"):
        lines += [f"source{suffix} = {_text(told)}", f'tag{suffix} = "computed"']
    note = "One year, not a normal: write the code's own design temperature into the survey."
    return "\n".join([*lines, f"note = {_text(note)}", ""])


def _id(name: str) -> str:
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    return re.sub(r"[^a-z0-9]+", "-", plain).strip("-")


def _text(words: str) -> str:
    return json.dumps(words, ensure_ascii=False)


def _months(daily: FloatArray, month: np.ndarray, places: int = 1) -> str:
    """Means of the days of each month, January first."""
    means = (float(daily[month == m].mean()) for m in range(1, 13))
    return f"[{', '.join(f'{value:.{places}f}' for value in means)}]"
