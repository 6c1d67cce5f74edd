"""Where the sun stands, what it gives, and what of it reaches a wall."""

from __future__ import annotations

from datetime import datetime, timedelta
from functools import lru_cache

import numpy as np

from warmside.physics.climate._hourly import FloatArray, HourlyClimate

MID_HOUR = 0.5
RANGE_INLAND = 0.16  # Hargreaves, inland, from memory [K^-1/2]


DELTA_T = 69.0  # terrestrial minus universal time in the 2020s [s]


@lru_cache(maxsize=8)
def _positions(
    time0: datetime, hours: int, latitude: float, longitude: float, utc_offset: float
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Day of the year, zenith [deg], azimuth [deg], extraterrestrial normal sun [W/m2].

    At mid-hours; the solar position algorithm of NREL, by pvlib.
    """
    import pvlib

    start = np.datetime64(time0 + timedelta(hours=MID_HOUR - utc_offset), "s")
    times = start + np.arange(hours) * np.timedelta64(3600, "s")
    unix = times.astype(np.int64).astype(np.float64)
    found = pvlib.spa.solar_position(unix, latitude, longitude, 0.0, 1013.25, 10.0, DELTA_T, 0.5667)
    day = (times - times.astype("datetime64[Y]")).astype(np.float64) / 86_400.0 // 1.0 + 1.0
    extra = np.asarray(pvlib.irradiance.get_extra_radiation(day), dtype=np.float64)
    return day, found[1], found[4], extra


def extraterrestrial(
    time0: datetime, hours: int, latitude: float, longitude: float, utc_offset: float
) -> FloatArray:
    """Sun on the horizontal above the air, shape (hours,) [W/m2]."""
    _, zenith, _, extra = _positions(time0, hours, latitude, longitude, utc_offset)
    return np.asarray(extra * np.maximum(np.cos(np.radians(zenith)), 0.0))


def split_sun(
    time0: datetime, ghi: FloatArray, latitude: float, longitude: float, utc_offset: float
) -> tuple[FloatArray, FloatArray]:
    """Direct normal and diffuse horizontal sun [W/m2] from ``ghi``, by the hourly form of Erbs."""
    import pvlib

    day, zenith, _, _ = _positions(time0, ghi.size, latitude, longitude, utc_offset)
    found = pvlib.irradiance.erbs(ghi, zenith, day)
    dni = np.nan_to_num(np.asarray(found["dni"], dtype=np.float64))
    dhi = np.nan_to_num(np.asarray(found["dhi"], dtype=np.float64))
    return np.clip(dni, 0.0, 1400.0), np.clip(dhi, 0.0, np.maximum(ghi, 0.0))


def _by_day(values: FloatArray) -> FloatArray:
    """Rows of 24 hours, the last one filled up with its own end."""
    days = -(-values.size // 24)
    return np.pad(values, (0, days * 24 - values.size), mode="edge").reshape(days, 24)


def sun_from_range(
    time0: datetime, temperature: FloatArray, latitude: float, longitude: float, utc_offset: float
) -> FloatArray:
    """Sun on the horizontal [W/m2] from the daily range of ``temperature`` [degC].

    ``H = 0.16 sqrt(Tmax - Tmin) H_0`` (Hargreaves, inland; from memory), clearness at most 0.75,
    shaped over the day as the sun above the air.
    """
    above = extraterrestrial(time0, temperature.size, latitude, longitude, utc_offset)
    days = _by_day(temperature)
    clearness = np.minimum(RANGE_INLAND * np.sqrt(np.ptp(days, axis=1)), 0.75)
    return np.asarray(above * np.repeat(clearness, 24)[: above.size])


def cloud_from_clearness(
    time0: datetime, ghi: FloatArray, latitude: float, longitude: float, utc_offset: float
) -> FloatArray:
    """Share of cloud [-] of each day, from its clearness K: 0 at 0.70, 1 at 0.20.

    A day without sun above the air keeps 0.6.
    """
    above = _by_day(extraterrestrial(time0, ghi.size, latitude, longitude, utc_offset)).sum(axis=1)
    sun = _by_day(ghi).sum(axis=1)
    clearness = np.where(above > 50.0, sun / np.maximum(above, 1.0), 0.40)
    return np.asarray(np.repeat(np.clip((0.70 - clearness) / 0.50, 0.0, 1.0), 24)[: ghi.size])


def sun_on_wall(
    weather: HourlyClimate, azimuth: float, *, tilt: float = 90.0, albedo: float = 0.25
) -> FloatArray:
    """Sun on a plane, shape (n_hours,) [W/m2]: direct, from sky and from the ground.

    Parameters
    ----------
    weather : HourlyClimate
        The year.
    azimuth : float
        Where the plane looks, clockwise from north [deg].
    tilt : float
        90 for a wall, 0 for the horizontal [deg].
    albedo : float
        Of the ground [-].

    Notes
    -----
    Position and transposition (Hay and Davies) by pvlib, at mid-hours; direct sun on the plane is
    held at most at what a sun 3 degrees high can give.
    """
    import pvlib

    _, zenith, sun_azimuth, extra = _positions(
        weather.time0, weather.hours, weather.latitude, weather.longitude, weather.utc_offset
    )
    dni = np.where(zenith < 87.0, weather.dni, 0.0)
    parts = pvlib.irradiance.get_total_irradiance(
        tilt, azimuth, zenith, sun_azimuth, dni, weather.ghi, weather.dhi,
        dni_extra=extra, albedo=albedo, model="haydavies",
    )  # fmt: skip
    total = np.nan_to_num(np.asarray(parts["poa_global"], dtype=np.float64))
    return np.clip(total, 0.0, 1500.0)
