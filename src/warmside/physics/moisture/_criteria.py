"""Plain counts over a series: limits of standards and of the trade."""

from __future__ import annotations

from typing import Final

import numpy as np
import numpy.typing as npt

from warmside.physics.moisture._potential import FloatArray
from warmside.wood import DRY_WOOD, ROT_STARTS

MONTH: Final = 720  # [h] over which ASHRAE 160 takes its mean
# When wood has stayed wet too long: how long above where rot can start, how warm, and how dry a
# summer must make it are our own choice.
ROT_TEMPERATURE: Final = 5.0  # [degC]
ROT_DAYS: Final = 14.0
SUMMER_MOISTURE: Final = 0.20  # [kg/kg] to be undercut in every summer
SUMMER: Final = (6, 7, 8, 9)  # months; the model's stations lie north of the equator


def running_mean(values: FloatArray, hours: int) -> FloatArray:
    """Mean over the last ``hours`` of a series.

    Parameters
    ----------
    values : FloatArray
        Hourly, shape (n,), any unit.
    hours : int
        Span of the mean [h].

    Returns
    -------
    FloatArray
        Shape (n - hours + 1,); one mean of all where the series is shorter.
    """
    span = min(hours, values.size)
    total = np.concatenate([[0.0], np.cumsum(values)])
    return np.asarray((total[span:] - total[:-span]) / span)


def ashrae_160_2009(temperature: FloatArray, humidity: FloatArray) -> float:
    """Greatest 30-day mean of surface humidity [-] while the mean temperature is 5 to 40 degC.

    Parameters
    ----------
    temperature, humidity : FloatArray
        At the surface, hourly, shape (n_hours,) [degC], [-].

    Returns
    -------
    float
        ASHRAE 160-2009: to be below 0.80. (Abstract of ASTM STP 1599, 2017; the standard now uses
        the mould index.) 0 if the mean is never between 5 and 40 degC.
    """
    t, h = running_mean(temperature, MONTH), running_mean(humidity, MONTH)
    inside = (t >= 5.0) & (t <= 40.0)
    return float(h[inside].max()) if inside.any() else 0.0


def corrosion_hours(temperature: FloatArray, humidity: FloatArray) -> int:
    """Hours [h] above 80 % and 0 degC: time of wetness of ISO 9223, from memory.

    Parameters
    ----------
    temperature, humidity : FloatArray
        At the metal, hourly, shape (n_hours,) [degC], [-].
    """
    return int(np.count_nonzero((humidity > 0.80) & (temperature > 0.0)))


def frost_hours(temperature: FloatArray, humidity: FloatArray) -> int:
    """Hours [h] below 0 degC with liquid in the pores: above 95 % (own limit).

    Parameters
    ----------
    temperature, humidity : FloatArray
        In the material, hourly, shape (n_hours,) [degC], [-].
    """
    return int(np.count_nonzero((temperature < 0.0) & (humidity > 0.95)))


def liquid_hours(humidity: FloatArray) -> int:
    """Hours [h] above 99 %: liquid at the interface (own limit)."""
    return int(np.count_nonzero(humidity > 0.99))


def days_above(moisture: FloatArray, limit: float) -> float:
    """Days [d] with wood moisture [kg/kg] above ``limit`` [kg/kg]."""
    return float(np.count_nonzero(moisture > limit)) / 24.0


def drying_days(moisture: FloatArray, limit: float = DRY_WOOD) -> float | None:
    """Days [d] after which wood is below ``limit`` and stays so; None if never.

    Parameters
    ----------
    moisture : FloatArray
        Hourly, shape (n_hours,) [kg/kg].
    limit : float
        Dry wood [kg/kg]; 19 %, USDA Forest Products Laboratory and common practice.
    """
    wet = np.flatnonzero(moisture >= limit)
    if wet.size == 0:
        return 0.0
    return None if wet[-1] + 1 == moisture.size else float(wet[-1] + 1) / 24.0


def rotting_days(moisture: FloatArray, temperature: FloatArray) -> float:
    """Days [d] with wood above 26 % moisture [kg/kg] and above 5 degC, hour by hour (own limit)."""
    wet = (moisture > ROT_STARTS) & (temperature > ROT_TEMPERATURE)
    return float(np.count_nonzero(wet)) / 24.0


def summer_least(moisture: FloatArray, months: npt.NDArray[np.int64]) -> float | None:
    """Least moisture [kg/kg] of the summer that dries least; None without a whole summer.

    ``months`` (n,) are 1 to 12; a summer counts from June to September.
    """
    warm = np.isin(months, SUMMER)
    edges = np.flatnonzero(np.diff(np.concatenate([[False], warm, [False]]).astype(np.int8)))
    whole = [
        moisture[a:b] for a, b in edges.reshape(-1, 2)
        if months[a] == SUMMER[0] and months[b - 1] == SUMMER[-1]
    ]  # fmt: skip
    return float(max(one.min() for one in whole)) if whole else None
