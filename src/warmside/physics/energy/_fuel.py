"""From useful heat to fuel and carbon dioxide."""

from __future__ import annotations

from dataclasses import dataclass

from warmside.catalog import Fuel
from warmside.errors import Fault, InputError


@dataclass(frozen=True)
class FuelUse:
    """Fuel burnt, in the fuel's own unit, and the carbon dioxide that comes of it [kg]."""

    fuel: Fuel
    amount: float
    co2: float
    co2_low: float
    co2_high: float


def fuel_use(heat: float, fuel: Fuel, efficiency: float) -> FuelUse:
    """Fuel for an amount of useful heat: ``amount = heat / (efficiency x heat content)``.

    Parameters
    ----------
    heat : float
        Useful heat [J].
    fuel : Fuel
        Row of the catalog.
    efficiency : float
        Seasonal efficiency [-]; above 1 for a heat pump.

    Returns
    -------
    FuelUse
        Amount in ``fuel.unit`` and CO2 [kg].

    Raises
    ------
    InputError
        An efficiency outside 0 to 6.
    """
    if not 0.0 < efficiency <= 6.0:
        raise InputError([Fault("fuel, efficiency", f"{efficiency:g}", "above 0, at most 6")])
    amount = heat / (efficiency * fuel.heat_content)
    return FuelUse(fuel, amount, amount * fuel.co2, amount * fuel.co2_low, amount * fuel.co2_high)
