"""What an option takes, and what it costs.

Money is ``decimal.Decimal``, rounded half up to the currency's smallest coin at each line; every
sum is a sum of rounded lines, so that what is printed adds up exactly.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from decimal import Decimal
from typing import Literal

from warmside.catalog import Source
from warmside.estimate.terms import Contractor, Terms
from warmside.options import Quantity
from warmside.promises import FinishedJob

RowKind = Literal["material", "labour", "disposal", "fixed", "rate"]


@dataclass(frozen=True)
class PriceRow:
    """A price of the user's own file; a ``rate`` row holds hours per unit instead of money."""

    key: str
    name: str
    unit: str
    price: Decimal  # per unit, in the file's currency; kind "rate": hours per unit
    kind: RowKind
    note: str = ""


@dataclass(frozen=True)
class EnergyRow:
    """Price of one fuel, by its unit in the catalog, and how fast it is taken to rise."""

    fuel: str  # a fuel of the catalog
    unit: str
    price: Decimal  # per unit, taxes included
    rise: Decimal  # [-] a year, above or below other prices' rise as the discount rate is


@dataclass(frozen=True)
class PriceList:
    """The user's prices, margin and taxes."""

    currency: str  # ISO 4217 code
    title: str
    invented: bool  # True for the list that comes with the program
    rows: tuple[PriceRow, ...]
    margin: Decimal  # [-] of cost
    taxes: tuple[tuple[str, Decimal], ...]  # (name, rate [-]), each on cost + margin
    minimum: Decimal = Decimal(0)  # least charge for a house, before taxes
    energy: tuple[EnergyRow, ...] = ()
    discount: Decimal | None = None  # [-] a year; None: savings are not valued over years
    years: int = 30  # over which savings count
    finished: tuple[FinishedJob, ...] = ()  # whose saving was measured by bills
    contractor: Contractor = field(default_factory=Contractor)
    terms: Terms = field(default_factory=Terms)

    @property
    def source(self) -> Source:
        """The list as the source of what it prices."""
        return Source(self.title, "invented" if self.invented else "own figure")

    def row(self, key: str) -> PriceRow | None:
        """Row of ``key``, or else of its group, or None."""
        by_key = {row.key: row for row in self.rows if row.kind not in ("rate", "fixed")}
        return by_key.get(key) or by_key.get(key.partition(":")[0])

    def energy_row(self, fuel: str) -> EnergyRow | None:
        """Price of a fuel of the catalog, or None."""
        return next((row for row in self.energy if row.fuel == fuel), None)

    def rate(self, task: str) -> PriceRow | None:
        """Hours per unit of ``task``, or None."""
        return next((row for row in self.rows if row.kind == "rate" and row.key == task), None)


@dataclass(frozen=True)
class PriceLine:
    """A takeoff line with its price; ``amount`` is what is printed and multiplied."""

    quantity: Quantity
    amount: Decimal
    price: Decimal
    total: Decimal


@dataclass(frozen=True)
class Price:
    """What one option costs on one wall, or on the house.

    ``cost`` is the sum of the lines; ``total`` = cost + margin + top_up + taxes, exactly.
    """

    currency: str
    lines: tuple[PriceLine, ...]
    cost: Decimal  # before margin
    margin: Decimal
    taxes: tuple[tuple[str, Decimal], ...]  # (name, amount)
    total: Decimal
    missing: tuple[str, ...] = ()  # takeoff keys without a price row, and why
    top_up: Decimal = Decimal(0)  # up to the least charge; only on the house
    invented: bool = False  # from a price list that is invented
