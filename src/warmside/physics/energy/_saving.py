"""Heat that a better wall saves, hour by hour."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from warmside.errors import Fault, InputError
from warmside.physics.climate import HourlyClimate
from warmside.physics.energy._season import AIR_HEAT, HOUR, Thermostat

Floats = NDArray[np.float64]


def heated_difference(
    climate: HourlyClimate, thermostat: Thermostat, balance_point: float
) -> Floats:
    """Indoor less outdoor temperature in the hours that are heated, zero in the others.

    An hour is heated when it is colder than the balance point; a night setback lowers both.

    Parameters
    ----------
    climate : HourlyClimate
        Weather.
    thermostat : Thermostat
        Set points.
    balance_point : float
        Outdoor temperature from which gains suffice by day [degC].

    Returns
    -------
    ndarray
        Difference, shape (n_hours,) [K].

    Raises
    ------
    InputError
        A balance point above the set point.
    """
    lift = thermostat.heating - balance_point
    if not 0.0 <= lift < np.inf:
        allowed = f"at most the set point of {thermostat.heating:g} degC"
        raise InputError([Fault("balance point", f"{balance_point:g} degC", allowed)])
    difference = thermostat.hourly(climate) - climate.temperature
    return np.where(difference > lift, difference, 0.0)


def heat_over(difference: Floats, conductance: float, air_flow: ArrayLike = 0.0) -> float:
    """Heat through parts of a house over heated hours: ``sum (H + rho c Q) dT dt``.

    With the hours of the present balance point this is the most that a change of H or Q can save:
    after the work the balance point falls and fewer hours are heated.

    Parameters
    ----------
    difference : ndarray
        Of `heated_difference`, shape (n_hours,) [K].
    conductance : float
        Transmission of the parts [W/K].
    air_flow : array_like
        Outdoor air that they let in, scalar or (n_hours,) [m3/s].

    Returns
    -------
    float
        Heat [J].
    """
    transmitted = conductance * float(difference.sum())
    carried = float((difference * np.asarray(air_flow, dtype=float)).sum())
    return (transmitted + AIR_HEAT * carried) * HOUR
