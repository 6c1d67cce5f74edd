"""Water that leaks carry into the wall over a season."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from warmside.errors import Fault, InputError
from warmside.physics import humid_air
from warmside.physics.airflow._air import STANDARD_DENSITY, flow_coefficient

Floats = NDArray[np.float64]
HOUR = 3600.0  # [s]


@dataclass(frozen=True)
class LeakWater:
    """What one leak does over the weather given."""

    air: float  # [m3] room air that left through it
    water: float  # [kg] most that this air can leave on the cold face
    hours: int  # [h] in which it can leave any


def leak_water(
    area: float,
    pressure: Floats,
    face_temperature: Floats,
    indoor_vapour_pressure: float,
    exponent: float = 0.65,
) -> LeakWater:
    """Condensing water of one leak, summed over the hours in which room air leaves by it.

    ``m = sum rho c p^n max(w_i - w_sat(T_face), 0) dt``; an upper bound: the air leaves saturated
    at the face, and the face is not warmed by it. A face below freezing keeps it as frost.

    Parameters
    ----------
    area : float
        Effective leakage area of the leak at 4 Pa [m2].
    pressure : ndarray
        Indoor minus outdoor pressure at the leak, shape (n_hours,) [Pa].
    face_temperature : ndarray
        Temperature of the cold face that the air meets, shape (n_hours,) [degC].
    indoor_vapour_pressure : float
        Vapour pressure of the room air [Pa].
    exponent : float
        Flow exponent of the leak [-].

    Returns
    -------
    LeakWater
        Air [m3], water [kg], hours [h].

    Raises
    ------
    InputError
        An area below zero or arrays of different length.
    """
    if not 0.0 <= area < float("inf"):
        raise InputError([Fault("leak, area", f"{area:g} m2", "0 or more")])
    if pressure.shape != face_temperature.shape:
        read = f"{pressure.shape} pressures, {face_temperature.shape} temperatures"
        raise InputError([Fault("leak, hours", read, "as many of one as of the other")])
    flow = flow_coefficient(area, exponent) * np.maximum(pressure, 0.0) ** exponent
    left = excess_humidity(indoor_vapour_pressure, face_temperature)
    water = STANDARD_DENSITY * flow * left * HOUR
    return LeakWater(float(flow.sum() * HOUR), float(water.sum()), int(np.count_nonzero(water)))


def excess_humidity(indoor_vapour_pressure: float, face_temperature: Floats) -> Floats:
    """Water per dry air that room air holds beyond saturation at a face.

    ``max(w(p_i) - w(p_sat(T_face)), 0)`` with ``w = 0.622 p / (P - p)``.

    Parameters
    ----------
    indoor_vapour_pressure : float
        Of the room air [Pa].
    face_temperature : Floats
        Shape (n_hours,) [degC].

    Returns
    -------
    Floats
        Shape (n_hours,) [kg/kg].
    """
    face = humid_air.humidity_ratio(humid_air.saturation_pressure(face_temperature))
    inside = humid_air.humidity_ratio(float(indoor_vapour_pressure))
    return np.asarray(np.maximum(inside - face, 0.0))
