"""What an option takes, and what it costs.

Money is ``decimal.Decimal``, rounded half up to the currency's smallest coin at each line; every
sum is a sum of rounded lines, so that what is printed adds up exactly.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from functools import cached_property
from typing import Literal

from warmside.catalog import Source
from warmside.estimate.terms import Contractor, Terms
from warmside.options import Quantity, Trade
from warmside.promises import FinishedJob

RowKind = Literal["material", "labour", "disposal", "fixed", "rate"]


ROUGH_WOOD = Decimal("0.12")  # [-] more sealant than geometry says: common practice, 10-15 %


@dataclass(frozen=True)
class PriceRow:
    """A price of the user's own file; a ``rate`` row holds hours per unit instead of money.

    ``unit`` is the one that the user chose; ``per`` of it make one unit of the takeoff. ``trade``
    is whose work it is, where the user says so. ``own``: learnt from the user's own day records.
    """

    key: str
    name: str
    unit: str
    price: Decimal  # per ``unit``, in the file's currency; kind "rate": hours per unit
    kind: RowKind
    note: str = ""
    per: Decimal = Decimal(1)  # [-]
    trade: Trade | None = None
    own: bool = False

    @property
    def each(self) -> Decimal:
        """Money, or hours, per unit of the takeoff."""
        return self.price * self.per


@dataclass(frozen=True)
class Travel:
    """The way to the house: ``distance`` one way, ``free`` of it not charged; ``trips`` there."""

    distance: Decimal  # in ``unit``
    free: Decimal
    trips: int
    price: Decimal  # per ``unit``
    unit: str  # "km" or "mile"

    @property
    def charged(self) -> Decimal:
        """What is charged, there and back, all trips."""
        return max(self.distance - self.free, Decimal(0)) * 2 * self.trips


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
    mark_up: Decimal  # [-] of the cost of the own crew's lines
    taxes: tuple[tuple[str, Decimal], ...]  # (name, rate [-]), each on what is charged before them
    rough: Decimal = ROUGH_WOOD  # [-] of sealant beyond the beads' geometry
    minimum: Decimal = Decimal(0)  # least charge for a house, before taxes
    subcontracted: tuple[Trade, ...] = ()  # trades that others do
    subcontract: Decimal = Decimal(0)  # [-] added to what they cost, instead of ``mark_up``
    reduction: Decimal = Decimal(0)  # [-] taken off cost and mark-ups
    travel: Travel | None = None
    place: str = ""  # province or state, whose taxes apply
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
        return self._priced.get(key) or self._priced.get(key.partition(":")[0])

    def energy_row(self, fuel: str) -> EnergyRow | None:
        """Price of a fuel of the catalog, or None."""
        return next((row for row in self.energy if row.fuel == fuel), None)

    def rate(self, task: str) -> PriceRow | None:
        """Hours per unit of ``task``, or None."""
        return self._rates.get(task)

    @property
    def counted_by(self) -> tuple[object, ...]:
        """What a takeoff takes from the list; prices alike in it leave every amount as it was."""
        return tuple(self._rates.values()), self.rough, self.source

    @cached_property
    def _priced(self) -> Mapping[str, PriceRow]:
        return {row.key: row for row in self.rows if row.kind not in ("rate", "fixed")}

    @cached_property
    def _rates(self) -> Mapping[str, PriceRow]:
        return {row.key: row for row in reversed(self.rows) if row.kind == "rate"}  # the first


@dataclass(frozen=True)
class PriceLine:
    """A takeoff line with its price; ``amount``, in ``unit``, is what is printed and multiplied.

    ``trade`` is whose work it is by the price file, else by the work itself.
    """

    quantity: Quantity
    amount: Decimal
    price: Decimal
    total: Decimal
    unit: str = ""
    trade: Trade = "own crew"


@dataclass(frozen=True)
class Price:
    """What one option costs on one wall, or on the house.

    ``cost`` is the sum of the lines; ``total`` = cost + subcontract + margin - reduction + top_up
    + taxes, exactly. With ``missing`` it is no price: it lacks what is named there.
    """

    currency: str
    lines: tuple[PriceLine, ...]
    cost: Decimal  # before mark-ups
    margin: Decimal  # on the own crew's lines
    taxes: tuple[tuple[str, Decimal], ...]  # (name, amount)
    total: Decimal
    missing: tuple[str, ...] = ()  # takeoff keys without a price row, and why
    top_up: Decimal = Decimal(0)  # up to the least charge; only on the house
    invented: bool = False  # from a price list that is invented
    subcontract: Decimal = Decimal(0)  # on the lines of other trades
    reduction: Decimal = Decimal(0)  # taken off

    @property
    def before_tax(self) -> Decimal:
        """The total without taxes."""
        return self.total - sum((amount for _, amount in self.taxes), Decimal(0))

    @property
    def unpriced(self) -> bool:
        """Whether something of it has no price."""
        return bool(self.missing)

    @property
    def known(self) -> float | None:
        """The total; None where something of it has no price: money then ranks nothing."""
        return None if self.unpriced else float(self.total)

    @property
    def by_step(self) -> dict[str, Decimal]:
        """Cost of each of the crew's steps; they add up to ``cost``."""
        sums: dict[str, Decimal] = {}
        for line in self.lines:
            step = line.quantity.step
            sums[step] = sums.get(step, Decimal(0)) + line.total
        return sums
