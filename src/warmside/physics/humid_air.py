"""Humid air: saturation, dew point, vapour content, and the pull of fine pores.

Every function takes floats or arrays of any one shape and gives back the same. Temperatures in
degrees Celsius. The saturation curve is the form of ISO 13788 (from memory): within 0.51 % of the
reference formulations from -20 to 40 degC, and down to -30 degC up to 1.1 % (0.4 Pa) too low.
"""

from __future__ import annotations

from typing import TypeVar, cast

import numpy as np
from numpy.typing import NDArray

from warmside.errors import Fault, InputError

WATER_VAPOUR_GAS_CONSTANT = 461.5  # [J/(kg K)]
WATER_DENSITY = 1000.0  # [kg/m3]
AIR_VAPOUR_PERMEABILITY = 2e-10  # [kg/(m s Pa)], still air, the fixed value of ISO 13788
STANDARD_PRESSURE = 101_325.0  # [Pa]
ZERO_CELSIUS = 273.15  # [K]
_MASS_RATIO = 0.621945  # [-] water to dry air, molar

Values = TypeVar("Values", float, NDArray[np.float64])

# ISO 13788, from memory: p = 610.5 exp(a t / (b + t)), over water and over ice
_P0 = 610.5
_WATER = (17.269, 237.3)
_ICE = (21.875, 265.5)


def saturation_pressure(temperature: Values) -> Values:
    """Saturation pressure over water, below 0 degC over ice [Pa].

    ``610.5 exp(17.269 t / (237.3 + t))`` from 0 degC up, ``610.5 exp(21.875 t / (265.5 + t))``
    below; ``temperature`` [degC] from -100 to 100. ISO 13788, from memory. At 20 degC: 2337 Pa.
    """
    t = _checked("temperature", temperature, -100.0, 100.0)
    a, b = np.where(t >= 0, _WATER[0], _ICE[0]), np.where(t >= 0, _WATER[1], _ICE[1])
    return _as_given(_P0 * np.exp(a * t / (b + t)), temperature)


def saturation_over_water(temperature: Values) -> Values:
    """Saturation pressure over water, supercooled below 0 degC [Pa].

    What stations mean by relative humidity and dew point (World Meteorological Organization, No.
    8, from memory): ``610.5 exp(17.269 t / (237.3 + t))``. At -20 degC: 126 Pa, over ice 103 Pa.
    """
    t = _checked("temperature", temperature, -100.0, 100.0)
    return _as_given(_P0 * np.exp(_WATER[0] * t / (_WATER[1] + t)), temperature)


def dew_point_over_water(temperature: Values, humidity: Values) -> Values:
    """Dew point [degC] of air at ``temperature`` [degC] and ``humidity`` [-], both over water."""
    phi = _checked("relative humidity", humidity, 1e-4, 1.0)
    log = np.log(phi * np.asarray(saturation_over_water(temperature)) / _P0)
    return _as_given(_WATER[1] * log / (_WATER[0] - log), temperature, humidity)


def saturation_temperature(vapour_pressure: Values) -> Values:
    """Temperature [degC] at which ``vapour_pressure`` [Pa] saturates: the dew point.

    The exact inverse of `saturation_pressure`; at 2337 Pa: 20 degC.
    """
    p = _checked("vapour pressure", vapour_pressure, 1e-3, 101_000.0)
    log = np.log(p / _P0)
    a, b = np.where(log >= 0, _WATER[0], _ICE[0]), np.where(log >= 0, _WATER[1], _ICE[1])
    return _as_given(b * log / (a - log), vapour_pressure)


def vapour_pressure(temperature: Values, humidity: Values) -> Values:
    """Vapour pressure [Pa] at ``temperature`` [degC] and relative ``humidity`` [-]."""
    phi = _checked("relative humidity", humidity, 0.0, 1.0)
    return _as_given(phi * np.asarray(saturation_pressure(temperature)), temperature, humidity)


