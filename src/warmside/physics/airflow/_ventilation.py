"""How much fresh air people need, and how humid the room gets with how little."""

from __future__ import annotations

import math

from warmside.errors import Fault, InputError
from warmside.physics import humid_air

# Storeys and the stack factor of the infiltration credit.
# Source: Standard Work Specifications, calculation of infiltration credit (archived 2016).
CREDIT_STACK = ((1.0, 1.00), (1.5, 1.18), (2.0, 1.32), (2.5, 1.44), (3.0, 1.55))


def ventilation_need(
    floor_area: float, bedrooms: int, per_area: float = 0.15e-3, per_person: float = 3.5e-3
) -> float:
    """Whole-house ventilation: ``Q = 0.15 A + 3.5 (bedrooms + 1)`` in L/s and m2.

    Source: ASHRAE 62.2, in ASHRAE Handbook Fundamentals 2021, chapter 16, table 3.

    Parameters
    ----------
    floor_area : float
        Heated floor area [m2].
    bedrooms : int
        Bedrooms [-].
    per_area, per_person : float
        Rates [m3/(s m2)], [m3/s].

    Returns
    -------
    float
        Flow [m3/s]; 100 m2 with 3 bedrooms: 0.029.

    Raises
    ------
    InputError
        An area or number below zero.
    """
    if not (0.0 <= floor_area < math.inf and bedrooms >= 0):
        read = f"{floor_area:g} m2, {bedrooms} bedrooms"
        raise InputError([Fault("ventilation need", read, "0 or more")])
    return per_area * floor_area + per_person * (bedrooms + 1)


def infiltration_credit(
    flow_50: float, storeys: float, weather_factor: float, share: float = 0.052
) -> float:
    """Infiltration that counts as ventilation over a year: ``Q = 0.052 wsf S Q50``.

    Source: ASHRAE 62.2-2013, in Standard Work Specifications (archived 2016).

    Parameters
    ----------
    flow_50 : float
        Fan-test flow at 50 Pa [m3/s].
    storeys : float
        Storeys [-]; S = 1.00, 1.18, 1.32, 1.44, 1.55 for 1, 1.5, 2, 2.5, 3.
    weather_factor : float
        Weather and shielding factor wsf [-].
    share : float
        Factor of the rule [-].

    Returns
    -------
    float
        Flow [m3/s].
    """
    low = max((row for row in CREDIT_STACK if row[0] <= storeys), default=CREDIT_STACK[0])
    high = min((row for row in CREDIT_STACK if row[0] >= storeys), default=CREDIT_STACK[-1])
    part = (storeys - low[0]) / (high[0] - low[0]) if high[0] > low[0] else 0.0
    stack = low[1] + part * (high[1] - low[1])
    return share * weather_factor * stack * flow_50


def room_ventilation(
    bedrooms: int,
    other_rooms: int,
    basement: bool,
    per_room: float = 5e-3,
    main_bedroom: float = 10e-3,
    per_basement: float = 10e-3,
) -> float:
    """Ventilation by rooms: 5 L/s each, 10 L/s the main bedroom, 10 L/s a basement.

    Source: CSA F326-M91, as quoted in Ontario code notes (second-hand).

    Parameters
    ----------
    bedrooms : int
        Bedrooms, the first of them the main one [-].
    other_rooms : int
        Kitchen, bathrooms, laundry, living and dining rooms [-].
    basement : bool
        Whether there is a basement without assigned rooms.
    per_room, main_bedroom, per_basement : float
        Rates [m3/s].

    Returns
    -------
    float
        Flow [m3/s]; 3 bedrooms, 4 rooms, basement: 0.050.
    """
    sleeping = main_bedroom + per_room * (bedrooms - 1) if bedrooms else 0.0
    return sleeping + per_room * other_rooms + (per_basement if basement else 0.0)


def moisture_release(
    indoor_vapour_pressure: float,
    outdoor_vapour_pressure: float,
    air_flow: float,
    temperature: float,
) -> float:
    """Water given off indoors that holds the room at its vapour pressure: ``G = Q dp / (Rv T)``.

    Steady; what walls and furniture take up and give back is left out.

    Parameters
    ----------
    indoor_vapour_pressure, outdoor_vapour_pressure : float
        Vapour pressures [Pa].
    air_flow : float
        Outdoor air [m3/s].
    temperature : float
        Room temperature [degC].

    Returns
    -------
    float
        Water [kg/s]; zero where the room is no damper than outdoors.
    """
    kelvin = temperature + humid_air.ZERO_CELSIUS
    excess = max(indoor_vapour_pressure - outdoor_vapour_pressure, 0.0)
    return air_flow * excess / (humid_air.WATER_VAPOUR_GAS_CONSTANT * kelvin)


def indoor_humidity(
    release: float, outdoor_vapour_pressure: float, air_flow: float, temperature: float
) -> float:
    """Humidity of a room that gives off water and gets outdoor air: ``p = p_e + G Rv T / Q``.

    Parameters
    ----------
    release : float
        Water given off indoors [kg/s].
    outdoor_vapour_pressure : float
        Vapour pressure outdoors [Pa].
    air_flow : float
        Outdoor air, above zero [m3/s].
    temperature : float
        Room temperature [degC].

    Returns
    -------
    float
        Relative humidity [-], at most 1.

    Raises
    ------
    InputError
        A flow of zero or less.
    """
    if not air_flow > 0.0:
        raise InputError([Fault("indoor humidity, air", f"{air_flow:g} m3/s", "above zero")])
    kelvin = temperature + humid_air.ZERO_CELSIUS
    inside = outdoor_vapour_pressure
    inside += release * humid_air.WATER_VAPOUR_GAS_CONSTANT * kelvin / air_flow
    return min(inside / float(humid_air.saturation_pressure(temperature)), 1.0)
