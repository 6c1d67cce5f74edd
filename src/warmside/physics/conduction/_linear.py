"""Linear thermal transmittances: what a member adds to the clear wall, per metre of its length."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Literal

import numpy as np

from warmside.errors import Fault, InputError
from warmside.geometry import Rect, RegionKind
from warmside.physics.assembly import Assembly, Stack
from warmside.physics.conduction._field import Field, solve_field
from warmside.physics.conduction._field_bodies import Body, Space
from warmside.physics.conduction._field_wall import (
    OPENING,
    OUTSIDE,
    ROOM,
    Reveal,
    check_reveal,
    clear_stack,
    outer_film,
)
from warmside.physics.conduction._simple import (
    ISO_FILMS,
    Films,
    air_layer_sideways,
    resistances,
)

Place = Literal["between bays", "at an end", "at an opening"]
_REACH = 1.0  # [m] of clear wall beside a member: its effect has died away
_FAR = 1.0  # [m] how far the air reaches; any positive length does
_NEAR = 1e-6  # [m]
_AT_END = ("plate", "header", "sill")  # clear wall on one side of them only


@dataclass(frozen=True)
class LinearTransmittance:
    """What one kind of member adds to the clear wall.

    ``psi = coupling - clear * length`` with ``coupling`` the heat out of the room through the
    section and ``clear`` the transmittance of the bay beside the member (ISO 10211, ISO 14683,
    from memory). ``length`` is that of the section, member and clear wall.
    """

    kind: RegionKind
    place: Place
    width: float  # [m] of the member
    psi: float  # [W/(m K)]
    coupling: float  # [W/(m K)] of the section
    clear: float  # [W/(m2 K)]
    length: float  # [m]


def linear_transmittance(
    assembly: Assembly,
    kind: RegionKind,
    *,
    width: float | None = None,
    films: Films = ISO_FILMS,
    reveal: Reveal | None = None,
    cells: int = 20_000,
) -> LinearTransmittance:
    """Linear transmittance of a kind of member, from a section through it and the clear bay.

    Parameters
    ----------
    assembly : Assembly
        The finished wall; the largest stack of ``kind`` counts.
    kind : str
        Plates, headers and sills stand at an end of the clear wall, and so do members most of
        which stand at the ends of this wall; the others between two bays.
    width : float, optional
        Of the member [m]; if not given, the middle one among those of the wall, members face
        to face taken as one.
    films : Films
        Surface resistances [m2 K/W].
    reveal : Reveal, optional
        With it the member is the edge of an opening: clear wall on one side, the opening on the
        other. Without, whatever lies beyond an end is adiabatic.
    cells : int
        About how many cells at most.

    Raises
    ------
    InputError
        If the wall has no member of that kind, or no bay.
    """
    check_reveal(reveal)
    stacks = [stack for stack in assembly.stacks if stack.kind == kind]
    if not stacks or kind == "bay":
        allowed = "a kind of member of the wall: " + ", ".join(
            sorted({stack.kind for stack in assembly.stacks} - {"bay"})
        )
        raise InputError([Fault("linear transmittance, kind", f"{kind!r}", allowed)])
    member, bay = max(stacks, key=lambda stack: stack.area), clear_stack(assembly)
    rects = assembly.regions.get(kind, ())
    reaches = [_reach(rect, rects) for rect in rects]
    if width is None:
        width = float(np.median([high - low for low, high in reaches]))
    place: Place = "between bays"
    if reveal is not None:
        place = "at an opening"
    elif kind in _AT_END or np.mean([_ends_wall(reach, assembly) for reach in reaches]) > 0.5:
        place = "at an end"
    outer = outer_film(assembly, films)
    before = -_REACH if place == "between bays" else 0.0
    strips = [(before, 0.0, bay), (0.0, width, member), (width, width + _REACH, bay)]
    section = [strip for strip in strips if strip[1] > strip[0]]
    field = _solve(section, films.inside, outer, reveal, cells)
    theta = {ROOM: 1.0, OUTSIDE: 0.0}
    if reveal is not None:
        theta[OPENING] = reveal.factor
    coupling = field.flows(theta)[ROOM]
    clear = 1.0 / (films.inside + sum(resistances(bay)) + outer)
    length = width + _REACH - before
    return LinearTransmittance(
        kind, place, width, coupling - clear * length, coupling, clear, length
    )


def _reach(member: Rect, alike: Sequence[Rect]) -> tuple[float, float]:
    """From where to where [m] a member reaches, with those ``alike`` face to face with it."""
    upright = member.height >= member.width
    middle = 0.5 * (member.z0 + member.z1 if upright else member.x0 + member.x1)
    low, high = (member.x0, member.x1) if upright else (member.z0, member.z1)
    beside = sorted(
        (r.x0, r.x1) if upright else (r.z0, r.z1)
        for r in alike
        if (r.z0 < middle < r.z1 if upright else r.x0 < middle < r.x1)
    )
    for start, end in beside:
        high = end if abs(start - high) < _NEAR else high
    for start, end in reversed(beside):
        low = start if abs(end - low) < _NEAR else low
    return low, high


def _ends_wall(reach: tuple[float, float], assembly: Assembly) -> bool:
    """Whether an upright member stands at an end of the wall."""
    ends = (assembly.outline[0].x0, assembly.outline[-1].x1)
    return abs(reach[0] - ends[0]) < _NEAR or abs(reach[1] - ends[1]) < _NEAR


def _solve(
    strips: Sequence[tuple[float, float, Stack]],
    inner: float,
    outer: float,
    reveal: Reveal | None,
    cells: int,
) -> Field:
    """Field of strips side by side along x, one metre high."""
    bodies = [body for x0, x1, stack in strips for body in layers(stack, x0, x1)]
    x0, x1 = strips[0][0], strips[-1][1]
    depth = max(body.y1 for body in bodies)
    spaces = [
        Space(x0, x1, -_FAR, 0.0, 0.0, 1.0, ROOM, inner),
        Space(x0, x1, depth, depth + _FAR, 0.0, 1.0, OUTSIDE, outer),
    ]
    if reveal is not None:
        spaces.append(Space(x0 - _FAR, x0, 0.0, depth, 0.0, 1.0, OPENING, reveal.film))
    return solve_field(bodies, spaces, cells=cells)


def layers(stack: Stack, x0: float, x1: float) -> list[Body]:
    """The layers of a stack as bodies one metre high, the room face of the first at y = 0."""
    bodies: list[Body] = []
    y = 0.0
    both = zip(stack.layers, resistances(stack), strict=True)
    kept = ((layer, r) for layer, r in both if not layer.vented)
    for is_air, run in groupby(kept, key=lambda pair: pair[0].conductivity is None):
        parts = list(run)
        whole = (sum(layer.thickness for layer, _ in parts), sum(r for _, r in parts))
        for layer, r in parts:
            across = layer.thickness / r
            along = air_layer_sideways(*whole) if is_air else across
            lam = (along, across, along) if is_air else across
            bodies.append(Body(x0, x1, y, y + layer.thickness, 0.0, 1.0, lam, layer.material))
            y += layer.thickness
    return bodies
