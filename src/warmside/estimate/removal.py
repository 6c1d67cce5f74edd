"""What comes out first: old finish, old fill, old cladding."""

from __future__ import annotations

import math
from dataclasses import dataclass

from warmside.catalog import Catalog, Source
from warmside.framing import Frame
from warmside.options import BROKEN, BuildUp, Opened, Quantity
from warmside.survey import FoundLayer, Wall
from warmside.wording import Figure, Sentence, counted, joined, say

BAG = 0.12  # [m3] of loose fill in one rubbish bag
BULKING = 2.0  # [-] volume of broken-out finish to its volume in place
BIN = 7.646  # [m3], 10 yd3
BIN_LOAD = 2000.0  # [kg] that such a bin may hold: rubble fills it by weight first
_DENSITY = 1000.0  # [kg/m3] of a layer that the catalog does not hold
_UNKNOWN = 0.02  # [m] a layer whose thickness neither survey nor catalog gives

_GEOMETRY = Source("geometry of the framing and the survey", "computed")
_RUBBLE = Source("lath, plaster and boards broken out take 1.8 to 2.5 times their room",
                 "common practice")  # fmt: skip
_BIN = Source("a bin of 10 yd3 is often capped near 2 t: weight rules, not room", "second-hand")
_BAGS = Source("0.12 m3 of old fill to a rubbish bag", "common practice")
_LICENSED = Source("hazardous fill is taken out by a licensed firm", "common practice")
_HAZARDOUS = ("vermiculite", "urea-formaldehyde", "uffi", "asbestos")


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
    area, opened = buildup.frame.net_area, buildup.option.kind.opened
    inside = _inside_off(opened, wall)
    outside = _outside_off(opened, wall)
    fill = wall.found.fill if opened.bays else None
    names = [off.layer.material for off in (*inside, *outside)] + [fill or ""]
    hazardous = [name for name in names if any(word in name for word in _HAZARDOUS)]
    lines = [_abatement(name) for name in hazardous]
    for key, name, layers in (
        ("strip", "Old inside finish to strip", inside),
        ("strip_outside", "Outside layers to take off", outside),
    ):
        safe = tuple(off for off in layers if off.layer.material not in hazardous)
        if safe:
            lines += [_strip(key, name, area, safe), *_rubble(key, area, safe, catalog)]
    if fill is not None and fill not in hazardous:
        lines += _old_fill(buildup.frame, wall, fill)
    return tuple(lines)


@dataclass(frozen=True)
class _Off:
    """A layer that comes off, and the share of it that is thrown away."""

    layer: FoundLayer
    thrown: float = 1.0  # [-]


def _inside_off(opened: Opened, wall: Wall) -> tuple[_Off, ...]:
    return tuple(_Off(layer) for layer in wall.found.finish) if opened.room else ()


def _outside_off(opened: Opened, wall: Wall) -> tuple[_Off, ...]:
    """The cladding, and the sheathing too where the bays are filled from outside."""
    if not opened.cladding:
        return ()
    cladding = (_Off(wall.found.cladding, BROKEN),) if wall.found.cladding is not None else ()
    sheathing = wall.found.sheathing if opened.sheathing else ()
    return cladding + tuple(_Off(layer) for layer in sheathing)


def _abatement(material: str) -> Quantity:
    how = say("{material}: no figure here, get an offer from a licensed firm", material=material)
    name = "Hazardous material, licensed removal"
    return Quantity(f"abatement:{material}", name, 1.0, "each", how, _LICENSED)


def _strip(key: str, name: str, area: float, off: tuple[_Off, ...]) -> Quantity:
    what = ", ".join(one.layer.material for one in off)
    how = say("wall without openings {area}: {what}", area=Figure(area, "area"), what=what)
    return Quantity(key, name, area, "m2", how, _GEOMETRY, priced=False)


def _rubble(
    key: str, area: float, off: tuple[_Off, ...], catalog: Catalog
) -> tuple[Quantity, Quantity]:
    """Room that it takes, which is loaded, and the bins that it fills, which are paid."""
    depths = [_thickness(one.layer, catalog) * one.thrown for one in off]
    deep = sum(depths)
    volume = area * deep * BULKING
    mass = area * sum(
        depth * _density(one.layer, catalog) for depth, one in zip(depths, off, strict=True)
    )
    bins = max(volume / BIN, mass / BIN_LOAD)
    how = say(
        "{what}: {area} × {depth} × {bulking}, broken out",
        what=joined((_thrown(one) for one in off), ", "),
        area=Figure(area, "area"),
        depth=Figure(deep, "length"),
        bulking=Figure(BULKING, "factor"),
    )
    rules = say(
        "{volume} and {mass}; {which} rules, {load} or {room} a bin",
        volume=Figure(volume, "volume"),
        mass=Figure(mass, "mass"),
        which="weight" if mass / BIN_LOAD > volume / BIN else "room",
        load=Figure(BIN_LOAD, "mass"),
        room=Figure(BIN, "volume"),
    )
    return (
        Quantity(f"debris:{key}", "Rubble to take away", volume, "m3", how, _RUBBLE, priced=False),
        Quantity(f"bin:{key}", "Bins of 10 yd³", bins, "bin", rules, _BIN),
    )


def _density(layer: FoundLayer, catalog: Catalog) -> float:
    row = catalog.materials.get(layer.material)
    return row.density if row is not None and row.density else _DENSITY


def _thrown(off: _Off) -> Sentence:
    name = off.layer.material
    if off.thrown == 1:
        return say("{name}", name=name)
    return say("{share} of {name}", share=Figure(off.thrown, "share"), name=name)


def _thickness(layer: FoundLayer, catalog: Catalog) -> float:
    if layer.thickness is not None:
        return layer.thickness
    row = catalog.materials.get(layer.material)
    return row.thickness if row is not None and row.thickness is not None else _UNKNOWN


def _old_fill(frame: Frame, wall: Wall, fill: str) -> tuple[Quantity, ...]:
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
            say(
                "{bays}, {volume} × {share} filled; {state}",
                bays=counted(len(bays), "bay"),
                volume=Figure(volume / share, "volume"),
                share=Figure(share, "share"),
                state=state,
            ),
            _GEOMETRY,
            priced=False,
        ),
        Quantity(
            "fill_bag",
            "Bags of old fill",
            math.ceil(volume / BAG - 1e-9),
            "bag",
            say(
                "{volume} / {bag} a bag, up to whole bags",
                volume=Figure(volume, "volume"),
                bag=Figure(BAG, "volume"),
            ),
            _BAGS,
        ),
    )
