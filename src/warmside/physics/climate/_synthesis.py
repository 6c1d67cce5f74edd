"""A year hour by hour from monthly normals.

The shape of the day, the swing from day to day and the tie of humidity to temperature follow
published methods and the statistics of recorded hourly years; the monthly means and the design
temperature of the result equal the normals given.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import accumulate

import numpy as np
import numpy.typing as npt

from warmside.errors import Fault, InputError
from warmside.physics.climate._hourly import FloatArray, HourlyClimate
from warmside.physics.climate._sky import sky_temperature_from_cloud
from warmside.physics.climate._sun import extraterrestrial, split_sun
from warmside.physics.humid_air import (
    dew_point_over_water,
    saturation_over_water,
    saturation_pressure,
)

YEAR = 2023  # an ordinary year
MONTH_DAYS = np.array([31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])
HOURS = 8760
# Lag-1 of daily means 0.66-0.83 and of hours 0.985-0.99 in recorded years: one chain on hours
# serves both (0.985^24 = 0.70).
LAG_HOUR = 0.985
# What recorded years do, by least squares over 81 stations of TMY3 in January, April, July and
# October; months between on a straight line. Standard deviations of a coefficient are in brackets.
SEASONS = (0, 3, 6, 9)
# Share of the range of daily extremes that the mean day shows: the rest is weather, not hour.
RANGE_SHARE = (0.61, 0.77, 0.83, 0.77)
# Standard deviation of daily means about the month [K]: a part of its own, and more in the cold.
DAY_SWING, DAY_SWING_COLD = (5.1, 4.7, 2.5, 4.0), (-0.163, -0.056, -0.009, -0.043)  # (1.4 K)
# How far the dew point follows the day's anomaly: more in humid months, by humidity [-].
DEW_FOLLOWS, DEW_FOLLOWS_HUMID = (0.74, -0.30, -0.83, -0.79), (0.42, 1.6, 2.2, 2.15)  # (0.35)
DEW_DAY = (0.31, 0.07, 0.03, 0.10)  # and the hour's
# What the dew point wanders by itself [K]: least in humid months.
DEW_OWN, DEW_OWN_HUMID = (6.2, 5.9, 3.8, 5.8), (-5.8, -4.6, -3.1, -5.0)
CLEARNESS = (0.20, 0.75)
RAIN_USUAL = 70.0  # [mm per month] where the normals give none; own figure

# Erbs, Klein and Beckman 1983, from memory: shape of the mean day, range 0.976.
_AMPLITUDE = np.array([0.4632, 0.0984, 0.0168, 0.0138])
_PHASE = np.array([3.805, 0.360, 0.822, 3.513])


@dataclass(frozen=True)
class Normals:
    """Monthly normals, each January first, shape (12,).

    Attributes
    ----------
    mean, daily_max, daily_min : tuple[float, ...]
        Temperatures [degC].
    humidity : tuple[float, ...]
        Mean relative humidity [-].
    latitude, longitude, utc_offset, elevation : float
        The place [deg], [deg], [h], [m].
    design : float or None
        Temperature that 2.5 % of January's hours are colder than [degC].
    clearness : tuple[float, ...] or None
        Sun over sun above the air [-]; None: from the daily range (Hargreaves).
    wind : tuple[float, ...]
        Mean speed [m/s].
    rain : tuple[float, ...] or None
        Liquid [kg/m2 per month]; None: the usual amount, all of it above freezing.
    sun : tuple[float, ...] or None
        On the horizontal, mean of the day [kWh/m2]; goes before ``clearness``.
    rose : tuple[tuple[float, ...], ...] or None
        Shares of the wind by month and sector, N, NNE ... NNW, shape (12, 16) [-]; None: mostly
        westerly.
    driven_rain : tuple[float, ...] or None
        Driven rain of a year on walls that face N, NE ... NW, any unit, shape (8,): only how they
        compare counts, for where the wind stands while it rains.
    name : str
        The place.
    """

    mean: tuple[float, ...]
    daily_max: tuple[float, ...]
    daily_min: tuple[float, ...]
    humidity: tuple[float, ...]
    latitude: float
    longitude: float
    utc_offset: float
    elevation: float = 0.0
    design: float | None = None
    clearness: tuple[float, ...] | None = None
    wind: tuple[float, ...] = (4.0,) * 12
    rain: tuple[float, ...] | None = None
    name: str = ""
    sun: tuple[float, ...] | None = None
    rose: tuple[tuple[float, ...], ...] | None = None
    driven_rain: tuple[float, ...] | None = None

    def __post_init__(self) -> None:
        faults: list[Fault] = []
        for name, low, high in (
            ("mean", -60.0, 45.0), ("daily_max", -60.0, 55.0), ("daily_min", -65.0, 45.0),
            ("humidity", 0.05, 1.0), ("wind", 0.0, 30.0),
            ("clearness", 0.1, 0.85), ("rain", 0.0, 2000.0), ("sun", 0.0, 12.0),
        ):  # fmt: skip
            values = getattr(self, name)
            if values is None:
                continue
            if len(values) != 12 or not all(low <= v <= high for v in values):
                faults.append(
                    Fault(f"normals, {name}", f"{values}", f"12 values {low:g} to {high:g}")
                )
        if not faults:
            wrong = [
                k + 1
                for k in range(12)
                if not self.daily_min[k] <= self.mean[k] <= self.daily_max[k]
            ]
            if wrong:
                faults.append(Fault("normals", f"months {wrong}", "daily min <= mean <= daily max"))
        if self.design is not None and not faults and not -70.0 < self.design < self.mean[0]:
            faults.append(Fault("normals, design", f"{self.design}", "below the mean of January"))
        if faults:
            raise InputError(faults)


def synthesise(normals: Normals, seed: int = 1) -> HourlyClimate:
    """An ordinary year of 8760 hours from monthly normals.

    Parameters
    ----------
    normals : Normals
        The place.
    seed : int
        Of the random part: the same seed gives the same year [-].

    Returns
    -------
    HourlyClimate
        Monthly means of temperature and relative humidity equal the normals (0.01 K, 0.005); 2.5 %
        of January's hours lie below the design temperature, if one is given.

    Raises
    ------
    InputError
        A seed that is no whole number from 0 on.
    """
    if not isinstance(seed, int) or seed < 0:
        raise InputError([Fault("seed", f"{seed}", "a whole number from 0 on")])
    rng = np.random.default_rng(seed)
    month = np.repeat(np.arange(12), MONTH_DAYS * 24)
    weather = _chain(rng, LAG_HOUR)
    swing = _by_season(DAY_SWING) + _by_season(DAY_SWING_COLD) * np.array(normals.mean)
    anomaly = np.maximum(swing, 1.0)[month] * weather
    day = _days(normals, month)
    temperature = _temperature(normals, month, anomaly, day)
    humidity = _humidity(normals, month, temperature, anomaly, day, rng)
    time0 = datetime(YEAR, 1, 1)
    cloudy = _chain(rng, 0.95)
    ghi, cloud = _sun(normals, time0, month, cloudy)
    dni, dhi = split_sun(time0, ghi, normals.latitude, normals.longitude, normals.utc_offset)
    speed, direction = _wind(normals, month, rng)
    rain = _rain(normals, month, cloud, temperature, rng)
    direction = _wind_in_rain(normals, direction, rain)
    return HourlyClimate(
        time0, temperature, humidity, speed, direction, ghi, dni, dhi,
        np.full(HOURS, 101_325.0 * np.exp(-normals.elevation / 8434.0)),
        sky_temperature_from_cloud(temperature, humidity, cloud),
        rain,
        normals.latitude, normals.longitude, normals.utc_offset, normals.elevation, normals.name,
        (f"synthesised from monthly normals, seed {seed}; not a recorded year",),
    )  # fmt: skip


def _chain(rng: np.random.Generator, lag: float) -> FloatArray:
    """A stationary chain of hours of unit variance, x' = lag x + noise."""
    noise = rng.standard_normal(HOURS + 500) * np.sqrt(1.0 - lag**2)
    # a plain recursion: the library's filter takes two seconds to import and saves none
    chain = accumulate(noise.tolist(), lambda before, new: lag * before + new)
    return np.fromiter(chain, np.float64, noise.size)[500:]


