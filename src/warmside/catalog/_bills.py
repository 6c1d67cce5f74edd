"""A year's fuel as the bill has it, in the unit of the fuel's row."""

from __future__ import annotations

import re

from warmside import units
from warmside.catalog._rows import Fuel
from warmside.errors import UnitError

# by the unit of the row: what it is sold by, and that unit [m3]
_SOLD = {
    "m3": (re.compile(r"m3|m³|ft|ccf|mcf|cu|cf", re.IGNORECASE), 1.0, '"2900 m3" or "1050 ccf"'),
    "L": (re.compile(r"\d\s*l\b|lit|gal", re.IGNORECASE), 1e-3, '"2400 L" or "635 US gal"'),
    "cord": (re.compile("cord", re.IGNORECASE), 128 * units.FOOT**3, '"4 cords"'),
}


def billed_amount(billed: float | str, fuel: Fuel) -> float:
    """What was billed, in the unit of the fuel's row.

    Parameters
    ----------
    billed : float or str
        A number in that unit; or text with energy ("1020 therms"), or with the volume that such
        a fuel is sold by ("635 US gal" of oil).
    fuel : Fuel
        Its heat content [J per unit] turns energy into an amount.

    Raises
    ------
    UnitError
        A unit that this fuel is not sold by.
    """
    if isinstance(billed, (int, float)):
        return float(billed)
    try:
        return units.parse(billed, "energy") / fuel.heat_content
    except UnitError:
        pass
    sold = _SOLD.get(fuel.unit)
    if sold is None or not sold[0].search(billed):
        examples = f"{sold[2]}, or " if sold else ""
        raise UnitError(billed, f'{examples}energy such as "1020 therms" or "14000 kWh"')
    return units.parse(billed, "volume") / sold[1]
