"""Options of several walls done together: one house, one price, one saving."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Protocol

from warmside.catalog import Catalog, electricity_of
from warmside.estimate import Price, PriceList, combine, energy_terms
from warmside.physics.airflow import Band
from warmside.promises import (
    Change,
    HeatingCase,
    HouseAir,
    HouseTight,
    Outside,
    Worth,
    by_person,
    fresh_air,
    heating_case,
    house_tight,
    worth,
)
from warmside.survey import Hazard, House, HousePart


class Work(Protocol):
    """What an option on a wall brings to the house: an ``OptionStudy``, or as much of it."""

    @property
    def change(self) -> Change:
        """Of transmission and leakage."""

    @property
    def price(self) -> Price | None:
        """None where nothing is done."""


def heating_of(
    house: House,
    air: HouseAir,
    prices: PriceList,
    catalog: Catalog,
    outside: Outside,
    present: float,
) -> HeatingCase:
    """By what savings are judged, where the walls lose ``present`` [W/K] as found."""
    fuel = catalog.fuel(house.heating.fuel)
    power = catalog.fuels.get(electricity_of(outside.climate))
    terms = energy_terms(prices, fuel, power)
    return heating_case(house, air, fuel, present, terms, outside.design)


@dataclass(frozen=True)
class Together:
    """The house with one option done on each wall."""

    tight: HouseTight
    price: Price
    worth: Worth


def fresh_air_added(house: House, air: HouseAir, removed: float, catalog: Catalog) -> float:
    """Fresh air [m3/s] that fans must bring beyond what they owed before the work.

    ``removed`` is the share of the house's leakage that the work takes away [-].
    """
    return fresh_air(house, air, removed, catalog).increase


def together(
    options: Sequence[Work],
    house: House,
    air: HouseAir,
    prices: PriceList,
    heating: HeatingCase,
    catalog: Catalog,
    hazards: tuple[Hazard, ...] = (),
    quotes: Sequence[HousePart] = (),
) -> Together:
    """Air, price and worth of options, one on each wall, done in one job.

    Parameters
    ----------
    options : sequence of Work
        One of each wall.
    house : House
        As surveyed.
    air : HouseAir
        Its air before.
    prices : PriceList
        For what is charged once for the house.
    heating : HeatingCase
        By what savings are judged.
    catalog : Catalog
        Rates and limits of the air.
    hazards : tuple of Hazard
        Of the survey: records of what only a person settles.
    quotes : sequence of HousePart
        What other trades do beside them, at their own prices.

    Returns
    -------
    Together
        The heat of the fresh air that the work makes fans bring is taken from the saving; what
        was owed before is not charged to it.
    """
    sealed = [option.change.removed for option in options]
    sealed += [Band(part.seals, part.seals, part.seals) for part in quotes if part.seals]
    removed = sum(sealed, Band(0.0, 0.0, 0.0))
    tight = house_tight(house, air, sealed, catalog)
    tight = replace(tight, findings=by_person(tight.findings, hazards, catalog, house))
    total = combine([o.price for o in options if o.price is not None], prices)
    change = Change(
        sum(o.change.before for o in options) + sum(part.loss for part in quotes),
        sum(o.change.after for o in options) + sum(part.loss - part.spared for part in quotes),
        removed,
    )
    cost = float(total.total) + sum(part.price or 0.0 for part in quotes) or None
    fresh = tight.fresh.increase if removed.high > 0.0 else 0.0
    return Together(tight, total, worth(change, heating, cost, fresh))
