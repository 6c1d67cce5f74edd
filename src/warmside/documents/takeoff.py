"""Takeoff and sums as the appendix shows them: the many joints of a wall told in one row."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

from warmside.documents.proposal_data import Sum, TakeoffRow
from warmside.documents.words import References, raised
from warmside.estimate import Price
from warmside.options import Quantity
from warmside.study import OptionStudy

_JOINT = "Joint to seal, "


def takeoff_rows(option: OptionStudy, refs: References) -> tuple[TakeoffRow, ...]:
    """Lines of an option's takeoff with their prices; joints of every kind in one line.

    A line carries its source only where it differs from that of the line above.

    Parameters
    ----------
    option : OptionStudy
        The option.
    refs : References
        Takes the sources used.
    """
    prices = {line.quantity.key: line for line in option.price.lines} if option.price else {}
    joints = [q for q in option.quantities if q.group == "joint"]
    rows = []
    for quantity in option.quantities:
        if quantity.group == "joint":
            if quantity is joints[0]:
                rows.append(_joints(joints, refs))
            continue
        line = prices.get(quantity.key)
        rows.append(
            TakeoffRow(
                name=quantity.name,
                amount=_amount(quantity),
                unit=raised(quantity.unit),
                how=raised(str(quantity.how)),
                unit_price=f"{line.price:,.2f}" if line else "",
                total=f"{line.total:,.2f}" if line else "",
                refs=refs.to(quantity.source),
            )
        )
    return tuple(
        replace(row, refs=()) if above is not None and above.refs == row.refs else row
        for above, row in zip([None, *rows], rows, strict=False)
    )


def _joints(joints: list[Quantity], refs: References) -> TakeoffRow:
    """One row for all joints, the kinds told by bead, the longest first."""
    by_bead: dict[str, list[str]] = {}
    for q in sorted(joints, key=lambda q: -q.amount):
        kind, _, bead = q.name.removeprefix(_JOINT).partition(", ")
        count = str(q.how).partition(" joint")[0]
        by_bead.setdefault(bead, []).append(f"{kind} {q.amount:.2f} m ({count})")
    told = "; ".join(f"{bead}: {', '.join(kinds)}" for bead, kinds in by_bead.items())
    return TakeoffRow(
        name="Joints to seal, by bead and kind (how many)",
        amount=f"{sum(q.amount for q in joints):,.2f}",
        unit="m",
        how=raised(told),
        refs=refs.to(*(q.source for q in joints)),
    )


def _amount(quantity: Quantity) -> str:
    whole = quantity.amount == int(quantity.amount) or quantity.amount >= 1000
    return f"{quantity.amount:,.0f}" if whole else f"{quantity.amount:,.2f}"


def sums(price: Price, top_up: Decimal = Decimal(0)) -> tuple[Sum, ...]:
    """Cost, margin, taxes and total, each as printed.

    Parameters
    ----------
    price : Price
        Of one option or of the house.
    top_up : Decimal
        What brings a small job up to the least charge.
    """
    lines = [Sum("Cost", f"{price.cost:,.2f}"), Sum("Margin", f"{price.margin:,.2f}")]
    if top_up:
        lines.append(Sum("Up to the least charge", f"{top_up:,.2f}"))
    lines += [Sum(name, f"{amount:,.2f}") for name, amount in price.taxes]
    return (*lines, Sum(f"Total {price.currency}", f"{price.total:,.2f}", strong=True))
