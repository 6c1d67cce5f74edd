"""What an option takes, and what it costs."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from warmside.catalog import Source


@dataclass(frozen=True)
class Quantity:
    """One line of the takeoff."""

    key: str  # "foam_board_feet", "sealant_m", ... also the key of its price row
    name: str
    amount: float  # in ``unit``
    unit: str  # "board ft", "m", "cartridge", "sheet", "h", "m3", "each"
    how: str  # the arithmetic in words and numbers
    source: Source


@dataclass(frozen=True)
class PriceRow:
    """A price of the user's own file."""

    key: str
    name: str
    unit: str
    price: float  # per unit, in the file's currency
    kind: Literal["material", "labour", "disposal", "fixed", "rate"]
    note: str = ""


@dataclass(frozen=True)
class PriceList:
    """The user's prices, margin and taxes."""

    currency: str
    title: str
    invented: bool  # True for the list that comes with the program
    rows: tuple[PriceRow, ...]
    margin: float  # [-] of cost
    taxes: tuple[tuple[str, float], ...]  # (name, rate [-])


@dataclass(frozen=True)
class PriceLine:
    """A takeoff line with its price."""

    quantity: Quantity
    price: float
    total: float


@dataclass(frozen=True)
class Price:
    """What one option costs on one wall, or on the house."""

    currency: str
    lines: tuple[PriceLine, ...]
    cost: float  # before margin
    margin: float
    taxes: tuple[tuple[str, float], ...]  # (name, amount)
    total: float
    missing: tuple[str, ...] = ()  # takeoff keys without a price row
