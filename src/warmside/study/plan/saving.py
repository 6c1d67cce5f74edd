"""The house's own coupled figures as the plan's program takes them: what a saving is worth."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache

from warmside.catalog import Catalog
from warmside.estimate import PriceList, fixed_price
from warmside.physics.energy import fuel_amount
from warmside.promises import HeatingCase, HouseAir, heat_taken
from warmside.promises.money import present_value_factor
from warmside.study.house_totals import fresh_air_added
from warmside.study.plan.table import Charges, Saving
from warmside.survey import House

KWH = 3.6e6  # [J]
_STEP = 1e-9  # what differs by less is the same


@dataclass(frozen=True)
class Ground:
    """The house that the walls stand in."""

    house: House
    air: HouseAir
    prices: PriceList
    heating: HeatingCase
    catalog: Catalog


def heat_of(
    house: House, air: HouseAir, heating: HeatingCase, catalog: Catalog
) -> Callable[[float, float], float]:
    """Heat that a year is spared [J] by transmission [W/K] and leakage [-] taken away.

    The share of it that measured houses have saved, with the heat of the fresh air that fans must
    bring in the tighter house.
    """
    share = heating.realised.share[1]

    @lru_cache(maxsize=4096)
    def added(removed: float) -> float:
        return fresh_air_added(house, air, removed, catalog) if removed > 0.0 else 0.0

    @lru_cache(maxsize=4096)
    def heat(less: float, removed: float) -> float:
        return share * heat_taken(less, removed, heating, added(removed))

    return lambda less, removed: heat(round(less / _STEP) * _STEP, round(removed / _STEP) * _STEP)


def saving_of(heat: Callable[[float, float], float], heating: HeatingCase) -> Saving | None:
    """Worth today of that heat [currency]; None where fuel or interest has no price."""
    terms = heating.terms
    if terms is None or terms.discount is None:
        return None
    factor = present_value_factor(terms.discount, terms.years, terms.rise) * terms.price
    fuel = heating.fuel

    def saving(less: float, removed: float) -> float:
        burnt = fuel_amount(heat(less, removed), fuel.heat_content, heating.efficiency)
        return burnt * factor

    return saving


def charges_of(prices: PriceList) -> Charges:
    """What a house pays once, and the least that it pays, taxes included [currency]."""
    taxed = 1.0 + float(sum(rate for _, rate in prices.taxes))
    once = float(fixed_price(prices).total)
    return Charges(once, float(prices.minimum) * taxed)
