"""By what a contractor counts and pays: units of a price row beside that of the takeoff."""

from __future__ import annotations

from decimal import Decimal
from types import MappingProxyType

_FT, _FT2 = Decimal("0.3048"), Decimal("0.09290304")  # [m], [m2] exact
_FT3, _YD3 = Decimal("0.028316846592"), Decimal("0.764554857984")  # [m3] exact
_GAL, _LB = Decimal("3.785411784"), Decimal("0.45359237")  # [L] of the United States, [kg] exact
_SHEET = 32 * _FT2  # [m2]
_BOARD_FOOT = Decimal("2.359737216")  # [L] exact
_MILE = Decimal("1.609344")  # [km] exact

# for each unit of the takeoff, how large one of the other units is, in it
_SIZES = {
    "m": {"m": Decimal(1), "ft": _FT},
    "m2": {"m2": Decimal(1), "ft2": _FT2},
    "m3": {"m3": Decimal(1), "ft3": _FT3, "yd3": _YD3},
    "L": {"L": Decimal(1), "gal": _GAL, "board ft": _BOARD_FOOT, "ft3": _FT3 * 1000},
    "kg": {"kg": Decimal(1), "lb": _LB},
    "board ft": {"board ft": Decimal(1), "board foot": Decimal(1),
                 "m3": 1000 / _BOARD_FOOT, "L": 1 / _BOARD_FOOT},
    "sheet": {"sheet": Decimal(1), "m2": 1 / _SHEET, "ft2": _FT2 / _SHEET},
    "h": {"h": Decimal(1), "hour": Decimal(1)},
    "km": {"km": Decimal(1), "mile": _MILE},
}  # fmt: skip
UNITS: MappingProxyType[str, MappingProxyType[str, Decimal]] = MappingProxyType(
    {unit: MappingProxyType(sizes) for unit, sizes in _SIZES.items()}
)


def choices(unit: str) -> tuple[str, ...]:
    """Units in which a row of the takeoff's ``unit`` may be priced; "h/m2" counts hours a unit."""
    if unit.startswith("h/"):
        return tuple(f"h/{one}" for one in choices(unit.removeprefix("h/")))
    return tuple(UNITS.get(unit, {unit: 1}))


def per(unit: str, chosen: str) -> Decimal:
    """How many of ``chosen`` make one ``unit`` of the takeoff [-].

    Raises
    ------
    KeyError
        A unit that is none of `choices`.
    """
    unit, chosen = unit.removeprefix("h/"), chosen.removeprefix("h/")
    if unit == chosen:
        return Decimal(1)
    return 1 / UNITS[unit][chosen]
