"""What comes out first: old finish, old fill, old cladding."""

from __future__ import annotations

import math

from warmside.catalog import Catalog, Source
from warmside.estimate._parts import Quantity
from warmside.framing import Frame
from warmside.options import BuildUp, Option
from warmside.survey import FoundLayer, Wall

BAG = 0.12  # [m3] of loose fill in one rubbish bag
BULKING = 1.5  # [-] volume of broken-out finish to its volume in place
_UNKNOWN = 0.02  # [m] a layer whose thickness neither survey nor catalog gives

_GEOMETRY = Source("geometry of the framing and the survey", "computed")
_RUBBLE = Source("broken-out boards and plaster take half as much room again", "common practice")
_BAGS = Source("0.12 m3 of old fill to a rubbish bag", "common practice")
_LICENSED = Source("hazardous fill is taken out by a licensed firm", "common practice")
_HAZARDOUS = ("vermiculite", "urea-formaldehyde", "uffi", "asbestos")


def works_inside(option: Option) -> bool:
    """Whether the option opens the wall from the room."""
    return option.kind not in ("leave", "from outside") and fills_bays(option)


def works_outside(option: Option) -> bool:
    """Whether the option takes off the cladding."""
    return option.kind in ("from outside", "foam and board") or option.board_thickness > 0


def fills_bays(option: Option) -> bool:
    """Whether new foam or batts go between the studs, so that old fill must go first."""
    return option.thickness > 0 or option.fill is not None or option.kind == "batt and poly"


def removal_quantities(buildup: BuildUp, wall: Wall, catalog: Catalog) -> tuple[Quantity, ...]:
    """Old finish, fill and cladding to take out, with their disposal.

    Parameters
    ----------
    buildup : BuildUp
        An option applied to the wall.
    wall : Wall
        The wall as found.
    catalog : Catalog
        Usual thicknesses, where the survey is silent.

    Returns
    -------
    tuple of Quantity
        Areas [m2], volumes [m3] and bags; empty where nothing comes out.
    """
    lines: list[Quantity] = []
    debris = 0.0
    found, area = wall.found, buildup.frame.net_area
    if works_inside(buildup.option) and found.finish:
        lines.append(_strip("strip", "Old inside finish to strip", area, found.finish))
        debris += _debris(area, found.finish, catalog)
    if works_outside(buildup.option):
        off = _outer_layers_gone(buildup, wall)
        if off:
            lines.append(_strip("strip_outside", "Old outside layers to strip", area, off))
            debris += _debris(area, off, catalog)
    if debris:
        lines.append(
            Quantity(
                "debris",
                "Rubble to take away",
                debris,
                "m3",
                f"{debris / BULKING:.2f} m3 in place x {BULKING:g}, broken out",
                _RUBBLE,
            )
        )
    if found.fill is not None and fills_bays(buildup.option):
        lines += _old_fill(buildup.frame, wall, found.fill)
    return tuple(lines)


def _strip(key: str, name: str, area: float, layers: tuple[FoundLayer, ...]) -> Quantity:
    what = ", ".join(layer.material for layer in layers)
    how = f"wall without openings {area:.2f} m2: {what}"
    return Quantity(key, name, area, "m2", how, _GEOMETRY, priced=False)


def _debris(area: float, layers: tuple[FoundLayer, ...], catalog: Catalog) -> float:
    return area * sum(_thickness(layer, catalog) for layer in layers) * BULKING


def _thickness(layer: FoundLayer, catalog: Catalog) -> float:
    if layer.thickness is not None:
        return layer.thickness
    row = catalog.materials.get(layer.material)
    return row.thickness if row is not None and row.thickness is not None else _UNKNOWN


def _outer_layers_gone(buildup: BuildUp, wall: Wall) -> tuple[FoundLayer, ...]:
    """The cladding always; sheathing where the build-up no longer holds it."""
    kept = {layer.material for stack in buildup.stacks for layer in stack.layers}
    cladding = (wall.found.cladding,) if wall.found.cladding is not None else ()
    return cladding + tuple(s for s in wall.found.sheathing if s.material not in kept)


def _old_fill(frame: Frame, wall: Wall, fill: str) -> tuple[Quantity, ...]:
    if any(word in fill for word in _HAZARDOUS):
        how = f"{fill} was found: no figure here, get an offer from a licensed firm"
        return (
            Quantity("abatement", "Hazardous fill, licensed removal", 1.0, "each", how, _LICENSED),
        )
    share = min(1.0, (wall.found.fill_thickness or frame.depth) / frame.depth)
    bays = [bay for bay in frame.bays if bay.volume > 0]
    volume = sum(bay.volume for bay in bays) * share
    if volume <= 0:
        return ()
    state = f"{fill}, {wall.found.fill_state}"
    return (
        Quantity(
            "old_fill",
            "Old fill to take out",
            volume,
            "m3",
            f"{len(bays)} bays, {volume / share:.3f} m3 x {share:.0%} filled; {state}",
            _GEOMETRY,
            priced=False,
        ),
        Quantity(
            "fill_bag",
            "Bags of old fill",
            math.ceil(volume / BAG - 1e-9),
            "bag",
            f"{volume:.3f} m3 / {BAG:g} m3 a bag, up to whole bags",
            _BAGS,
        ),
    )
