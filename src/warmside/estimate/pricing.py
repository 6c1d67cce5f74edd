"""Quantities times prices, in whole coins."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from decimal import ROUND_HALF_UP, Decimal

from warmside.errors import Fault, InputError
from warmside.estimate.parts import Price, PriceLine, PriceList, PriceRow, Travel
from warmside.estimate.trade_units import choices
from warmside.options import Quantity, Trade
from warmside.wording import Sentence, counted, say
from warmside.works import HOUSE_WORKS, SET_UP

OWN: Trade = "own crew"

_PRINTED = Decimal("0.01")  # amounts are printed, and priced, to hundredths of their unit
# currencies whose smallest unit is not a hundredth: ISO 4217, from memory
_PLACES = {
    **dict.fromkeys(("CLP", "ISK", "JPY", "KRW", "PYG", "UGX", "VND", "XAF", "XOF", "XPF"), 0),
    **dict.fromkeys(("BHD", "IQD", "JOD", "KWD", "LYD", "OMR", "TND"), 3),
}


def coin(currency: str) -> Decimal:
    """Smallest unit of the currency: 0.01 unless ISO 4217 says otherwise."""
    return Decimal(1).scaleb(-_PLACES.get(currency, 2))


def rounded(money: Decimal, currency: str) -> Decimal:
    """``money`` to the smallest unit, half up."""
    return money.quantize(coin(currency), ROUND_HALF_UP)


def printed_amount(amount: float) -> Decimal:
    """An amount as it is printed and priced: to hundredths, half up."""
    return Decimal(repr(float(amount))).quantize(_PRINTED, ROUND_HALF_UP)


def price(quantities: Sequence[Quantity], prices: PriceList) -> Price:
    """Price of a takeoff.

    Line total = printed amount x price, rounded half up to the smallest coin; cost = sum of the
    line totals. The own crew's lines bear the mark-up, those of subcontracted trades the
    subcontract's; the discount is a share of cost and mark-ups; each tax = what is charged x rate.
    Each is rounded, and total = cost + mark-ups - discount + taxes with no further rounding.

    Parameters
    ----------
    quantities : sequence of Quantity
        A takeoff; lines with ``priced=False`` are passed over.
    prices : PriceList
        The user's prices.

    Returns
    -------
    Price
        In the currency of the list. Lines without a fitting row are named in ``missing`` and
        are not part of the total.

    Raises
    ------
    InputError
        An amount that is negative or not finite.
    """
    lines, missing = [], []
    for quantity in quantities:
        if not (math.isfinite(quantity.amount) and 0 <= quantity.amount < 1e12):
            fault = Fault(f"takeoff, {quantity.key}", f"{quantity.amount!r}", "0 or more, finite")
            raise InputError([fault])
        if not quantity.priced:
            continue
        row = prices.row(quantity.key)
        if row is None:
            missing.append(f"{quantity.key}: no price row")
        elif row.unit not in choices(quantity.unit):
            missing.append(f"{quantity.key}: counted in {quantity.unit}, priced by {row.unit}")
        else:
            lines.append(_line(quantity, row, prices.currency))
    return _sum_up(lines, prices, tuple(missing))


def _line(quantity: Quantity, row: PriceRow, currency: str) -> PriceLine:
    amount = printed_amount(quantity.amount * float(row.per))
    total = rounded(amount * row.price, currency)
    return PriceLine(quantity, amount, row.price, total, row.unit, row.trade or quantity.trade)


def _sum_up(lines: Sequence[PriceLine], prices: PriceList, missing: tuple[str, ...]) -> Price:
    zero = rounded(Decimal(0), prices.currency)
    cost = sum((line.total for line in lines), zero)
    others = sum((x.total for x in lines if x.trade in prices.subcontracted), zero)
    margin = rounded((cost - others) * prices.mark_up, prices.currency)
    subcontract = rounded(others * prices.subcontract, prices.currency)
    reduction = rounded((cost + margin + subcontract) * prices.reduction, prices.currency)
    charged = cost + margin + subcontract - reduction
    taxes = _taxes(charged, prices)
    return Price(
        prices.currency,
        tuple(lines),
        cost,
        margin,
        taxes,
        sum((amount for _, amount in taxes), charged),
        missing,
        zero,
        prices.invented,
        subcontract,
        reduction,
    )


def _taxes(base: Decimal, prices: PriceList) -> tuple[tuple[str, Decimal], ...]:
    return tuple((name, rounded(base * rate, prices.currency)) for name, rate in prices.taxes)


def fixed_price(prices: PriceList) -> Price:
    """Price of what a house pays once: mobilisation and the like, and the way to it."""
    lines = [
        _line(
            _once(row.key, row.name, 1.0, "house", say("once for the house"), prices),
            row,
            prices.currency,
        )
        for row in prices.rows
        if row.kind == "fixed"
    ]
    if prices.travel is not None and prices.travel.charged > 0:
        lines.append(_way(prices.travel, prices))
    return _sum_up(lines, prices, ())


def _once(
    key: str, name: str, amount: float, unit: str, how: Sentence, prices: PriceList
) -> Quantity:
    work = next((work for work in HOUSE_WORKS if work.row == key), None)
    step, trade = (work.key, work.trade) if work else (SET_UP, OWN)
    return Quantity(f"fixed:{key}", name, amount, unit, how, prices.source, step=step, trade=trade)


def _way(travel: Travel, prices: PriceList) -> PriceLine:
    how = say(
        "{trips} there and back, {distance} {unit} each way less {free} free",
        trips=counted(travel.trips, "trip"),
        distance=format(travel.distance, "f"),
        free=format(travel.free, "f"),
        unit=travel.unit,
    )
    row = PriceRow("travel", "Travel", travel.unit, travel.price, "fixed")
    amount = float(travel.charged)
    return _line(_once("travel", "Travel", amount, travel.unit, how, prices), row, prices.currency)


def combine(per_wall: Sequence[Price], prices: PriceList) -> Price:
    """Price of the house: its walls, the fixed rows once, and the least charge.

    Every figure is the sum of figures that are printed for the walls, so that the parts add up
    to the house exactly. A house on which nothing is done costs nothing.

    Parameters
    ----------
    per_wall : sequence of Price
        One for each wall.
    prices : PriceList
        The same list that priced them.

    Returns
    -------
    Price
        Lines of the same key, unit, price and trade added. ``top_up`` is what lifts what is charged
        to the least charge; it is taxed.

    Raises
    ------
    InputError
        A wall in another currency.
    """
    for part in per_wall:
        if part.currency != prices.currency:
            fault = Fault("price of a wall", part.currency, prices.currency)
            raise InputError([fault])
    nothing = _sum_up((), prices, ())
    if not any(part.lines or part.missing for part in per_wall):
        return nothing
    parts = [nothing, *per_wall, fixed_price(prices)]
    cost = sum((part.cost for part in parts), nothing.cost)
    margin = sum((part.margin for part in parts), nothing.margin)
    subcontract = sum((part.subcontract for part in parts), nothing.cost)
    reduction = sum((part.reduction for part in parts), nothing.cost)
    charged = cost + margin + subcontract - reduction
    top_up = max(rounded(prices.minimum, prices.currency) - charged, nothing.cost)
    taxes = _add_taxes([*(part.taxes for part in parts), _taxes(top_up, prices)])
    return Price(
        prices.currency,
        _merge([line for part in parts for line in part.lines]),
        cost,
        margin,
        taxes,
        sum((amount for _, amount in taxes), charged + top_up),
        tuple(dict.fromkeys(word for part in parts for word in part.missing)),
        top_up,
        prices.invented or any(part.invented for part in per_wall),
        subcontract,
        reduction,
    )


def _add_taxes(taxes: Sequence[tuple[tuple[str, Decimal], ...]]) -> tuple[tuple[str, Decimal], ...]:
    sums: dict[str, Decimal] = {}
    for part in taxes:
        for name, amount in part:
            sums[name] = sums.get(name, Decimal(0)) + amount
    return tuple(sums.items())


def _merge(lines: Sequence[PriceLine]) -> tuple[PriceLine, ...]:
    merged: dict[tuple[str, str, Decimal, str], list[PriceLine]] = {}
    for line in lines:
        key = (line.quantity.key, line.unit, line.price, line.quantity.step)
        merged.setdefault(key, []).append(line)
    return tuple(same[0] if len(same) == 1 else _together(same) for same in merged.values())


def _together(same: list[PriceLine]) -> PriceLine:
    quantity = replace(
        same[0].quantity,
        amount=sum(line.quantity.amount for line in same),
        how=say(f"{counted(len(same), 'wall')}, the sum of their lines"),
    )
    zero = same[0].total * 0
    return PriceLine(
        quantity,
        sum((line.amount for line in same), Decimal(0)),
        same[0].price,
        sum((line.total for line in same), zero),
        same[0].unit,
        same[0].trade,
    )


def cost_of_more(less: Price, more: Price) -> Decimal:
    """What more costs: the next half inch, when the two differ by half an inch of foam.

    ``more.total - less.total``, taxes and margin included; negative where more costs less.

    Raises
    ------
    InputError
        The two are in different currencies.
    """
    if less.currency != more.currency:
        raise InputError([Fault("price to compare", more.currency, less.currency)])
    return more.total - less.total
