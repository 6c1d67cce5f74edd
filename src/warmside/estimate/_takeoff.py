"""The takeoff of one wall, and of several together."""

from __future__ import annotations

from dataclasses import replace

from warmside.catalog import Catalog, Source
from warmside.errors import UnknownRowError
from warmside.estimate._foam import Fill, foam_fills, foam_quantities
from warmside.estimate._goods import goods_quantities
from warmside.estimate._labour import labour_quantities
from warmside.estimate._parts import PriceList, Quantity
from warmside.estimate._price_file import default_prices
from warmside.estimate._removal import removal_quantities
from warmside.estimate._sealant import sealant_quantities
from warmside.options import BuildUp
from warmside.survey import Wall

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
    if buildup.option.kind == "leave" or not buildup.can_be_built:
        return ()
    fills = foam_fills(buildup)
    lines = [*_areas(buildup, fills, catalog)]
    lines += removal_quantities(buildup, wall, catalog)
    if buildup.option.seal_joints:
        lines += sealant_quantities(buildup.frame, catalog)
    for foam in dict.fromkeys(fill.foam for fill in fills):
        if foam not in catalog.foams:
            raise UnknownRowError("foam", foam)
        lines += foam_quantities(fills, catalog.foams[foam])
    lines += goods_quantities(buildup, wall, catalog)
    lines += labour_quantities(tuple(lines), prices or default_prices())
    return tuple(lines)


def _areas(buildup: BuildUp, fills: tuple[Fill, ...], catalog: Catalog) -> list[Quantity]:
    frame = buildup.frame
    net = f"{frame.gross_area:.2f} m2 less {frame.hole_area:.2f} m2 of openings"
    bays = sum(bay.rect.area for bay in frame.bays)
    count = f"{len(frame.bays)} bays"
    lines = [Quantity("wall_area", "Wall without openings", frame.net_area, "m2", net, _GEOMETRY,
                      priced=False)]  # fmt: skip
    if fills or buildup.option.fill is not None:
        lines.append(
            Quantity("bay_area", "Bays to clean", bays, "m2", count, _GEOMETRY, priced=False)
        )
    if fills:
        how = f"{net}; sheet and tape, counted by the wall"
        lines.append(
            Quantity("masking", "Masking and ventilation", frame.net_area, "m2", how, _GEOMETRY)
        )
    opened = [f for f in fills if f.foam in catalog.foams
              and catalog.foams[f.foam].family == "open-cell"]  # fmt: skip
    trimmed = sum(fill.area for fill in opened)
    if trimmed and max(fill.thickness for fill in opened) >= frame.depth - 1e-3:
        how = f"{trimmed:.2f} m2 of open-cell foam at full depth"
        lines.append(Quantity("trim", "To trim flush", trimmed, "m2", how, _GEOMETRY, priced=False))
    return lines


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
        return replace(first, amount=max(amounts), how=f"the greatest of {len(lines)} walls")
    words = " + ".join(f"{amount:.2f}" for amount in amounts)
    return replace(first, amount=sum(amounts), how=f"{len(lines)} walls: {words}")
