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
from warmside.estimate.price_file import default_prices
from warmside.estimate.removal import removal_quantities
from warmside.estimate.sealant import sealant_quantities
from warmside.options import BuildUp, Quantity
from warmside.survey import Wall
from warmside.wording import Figure, Sentence, counted, joined, say
from warmside.works import work_items

_WHOLE = ("set", "cartridge")  # bought whole, carried from wall to wall

_GEOMETRY = Source("geometry of the framing", "computed")


def takeoff(
    buildup: BuildUp, wall: Wall, catalog: Catalog, prices: PriceList | None = None
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

    Returns
    -------
    tuple of Quantity
        In the order of the work. Empty for "leave" and for an option that cannot be built.

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
        lines += sealant_quantities(buildup.frame, catalog, kind.reaches)
    for foam in dict.fromkeys(fill.foam for fill in fills):
        if foam not in catalog.foams:
            raise UnknownRowError("foam", foam)
        lines += foam_quantities(fills, catalog.foams[foam])
    lines += goods_quantities(buildup, wall, catalog)
    items = work_items(buildup, wall)
    lines += [line for item in items for line in item.quantities]
    tasks = tuple(dict.fromkeys((*kind.tasks, *(t for item in items for t in item.tasks))))
    lines += labour_quantities(tasks, tuple(lines), prices or default_prices())
    return tuple(_added(lines, buildup, wall))


def _added(lines: list[Quantity], buildup: BuildUp, wall: Wall) -> Iterator[Quantity]:
    """Only added cost counts: what comes off anyway is taken off and replaced without this work."""
    steps = {
        step
        for step, plan in (
            ("strip", wall.found.finish_plan),
            ("cover", wall.found.finish_plan),
            ("strip-outside", wall.found.cladding_plan),
            ("cladding", wall.found.cladding_plan),
        )
        if plan == "off anyway"
    }
    tasks = [task for task in buildup.option.kind.tasks if task.step in steps]
    spared = {task.group for task in tasks} | {f"labour:{task.key}" for task in tasks}
    spared -= {"old_fill", "labour:remove_fill", "bay_area", "labour:clean"}
    spared -= {"furring", "labour:furring"}  # strips over board are this work's own
    spared |= {"cladding"} if "cladding" in steps else set()
    for line in lines:
        anyway = line.priced and (line.key in spared or line.group in spared - {"labour"})
        how = joined([line.how, say("comes off anyway: not counted here")], "; ")
        yield replace(line, priced=False, how=how) if anyway else line


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
