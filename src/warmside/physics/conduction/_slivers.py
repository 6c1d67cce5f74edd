"""Lines of the wall that nearly meet made one, so that no cell is a sliver.

The steps of a let-in brace fall where they will: a millimetre beside a stud of the storey above,
or beside a step of another bay. A tensor grid carries every such line through the whole wall,
and cells a hundred times as long as wide cost the solver half as many iterations again.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from warmside.framing import Frame, Rect
from warmside.options import BuildUp

Floats = npt.NDArray[np.float64]
SLIVER = 0.005  # [m] lines closer than this become one
SHORT = 0.25  # [m] of faces on a line, up to which it may move
_NEAR = 1e-9  # [m]


def without_slivers(buildup: BuildUp) -> BuildUp:
    """The build-up with the short faces that lie within `SLIVER` of another line moved there.

    Lines with more than `SHORT` of faces, and the ends of the wall, stay: one line moves an area
    of at most ``SHORT * SLIVER`` (12 cm2) from one material to the next. Two short lines meet
    at their mean, weighted by the length of their faces, which keeps the areas beside them. The
    ``area`` of stacks remains that of the wall as it is.
    """
    rects = [(rect, n) for n, stack in enumerate(buildup.stacks) for rect in stack.rects]
    if not rects:
        return buildup
    frame = buildup.frame
    regions, holes = ([part.rect for part in parts] for parts in (frame.regions, frame.holes))
    lines = _lines([*(rect for rect, _ in rects), *frame.outline, *regions, *holes])
    what = np.full([line.size - 1 for line in lines], -1)
    for rect, n in rects:
        what[_cells(rect.x0, rect.x1, lines[0]), _cells(rect.z0, rect.z1, lines[1])] = n
    x, z = lines
    moved = (x, _joined(x, _faces(what, np.diff(z)))), (z, _joined(z, _faces(what.T, np.diff(x))))
    if all(np.array_equal(*pair) for pair in moved):
        return buildup
    snapped = _moved_frame(frame, moved)
    if {r.kind for r in snapped.regions} != {r.kind for r in frame.regions}:
        return buildup  # a kind that is nothing but a sliver is still told
    stacks = (replace(s, rects=_moved(s.rects, moved)) for s in buildup.stacks)
    return replace(buildup, frame=snapped, stacks=tuple(s for s in stacks if s.rects))


def _lines(rects: Sequence[Rect]) -> tuple[Floats, Floats]:
    """Sorted ends of all rectangles along x and z [m]."""
    ends = np.array([(r.x0, r.x1, r.z0, r.z1) for r in rects])
    x, z = (np.unique(ends[:, pair]) for pair in ((0, 1), (2, 3)))
    x, z = (line[np.append(True, np.diff(line) > _NEAR)] for line in (x, z))
    return x, z


def _cells(low: float, high: float, line: Floats) -> slice:
    return slice(*np.searchsorted(line, (low - _NEAR, high - _NEAR)).tolist())


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


def _moved(rects: Sequence[Rect], moved: tuple[tuple[Floats, Floats], ...]) -> tuple[Rect, ...]:
    """Rectangles with their sides on the lines' new places, without those that vanish."""

    def new(at: float, axis: int) -> float:
        line, place = moved[axis]
        return float(place[np.searchsorted(line, at - _NEAR)])

    found = (Rect(new(r.x0, 0), new(r.z0, 1), new(r.x1, 0), new(r.z1, 1)) for r in rects)
    return tuple(r for r in found if r.width > _NEAR and r.height > _NEAR)


def _moved_frame(frame: Frame, moved: tuple[tuple[Floats, Floats], ...]) -> Frame:
    def one(rect: Rect) -> Rect | None:
        return next(iter(_moved((rect,), moved)), None)

    placed = ((region, one(region.rect)) for region in frame.regions)
    holes = ((hole, one(hole.rect)) for hole in frame.holes)
    return replace(
        frame,
        regions=tuple(replace(region, rect=rect) for region, rect in placed if rect),
        holes=tuple(replace(hole, rect=rect) for hole, rect in holes if rect),
        outline=_moved(frame.outline, moved),
    )
