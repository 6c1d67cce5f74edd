"""The usual year of a place: the hours that come with it, else made of its monthly normals."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from warmside.catalog import Climate, completed
from warmside.physics.climate import HourlyClimate, Normals, synthesise
from warmside.weather.assembly import Station
from warmside.weather.typical import typical_year


def station_of(climate: Climate) -> Station:
    """The place of a catalog row; its zone, where the row has none, by the longitude."""
    zone = climate.utc_offset
    if zone is None:
        zone = float(round(climate.longitude / 15.0))
    return Station(climate.latitude, climate.longitude, zone, climate.elevation, climate.name)


def normals_of(climate: Climate, utc_offset: float | None = None) -> Normals:
    """Normals of a catalog row; its zone unless another is given [h]."""
    zone = station_of(climate).utc_offset if utc_offset is None else utc_offset
    return Normals(
        climate.mean, climate.daily_max, climate.daily_min, climate.humidity, climate.latitude,
        climate.longitude, zone, climate.elevation, climate.design,
        wind=climate.wind or (4.0,) * 12, rain=climate.rain, name=climate.name, sun=climate.sun,
        rose=climate.rose, driven_rain=climate.driven_rain,
    )  # fmt: skip


@lru_cache(maxsize=8)
def made_year(climate: Climate) -> HourlyClimate:
    """The year made of a station's normals, with what was borrowed or derived in its notes."""
    whole = completed(climate)
    year = synthesise(normals_of(whole))
    sun = "sun: none in the row; by the daily range of temperature (±12 %)"
    told = whole.sun is not None or any(note.startswith("sun:") for note in whole.said)
    return replace(year, notes=(*year.notes, *whole.said, *(() if told else (sun,))))


@lru_cache(maxsize=8)
def usual_year(climate: Climate) -> HourlyClimate:
    """The hours to study a place by when no file is given; everything there shares them.

    The typical year that comes with the station, its months moved to the normals; for a place
    without one a year made of its normals.
    """
    return typical_year(climate) if climate.hours else made_year(climate)


def supports(climate: Climate) -> dict[str, str]:
    """What can be studied at a place, and by which figures: study -> its basis, in words."""
    climate = completed(climate)
    recorded = "a recorded typical year" if climate.hours else "a year made of monthly normals"
    rain = "its rain" if climate.rain else "the usual rain, 70 mm a month"
    rose = "its wind rose" if climate.rose else "no wind rose: every wall alike but for a west wind"
    return {
        "heat, frost, condensation month by month": "monthly normals",
        "season and energy": recorded,
        "hours to work": recorded,
        "moisture hour by hour": f"{recorded}; {rain}; {rose}",
        "driven rain by the wall's orientation": f"{rain}; {rose}",
    }


@lru_cache(maxsize=64)
def coldest_month(climate: Climate) -> HourlyClimate:
    """One hour that holds the means of a station's coldest month, without sun and rain."""
    normals = normals_of(climate)
    month = min(range(12), key=lambda k: climate.mean[k])

    def always(value: float) -> NDArray[np.float64]:
        return np.full(1, value)

    mean = climate.mean[month]
    return HourlyClimate(
        datetime(2001, month + 1, 15),
        temperature=always(mean),
        humidity=always(climate.humidity[month]),
        wind_speed=always(normals.wind[month]),
        wind_direction=always(225.0),
        ghi=always(0.0),
        dni=always(0.0),
        dhi=always(0.0),
        rain=always(0.0),
        pressure=always(101_325.0),
        sky_temperature=always(mean),
        latitude=climate.latitude,
        longitude=climate.longitude,
        utc_offset=normals.utc_offset,
        elevation=climate.elevation,
        name=climate.name,
    )
