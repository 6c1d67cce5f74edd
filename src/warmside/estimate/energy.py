"""What the price file says of fuel, in the form in which savings are judged."""

from __future__ import annotations

from warmside.catalog import Fuel
from warmside.estimate.parts import PriceList
from warmside.promises import EnergyTerms
from warmside.units import BTU, KWH

# [J]; the therm of 1e5 international Btu, the MMBtu of a million
_BY_HEAT = {"kWh": KWH, "therm": 1e5 * BTU, "MMBtu": 1e6 * BTU, "GJ": 1e9}
# [m3]; the gallon is that of the United States, the foot of 0.3048 m
_BY_VOLUME = {
    "m3": 1.0, "L": 1e-3, "gal": 3.785411784e-3,
    "ft3": 0.3048**3, "ccf": 100 * 0.3048**3, "mcf": 1000 * 0.3048**3,
}  # fmt: skip


def sold_as(fuel: Fuel, unit: str) -> float | None:
    """How much of ``fuel``, in its own unit, one ``unit`` of the bill holds.

    By volume where both are volumes, else by the higher heating value that the bill and the
    catalog's row both mean; None where neither tells.

    Parameters
    ----------
    fuel : Fuel
        A fuel of the catalog.
    unit : str
        As the trade sells it: m3, L, gal (United States), ft3, ccf, mcf, kWh, therm, MMBtu, GJ, or
        the fuel's own unit.
    """
    if unit == fuel.unit:
        return 1.0
    if unit in _BY_VOLUME and fuel.unit in _BY_VOLUME:
        return _BY_VOLUME[unit] / _BY_VOLUME[fuel.unit]
    if unit in _BY_HEAT:
        return _BY_HEAT[unit] / fuel.heat_content
    return None


def energy_terms(
    prices: PriceList, fuel: Fuel, electricity: Fuel | None = None
) -> EnergyTerms | None:
    """Price of ``fuel`` and rates of the file, or None where it has no price by a unit of the fuel.

    Parameters
    ----------
    prices : PriceList
        The user's prices.
    fuel : Fuel
        A fuel of the catalog.
    electricity : Fuel, optional
        What cools the rooms.

    Returns
    -------
    EnergyTerms or None
        In the currency of the list.
    """
    row = prices.energy_row(fuel.id)
    amount = None if row is None else sold_as(fuel, row.unit)
    if row is None or amount is None:
        return None
    power = prices.energy_row(electricity.id) if electricity else None
    of_it = sold_as(electricity, power.unit) if electricity and power else None
    return EnergyTerms(
        currency=prices.currency,
        price=float(row.price) / amount,
        rise=float(row.rise),
        discount=None if prices.discount is None else float(prices.discount),
        years=prices.years,
        source=prices.source,
        sold=(row.unit, amount),
        finished=prices.finished,
        cooling_price=float(power.price) / of_it / electricity.heat_content
        if electricity and power and of_it
        else None,
    )
