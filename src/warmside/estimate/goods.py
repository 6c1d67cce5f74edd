"""What goes in besides foam and sealant: boards, batts, membranes, furring, jambs."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import groupby

from warmside.catalog import Catalog, Material, Source
from warmside.options import BROKEN, BuildUp, Quantity, Ware
from warmside.physics.assembly import Layer, Role
from warmside.survey import Wall
from warmside.units import FOOT
from warmside.wording import Figure, counted, joined, say

SHEET = 4 * FOOT * 8 * FOOT  # [m2] of a 4 x 8 ft sheet
STRIP_WIDTH = 0.0381  # [m] of a furring strip
STRIP_SPACING = 0.4064  # [m] of upright strips under cladding, on the studs at 16 in.

_WASTE = Source("waste in cutting and laps", "common practice")
_STRIPS = Source("strips 1-1/2 in. wide, 10 % waste", "common practice")
_PUT_BACK = Source("one part in seven of old cladding breaks when it comes off", "common practice")
_COUNT = Source("count of the openings", "computed")


def goods_quantities(buildup: BuildUp, wall: Wall, catalog: Catalog) -> tuple[Quantity, ...]:
    """New goods of the build-up, with waste.

    Parameters
    ----------
    buildup : BuildUp
        An option applied to the wall.
    wall : Wall
        The wall as found: what stays is not bought.
    catalog : Catalog
        Groups and usual thicknesses of materials.

    Returns
    -------
    tuple of Quantity
        Sheets, m2, metres and pieces; fasteners are left to the firm's own hour rates.
    """
    lines: list[Quantity] = []
    for ware, layer, plies, area in _wares(buildup, catalog):
        lines.append(_bought(ware, layer, plies, area))
    return (*lines, *_furring(buildup), *_cladding(buildup, wall), *_jambs(buildup))


def _wares(buildup: BuildUp, catalog: Catalog) -> Iterator[tuple[Ware, Layer, int, float]]:
    net = buildup.frame.net_area
    bay = next((stack for stack in buildup.stacks if stack.kind == "bay"), None)
    if bay is None:
        return
    for (role, _), slices in groupby(bay.layers, key=lambda layer: (layer.role, layer.material)):
        layers = tuple(slices)
        row = catalog.materials.get(layers[0].material)
        ware = _ware(buildup.option.kind.wares, role, layers[0], row)
        if ware is not None:
            deep = sum(layer.thickness for layer in layers)
            area = sum(b.rect.area for b in buildup.frame.bays) if ware.in_bays else net
            yield ware, layers[0], _plies(deep, row, ware), area


def _plies(deep: float, row: Material | None, ware: Ware) -> int:
    """Layers of sheet in ``deep`` [m]."""
    if ware.unit != "sheet" or row is None or not row.thickness:
        return 1
    return max(1, round(deep / row.thickness))


def _ware(wares: tuple[Ware, ...], role: Role, layer: Layer, row: Material | None) -> Ware | None:
    """How this layer is bought, or None where it is not new."""
    group = row.group if row is not None else ""
    return next(
        (
            ware
            for ware in wares
            if ware.role == role and (ware.of == group or ware.of in layer.material)
        ),
        None,
    )


def _bought(ware: Ware, layer: Layer, plies: int, area: float) -> Quantity:
    amount = area * plies * (1 + ware.waste)
    parts = [say("{area}", area=Figure(area, "area"))]
    if plies > 1:
        parts.append(say(f"× {plies} layers"))
    if ware.waste:
        parts.append(say("+{waste} waste", waste=Figure(ware.waste, "share")))
    how = joined(parts)
    if ware.unit == "sheet":
        amount = math.ceil(amount / SHEET - 1e-9)
        sheet = say("/ {area} a 4 × 8 ft sheet, up to whole sheets", area=Figure(SHEET, "area"))
        how = joined([how, sheet], ", ")
    key = f"{ware.group}:{layer.material}"
    return Quantity(key, layer.name, amount, ware.unit, how, _WASTE)


def _furring(buildup: BuildUp) -> tuple[Quantity, ...]:
    area = sum(
        stack.area
        for stack in buildup.stacks
        if any(layer.role == "furring" for layer in stack.layers)
    )
    if area <= 0:
        return ()
    metres = area / STRIP_WIDTH
    how = say("{length} of strips over the studs, +10 % waste", length=Figure(metres, "span"))
    name = f"Furring, {buildup.option.furring * 1000:.0f} mm"
    return (Quantity("furring", name, metres * 1.1, "m", how, _STRIPS),)


def _cladding(buildup: BuildUp, wall: Wall) -> tuple[Quantity, ...]:
    """Cladding that goes back on, new pieces for what broke, strips behind it over board."""
    found = wall.found.cladding
    if found is None or not buildup.option.kind.opened.cladding:
        return ()
    area = buildup.frame.net_area
    size = Figure(area, "area")
    back = say("{area} taken off goes back", area=size)
    key = f"cladding:{found.material}"
    new = say("{area} × {share} broken", area=size, share=Figure(BROKEN, "share"))
    name = "New cladding to match, for what breaks"
    lines = [
        Quantity("refit", "Cladding to put back", area, "m2", back, _PUT_BACK, priced=False),
        Quantity(key, name, area * BROKEN, "m2", new, _PUT_BACK),
    ]
    if buildup.option.board is not None:
        how = say(
            "{area} / {spacing} on the studs, +10 % waste",
            area=size,
            spacing=Figure(STRIP_SPACING, "length"),
        )
        metres = area / STRIP_SPACING * 1.1
        name = "Strips under the cladding"
        lines.append(Quantity("furring:strips", name, metres, "m", how, _STRIPS))
    return tuple(lines)


def _jambs(buildup: BuildUp) -> tuple[Quantity, ...]:
    holes = buildup.frame.holes
    lines = []
    for side, extra in (
        ("inside", buildup.option.furring),
        ("outside", buildup.option.board_thickness),
    ):
        if extra > 0 and holes:
            how = say(
                "{count}; the wall is {extra} thicker {side}",
                count=counted(len(holes), "opening"),
                extra=Figure(extra, "length"),
                side=side,
            )
            name = f"Jamb extensions, {side}"
            lines.append(Quantity(f"jamb_extension:{side}", name, len(holes), "each", how, _COUNT))
    return tuple(lines)
