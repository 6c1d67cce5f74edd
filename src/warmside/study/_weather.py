"""A year of hours from a station's monthly normals, for the season's heat and air.

Monthly means run in straight lines from mid-month to mid-month; days differ by a spread of their
own, hours by the usual daily curve, wind by the usual shares of its mean. Everything follows
fixed sequences: the same normals give the same year. A weather file of real hours goes before it.
"""

from __future__ import annotations

from datetime import datetime
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from warmside.catalog import Climate
from warmside.physics.climate import HourlyClimate

Floats = NDArray[np.float64]
HOURS = 8760
MEAN_WIND = 4.0  # [m/s] at 10 m in the open; an assumption where the station's is not known
DAY_SPREAD = (4.5, 2.5)  # [K] s.d. of daily means, coldest and warmest month; measured 3-6, 1.5-3
# Steps of these fill 0 to 1 evenly, and neither follows the other.
GOLDEN, ROOT = 0.6180339887498949, 0.4142135623730951
# Share of the daily range below the maximum, hours 1 to 24.
# Source: ASHRAE Handbook Fundamentals 2021, chapter 14, table 6.
DAILY = (
    0.88, 0.92, 0.95, 0.98, 1.00, 0.98, 0.91, 0.74, 0.55, 0.38, 0.23, 0.13,
    0.05, 0.00, 0.00, 0.06, 0.14, 0.24, 0.39, 0.50, 0.59, 0.68, 0.75, 0.82,
)  # fmt: skip
# Hourly wind / yearly mean that is exceeded in a share of the hours.
# Source: ASHRAE Handbook Fundamentals 2021, chapter 24, table 2.
WIND = ((0.0, 0.0), (0.1, 0.2), (0.25, 0.5), (0.5, 0.8), (0.75, 1.2), (0.9, 1.6), (0.95, 1.9),
        (0.99, 2.5), (1.0, 3.0))  # fmt: skip


def weather_of(climate: Climate) -> HourlyClimate:
    """A year of hours with the monthly means of ``climate``.

    Parameters
    ----------
    climate : Climate
        Monthly normals.

    Returns
    -------
    HourlyClimate
        8760 hours from 1 January; without sun and rain, which are not used here.
    """
    hours = np.arange(HOURS)
    mean = _through_months(climate.mean)
    coldest, warmest = min(climate.mean), max(climate.mean)
    days = np.array([NormalDist().inv_cdf((0.5 + k * GOLDEN) % 1.0) for k in range(HOURS // 24)])
    warmth = (mean - coldest) / max(warmest - coldest, 1e-9)
    spread = np.clip(DAY_SPREAD[0] + (DAY_SPREAD[1] - DAY_SPREAD[0]) * warmth, 2.0, 5.0)
    span = _through_months(np.subtract(climate.daily_max, climate.daily_min))
    curve = np.mean(DAILY) - np.asarray(DAILY)[(hours + 23) % 24]
    temperature = mean + np.repeat(days, 24) * spread + span * curve
    temperature = np.clip(temperature, -60.0, 50.0)
    share, strength = np.asarray(WIND).T
    wind = np.interp((0.25 + hours * GOLDEN) % 1.0, share, strength)
    wind *= MEAN_WIND / wind.mean()  # the table's own mean is 0.89
    direction = np.asarray(360.0 * (hours * ROOT % 1.0), dtype=np.float64)
    nothing = np.zeros(HOURS)
    return HourlyClimate(
        time0=datetime(2021, 1, 1),
        temperature=temperature,
        humidity=np.clip(_through_months(climate.humidity), 0.0, 1.0),
        wind_speed=wind,
        wind_direction=direction,
        ghi=nothing,
        dni=nothing,
        dhi=nothing,
        pressure=np.full(HOURS, 101_325.0 * (1.0 - 2.2558e-5 * climate.elevation) ** 5.2559),
        sky_temperature=np.clip(temperature - 11.0, -110.0, 60.0),
        rain=nothing,
        latitude=climate.latitude,
        longitude=climate.longitude,
        utc_offset=float(round(climate.longitude / 15.0)),
        elevation=climate.elevation,
        name=climate.name,
        notes=("A year made from monthly normals; wind of 4 m/s on average is an assumption.",),
    )


def _through_months(values: tuple[float, ...] | Floats) -> Floats:
    """Hourly values from twelve monthly means, straight from mid-month to mid-month."""
    month = np.arange(HOURS) / (HOURS / 12) - 0.5
    knots = np.asarray([values[-1], *values, values[0]], dtype=np.float64)
    return np.asarray(np.interp(month, np.arange(-1.0, 13.0), knots))
