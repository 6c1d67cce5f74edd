"""Hours by task: an amount of the takeoff times the hours per unit of the price file."""

from __future__ import annotations

from dataclasses import dataclass

from warmside.estimate.parts import PriceList, Quantity
from warmside.wording import figure_by_unit, say


@dataclass(frozen=True)
class Task:
    """A task, and which lines of the takeoff its hours follow."""

    key: str
    name: str
    group: str  # of the quantities that drive it
    unit: str  # of those


TASKS = (
    Task("mask", "Mask, ventilate, set up", "masking", "m2"),
    Task("strip", "Strip the inside finish", "strip", "m2"),
    Task("strip_outside", "Strip the outside layers", "strip_outside", "m2"),
    Task("remove_fill", "Take out old fill", "old_fill", "m3"),
    Task("clean", "Clean the bays", "bay_area", "m2"),
    Task("drill", "Drill and plug", "drill_hole", "each"),
    Task("seal", "Seal the joints", "joint", "m"),
    Task("gasket", "Fit box gaskets", "box_gasket", "each"),
    Task("spray_closed_cell", "Spray closed-cell foam", "foam_closed_cell", "board ft"),
    Task("spray_open_cell", "Spray open-cell foam", "foam_open_cell", "board ft"),
    Task("trim", "Trim flush with the studs", "trim", "m2"),
    Task("batt", "Fit batts", "batt", "m2"),
    Task("vapour_control", "Fit the vapour control layer", "vapour_control", "m2"),
    Task("furring", "Fit furring", "furring", "m"),
    Task("jamb", "Extend jambs", "jamb_extension", "each"),
    Task("board", "Hang and fill finish sheets", "finish_sheet", "sheet"),
    Task("plaster", "Plaster", "plaster", "m2"),
    Task("paint", "Paint", "paint", "m2"),
    Task("sheathing", "Fit sheathing", "sheathing_sheet", "sheet"),
    Task("exterior_board", "Fit rigid board outside", "exterior_board", "m2"),
    Task("membrane", "Fit the outside membrane", "membrane", "m2"),
    Task("cladding", "Put the cladding back", "refit", "m2"),
    Task("clean_up", "Clean up", "wall_area", "m2"),
)


def labour_quantities(quantities: tuple[Quantity, ...], prices: PriceList) -> tuple[Quantity, ...]:
    """Hours of every task that the takeoff calls for.

    A task without a row of hours keeps its amount and unit, so that no price fits it and it is
    listed as missing, never left out.

    Parameters
    ----------
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
    for task in TASKS:
        amount = amounts.get(task.group, 0.0)
        if amount <= 0:
            continue
        rate = prices.rate(task.key)
        if rate is None:
            how = say(
                "{amount}; no row of hours for '{task}' in the price file",
                amount=figure_by_unit(amount, task.unit),
                task=task.key,
            )
            hours, unit = amount, task.unit
        else:
            hours, unit = amount * float(rate.price), "h"
            how = say(
                "{amount} × {rate} h/{unit}",
                amount=figure_by_unit(amount, task.unit),
                rate=str(rate.price),
                unit=task.unit.replace("m2", "m²").replace("m3", "m³"),
            )
        lines.append(Quantity(f"labour:{task.key}", task.name, hours, unit, how, prices.source))
    return tuple(lines)
