"""The house's own coupled figures as the plan's program takes them: what a saving is worth."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache

from warmside.catalog import Catalog
from warmside.estimate import PriceList, fixed_price
from warmside.physics.energy import fuel_amount
from warmside.promises import HeatingCase, HouseAir, cooling_taken, heat_taken
from warmside.promises.money import present_value_factor
from warmside.study.house_totals import fresh_air_added
from warmside.study.plan.program import Choice, NoPlanError, best_choice
from warmside.study.plan.table import Aim, Cell, Charges, Saving
from warmside.survey import House
from warmside.units import KWH

_STEP = 1e-9  # what differs by less is the same


@dataclass(frozen=True)
class Ground:
    """The house that the walls stand in, and what was chosen there before."""

    house: House
    air: HouseAir
    prices: PriceList
    heating: HeatingCase
    catalog: Catalog

    @cached_property
    def _chosen(self) -> dict[tuple[Sequence[Cell], Aim], Choice]:
        """What was chosen before."""
        return {}

    @cached_property
    def heat(self) -> Saving:
        """Heat that a year is spared [J]; see `heat_of`."""
        return heat_of(self.house, self.air, self.heating, self.catalog)

    @cached_property
    def saving(self) -> Saving | None:
        """Worth today of what is spared [currency]; see `saving_of`."""
        return saving_of(self)

    @cached_property
    def charges(self) -> Charges:
        """What the house pays beside its walls."""
        return charges_of(self.prices)

    def choice(self, cells: Sequence[Cell], aim: Aim) -> Choice:
        """The best of ``cells``, each asked for once; by heat where fuel has no price.

        Raises
        ------
        NoPlanError
            As `best_choice`.
        """
        if (cells, aim) not in self._chosen:
            spared: Saving = self.saving or (lambda less, air: self.heat(less, air) / KWH)
            best = best_choice(cells, spared, self.charges, aim)
            if best is None:  # every wall may at least be left as found
                raise NoPlanError("no plan has an option for every wall")
            self._chosen[cells, aim] = best
        return self._chosen[cells, aim]


def heat_of(
    house: House, air: HouseAir, heating: HeatingCase, catalog: Catalog
) -> Callable[[float, float], float]:
    """Heat that a year is spared [J] by transmission [W/K] and leakage [-] taken away.

    The share of it that measured houses have saved, with the heat of the fresh air that fans must
    bring in the tighter house.
    """
    added = _fresh(house, air, catalog)
    share = heating.realised.share[1]
    return _rounded(
        lambda less, removed: share * heat_taken(less, removed, heating, added(removed))
    )


def saving_of(ground: Ground) -> Saving | None:
    """Worth today of that heat, and of cooling [currency]; None without a price or interest."""
    heating = ground.heating
    terms = heating.terms
    if terms is None or terms.discount is None:
        return None
    factor = present_value_factor(terms.discount, terms.years, terms.rise)
    fuel, price, power = heating.fuel, terms.price, terms.cooling_price or 0.0
    share = heating.realised.share[1]
    added = _fresh(ground.house, ground.air, ground.catalog)
    heat = heat_of(ground.house, ground.air, heating, ground.catalog)

    def saving(less: float, removed: float) -> float:
        burnt = fuel_amount(heat(less, removed), fuel.heat_content, heating.efficiency)
        cooled = share * cooling_taken(less, removed, heating, added(removed)) if power else 0.0
        return factor * (burnt * price + cooled * power)

    return _rounded(saving)


def _fresh(house: House, air: HouseAir, catalog: Catalog) -> Callable[[float], float]:
    """Fresh air that fans bring more [m3/s], by the leakage taken away [-]."""

    @lru_cache(maxsize=4096)
    def added(removed: float) -> float:
        return fresh_air_added(house, air, removed, catalog) if removed > 0.0 else 0.0

    return added


def _rounded(function: Saving) -> Saving:
    """The same with what differs by next to nothing reckoned once."""
    known = lru_cache(maxsize=4096)(function)
    return lambda less, removed: known(round(less / _STEP) * _STEP, round(removed / _STEP) * _STEP)


def charges_of(prices: PriceList) -> Charges:
    """What a house pays once, and the least that it pays, taxes included [currency]."""
    taxed = 1.0 + float(sum(rate for _, rate in prices.taxes))
    once = float(fixed_price(prices).total)
    return Charges(once, float(prices.minimum) * taxed)
