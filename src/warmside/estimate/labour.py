"""Hours by task: an amount of the takeoff times the hours per unit of the price file."""

from __future__ import annotations

from warmside.estimate.parts import PriceList
from warmside.options import Quantity, Task
from warmside.wording import amount_by_unit, say


def labour_quantities(
    tasks: tuple[Task, ...], quantities: tuple[Quantity, ...], prices: PriceList
) -> tuple[Quantity, ...]:
    """Hours of every task that the takeoff calls for, in the order of the work.

    A task without a row of hours keeps its amount and unit, so that no price fits it and it is
    listed as missing, never left out.

    Parameters
    ----------
    tasks : tuple of Task
        Of the kind of option.
    quantities : tuple of Quantity
        The takeoff without labour.
    prices : PriceList
        Its ``rate`` rows hold hours per unit.

    Returns
    -------
    tuple of Quantity
        Crew hours, added over the people [h].
    """
    lines = []
    amounts: dict[str, float] = {}
    for quantity in quantities:
        amounts[quantity.group] = amounts.get(quantity.group, 0.0) + quantity.amount
    for task in tasks:
        amount = amounts.get(task.group, 0.0)
        if amount <= 0:
            continue
        rate = prices.rate(task.key)
        if rate is None:
            how = say(
                "{amount}; no row of hours for '{task}' in the price file",
                amount=amount_by_unit(amount, task.unit),
                task=task.key,
            )
            hours, unit = amount, task.unit
        else:
            hours, unit = amount * float(rate.each), "h"
            how = say(
                "{amount} × {rate} h/{unit}",
                amount=amount_by_unit(amount, task.unit),
                rate=str(rate.price),
                unit=_raised(rate.unit.removeprefix("h/")),
            )
            if rate.own:
                how = say("{how}, {own}", how=how, own=rate.note)
        lines.append(
            Quantity(f"labour:{task.key}", task.name, hours, unit, how, prices.source,
                     step=task.step, trade=task.trade)
        )  # fmt: skip
    return tuple(lines)


def _raised(unit: str) -> str:
    for plain, raised in (("ft2", "ft²"), ("m2", "m²"), ("m3", "m³"), ("ft3", "ft³")):
        unit = unit.replace(plain, raised)
    return unit