def _by_season(values: Sequence[float]) -> FloatArray:
    """Twelve monthly values from those of January, April, July and October."""
    return np.asarray(np.interp(np.arange(12), SEASONS, values, period=12))


def daily_shape(hour: FloatArray) -> FloatArray:
    """Temperature over the day about its mean, for a range of one [-]; ``hour`` [h] 1 to 24.

    Four harmonics of Erbs, Klein and Beckman 1983, from memory; greatest at 15, least at 6.
    """
    t = 2.0 * np.pi * (np.asarray(hour)[..., None] - 1.0) / 24.0
    waves = _AMPLITUDE * np.cos(np.arange(1, 5) * t - _PHASE)
    return np.asarray(waves.sum(axis=-1) / 0.976)


def _days(normals: Normals, month: npt.NDArray[np.int64]) -> FloatArray:
    """The mean day of each month, about its mean [K]."""
    reach = np.array(normals.daily_max) - np.array(normals.daily_min)
    hour = np.arange(HOURS, dtype=np.float64) % 24 + 1.0
    return np.asarray(daily_shape(hour) * (_by_season(RANGE_SHARE) * reach)[month])


def _temperature(
    normals: Normals, month: npt.NDArray[np.int64], anomaly: FloatArray, day: FloatArray
) -> FloatArray:
    """Mean of the month, shape of the day, weather; then fitted to mean and design value."""
    for m in range(12):
        here = month == m
        anomaly[here] -= anomaly[here].mean()
    level = _between_months(np.array(normals.mean))
    t = level + anomaly + day
    for m in range(12):
        here = month == m
        t[here] += normals.mean[m] - t[here].mean()
    if normals.design is not None:
        january = month == 0
        t[january] = _to_quantile(t[january], normals.mean[0], normals.design, 0.025)
    return np.asarray(np.clip(t, -69.0, 59.0))


