"""Density and viscosity of air, and leakage areas."""

from __future__ import annotations

import math
from typing import TypeVar, cast

import numpy as np
from numpy.typing import NDArray

Values = TypeVar("Values", float, NDArray[np.float64])

STANDARD_DENSITY = 1.2041  # [kg/m3] dry air at 20 degC, 101.325 kPa (ASTM E779; from memory)
STANDARD_PRESSURE = 101_325.0  # [Pa]
GRAVITY = 9.80665  # [m/s2]


def air_density(
    temperature: Values, pressure: float = STANDARD_PRESSURE, humidity: float = 0.0
) -> Values:
    """Density of moist air.

    ``rho = (p - 0.37802 p_v) / (287.055 T)`` with
    ``p_v = phi exp(59.484085 - 6790.4985 / T - 5.02802 ln T)``, T in kelvin.
    Source: ISO 9972 Annex (from memory; the constants agree in two independent public texts).

    Parameters
    ----------
    temperature : float or ndarray
        Air temperature [degC].
    pressure : float
        Barometric pressure [Pa].
    humidity : float
        Relative humidity [-].

    Returns
    -------
    float or ndarray
        Density [kg/m3], as the temperature was given.
    """
    kelvin = np.asarray(temperature, dtype=np.float64) + 273.15
    vapour = 0.0 * kelvin
    if humidity > 0.0:
        vapour = humidity * np.exp(59.484085 - 6790.4985 / kelvin - 5.02802 * np.log(kelvin))
    density = (pressure - 0.37802 * vapour) / (287.055 * kelvin)
    like: object = density if isinstance(temperature, np.ndarray) else float(density)
    return cast(Values, like)


def air_viscosity(temperature: float) -> float:
    """Dynamic viscosity of air, ``mu = 1.458e-6 sqrt(T) / (1 + 110.4 / T)``, T in kelvin.

    Source: Sutherland's law as used in ASTM E779 (from memory): 1.813e-5 at 20 degC.

    Parameters
    ----------
    temperature : float
        Air temperature [degC].

    Returns
    -------
    float
        Viscosity [Pa s].
    """
    kelvin = temperature + 273.15
    return 1.458e-6 * math.sqrt(kelvin) / (1.0 + 110.4 / kelvin)


def leakage_area(
    flow: float, pressure: float, discharge: float = 1.0, density: float = STANDARD_DENSITY
) -> float:
    """Area of the hole that passes ``flow``: ``A = Q / C_d sqrt(rho / 2 dP)``.

    Source: ASHRAE Handbook Fundamentals 2021, chapter 16, equation 41.

    Parameters
    ----------
    flow : float
        Flow at that pressure [m3/s].
    pressure : float
        Reference pressure [Pa]: 4 with ``discharge`` 1.0 (effective), 10 with 0.611 (equivalent).
    discharge : float
        Discharge coefficient [-].
    density : float
        Air density [kg/m3].

    Returns
    -------
    float
        Leakage area [m2].
    """
    return flow / discharge * math.sqrt(density / (2.0 * pressure))


def flow_coefficient(
    area: float,
    exponent: float,
    pressure: float = 4.0,
    discharge: float = 1.0,
    density: float = STANDARD_DENSITY,
) -> float:
    """Flow coefficient of a leakage area: ``c = C_d A sqrt(2 / rho) dP^(0.5 - n)``.

    Source: ASHRAE Handbook Fundamentals 2021, chapter 16, equation 45.

    Parameters
    ----------
    area : float
        Leakage area [m2] at ``pressure`` [Pa] with ``discharge`` [-].
    exponent : float
        Flow exponent n [-].
    pressure : float
        Reference pressure of the area [Pa].
    discharge : float
        Discharge coefficient of the area [-].
    density : float
        Air density [kg/m3].

    Returns
    -------
    float
        c in ``Q = c dP^n`` [m3/(s Pa^n)].
    """
    return float(discharge * area * math.sqrt(2.0 / density) * pressure ** (0.5 - exponent))
