"""A year made of a station's monthly normals, where no hourly file is at hand."""

from __future__ import annotations

from functools import lru_cache

from warmside.catalog import Climate
from warmside.physics.climate import HourlyClimate, Normals, synthesise
from warmside.weather.assembly import Station


def station_of(climate: Climate) -> Station:
    """The place of a catalog row; its zone from the longitude."""
    zone = float(round(climate.longitude / 15.0))
    return Station(climate.latitude, climate.longitude, zone, climate.elevation, climate.name)


def normals_of(climate: Climate, utc_offset: float | None = None) -> Normals:
    """Normals of a catalog row; the zone from its longitude unless given [h]."""
    zone = station_of(climate).utc_offset if utc_offset is None else utc_offset
    return Normals(
        climate.mean, climate.daily_max, climate.daily_min, climate.humidity, climate.latitude,
        climate.longitude, zone, climate.elevation, climate.design, name=climate.name,
    )  # fmt: skip


@lru_cache(maxsize=8)
def made_year(climate: Climate) -> HourlyClimate:
    """The year made of a station's normals; everything that is studied there shares it."""
    return synthesise(normals_of(climate))