def relative_humidity(temperature: Values, vapour_pressure: Values) -> Values:
    """Relative humidity [-], past 1 too, at ``temperature`` [degC], ``vapour_pressure`` [Pa]."""
    p = _checked("vapour pressure", vapour_pressure, 0.0, 101_000.0)
    return _as_given(p / np.asarray(saturation_pressure(temperature)), temperature, vapour_pressure)


def dew_point(temperature: Values, humidity: Values) -> Values:
    """Dew point [degC] of air at ``temperature`` [degC] and relative ``humidity`` [-] over 0."""
    return saturation_temperature(vapour_pressure(temperature, humidity))


def vapour_concentration(temperature: Values, vapour_pressure: Values) -> Values:
    """Vapour content [kg/m3], ``p / (R_v T)``; ``temperature`` [degC], ``vapour_pressure`` [Pa]."""
    t = _checked("temperature", temperature, -100.0, 100.0)
    p = _checked("vapour pressure", vapour_pressure, 0.0, 101_000.0)
    return _as_given(
        p / (WATER_VAPOUR_GAS_CONSTANT * (t + ZERO_CELSIUS)), temperature, vapour_pressure
    )


def humidity_ratio(vapour_pressure: Values, pressure: float = STANDARD_PRESSURE) -> Values:
    """Vapour per dry air [kg/kg], ``0.6219 p / (P - p)``, at barometer ``pressure`` [Pa]."""
    p = _checked("vapour pressure", vapour_pressure, 0.0, 0.99 * pressure)
    return _as_given(_MASS_RATIO * p / (pressure - p), vapour_pressure)


def enthalpy(temperature: Values, ratio: Values) -> Values:
    """Heat content of humid air per dry air, from 0 degC and liquid water on [J/kg].

    ``1006 t + x (2 501 000 + 1860 t)``, ``x`` the `humidity_ratio` [kg/kg]; ASHRAE
    Handbook-Fundamentals, psychrometrics (from memory). At 30 degC and 0.0160: 71.1 kJ/kg.
    """
    t, x = np.asarray(temperature), np.asarray(ratio)
    return _as_given(1006.0 * t + x * (2_501_000.0 + 1860.0 * t), temperature, ratio)


def pore_humidity(suction: Values, temperature: Values) -> Values:
    """Relative humidity [-] over water held with ``suction`` [Pa], Kelvin's equation.

    ``exp(-s / (rho_w R_v T))``; ``temperature`` [degC]. At 20 degC and 1e8 Pa: 0.4775.
    """
    s = _checked("suction", suction, 0.0, 1e12)
    t = _checked("temperature", temperature, -100.0, 100.0)
    return _as_given(np.exp(-s / _pore_scale(t)), suction, temperature)


def pore_suction(humidity: Values, temperature: Values) -> Values:
    """Suction [Pa] in balance with relative ``humidity`` [-] at ``temperature`` [degC]."""
    phi = _checked("relative humidity", humidity, 1e-9, 1.0)
    t = _checked("temperature", temperature, -100.0, 100.0)
    return _as_given(-_pore_scale(t) * np.log(phi), humidity, temperature)


def _pore_scale(temperature: NDArray[np.float64]) -> NDArray[np.float64]:
    return WATER_DENSITY * WATER_VAPOUR_GAS_CONSTANT * (temperature + ZERO_CELSIUS)


def _checked(what: str, values: object, low: float, high: float) -> NDArray[np.float64]:
    try:
        array = np.asarray(values, dtype=np.float64)
    except (TypeError, ValueError):
        raise InputError([Fault(what, repr(values)[:80], "a number or numbers")]) from None
    good = (array >= low) & (array <= high)
    if not np.all(good):
        wrong = array[~good].flat[0]
        raise InputError([Fault(what, f"{wrong:g}", f"{low:g} to {high:g}")])
    return array


def _as_given(result: NDArray[np.float64], *given: Values) -> Values:
    arrays = any(isinstance(one, np.ndarray) for one in given)
    like: object = result if arrays else float(result)
    return cast(Values, like)
