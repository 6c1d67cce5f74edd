"""From useful heat to fuel."""

from __future__ import annotations

from warmside.errors import Fault, InputError


def fuel_amount(heat: float, heat_content: float, efficiency: float) -> float:
    """Fuel burnt for an amount of useful heat: ``amount = heat / (efficiency x heat content)``.

    Parameters
    ----------
    heat : float
        Useful heat [J].
    heat_content : float
        Higher heating value [J] of one unit of the fuel: m3, L, kWh.
    efficiency : float
        Seasonal efficiency [-]; above 1 for a heat pump.

    Returns
    -------
    float
        In the unit of ``heat_content``.

    Raises
    ------
    InputError
        An efficiency outside 0 to 6, a heat content of nothing.
    """
    if not 0.0 < efficiency <= 6.0:
        raise InputError([Fault("fuel, efficiency", f"{efficiency:g}", "above 0, at most 6")])
    if not 0.0 < heat_content < float("inf"):
        raise InputError([Fault("fuel, heat content", f"{heat_content:g} J", "above 0")])
    return heat / (efficiency * heat_content)
