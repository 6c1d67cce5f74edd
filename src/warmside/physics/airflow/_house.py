"""How leaky the whole house is, how sure that is, and what sealing some of its walls takes away."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from warmside.errors import Fault, InputError
from warmside.physics.airflow._air import flow_coefficient
from warmside.physics.airflow._fan_test import TYPICAL_EXPONENT, FanTestResult, PowerLaw
from warmside.physics.airflow._leakage import (
    NONE,
    WALL_SHARE,
    Band,
    Leak,
    Upkeep,
    add,
    leakage_by_age,
)

# A single reading at 50 Pa in wind: +-15 % (AIVC abstract, over a million simulated tests).
SINGLE_POINT_ERROR = 0.15
ASPECT = 1.5  # [-] length / width taken for a house whose plan is not given; an assumption


@dataclass(frozen=True)
class HouseLeakage:
    """Leakage of the whole house with its band; one exponent for all of it."""

    flow_50: Band  # [m3/s] at 50 Pa
    exponent: float  # [-]
    measured: bool
    basis: str  # what it rests on, one sentence

    @property
    def law(self) -> PowerLaw:
        """Power law of the best figure."""
        return self.law_of(self.flow_50.best)

    @property
    def area(self) -> Band:
        """Effective leakage area at 4 Pa [m2]."""
        return Band(*(self.law_of(flow).effective_leakage_area() for flow in _figures(self)))

    def law_of(self, flow_50: float) -> PowerLaw:
        """Power law through ``flow_50`` [m3/s] at 50 Pa."""
        return PowerLaw(flow_50 / math.pow(50.0, self.exponent), self.exponent)

    def air_change_50(self, volume: float) -> Band:
        """Air changes per hour at 50 Pa of ``volume`` [m3]: ``3600 Q50 / V`` [1/h]."""
        return self.flow_50.times(3600.0 / volume)

    def without(self, removed: Band) -> HouseLeakage:
        """The house with a share ``removed`` [-] of its leakage: least left goes with most removed.

        Raises
        ------
        InputError
            A share above one.
        """
        if removed.high > 1.0:
            raise InputError([Fault("leakage removed", f"{removed.high:g}", "0 to 1 of the house")])
        flow = self.flow_50
        left = Band(
            flow.low * (1.0 - removed.high),
            flow.best * (1.0 - removed.best),
            flow.high * (1.0 - removed.low),
        )
        return HouseLeakage(left, self.exponent, self.measured, self.basis)


def _figures(house: HouseLeakage) -> tuple[float, float, float]:
    return house.flow_50.low, house.flow_50.best, house.flow_50.high


def leakage_from_test(test: FanTestResult | PowerLaw) -> HouseLeakage:
    """Leakage of a tested house.

    Parameters
    ----------
    test : FanTestResult or PowerLaw
        A multi-point test with its 95 % limits, or the law through one point, which is taken to
        be right within 15 % at 50 Pa.

    Returns
    -------
    HouseLeakage
        Band at 50 Pa [m3/s].
    """
    if isinstance(test, FanTestResult):
        low, high = test.flow_50_limits
        band = Band(low, test.law.flow(50.0), high)
        basis = f"Fan test with {test.points} points."
        return HouseLeakage(band, test.law.exponent, True, basis)
    best = test.flow(50.0)
    band = Band(best * (1.0 - SINGLE_POINT_ERROR), best, best * (1.0 + SINGLE_POINT_ERROR))
    basis = f"Fan test at one pressure, right within {SINGLE_POINT_ERROR:.0%}."
    return HouseLeakage(band, test.exponent, True, basis)


def leakage_from_age(
    year_built: int, floor_area: float, height: float, upkeep: Upkeep = "usual"
) -> HouseLeakage:
    """Leakage of a house without a test, from its age, its size and what was seen; a wide band.

    Parameters
    ----------
    year_built : int
        Year of construction.
    floor_area : float
        Heated floor area [m2].
    height : float
        From the lowest floor to the highest ceiling [m].
    upkeep : str
        What was seen: usual, very draughty, or sealed before.

    Returns
    -------
    HouseLeakage
        Band at 50 Pa [m3/s] with the usual exponent 0.65; it holds 90 of 100 such houses.
    """
    area = leakage_by_age(year_built, floor_area, height, upkeep)
    at_50 = flow_coefficient(1.0, TYPICAL_EXPONENT) * math.pow(50.0, TYPICAL_EXPONENT)
    seen = {"usual": "", "very draughty": ", very draughty", "sealed before": ", sealed before"}
    basis = (
        f"No fan test: a house of {year_built} with {floor_area:.0f} m2 of floor{seen[upkeep]}, by "
        "what 70,000 tested houses leak; nine in ten such houses lie within the band."
    )
    return HouseLeakage(area.times(at_50), TYPICAL_EXPONENT, False, basis)


def outside_surface(volume: float, storeys: float, floor_area: float | None) -> tuple[float, float]:
    """Gross outside wall and top ceiling of a house of which only the size is known.

    A plan 1.5 times as long as wide; storey height = volume / floor area, 2.6 m when the floor
    area is not given.

    Parameters
    ----------
    volume : float
        Heated volume [m3].
    storeys : float
        Storeys [-].
    floor_area : float or None
        Heated floor area [m2].

    Returns
    -------
    tuple of float
        Gross walls and ceiling [m2].
    """
    footprint = (floor_area or volume / 2.6) / storeys
    perimeter = 2.0 * (ASPECT + 1.0) / math.sqrt(ASPECT) * math.sqrt(footprint)
    return perimeter * volume / footprint, footprint


def removed_by(leaks: Sequence[Leak], whole: float, covered: float = 1.0) -> Band:
    """Share of the house's leakage that sealing ``leaks`` takes away.

    All outside walls hold 18-50 %, best 35 %, of a house's leakage (ASHRAE Handbook Fundamentals
    2021, chapter 16); that is spread over the joints of every surveyed wall as their leakage areas
    compare. Least: the least share, and joints sealed as badly as they may be; most: the reverse.

    Parameters
    ----------
    leaks : sequence of Leak
        Joints that are sealed.
    whole : float
        Leakage area of the joints of all surveyed walls, open, at best [m2].
    covered : float
        Share of the house's outside walls that was surveyed [-].

    Returns
    -------
    Band
        Share of the house's leakage [-].

    Raises
    ------
    InputError
        ``covered`` outside 0 to 1.
    """
    if not 0.0 <= covered <= 1.0:
        raise InputError([Fault("walls surveyed", f"{covered:g}", "0 to 1 of the house's walls")])
    if whole <= 0.0:
        return NONE
    least = sum(max(leak.open.best - leak.sealed.high, 0.0) for leak in leaks)
    best = sum(max(leak.open.best - leak.sealed.best, 0.0) for leak in leaks)
    most = sum(max(leak.open.best - leak.sealed.low, 0.0) for leak in leaks)
    low, mid, high = (share * covered / whole for share in WALL_SHARE)
    return Band(least * low, best * mid, most * high)


def wall_band(
    leaks: Sequence[Leak], whole: float, house: HouseLeakage, covered: float = 1.0
) -> tuple[Band, Band]:
    """Leakage of one wall open and sealed, scaled to its share of the house.

    Parameters
    ----------
    leaks : sequence of Leak
        Joints of the wall.
    whole : float
        Leakage area of the joints of all surveyed walls, open, at best [m2].
    house : HouseLeakage
        The house before.
    covered : float
        Share of the house's outside walls that was surveyed [-].

    Returns
    -------
    tuple of Band
        Effective leakage areas at 4 Pa [m2], open and sealed.
    """
    if whole <= 0.0:
        return NONE, NONE
    area = house.area
    scale = [
        share * covered * figure / whole
        for share, figure in zip(WALL_SHARE, (area.low, area.best, area.high), strict=True)
    ]
    best = add(leak.open for leak in leaks).best
    sealed = [
        sum(leak.sealed.low for leak in leaks),
        sum(min(leak.sealed.best, leak.open.best) for leak in leaks),
        sum(min(leak.sealed.high, leak.open.best) for leak in leaks),
    ]
    opened = Band(*(k * best for k in scale))
    return opened, Band(*(k * figure for k, figure in zip(scale, sealed, strict=True)))
