"""Where the sun stands, what it gives, and what of it reaches a wall."""

from __future__ import annotations

from datetime import datetime, timedelta
from functools import lru_cache

import numpy as np

from warmside.physics.climate._hourly import FloatArray, HourlyClimate

MID_HOUR = 0.5
RANGE_INLAND = 0.16  # Hargreaves, inland, from memory [K^-1/2]
SOLAR_CONSTANT = 1366.1  # [W/m2], ASTM E490-00a
J2000 = 946_728_000.0  # noon of 1 January 2000 in universal time [s of the Unix clock]


def sun_position(unix: FloatArray, latitude: float, longitude: float) -> tuple[FloatArray, ...]:
    """Zenith and azimuth of the sun [deg], clockwise from north, without refraction.

    The low-precision formulas of the Astronomical Almanac, 0.01 degrees from 1950 to 2050
    (Michalsky 1988, Solar Energy 40(3) 227-235; from memory, held against the algorithm of NREL by
    a test).

    Parameters
    ----------
    unix : FloatArray
        Universal time, shape (n,) [s of the Unix clock].
    latitude, longitude : float
        North and east positive [deg].
    """
    days = (unix - J2000) / 86_400.0
    mean = np.radians((280.460 + 0.9856474 * days) % 360.0)
    anomaly = np.radians((357.528 + 0.9856003 * days) % 360.0)
    ecliptic = mean + np.radians(1.915 * np.sin(anomaly) + 0.020 * np.sin(2.0 * anomaly))
    tilt = np.radians(23.439 - 4e-7 * days)
    ascension = np.arctan2(np.cos(tilt) * np.sin(ecliptic), np.cos(ecliptic))
    declination = np.arcsin(np.sin(tilt) * np.sin(ecliptic))
    sidereal = np.radians((280.46062 + 360.98564737 * days + longitude) % 360.0)
    hour, north = sidereal - ascension, np.radians(latitude)
    high = np.sin(north) * np.sin(declination)
    high = high + np.cos(north) * np.cos(declination) * np.cos(hour)
    elevation = np.degrees(np.arcsin(np.clip(high, -1.0, 1.0)))
    azimuth = np.arctan2(
        -np.cos(declination) * np.sin(hour),
        np.cos(north) * np.sin(declination) - np.sin(north) * np.cos(declination) * np.cos(hour),
    )
    return 90.0 - elevation, np.degrees(azimuth) % 360.0


def sun_above_air(day: FloatArray) -> FloatArray:
    """Normal sun above the air [W/m2] on a ``day`` of the year: Spencer's series (1971)."""
    b = 2.0 * np.pi * (day - 1.0) / 365.0
    distance = 1.00011 + 0.034221 * np.cos(b) + 0.00128 * np.sin(b)
    return np.asarray(
        SOLAR_CONSTANT * (distance + 0.000719 * np.cos(2 * b) + 7.7e-05 * np.sin(2 * b))
    )


@lru_cache(maxsize=8)
def _positions(
    time0: datetime, hours: int, latitude: float, longitude: float, utc_offset: float
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Day of the year, zenith [deg], azimuth [deg], extraterrestrial normal sun [W/m2].

    At mid-hours.
    """
    start = np.datetime64(time0 + timedelta(hours=MID_HOUR - utc_offset), "s")
    times = start + np.arange(hours) * np.timedelta64(3600, "s")
    unix = times.astype(np.int64).astype(np.float64)
    zenith, azimuth = sun_position(unix, latitude, longitude)
    day = (times - times.astype("datetime64[Y]")).astype(np.float64) / 86_400.0 // 1.0 + 1.0
    return day, zenith, azimuth, sun_above_air(day)


def extraterrestrial(
    time0: datetime, hours: int, latitude: float, longitude: float, utc_offset: float
) -> FloatArray:
    """Sun on the horizontal above the air, shape (hours,) [W/m2]."""
    _, zenith, _, extra = _positions(time0, hours, latitude, longitude, utc_offset)
    return np.asarray(extra * np.maximum(np.cos(np.radians(zenith)), 0.0))


def split_sun(
    time0: datetime, ghi: FloatArray, latitude: float, longitude: float, utc_offset: float
) -> tuple[FloatArray, FloatArray]:
    """Direct normal and diffuse horizontal sun [W/m2] from ``ghi``.

    The hourly correlation of Erbs, Klein and Duffie 1982 (Solar Energy 28(4) 293-302): the diffuse
    share over clearness. No direct sun below 3 degrees.
    """
    _, zenith, _, extra = _positions(time0, ghi.size, latitude, longitude, utc_offset)
    high = np.cos(np.radians(zenith))
    k = np.clip(ghi / (extra * np.maximum(high, 0.065)), 0.0, 1.0)
    cloudy = 1.0 - 0.09 * k
    mixed = 0.9511 - 0.1604 * k + 4.388 * k**2 - 16.638 * k**3 + 12.336 * k**4
    share = np.where(k <= 0.22, cloudy, np.where(k <= 0.8, mixed, 0.165))
    up = (zenith <= 87.0) & (ghi >= 0.0)
    dhi = np.where(up, share * ghi, ghi)
    dni = np.where(up, (ghi - dhi) / np.maximum(high, 1e-3), 0.0)
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
    Transposition of Hay and Davies (1980): the share ``dni / extra`` of the sky's light comes from
    about the sun, the rest from all the sky alike. At mid-hours; direct sun on the plane is held at
    most at what a sun 3 degrees high can give.
    """
    _, zenith, sun_azimuth, extra = _positions(
        weather.time0, weather.hours, weather.latitude, weather.longitude, weather.utc_offset
    )
    dni = np.where(zenith < 87.0, weather.dni, 0.0)
    lean, high = np.radians(tilt), np.cos(np.radians(zenith))
    turned = np.cos(np.radians(sun_azimuth - azimuth))
    facing = high * np.cos(lean) + np.sin(np.radians(zenith)) * np.sin(lean) * turned
    facing = np.maximum(facing, 0.0)
    about = dni / extra
    beam = facing / np.maximum(high, 0.01745)
    sky = weather.dhi * (about * beam + (1.0 - about) * 0.5 * (1.0 + np.cos(lean)))
    ground = weather.ghi * albedo * 0.5 * (1.0 - np.cos(lean))
    return np.asarray(np.clip(dni * facing + sky + ground, 0.0, 1500.0))
