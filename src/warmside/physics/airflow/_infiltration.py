"""Air that wind and warmth drive through the house: two published single-zone models.

Both superpose a stack and a wind flow. The basic model needs a leakage area; the enhanced one the
power law, and knows flues and foundations.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from warmside.errors import Fault, InputError
from warmside.physics.airflow._air import GRAVITY, air_density
from warmside.physics.airflow._fan_test import PowerLaw

Foundation = Literal["basement or slab", "crawl space"]
Terrain = Literal["city centre", "suburb or woods", "open", "over water"]
Floats = NDArray[np.float64]

# Basic model, per storey: Cs [(L/s)2/(cm4 K)] and Cw [(L/s)2/(cm4 (m/s)2)] by shelter class 1-5.
# Source: ASHRAE Handbook Fundamentals 2021, chapter 16, tables 4-6 (Sherman & Grimsrud 1980).
BASIC_STACK = (0.000145, 0.000290, 0.000435)
BASIC_WIND = (
    (0.000319, 0.000246, 0.000174, 0.000104, 0.000032),
    (0.000420, 0.000325, 0.000231, 0.000137, 0.000042),
    (0.000494, 0.000382, 0.000271, 0.000161, 0.000049),
)
# Shelter factor of the enhanced model without a flue, classes 1-5. Same chapter, table 9.
SHELTER = (1.00, 0.90, 0.70, 0.50, 0.30)
# Share of the leakage in an open flue 15 cm wide, houses of 1, 2, 3 storeys: with these the flue
# columns of the shelter table are reproduced exactly.
FLUE_SHARES = (0.20, 0.14, 0.11)
FLUE_SHELTER = 1.0  # a flue top stands free of the shelter
# Terrain: exponent a [-] and height d of the boundary layer [m]. Same book, chapter 24.
TERRAIN: dict[Terrain, tuple[float, float]] = {
    "city centre": (0.33, 460.0),
    "suburb or woods": (0.22, 370.0),
    "open": (0.14, 270.0),
    "over water": (0.10, 210.0),
}
# Wind at eaves from wind at the met station, by storeys. Same chapter, table 7.
WIND_MULTIPLIER = (0.48, 0.59, 0.67)


def basic_infiltration(
    area: float,
    temperature_difference: ArrayLike,
    wind_speed: ArrayLike,
    storeys: float = 1.0,
    shelter_class: int = 3,
) -> Floats:
    """Infiltration by the basic model.

    ``Q = (A / 1000) sqrt(Cs |dT| + Cw U^2)`` with A in cm2, Q in m3/s.
    Source: ASHRAE Handbook Fundamentals 2021, chapter 16, equation 48.

    Parameters
    ----------
    area : float
        Effective leakage area at 4 Pa [m2].
    temperature_difference : array_like
        Indoor minus outdoor temperature [K].
    wind_speed : array_like
        Wind at the weather station [m/s].
    storeys : float
        Storeys, 1 to 3 [-]; between them interpolated.
    shelter_class : int
        1 (none) to 5 (closer than one house height) [-].

    Returns
    -------
    ndarray
        Infiltration [m3/s], broadcast shape of the two arrays.
    """
    _check(storeys, shelter_class)
    levels = (1.0, 2.0, 3.0)
    stack = np.interp(storeys, levels, BASIC_STACK)
    wind = np.interp(storeys, levels, [row[shelter_class - 1] for row in BASIC_WIND])
    warmth = np.abs(np.asarray(temperature_difference, dtype=float))
    speed = np.asarray(wind_speed, dtype=float)
    return np.asarray(area * 10.0 * np.sqrt(stack * warmth + wind * speed**2))


@dataclass(frozen=True)
class LeakageShares:
    """How the leakage is spread: ``ceiling``, ``floor``, ``walls``, ``flue`` add to 1 [-]."""

    ceiling: float
    floor: float
    walls: float
    flue: float = 0.0

    @classmethod
    def usual(cls, storeys: float, flue: float = 0.0) -> LeakageShares:
        """Shares that give back the handbook's tables: R = 1 / (1 + storeys).

        Verified against ASHRAE Handbook Fundamentals 2021, chapter 16, tables 7 and 8.

        Parameters
        ----------
        storeys : float
            Storeys [-].
        flue : float
            Share of an open flue [-]; 0.20, 0.14, 0.11 for 1, 2, 3 storeys in those tables.
        """
        level = 1.0 / (1.0 + storeys)
        return cls(level / 2.0, level / 2.0, 1.0 - level - flue, flue)


def enhanced_infiltration(
    law: PowerLaw,
    indoor_temperature: float,
    outdoor_temperature: ArrayLike,
    wind_speed: ArrayLike,
    *,
    height: float = 2.5,
    storeys: float = 1.0,
    shelter_class: int = 3,
    shares: LeakageShares | None = None,
    foundation: Foundation = "basement or slab",
    flue_height: float = 0.0,
    wind_multiplier: float | None = None,
) -> Floats:
    """Infiltration by the enhanced model (Walker & Wilson 1998).

    ``Qs = c fs Ps^n``, ``Qw = c fw Pw^n``, ``Q = sqrt(Qs^2 + Qw^2)`` with
    ``Ps = rho g H |Ti - To| / Ti`` and ``Pw = rho (s G U)^2 / 2``.
    Source: ASHRAE Handbook Fundamentals 2021, chapter 16, equations 47, 49, 50; the forms of fs and
    fw from memory, verified against its tables to 1-2 %.

    Parameters
    ----------
    law : PowerLaw
        Leakage of the house.
    indoor_temperature : float
        Indoor temperature [degC].
    outdoor_temperature : array_like
        Outdoor temperature [degC].
    wind_speed : array_like
        Wind at the weather station [m/s].
    height : float
        Height of the highest ceiling above the lowest floor or grade [m].
    storeys : float
        Storeys, 1 to 3 [-].
    shelter_class : int
        1 (none) to 5 (very heavy) [-].
    shares : LeakageShares, optional
        Spread of the leakage; the usual one when not given.
    foundation : {"basement or slab", "crawl space"}
        What the house stands on.
    flue_height : float
        Height of the flue top above the floor [m]; used when there is a flue share.
    wind_multiplier : float, optional
        Wind at eaves / wind at the station [-]; the handbook's by storeys when not given.

    Returns
    -------
    ndarray
        Infiltration [m3/s].
    """
    _check(storeys, shelter_class)
    spread = shares or LeakageShares.usual(storeys)
    outdoors = np.asarray(outdoor_temperature, dtype=float)
    density = air_density(outdoors)
    kelvin = indoor_temperature + 273.15
    warmth = np.abs(indoor_temperature - outdoors)
    stack_pressure = density * GRAVITY * height * warmth / kelvin
    shelter = SHELTER[shelter_class - 1] * (1.0 - spread.flue) + FLUE_SHELTER * 1.5 * spread.flue
    if wind_multiplier is None:
        wind_multiplier = float(np.interp(storeys, (1.0, 2.0, 3.0), WIND_MULTIPLIER))
    eaves = wind_multiplier * np.asarray(wind_speed, dtype=float)
    wind_pressure = density * (shelter * eaves) ** 2 / 2.0
    n = law.exponent
    stack = law.coefficient * stack_factor(n, spread, flue_height / height) * stack_pressure**n
    wind = law.coefficient * wind_factor(n, spread, foundation) * wind_pressure**n
    return np.asarray(np.hypot(stack, wind))


def open_flue_share(storeys: float) -> float:
    """Share of a house's leakage that one open flue takes [-].

    Parameters
    ----------
    storeys : float
        1 to 3 [-]; between whole storeys in proportion, beyond them as at the end.

    Returns
    -------
    float
        0.20, 0.14, 0.11 for 1, 2, 3 storeys, as the tables of the enhanced model take it (ASHRAE
        Handbook Fundamentals 2021, chapter 16, table 9).
    """
    return float(np.interp(storeys, (1.0, 2.0, 3.0), FLUE_SHARES))


def stack_factor(exponent: float, shares: LeakageShares, flue_ratio: float = 0.0) -> float:
    """Stack factor fs of the enhanced model (from memory, verified against the tables).

    Parameters
    ----------
    exponent : float
        Flow exponent n [-].
    shares : LeakageShares
        Spread of the leakage.
    flue_ratio : float
        Flue top height / ceiling height [-].

    Returns
    -------
    float
        fs [-].
    """
    n, y = exponent, shares.flue
    r, x = shares.ceiling + shares.floor, shares.ceiling - shares.floor
    flue = 0.0
    if y > 0.0:
        balance = (x + (2.0 * n + 1.0) * y) ** 2 / (2.0 - r)
        above = max(flue_ratio - 1.0, 0.0)
        neutral = r + 2.0 * (1.0 - r - y) / (n + 1.0) - 2.0 * y * above**n
        lean = 3.0 * (neutral - x) ** 2 * r ** (1.0 - n) / (2.0 * (flue_ratio + 1.0))
        flue = n * y * above ** ((3.0 * n - 1.0) / 3.0) * (1.0 - lean)
    else:
        balance = x**2 / (2.0 - r)
    lopsided = (0.5 - 0.5 * min(balance, 1.0) ** 1.25) ** (n + 1.0)
    return float((1.0 + n * r) / (n + 1.0) * lopsided + flue)


def wind_factor(exponent: float, shares: LeakageShares, foundation: Foundation) -> float:
    """Wind factor fw of the enhanced model (from memory, verified against the tables).

    Parameters
    ----------
    exponent : float
        Flow exponent n [-].
    shares : LeakageShares
        Spread of the leakage.
    foundation : {"basement or slab", "crawl space"}
        What the house stands on.

    Returns
    -------
    float
        fw [-].
    """
    n, y = exponent, shares.flue
    r, x = shares.ceiling + shares.floor, shares.ceiling - shares.floor
    base = 0.19 * (2.0 - n)
    if foundation == "crawl space":
        wall = 1.0 - r * (n / 2.0 + 0.2)
        lean = (1.0 - r) / 5.0 - 1.5 * y
        floor = 1.0 - (((x - lean) / (2.0 - r)) ** 2) ** 0.75
        return float(base * floor * wall * (1.0 - y / 4.0))
    j = (x + r + 2.0 * y) / 2.0
    return float(base * (1.0 - ((x + r) / 2.0) ** 1.5) - y / 4.0 * (j - 2.0 * y * j**4))


def with_fans(infiltration: ArrayLike, balanced: float = 0.0, unbalanced: float = 0.0) -> Floats:
    """Total air flow with fans running: ``Q = Qbal + sqrt(Qunbal^2 + Qinf^2)``.

    Source: ASHRAE Handbook Fundamentals 2021, chapter 16, equation 51.

    Parameters
    ----------
    infiltration : array_like
        Infiltration without fans [m3/s].
    balanced : float
        Flow moved both in and out [m3/s].
    unbalanced : float
        Flow moved one way only [m3/s].

    Returns
    -------
    ndarray
        Total flow [m3/s].
    """
    return np.asarray(balanced + np.hypot(unbalanced, np.asarray(infiltration, dtype=float)))


def stack_pressure(
    height_above_neutral: ArrayLike, indoor_temperature: float, outdoor_temperature: ArrayLike
) -> Floats:
    """Indoor minus outdoor pressure from warmth alone: ``(rho_o - rho_i) g (h - h_n)``.

    Positive above the neutral plane in winter: there the room air pushes outwards.
    Source: ASHRAE Handbook Fundamentals 2021, chapter 16, with dry air at 101.325 kPa.

    Parameters
    ----------
    height_above_neutral : array_like
        Height above the neutral plane [m].
    indoor_temperature : float
        Indoor temperature [degC].
    outdoor_temperature : array_like
        Outdoor temperature [degC].

    Returns
    -------
    ndarray
        Pressure difference [Pa].
    """
    outdoors = air_density(np.asarray(outdoor_temperature, dtype=float))
    gradient = (outdoors - air_density(indoor_temperature)) * GRAVITY
    return np.asarray(gradient * np.asarray(height_above_neutral, dtype=float))


def wind_pressure(wind_speed: ArrayLike, coefficient: float, density: float = 1.2) -> Floats:
    """Pressure of the wind on a face: ``Cp rho U^2 / 2`` [Pa].

    Low-rise, wind normal: +0.6 windward, -0.3 leeward, -0.65 sides.
    Source: ASHRAE Handbook Fundamentals 2021, chapter 16.

    Parameters
    ----------
    wind_speed : array_like
        Wind at eaves height [m/s].
    coefficient : float
        Pressure coefficient Cp [-].
    density : float
        Air density [kg/m3].

    Returns
    -------
    ndarray
        Pressure [Pa].
    """
    return np.asarray(coefficient * density * np.asarray(wind_speed, dtype=float) ** 2 / 2.0)


def wind_at_height(
    speed: float,
    height: float,
    exponent: float = 0.22,
    layer: float = 370.0,
    station_height: float = 10.0,
    station_exponent: float = 0.14,
    station_layer: float = 270.0,
) -> float:
    """Wind at ``height`` from wind at the station.

    ``U = U_met (d_met / H_met)^a_met (H / d)^a``. Terrain a, d: city centre 0.33, 460; suburb or
    wooded 0.22, 370; open 0.14, 270; over water 0.10, 210.
    Source: ASHRAE Handbook Fundamentals 2021, chapter 24.

    Parameters
    ----------
    speed : float
        Wind at the station [m/s].
    height : float
        Height wanted [m].
    exponent, layer : float
        Terrain at the house [-], [m].
    station_height, station_exponent, station_layer : float
        Height [m] and terrain [-], [m] of the station.

    Returns
    -------
    float
        Wind speed [m/s].
    """
    gradient = speed * (station_layer / station_height) ** station_exponent
    return float(gradient * (height / layer) ** exponent)


def depressurisation(exhaust: float, law: PowerLaw) -> float:
    """Pressure below outdoors that an exhaust flow makes: ``dP = (Q / c)^(1/n)``.

    Parameters
    ----------
    exhaust : float
        Flow of all exhaust fans together [m3/s].
    law : PowerLaw
        Leakage of the house.

    Returns
    -------
    float
        Depressurisation [Pa].
    """
    return math.pow(exhaust / law.coefficient, 1.0 / law.exponent)


def _check(storeys: float, shelter_class: int) -> None:
    faults = []
    if not 1.0 <= storeys <= 4.0:
        faults.append(Fault("infiltration, storeys", f"{storeys:g}", "1 to 4"))
    if shelter_class not in (1, 2, 3, 4, 5):
        faults.append(Fault("infiltration, shelter class", str(shelter_class), "1 to 5"))
    if faults:
        raise InputError(faults)
