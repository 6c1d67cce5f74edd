"""What a report is made of: statements, facts, lines of a takeoff, sums."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from warmside.catalog import Source
from warmside.estimate import Price, PriceLine
from warmside.options import Quantity
from warmside.wording import Figure, Sentence, amount_by_unit, joined, raised, say

_JOINT = "Joint to seal, "


@dataclass(frozen=True)
class Statement:
    """One sentence, with what it rests on."""

    text: Sentence
    sources: tuple[Source, ...] = ()


@dataclass(frozen=True)
class Fact:
    """A name and its figure: ``Length``, ``16 ft``."""

    name: str
    value: Sentence


@dataclass(frozen=True)
class Line:
    """One line of takeoff with its price; ``amount`` for a reader's own units."""

    name: str
    amount: Figure
    listed: Figure  # the amount in the price list's own unit, as it is multiplied
    unit: str
    how: Sentence
    unit_price: str  # money to the cent, as in the price list
    total: str
    sources: tuple[Source, ...]


@dataclass(frozen=True)
class Sum:
    """A line under a sum, to the cent: cost, margin, tax, total. ``strong`` for the last."""

    name: str
    amount: str
    strong: bool = False


def cents(amount: Decimal | None) -> str:
    """Money as a price table prints it."""
    return "" if amount is None else f"{amount:,.2f}"


def sums(price: Price, top_up: Decimal = Decimal(0)) -> tuple[Sum, ...]:
    """Cost, mark-ups, discount, what brings a small job up to the least charge, taxes, total."""
    lines = [Sum("Cost", cents(price.cost)), Sum("Mark-up", cents(price.margin))]
    if price.subcontract:
        lines.append(Sum("Mark-up on other trades", cents(price.subcontract)))
    if price.reduction:
        lines.append(Sum("Discount", cents(-price.reduction)))
    if top_up:
        lines.append(Sum("Up to the least charge", cents(top_up)))
    lines += [Sum(name, cents(amount)) for name, amount in price.taxes]
    return (*lines, Sum(f"Total {price.currency}", cents(price.total), strong=True))


def takeoff_lines(quantities: tuple[Quantity, ...], price: Price | None = None) -> tuple[Line, ...]:
    """Lines of a takeoff with their prices; the many joints of a wall told in one."""
    prices = {line.quantity.key: line for line in price.lines} if price else {}
    joints = [quantity for quantity in quantities if quantity.group == "joint"]
    lines = []
    for quantity in quantities:
        if quantity.group != "joint":
            lines.append(_line(quantity, prices.get(quantity.key)))
        elif quantity is joints[0]:
            lines.append(_joints(joints))
    return tuple(lines)


def _line(quantity: Quantity, priced: PriceLine | None) -> Line:
    return Line(
        name=quantity.name,
        amount=quantity.figure,
        listed=_listed(float(priced.amount) if priced else quantity.amount),
        unit=raised((priced.unit if priced else "") or quantity.unit),
        how=quantity.how,
        unit_price=cents(priced.price) if priced else "",
        total=cents(priced.total) if priced else "",
        sources=(quantity.source,),
    )


def _listed(amount: float) -> Figure:
    """To the hundredth that is multiplied, whole numbers and thousands without."""
    whole = amount == int(amount) or amount >= 1000
    return Figure(amount, "count" if whole else "price")


def _joints(joints: list[Quantity]) -> Line:
    """One line for all joints, the kinds told by bead, the longest first."""
    by_bead: dict[Sentence, list[Sentence]] = {}
    for q in sorted(joints, key=lambda q: -q.amount):
        kind = q.name.removeprefix(_JOINT).removesuffix(f", {q.size}")
        # "12 joints, 30 ft: ..." of one wall, "8 walls: ..." of several
        counted, joint, _ = str(q.how).partition(" joint")
        count = counted if joint else counted.partition(":")[0]
        one = say("{kind} {length} ({count})", kind=kind, length=q.figure, count=count)
        by_bead.setdefault(q.size, []).append(one)
    told = [
        say("{bead}: {kinds}", bead=bead, kinds=joined(kinds, ", "))
        for bead, kinds in by_bead.items()
    ]
    return Line(
        name="Joints to seal, by bead and kind (how many)",
        amount=amount_by_unit(sum(q.amount for q in joints), "m"),
        listed=_listed(sum(q.amount for q in joints)),
        unit="m",
        how=joined(told, "; "),
        unit_price="",
        total="",
        sources=tuple(dict.fromkeys(q.source for q in joints)),
    )
