"""An option as it was built: every bay with the foam that was found in it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from itertools import accumulate, pairwise

from warmside.catalog import Catalog
from warmside.errors import Fault, InputError
from warmside.framing import Frame
from warmside.geometry import Rect
from warmside.options._apply import apply
from warmside.options._option import BuildUp, Option
from warmside.options._slices import NEAR
from warmside.physics.assembly import Layer, Stack
from warmside.survey import Hazard, Wall

_NONE = 1e-9  # [m] of foam: so little makes no layer
_STEP = 1e-4  # [m] thicknesses nearer than this are one


def as_built(
    option: Option,
    wall: Wall,
    frame: Frame,
    catalog: Catalog,
    thickness: Mapping[str, float],
    hazards: Iterable[Hazard] = (),
) -> BuildUp:
    """Layers through every region where bays hold other thicknesses of foam than planned.

    Parameters
    ----------
    option : Option
        As planned; bays that ``thickness`` does not name hold what it says.
    wall, frame, catalog, hazards
        As `apply` takes them.
    thickness : mapping of str to float
        Foam by name of the bay [m]; 0 for none. More than the depth there is counts as full.

    Returns
    -------
    BuildUp
        With one stack for each kind of region and thickness, all cut at the same depths.

    Raises
    ------
    InputError
        A bay that the wall has not, a thickness that is not a length, an option without foam.
    UnknownRowError
        As `apply`.
    """
    _check(option, wall, frame, thickness)
    planned = apply(option, wall, frame, catalog, hazards)
    if not thickness:
        return planned
    other = {name: max(round(t / _STEP) * _STEP, _NONE) for name, t in thickness.items()}
    places = {bay: [r.rect for r in frame.regions if r.part == bay] for bay in other}
    stacks = list(_outside(planned.stacks, [r for rects in places.values() for r in rects]))
    for t in sorted(set(other.values())):
        there = [rect for bay, at in other.items() if at == t for rect in places[bay]]
        built = apply(replace(option, thickness=t), wall, frame, catalog, hazards)
        stacks += _inside(built.stacks, there)
    return replace(planned, stacks=aligned(stacks))


def _check(option: Option, wall: Wall, frame: Frame, thickness: Mapping[str, float]) -> None:
    names = {bay.name for bay in frame.bays}
    place = f'wall "{wall.name}"'
    faults = [
        Fault(f"{place}, bay", f"'{name}'", "bay 1 and so on, as the frame names them")
        for name in thickness
        if name not in names
    ]
    faults += [
        Fault(f"{place}, {name}, thickness", f"{t!r} m", "0 to 1 m")
        for name, t in thickness.items()
        if isinstance(t, bool) or not isinstance(t, (int, float)) or not 0.0 <= t <= 1.0
    ]
    if thickness and not option.foam:
        faults.append(Fault(f'option "{option.id}"', "no foam", "an option with foam"))
    if faults:
        raise InputError(faults)


def _within(rect: Rect, places: Iterable[Rect]) -> bool:
    x, z = (rect.x0 + rect.x1) / 2.0, (rect.z0 + rect.z1) / 2.0
    return any(p.x0 < x < p.x1 and p.z0 < z < p.z1 for p in places)


def _inside(stacks: Iterable[Stack], places: list[Rect]) -> Iterable[Stack]:
    for stack in stacks:
        rects = tuple(r for r in stack.rects if _within(r, places))
        if rects:
            yield replace(stack, rects=rects, area=sum(r.area for r in rects))


def _outside(stacks: Iterable[Stack], places: list[Rect]) -> Iterable[Stack]:
    for stack in stacks:
        rects = tuple(r for r in stack.rects if not _within(r, places))
        if rects:
            yield replace(stack, rects=rects, area=sum(r.area for r in rects))


def aligned(stacks: Iterable[Stack]) -> tuple[Stack, ...]:
    """Stacks of the same depth, all cut at all the depths at which any of them is.

    Parameters
    ----------
    stacks : iterable of Stack
        Layers room side first, beginning at one and the same plane.

    Returns
    -------
    tuple of Stack
        With the same number of layers of the same thicknesses.
    """
    given = list(stacks)
    ends = {id(s): list(accumulate((y.thickness for y in s.layers), initial=0.0)) for s in given}
    cuts: list[float] = []
    for y in sorted(y for edges in ends.values() for y in edges):
        if not cuts or y - cuts[-1] > NEAR:
            cuts.append(y)

    def sliced(stack: Stack) -> tuple[Layer, ...]:
        edges, layers = ends[id(stack)], []
        for y0, y1 in pairwise(cuts):
            middle = (y0 + y1) / 2.0
            here = next(k for k, end in enumerate(edges[1:]) if middle < end + NEAR)
            layers.append(replace(stack.layers[here], thickness=y1 - y0))
        return tuple(layers)

    return tuple(replace(stack, layers=sliced(stack)) for stack in given)