def _between_months(mean: FloatArray) -> FloatArray:
    """A smooth yearly course through the middles of the months."""
    from scipy.interpolate import CubicSpline

    middle = (np.cumsum(MONTH_DAYS) - MONTH_DAYS / 2.0) * 24.0
    x = np.concatenate([[middle[-1] - HOURS], middle, [middle[0] + HOURS]])
    y = np.concatenate([[mean[-1]], mean, [mean[0]]])
    return np.asarray(CubicSpline(x, y)(np.arange(HOURS) + 0.5))


def _to_quantile(t: FloatArray, mean: float, value: float, share: float) -> FloatArray:
    """Stretch about the mean so that ``share`` of the hours lie below ``value``."""
    low = float(np.quantile(t, share))
    return np.asarray(mean + (t - mean) * (mean - value) / (mean - low))


def _humidity(
    normals: Normals,
    month: npt.NDArray[np.int64],
    temperature: FloatArray,
    anomaly: FloatArray,
    day: FloatArray,
    rng: np.random.Generator,
) -> FloatArray:
    """Dew point tied to the weather's anomaly; fitted to the month's mean.

    Over water, as stations report it. Air holds no more than saturation, below freezing over ice
    (a month that is given more keeps its mean).
    """
    given = np.array(normals.humidity)
    follows = np.clip(_by_season(DEW_FOLLOWS) + _by_season(DEW_FOLLOWS_HUMID) * given, 0.0, 1.0)
    own = np.maximum(_by_season(DEW_OWN) + _by_season(DEW_OWN_HUMID) * given, 1.0)
    wander = (
        follows[month] * anomaly
        + _by_season(DEW_DAY)[month] * day
        + own[month] * _chain(rng, LAG_HOUR)
    )
    base = dew_point_over_water(np.array(normals.mean), given)
    frost = saturation_pressure(temperature) / saturation_over_water(temperature)
    most = np.maximum(np.minimum(frost, 1.0), given[month])
    humidity = np.empty(HOURS)
    for m in range(12):
        here = month == m
        low, high = -25.0, 25.0
        for _ in range(40):
            shift = 0.5 * (low + high)
            dew = np.clip(base[m] + shift + wander[here], -95.0, 60.0)
            there = saturation_over_water(dew) / saturation_over_water(temperature[here])
            humidity[here] = np.minimum(there, most[here])
            if humidity[here].mean() < given[m]:
                low = shift
            else:
                high = shift
    return np.clip(humidity, 0.02, 1.0)


