"""Lines of the wall that nearly meet made one, so that no cell is a sliver.

The steps of a let-in brace fall where they will: a millimetre beside a stud of the storey above,
or beside a step of another bay. A tensor grid carries every such line through the whole wall,
and cells a hundred times as long as wide cost the solver half as many iterations again.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from warmside.geometry import Rect
from warmside.physics.assembly import Assembly

Floats = npt.NDArray[np.float64]
Raster: TypeAlias = tuple[Floats, Floats, npt.NDArray[np.int64]]
_Moved = tuple[tuple[Floats, Floats], tuple[Floats, Floats]]  # lines and their new places, x and z
SLIVER = 0.005  # [m] lines closer than this become one
SHORT = 0.25  # [m] of faces on a line, up to which it may move
_NEAR = 1e-9  # [m]


def without_slivers(assembly: Assembly) -> Assembly:
    """The assembly with the short faces that lie within `SLIVER` of another line moved there.

    Lines with more than `SHORT` of faces, and the ends of the wall, stay: one line moves an area
    of at most ``SHORT * SLIVER`` (12 cm2) from one material to the next. Two short lines meet
    at their mean, weighted by the length of their faces, which keeps the areas beside them. The
    ``area`` of stacks remains that of the wall as it is.
    """
    global _last
    last = _last  # of one wall all figures are asked for in turn, by several models
    if last is None or all(assembly is not one for one in last):
        last = _last = (assembly, _without_slivers(assembly))
    return last[1]


_last: tuple[Assembly, Assembly] | None = None  # the wall that was asked for last, and its answer


def _without_slivers(assembly: Assembly) -> Assembly:
    if not any(stack.rects for stack in assembly.stacks):
        return assembly
    x, z, what = raster(assembly)
    moved = (x, _joined(x, _faces(what, np.diff(z)))), (z, _joined(z, _faces(what.T, np.diff(x))))
    if all(np.array_equal(*pair) for pair in moved):
        return assembly
    left = {kind: _moved(places, moved) for kind, places in assembly.regions.items()}
    if not all(left.values()):
        return assembly  # a kind that is nothing but a sliver is still told
    stacks = (replace(stack, rects=_moved(stack.rects, moved)) for stack in assembly.stacks)
    return replace(
        assembly,
        stacks=tuple(stack for stack in stacks if stack.rects),
        regions=left,
        outline=_moved(assembly.outline, moved),
        holes=_moved(assembly.holes, moved),
    )


def raster(assembly: Assembly) -> Raster:
    """Lines along x and z [m], and the number of the stack between them, -1 where there is none."""
    global _last_raster
    last = _last_raster
    if last is None or assembly is not last[0]:
        last = _last_raster = (assembly, _raster(assembly))
        for part in last[1]:  # it is handed out again
            part.flags.writeable = False
    return last[1]


_last_raster: tuple[Assembly, Raster] | None = None  # of the wall that was asked for last


def _raster(assembly: Assembly) -> Raster:
    rects = [rect for stack in assembly.stacks for rect in stack.rects]
    regions = [rect for places in assembly.regions.values() for rect in places]
    x, z = _lines(_sides([*rects, *assembly.outline, *regions, *assembly.holes]))
    what = np.full((x.size - 1, z.size - 1), -1)
    stack_of = [n for n, stack in enumerate(assembly.stacks) for _ in stack.rects]
    for n, (x0, z0, x1, z1) in zip(stack_of, _numbers(rects, x, z).tolist(), strict=True):
        what[x0:x1, z0:z1] = n
    return x, z, what


def _sides(rects: Sequence[Rect]) -> Floats:
    """Left, bottom, right and top of each rectangle [m]."""
    return np.array([(r.x0, r.z0, r.x1, r.z1) for r in rects]).reshape(-1, 4)


def _lines(sides: Floats) -> tuple[Floats, Floats]:
    """Sorted ends of all rectangles along x and z [m]."""
    x, z = np.unique(sides[:, ::2]), np.unique(sides[:, 1::2])
    x, z = (line[np.append(True, np.diff(line) > _NEAR)] for line in (x, z))
    return x, z


def _numbers(rects: Sequence[Rect], x: Floats, z: Floats) -> npt.NDArray[np.int64]:
    """On which lines the sides of each rectangle lie."""
    sides = _sides(rects) - _NEAR
    numbers = np.empty(sides.shape, np.int64)
    numbers[:, ::2] = np.searchsorted(x, sides[:, ::2])
    numbers[:, 1::2] = np.searchsorted(z, sides[:, 1::2])
    return numbers


def _faces(what: npt.NDArray[np.int64], across: Floats) -> Floats:
    """Length of the faces on each line along the first axis [m]; endless at both ends."""
    inner = (what[1:] != what[:-1]) @ across
    return np.concatenate(([np.inf], inner, [np.inf]))


def _joined(line: Floats, length: Floats) -> Floats:
    """Where each line goes: the narrowest gap is closed first, and none moves over `SLIVER`."""
    groups = [([at], size) for at, size in zip(line.tolist(), length.tolist(), strict=True)]
    places = line.tolist()
    while True:
        for n in np.argsort(np.diff(places), kind="stable").tolist():
            if places[n + 1] - places[n] >= SLIVER:
                return np.repeat(places, [len(group) for group, _ in groups])
            (one, a), (other, b) = groups[n], groups[n + 1]
            if min(a, b) > SHORT:
                continue
            place = _meeting((places[n], a), (places[n + 1], b))
            if max(place - one[0], other[-1] - place) < SLIVER:
                groups[n : n + 2], places[n : n + 2] = [(one + other, a + b)], [place]
                break
        else:
            return np.repeat(places, [len(group) for group, _ in groups])


def _meeting(one: tuple[float, float], other: tuple[float, float]) -> float:
    """Place where two lines (place, length of faces) meet: the long one's, or their mean."""
    (a, la), (b, lb) = one, other
    if max(la, lb) > SHORT:
        return a if la > lb else b
    return (a * la + b * lb) / (la + lb) if la + lb > 0.0 else 0.5 * (a + b)


def _moved(rects: Sequence[Rect], moved: _Moved) -> tuple[Rect, ...]:
    """Rectangles with their sides on the lines' new places, without those that vanish."""
    (x, new_x), (z, new_z) = moved
    numbers = _numbers(rects, x, z)
    sides: Floats = np.empty(numbers.shape)
    sides[:, ::2], sides[:, 1::2] = new_x[numbers[:, ::2]], new_z[numbers[:, 1::2]]
    places = (Rect(*ends) for ends in sides.tolist())
    return tuple(rect for rect in places if rect.width > _NEAR and rect.height > _NEAR)
