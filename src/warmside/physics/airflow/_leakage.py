"""Leakage areas with what they may be at least and at most, and those of houses by age."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from warmside.errors import Fault, InputError

# Share of a house's leakage area that lies in its walls: 18-50 %, mean 35 %.
# Source: ASHRAE Handbook Fundamentals 2021, ch. 16, after Dickerhoff 1982, Harrje & Born 1982.
WALL_SHARE = (0.18, 0.35, 0.50)
Upkeep = Literal["usual", "very draughty", "sealed before"]
# ln NL = a - b year - c floor area [m2]. Source: Chan, Nazaroff, Price, Sohn and Gadgil 2005,
# Atmospheric Environment 39, over 70,000 fan tests (coefficients from memory): conventional houses,
# and those of low-income programmes, which stand here for a house seen to be very draughty.
REGRESSION = {
    "usual": (20.7, 0.0107, 0.00220),
    "very draughty": (11.1, 0.00537, 0.00418),
    "sealed before": (20.7, 0.0107, 0.00220),
}
# What earlier sealing by a programme has taken off. Source: abstract of the same work.
SEALED_BEFORE = 0.40  # [-]
# Spread of single houses about the regression; our reading of the same work, from memory.
SPREAD_LN = 0.55  # [-] standard deviation of ln NL
NINETY = 1.645  # standard deviations on either side that hold 90 of 100 houses
FITTED_YEARS, FITTED_AREAS = (1850, 2020), (40.0, 400.0)  # [m2]; beyond, the nearest end is taken
NORMALISED_HEIGHT, HEIGHT_POWER = 2.5, 0.3  # [m], [-] ASHRAE 119, from memory


@dataclass(frozen=True)
class Band:
    """A figure with what it may be at least and at most.

    Bands add end to end: joints of one house, made by one crew, err the same way.
    """

    low: float
    best: float
    high: float

    def __post_init__(self) -> None:
        if not 0.0 <= self.low <= self.best <= self.high < float("inf"):
            read = f"{self.low:g}, {self.best:g}, {self.high:g}"
            raise InputError([Fault("band", read, "0 <= low <= best <= high")])

    def __add__(self, other: Band) -> Band:
        return Band(self.low + other.low, self.best + other.best, self.high + other.high)

    def times(self, factor: float) -> Band:
        """Every figure times ``factor`` [-]."""
        return Band(self.low * factor, self.best * factor, self.high * factor)


NONE = Band(0.0, 0.0, 0.0)


@dataclass(frozen=True)
class Leak:
    """A joint's or hole's effective leakage area at 4 Pa [m2], open and sealed."""

    open: Band
    sealed: Band


def add(bands: Iterable[Band]) -> Band:
    """Sum of bands, end to end: least with least, most with most."""
    total = NONE
    for band in bands:
        total = total + band
    return total


def leakage_by_age(
    year_built: int, floor_area: float, height: float, upkeep: Upkeep = "usual"
) -> Band:
    """Leakage area of a house without a fan test: a log-normal by year and floor area.

    ``ln NL = a - b year - c A``, ``ELA = NL A / 1000 (H / 2.5)^-0.3``. Low and high hold 90 of 100
    houses.

    Parameters
    ----------
    year_built : int
        Year of construction; outside 1850 to 2020 the nearest of them.
    floor_area : float
        Heated floor area A [m2]; in the regression 40 to 400, outside it the nearest of them.
    height : float
        From the lowest floor to the highest ceiling, H [m].
    upkeep : str
        What was seen: usual, very draughty, or sealed before.

    Returns
    -------
    Band
        Effective leakage area at 4 Pa [m2]: 5th, 50th, 95th percentile.

    Raises
    ------
    InputError
        A floor area or height of zero or less.
    """
    if not (floor_area > 0.0 and height > 0.0):
        read = f"{floor_area:g} m2, {height:g} m high"
        raise InputError([Fault("leakage by age", read, "a floor area and a height above zero")])
    base, by_year, by_area = REGRESSION[upkeep]
    year = min(max(year_built, FITTED_YEARS[0]), FITTED_YEARS[1])
    area = min(max(floor_area, FITTED_AREAS[0]), FITTED_AREAS[1])
    normalised = math.exp(base - by_year * year - by_area * area)
    if upkeep == "sealed before":
        normalised *= 1.0 - SEALED_BEFORE
    best = normalised * floor_area / 1000.0 * (height / NORMALISED_HEIGHT) ** -HEIGHT_POWER
    apart = math.exp(NINETY * SPREAD_LN)
    return Band(best / apart, best, best * apart)


def carried_water(
    flow: float, indoor_humidity_ratio: float, surface_humidity_ratio: float, density: float = 1.2
) -> float:
    """Water that leaking room air leaves on a cold face: ``g = rho Q max(w_i - w_s, 0)``.

    An upper bound: the air is taken to leave saturated at the temperature of the face, and the
    face is not warmed by it.

    Parameters
    ----------
    flow : float
        Air through the leak [m3/s].
    indoor_humidity_ratio : float
        Humidity ratio of the room air [kg/kg].
    surface_humidity_ratio : float
        Humidity ratio of saturated air at the face [kg/kg].
    density : float
        Density of the leaking air [kg/m3].

    Returns
    -------
    float
        Water left behind [kg/s].
    """
    return density * flow * max(indoor_humidity_ratio - surface_humidity_ratio, 0.0)