def _sun(
    normals: Normals, time0: datetime, month: npt.NDArray[np.int64], cloudy: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Sun on the horizontal [W/m2] and share of cloud [-]; the month's clearness kept."""
    above = extraterrestrial(time0, HOURS, normals.latitude, normals.longitude, normals.utc_offset)
    if normals.sun is not None:
        sky = np.array([above[month == m].mean() for m in range(12)])
        mean = np.clip(np.array(normals.sun) * 1000.0 / 24.0 / np.maximum(sky, 1.0), 0.0, 0.85)
    elif normals.clearness is not None:
        mean = np.array(normals.clearness)
    else:
        reach = np.array(normals.daily_max) - np.array(normals.daily_min)
        mean = np.clip(0.16 * np.sqrt(reach), 0.30, 0.70)
    k = np.clip(mean[month] - 0.16 * cloudy, *CLEARNESS)
    ghi = above * k
    for m in range(12):
        here = month == m
        got = ghi[here].sum()
        if got > 0.0:
            ghi[here] *= mean[m] * above[here].sum() / got
    cloud = np.clip((0.70 - k) / 0.50, 0.0, 1.0)
    return np.clip(ghi, 0.0, 1400.0), cloud


def _wind(
    normals: Normals, month: npt.NDArray[np.int64], rng: np.random.Generator
) -> tuple[FloatArray, FloatArray]:
    """Rayleigh-spread speeds [m/s] with memory, from directions that wander [deg]."""
    from scipy.special import ndtr

    rank = np.clip(ndtr(_chain(rng, 0.93)), 1e-6, 1.0 - 1e-6)
    speed = np.sqrt(-4.0 / np.pi * np.log(1.0 - rank))
    for m in range(12):
        here = month == m
        speed[here] *= normals.wind[m] / speed[here].mean()
    wander = _chain(rng, 0.97)
    if normals.rose is None:
        return speed, np.asarray((270.0 + 75.0 * wander) % 360.0)
    direction, rank = np.empty(HOURS), ndtr(wander)
    for m in range(12):
        here = month == m
        direction[here] = _in_sectors(_evenly(rank[here]), np.array(normals.rose[m]))
    return speed, direction


def _evenly(rank: FloatArray) -> FloatArray:
    """Ranks spread evenly over 0 to 1, in their own order [-]."""
    order = np.empty(rank.size)
    order[np.argsort(rank, kind="stable")] = (np.arange(rank.size) + 0.5) / rank.size
    return order


def _in_sectors(rank: FloatArray, share: FloatArray) -> FloatArray:
    """Directions [deg] whose sectors, each about its middle, come up by their ``share`` [-].

    Spread evenly within a sector, so that none is favoured by the tens of degrees of reports.
    """
    edges = np.concatenate([[0.0], np.cumsum(share) / share.sum()])
    width = 360.0 / share.size
    return np.asarray((np.interp(rank, edges, np.arange(share.size + 1)) - 0.5) * width % 360.0)


def _wind_in_rain(normals: Normals, direction: FloatArray, rain: FloatArray) -> FloatArray:
    """Directions [deg], those of wet hours such that walls compare as their driven rain does.

    Weights of 16 sectors, none negative, whose sums ``a_j max(cos(wall - sector), 0)`` come
    nearest to the driven rain of the eight walls (Lawson and Hanson's non-negative least squares).
    """
    wanted = np.array(normals.driven_rain or ())
    if not wanted.any() or not rain.any():
        return direction
    from scipy.optimize import nnls

    walls, sectors = np.radians(np.arange(8) * 45.0), np.radians(np.arange(16) * 22.5)
    reach = np.maximum(np.cos(walls[:, None] - sectors[None, :]), 0.0)
    weights, _ = nnls(np.vstack([reach, 1e-3 * np.eye(16)]), np.r_[wanted, np.zeros(16)])
    wet = np.flatnonzero(rain > 0.0)
    # by the water of each hour, not by their number
    order = wet[np.argsort(direction[wet], kind="stable")]
    water = np.cumsum(rain[order]) - 0.5 * rain[order]
    result = direction.copy()
    result[order] = _in_sectors(water / rain.sum(), weights + 1e-12)
    return result


def _rain(
    normals: Normals,
    month: npt.NDArray[np.int64],
    cloud: FloatArray,
    temperature: FloatArray,
    rng: np.random.Generator,
) -> FloatArray:
    """Showers in the cloudiest tenth of the hours [kg/(m2 h)]; none of them at or below freezing.

    Rain that is given falls whole, in hours above freezing; of the usual amount the share of the
    frosty hours falls as snow.
    """
    given = normals.rain is not None
    total = np.array(normals.rain) if normals.rain is not None else np.full(12, RAIN_USUAL)
    rain = np.zeros(HOURS)
    for m in range(12):
        here = np.flatnonzero((month == m) & ((temperature > 0.0) | (not given)))
        if here.size < 10:
            continue
        count = here.size // 10
        wet = here[np.argsort(cloud[here], kind="stable")[-count:]]
        depth = rng.exponential(size=count)
        rain[wet] = depth * total[m] / depth.sum()
    return np.where(temperature > 0.0, rain, 0.0)


def cold_year(years: tuple[HourlyClimate, ...]) -> HourlyClimate:
    """The year to design by: the second coldest of ten, by degree-hours below 18 degC.

    Of n years the one of rank ``round(0.1 (n - 1))`` counted from the coldest, as the moisture
    design year is once in ten years (ASHRAE 160, from memory).
    """
    if not years:
        raise InputError([Fault("years", "none", "one or more")])
    cold = sorted(years, key=lambda one: -float(np.maximum(18.0 - one.temperature, 0.0).sum()))
    return cold[round(0.1 * (len(cold) - 1))]
