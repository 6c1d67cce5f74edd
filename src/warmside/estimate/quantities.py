"""The takeoff of one wall, and of several together."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

from warmside.catalog import Catalog, Source
from warmside.errors import UnknownRowError
from warmside.estimate.foam import Fill, foam_fills, foam_quantities
from warmside.estimate.goods import goods_quantities
from warmside.estimate.labour import labour_quantities
from warmside.estimate.parts import PriceList
from warmside.estimate.passes import CREW, PassPlan, idle_wait, pass_plan
from warmside.estimate.price_file import default_prices
from warmside.estimate.removal import removal_quantities
from warmside.estimate.sealant import sealant_quantities
from warmside.options import BuildUp, Quantity, Task, Trade
from warmside.survey import Wall
from warmside.wording import Figure, Sentence, counted, joined, say
from warmside.works import WorkItem, work_items

_WHOLE = ("set", "cartridge", "bin")  # bought whole, carried from wall to wall

_GEOMETRY = Source("geometry of the framing", "computed")
OWN: Trade = "own crew"


def takeoff(
    buildup: BuildUp,
    wall: Wall,
    catalog: Catalog,
    prices: PriceList | None = None,
    crew: int = CREW,
    items: tuple[WorkItem, ...] | None = None,
) -> tuple[Quantity, ...]:
    """Everything that an option takes on one wall, counted from its real bays.

    Parameters
    ----------
    buildup : BuildUp
        An option applied to ``wall``.
    wall : Wall
        The wall as found.
    catalog : Catalog
        Foams, joints and materials.
    prices : PriceList, optional
        Where the hours per unit come from; the invented default when not given.
    crew : int
        People, who all wait while foam cools.
    items : tuple of WorkItem, optional
        What ``work_items`` gives for it; asked for when not given.

    Returns
    -------
    tuple of Quantity
        In the order of the work, every priced line with the crew's step that it belongs to. Empty
        for "leave" and for an option that cannot be built.

    Raises
    ------
    UnknownRowError
        A foam of the build-up that the catalog does not hold.
    """
    kind = buildup.option.kind
    if not kind.worked or not buildup.can_be_built:
        return ()
    fills = foam_fills(buildup)
    lines = [*_areas(buildup, fills, catalog)]
    lines += removal_quantities(buildup, wall, catalog)
    lines += kind.counted(buildup, wall, catalog)
    if buildup.option.seal_joints:
        lines += sealant_quantities(buildup.frame, catalog, kind.reaches, prices)
    for foam in dict.fromkeys(fill.foam for fill in fills):
        if foam not in catalog.foams:
            raise UnknownRowError("foam", foam)
        lines += foam_quantities(fills, catalog.foams[foam])
    lines += goods_quantities(buildup, wall, catalog)
    items = work_items(buildup, wall) if items is None else items
    lines += [line for item in items for line in item.quantities]
    tasks = _once(*kind.tasks, *(task for item in items for task in item.tasks))
    prices = prices or default_prices()
    lines += labour_quantities(tasks, tuple(lines), prices)
    lines += _idle(lines, pass_plan(buildup, catalog, fills), prices, crew)
    lines = [*_in_steps(lines, tasks, items)]
    return tuple(_added(lines, wall))


def _once(*tasks: Task) -> tuple[Task, ...]:
    """Each task once, in the first of the steps that name it."""
    found: dict[str, Task] = {}
    for task in tasks:
        found.setdefault(task.key, task)
    return tuple(found.values())


def _idle(
    lines: list[Quantity], plan: PassPlan, prices: PriceList, crew: int
) -> Iterator[Quantity]:
    """Hours of the whole crew that waits for foam to cool, where no spraying fills them."""
    spraying = sum(q.amount for q in lines if q.key.startswith("labour:spray") and q.unit == "h")
    waiting = idle_wait(plan, spraying, crew)
    if waiting > 0:
        how = say(
            "{wait} that no spraying fills × {people}",
            wait=Figure(waiting * 3600, "time"),
            people=counted(crew, "person", "people"),
        )
        yield Quantity("labour:waiting", "Waiting between passes", waiting * crew, "h", how,
                       prices.source, step="more-passes")  # fmt: skip


# step of what no task follows, by its group or key
_STEPS = {
    "debris:strip": "strip", "bin:strip": "strip",
    "debris:strip_outside": "strip-outside", "bin:strip_outside": "strip-outside",
    "abatement": "clear-hazards", "sealant_300ml": "seal-joints", "backer_rod": "seal-joints",
}  # fmt: skip
# what goes with another group, whose task says the step: in the order in which kinds have them
_WITH = {"fill_bag": ("old_fill",), "cladding": ("refit", "course")}


def _in_steps(
    lines: list[Quantity], tasks: tuple[Task, ...], items: tuple[WorkItem, ...]
) -> Iterator[Quantity]:
    """Every line with its step and trade: those of its work, or of the task that it drives.

    Raises
    ------
    ValueError
        A priced line that no step of the crew uses.
    """
    of: dict[str, tuple[str, Trade]] = {task.group: (task.step, task.trade) for task in tasks}
    own = {line.key: (item.step.id, item.trade) for item in items for line in item.quantities}
    for line in lines:
        if line.step:
            yield line
            continue
        at = _STEPS.get(line.key) or _STEPS.get(line.group)
        groups = (line.group, *_WITH.get(line.group, ()))
        by_task = next((of[group] for group in groups if group in of), None)
        found = own.get(line.key) or ((at, OWN) if at else by_task)
        if found is None and line.priced:
            raise ValueError(f"no step of the crew uses '{line.key}'")
        yield line.used_in(*found) if found else line


# done in a step whose other work is done anyway: old fill out, strips over this work's board
_OWN_WORK = {
    "old_fill", "fill_bag", "labour:remove_fill", "bay_area", "labour:clean", "furring",
    "labour:furring", "jamb_extension", "labour:jamb",
}  # fmt: skip


def _added(lines: list[Quantity], wall: Wall) -> Iterator[Quantity]:
    """Only added cost counts: what comes off anyway is taken off and replaced without this work."""
    steps = {
        step
        for step, plan in (
            ("strip", wall.found.finish_plan),
            ("trim-off", wall.found.finish_plan),
            ("trim-on", wall.found.finish_plan),
            ("cover", wall.found.finish_plan),
            ("strip-outside", wall.found.cladding_plan),
            ("cladding", wall.found.cladding_plan),
        )
        if plan == "off anyway"
    }
    for line in lines:
        own = line.key in _OWN_WORK or line.group in _OWN_WORK
        anyway = line.priced and line.step in steps and not own
        if anyway:
            how = joined([line.how, say("comes off anyway: not counted here")], "; ")
            line = replace(line, priced=False, how=how)
        yield line


def _areas(buildup: BuildUp, fills: tuple[Fill, ...], catalog: Catalog) -> list[Quantity]:
    """Areas that drive the hours, and masking."""
    frame = buildup.frame
    net = say(
        "{gross} less {openings} of openings",
        gross=Figure(frame.gross_area, "area"),
        openings=Figure(frame.hole_area, "area"),
    )
    lines = [_area("wall_area", "Wall without openings", frame.net_area, net)]
    if fills:
        how = say("{net}; sheet, tape and filters by the area of the wall", net=net)
        name = "Masking and ventilation"
        lines.append(Quantity("masking", name, frame.net_area, "m2", how, _GEOMETRY))
    if not buildup.option.kind.opened.bays:
        return lines
    if fills or buildup.option.fill is not None:
        bays = sum(bay.rect.area for bay in frame.bays)
        lines.append(_area("bay_area", "Bays to clean", bays, say(counted(len(frame.bays), "bay"))))
    trimmed = [
        fill
        for fill in fills
        if fill.foam in catalog.foams and catalog.foams[fill.foam].family == "open-cell"
    ]
    if trimmed and max(fill.thickness for fill in trimmed) >= frame.depth - 1e-3:
        area = sum(fill.area for fill in trimmed)
        how = say("{area} of open-cell foam at full depth", area=Figure(area, "area"))
        lines.append(_area("trim", "To trim flush", area, how))
    return lines


def _area(key: str, name: str, area: float, how: Sentence) -> Quantity:
    return Quantity(key, name, area, "m2", how, _GEOMETRY, priced=False)


def combine_takeoffs(takeoffs: tuple[tuple[Quantity, ...], ...]) -> tuple[Quantity, ...]:
    """Takeoffs of several walls as one list, for ordering.

    Parameters
    ----------
    takeoffs : tuple of takeoffs
        One for each wall.

    Returns
    -------
    tuple of Quantity
        Amounts of the same key and unit added; waiting and passes are the greatest, not the sum.
    """
    merged: dict[tuple[str, str], list[Quantity]] = {}
    for lines in takeoffs:
        for line in lines:
            merged.setdefault((line.key, line.unit), []).append(line)
    return tuple(_together(lines) for lines in merged.values())


def _together(lines: list[Quantity]) -> Quantity:
    first = lines[0]
    amounts = [line.amount for line in lines]
    if first.group in ("passes", "waiting"):
        return replace(
            first, amount=max(amounts), how=say(f"the greatest of {counted(len(lines), 'wall')}")
        )
    parts = joined((say("{a}", a=line.figure) for line in lines), " + ")
    how = say("{walls}: {parts}", walls=counted(len(lines), "wall"), parts=parts)
    if first.unit in _WHOLE:
        whole = say(f"{math.ceil(sum(amounts) - 1e-9)} whole")
        how = joined([how, whole], "; ")
    return replace(first, amount=sum(amounts), how=how)
