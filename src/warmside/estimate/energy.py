"""What the price file says of fuel, in the form in which savings are judged."""

from __future__ import annotations

from warmside.catalog import Fuel
from warmside.estimate.parts import PriceList
from warmside.promises import EnergyTerms


def energy_terms(prices: PriceList, fuel: Fuel) -> EnergyTerms | None:
    """Price of ``fuel`` and rates of the file, or None where it has no price by the fuel's unit.

    Parameters
    ----------
    prices : PriceList
        The user's prices.
    fuel : Fuel
        A fuel of the catalog.

    Returns
    -------
    EnergyTerms or None
        In the currency of the list.
    """
    row = prices.energy_row(fuel.id)
    if row is None or row.unit != fuel.unit:
        return None
    return EnergyTerms(
        currency=prices.currency,
        price=float(row.price),
        rise=float(row.rise),
        discount=None if prices.discount is None else float(prices.discount),
        years=prices.years,
        source=prices.source,
    )
