"""Leakage areas with what they may be at least and at most, and those of houses by age."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from warmside.errors import Fault, InputError

# Share of a house's leakage area that lies in its walls: 18-50 %, mean 35 %.
# Source: ASHRAE Handbook Fundamentals 2021, ch. 16, after Dickerhoff 1982, Harrje & Born 1982.
WALL_SHARE = (0.18, 0.35, 0.50)
# Effective leakage area at 4 Pa per m2 of exposed surface [m2/m2]: low, best, high.
# Source: ASHRAE Handbook Fundamentals 2021, chapter 17, table 3.
SURFACE_LEAKAGE = {
    "before 1940": (5.6e-4, 10.4e-4, 15.6e-4),  # very leaky; the high end is an assumption
    "1940 to 1970": (2.8e-4, 5.6e-4, 10.4e-4),
    "after 1970": (1.4e-4, 2.8e-4, 5.6e-4),
}


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


def surface_leakage(year_built: int, exposed_surface: float) -> Band:
    """Leakage area of a house without a fan test, by age and exposed surface.

    Parameters
    ----------
    year_built : int
        Year of construction.
    exposed_surface : float
        Walls, windows and top ceiling above ground [m2].

    Returns
    -------
    Band
        Effective leakage area at 4 Pa [m2].
    """
    era = (
        "before 1940"
        if year_built < 1940
        else "1940 to 1970"
        if year_built < 1970
        else "after 1970"
    )
    return Band(*SURFACE_LEAKAGE[era]).times(exposed_surface)


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
