"""What goes in besides foam and sealant: boards, batts, membranes, furring, jambs."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby

from warmside.catalog import Catalog, Material, Source
from warmside.estimate._arithmetic import FOOT
from warmside.estimate._parts import Quantity
from warmside.estimate._removal import works_inside, works_outside
from warmside.options import BuildUp, Layer, Role
from warmside.survey import Wall

SHEET = 4 * FOOT * 8 * FOOT  # [m2] of a 4 x 8 ft sheet
FURRING_SPACING = 0.4064  # [m] centre to centre, 16 in.

_WASTE = Source("waste in cutting and laps", "common practice")
_SPACING = Source("furring at 16 in. centres, 10 % waste", "common practice")
_COUNT = Source("count of the openings", "computed")


@dataclass(frozen=True)
class _Ware:
    """How goods of one kind are bought."""

    group: str
    unit: str  # "sheet" or "m2"
    waste: float  # [-]


_SHEETS = _Ware("finish_sheet", "sheet", 0.10)
_PAINT = _Ware("paint", "m2", 0.0)
_PLASTER = _Ware("plaster", "m2", 0.10)
_POLY = _Ware("vapour_control", "m2", 0.10)
_BATT = _Ware("batt", "m2", 0.05)
_BOARD = _Ware("exterior_board", "m2", 0.10)
_MEMBRANE = _Ware("membrane", "m2", 0.15)
_SHEATHING = _Ware("sheathing_sheet", "sheet", 0.10)
_CLADDING = _Ware("cladding", "m2", 0.10)


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
    for ware, layer, plies, area in _wares(buildup, wall, catalog):
        lines.append(_bought(ware, layer, plies, area))
    return (*lines, *_furring(buildup), *_jambs(buildup))


def _wares(
    buildup: BuildUp, wall: Wall, catalog: Catalog
) -> Iterator[tuple[_Ware, Layer, int, float]]:
    net = buildup.frame.net_area
    bay = next((stack for stack in buildup.stacks if stack.kind == "bay"), None)
    if bay is None:
        return
    for (role, _), slices in groupby(bay.layers, key=lambda layer: (layer.role, layer.material)):
        layers = tuple(slices)
        row = catalog.materials.get(layers[0].material)
        ware = _ware(role, layers[0], row, buildup, wall)
        if ware is not None:
            deep = sum(layer.thickness for layer in layers)
            area = sum(b.rect.area for b in buildup.frame.bays) if ware is _BATT else net
            yield ware, layers[0], _plies(deep, row, ware), area


def _plies(deep: float, row: Material | None, ware: _Ware) -> int:
    """Layers of sheet in ``deep`` [m]."""
    if ware.unit != "sheet" or row is None or not row.thickness:
        return 1
    return max(1, round(deep / row.thickness))


def _ware(
    role: Role, layer: Layer, row: Material | None, buildup: BuildUp, wall: Wall
) -> _Ware | None:
    """How this layer is bought, or None where it is not new."""
    inside, outside = works_inside(buildup.option), works_outside(buildup.option)
    match role:
        case "finish" if inside and row is not None and row.group == "paint":
            return _PAINT
        case "finish" if inside and "plaster" in layer.material:
            return _PLASTER
        case "finish" if inside:
            return _SHEETS
        case "vapour control" if inside:
            return _PAINT if row is not None and row.group == "paint" else _POLY
        case "fill" if inside and buildup.option.fill == layer.material:
            return _BATT
        case "board" if outside:
            return _BOARD
        case "paper" if outside:
            return _MEMBRANE
        case "sheathing" if outside and layer.material not in _found(wall):
            return _SHEATHING
        case "cladding" if outside:
            return _CLADDING
    return None


def _found(wall: Wall) -> set[str]:
    return {layer.material for layer in wall.found.sheathing}


def _bought(ware: _Ware, layer: Layer, plies: int, area: float) -> Quantity:
    amount = area * plies * (1 + ware.waste)
    how = f"{area:.2f} m2" + (f" x {plies} layers" if plies > 1 else "")
    how += f" +{ware.waste:.0%} waste" if ware.waste else ""
    if ware.unit == "sheet":
        amount = math.ceil(amount / SHEET - 1e-9)
        how += f", / {SHEET:.3f} m2 a 4 x 8 ft sheet, up to whole sheets"
    key = f"{ware.group}:{layer.material}"
    return Quantity(key, layer.name, amount, ware.unit, how, _WASTE)


def _furring(buildup: BuildUp) -> tuple[Quantity, ...]:
    if buildup.option.furring <= 0:
        return ()
    area = buildup.frame.net_area
    metres = area / FURRING_SPACING * 1.1
    how = f"{area:.2f} m2 / {FURRING_SPACING:.3f} m spacing, +10% waste"
    name = f"Furring, {buildup.option.furring * 1000:.0f} mm"
    return (Quantity("furring", name, metres, "m", how, _SPACING),)


def _jambs(buildup: BuildUp) -> tuple[Quantity, ...]:
    holes = buildup.frame.holes
    lines = []
    for side, extra in (
        ("inside", buildup.option.furring),
        ("outside", buildup.option.board_thickness),
    ):
        if extra > 0 and holes:
            how = f"{len(holes)} openings; the wall is {extra * 1000:.0f} mm thicker {side}"
            name = f"Jamb extensions, {side}"
            lines.append(Quantity(f"jamb_extension:{side}", name, len(holes), "each", how, _COUNT))
    return tuple(lines)
