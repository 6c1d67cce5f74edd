"""A climate row of one's own: what the catalog asks of a station, made of a file."""

from __future__ import annotations

import json
import re
import unicodedata
from dataclasses import dataclass

import numpy as np

from warmside.errors import Fault, InputError
from warmside.physics.climate import FloatArray, HourlyClimate
from warmside.weather.assembly import Station

BASE = 18.0  # [degC] of degree-days
Months = tuple[float, ...]


@dataclass(frozen=True)
class Figures:
    """Monthly figures of a station, January first, as a row of the catalog holds them.

    ``humidity`` [-], ``wind`` [m/s] and ``rain`` [mm] are None where the file has none; ``made``
    says how the figures came about, ``notes`` what was derived.
    """

    station: Station
    mean: Months  # [degC]
    daily_max: Months  # [degC]
    daily_min: Months  # [degC]
    humidity: Months
    design: float  # [degC]
    design_1: float  # [degC]
    degree_days: float  # [K d] below 18 degC
    made: str
    wind: Months | None = None
    rain: Months | None = None
    notes: tuple[str, ...] = ()


def figures_of(year: HourlyClimate) -> Figures:
    """Monthly figures of one calendar year of hours (`whole_year`).

    Design nights are those that 2.5 and 1 % of January's hours are colder than.

    Raises
    ------
    InputError
        Not a whole year.
    """
    if year.hours not in (8760, 8784):
        raise InputError([Fault("hourly weather", f"{year.hours} hours", "one calendar year")])
    days, month = year.temperature.reshape(-1, 24), year.month.reshape(-1, 24)[:, 0]
    design, design_1 = np.quantile(year.temperature[year.month == 1], [0.025, 0.01])
    mean, lacking = days.mean(axis=1), " ".join(year.notes)

    def months(hourly: FloatArray) -> Months:
        return tuple(float(v) for v in year.monthly_mean(hourly))

    return Figures(
        Station(year.latitude, year.longitude, year.utc_offset, year.elevation, year.name),
        months(year.temperature),
        tuple(float(days.max(axis=1)[month == m].mean()) for m in range(1, 13)),
        tuple(float(days.min(axis=1)[month == m].mean()) for m in range(1, 13)),
        months(year.humidity), float(design), float(min(design, design_1)),
        float(np.maximum(BASE - mean, 0.0).sum()), "computed from one year of hours",
        None if "wind: 3 m/s throughout" in lacking else months(year.wind_speed),
        None if "rain: 0 throughout" in lacking
        else tuple(float(year.rain[year.month == m].sum()) for m in range(1, 13)),
        ("one year, not a normal",),
    )  # fmt: skip


def climate_row(found: Figures, name: str, region: str, source: str) -> str:
    """A ``[[climates]]`` table, as text for a file of own rows.

    Parameters
    ----------
    found : Figures
        Of an hourly year (`figures_of`) or of a file of normals (`read_normals`).
    name, region : str
        As they are to be shown; the id is made of the name.
    source : str
        Where the file is from.

    Raises
    ------
    InputError
        No name, no region, no source.
    """
    faults = [
        Fault(what, repr(text)[:60], "a few words")
        for what, text in (("name", name), ("region", region), ("source", source))
        if not text.strip() or len(text) > 200 or not text.isprintable()
    ]
    id = _id(name)
    if not id:
        faults.append(Fault("name", repr(name)[:60], "letters to make an id of"))
    if faults:
        raise InputError(faults)
    here = found.station
    lines = [
        "[[climates]]",
        f"id = {_text(id)}", f"name = {_text(name.strip())}", f"region = {_text(region.strip())}",
        f"latitude_deg = {here.latitude:g}", f"longitude_deg = {here.longitude:g}",
        f"utc_h = {here.utc_offset:g}", f"elevation_m = {here.elevation:g}",
        f"mean_c = {_months(found.mean)}", f"daily_max_c = {_months(found.daily_max)}",
        f"daily_min_c = {_months(found.daily_min)}", f"humidity = {_months(found.humidity, 3)}",
        f"design_c = {found.design:.1f}", f"design_1_c = {found.design_1:.1f}",
        f"degree_days_kd = {found.degree_days:.0f}",
    ]  # fmt: skip
    lines += [f"wind_m_s = {_months(found.wind)}"] if found.wind else []
    lines += [f"rain_mm = {_months(found.rain)}"] if found.rain else []
    for suffix in ("", "_humidity", "_design"):
        lines += [f"source{suffix} = {_text(f'{found.made}: {source.strip()}')}"]
        lines += [f'tag{suffix} = "computed"']
    notes = (*found.notes, "write the code's own design temperature into the survey")
    return "\n".join([*lines, f"note = {_text('; '.join(notes))}", ""])


def _id(name: str) -> str:
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    return re.sub(r"[^a-z0-9]+", "-", plain).strip("-")


def _text(words: str) -> str:
    return json.dumps(words, ensure_ascii=False)


def _months(values: Months, places: int = 1) -> str:
    return f"[{', '.join(f'{value:.{places}f}' for value in values)}]"
