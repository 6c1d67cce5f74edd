"""Boxes of one material each, for the field in three dimensions."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import TypeAlias

from warmside.geometry import Rect, RegionKind
from warmside.physics.assembly import Assembly, Layer, Stack

_Box: TypeAlias = tuple[float, float, Layer, RegionKind | None]  # y0, y1, ...


@dataclass(frozen=True)
class Solid:
    """A box of one material for the field [m]; boxes of an assembly do not overlap.

    ``kind`` is the region it stands in, or None for a layer that runs over the whole wall.
    """

    x0: float
    x1: float
    y0: float
    y1: float
    z0: float
    z1: float
    layer: Layer
    kind: RegionKind | None


def solids(assembly: Assembly) -> tuple[Solid, ...]:
    """Boxes that fill the wall once, openings left out, merged where they touch and agree.

    Layers that are the same in every stack run over the whole wall and have no kind. Vented
    layers are left out, as ISO 6946 leaves them out of the resistance.

    Parameters
    ----------
    assembly : Assembly
        Its stacks with their rectangles.

    Returns
    -------
    tuple of Solid
        In metres; none lies over another.
    """
    slices = len(assembly.stacks[0].layers)
    common = [_same(stack.layers[i] for stack in assembly.stacks) for i in range(slices)]
    rects: dict[_Box, list[Rect]] = {}
    for box in _runs(assembly.stacks[0], assembly.y0, common, True):
        rects.setdefault(box, []).extend(_net(assembly))
    for stack in assembly.stacks:
        for box in _runs(stack, assembly.y0, common, False):
            rects.setdefault(box, []).extend(stack.rects)
    return tuple(
        Solid(r.x0, r.x1, y0, y1, r.z0, r.z1, layer, kind)
        for (y0, y1, layer, kind), places in rects.items()
        for r in merged(places)
    )


def merged(rects: Iterable[Rect]) -> list[Rect]:
    """Rectangles joined where they share a whole side, first along x, then along z."""
    rows: list[Rect] = []
    for r in sorted(rects, key=lambda r: (r.z0, r.z1, r.x0)):
        last = rows[-1] if rows else None
        if last and _near(last.z0, r.z0) and _near(last.z1, r.z1) and _near(last.x1, r.x0):
            rows[-1] = Rect(last.x0, last.z0, r.x1, last.z1)
        else:
            rows.append(r)
    columns: list[Rect] = []
    for r in sorted(rows, key=lambda r: (r.x0, r.x1, r.z0)):
        last = columns[-1] if columns else None
        if last and _near(last.x0, r.x0) and _near(last.x1, r.x1) and _near(last.z1, r.z0):
            columns[-1] = Rect(last.x0, last.z0, last.x1, r.z1)
        else:
            columns.append(r)
    return columns


def _runs(stack: Stack, y: float, common: list[bool], wanted: bool) -> Iterable[_Box]:
    """Neighbouring slices of one material as one box; only where ``common`` is as ``wanted``."""
    boxes: list[_Box] = []
    kind = None if wanted else stack.kind
    for layer, everywhere in zip(stack.layers, common, strict=True):
        y0, y = y, y + layer.thickness
        if everywhere != wanted or layer.vented:
            continue
        if boxes and boxes[-1][1] == y0:
            first, _, last, _ = boxes[-1]
            if layer.continues(last):
                boxes[-1] = (first, y, replace(last, thickness=y - first), kind)
                continue
        boxes.append((y0, y, layer, kind))
    return boxes


def _net(assembly: Assembly) -> list[Rect]:
    """The wall without its openings, as few rectangles as upright cuts give."""
    holes = sorted(assembly.holes, key=lambda hole: hole.z0)
    rects = []
    for column in assembly.outline:
        inner = {x for h in holes for x in (h.x0, h.x1) if column.x0 < x < column.x1}
        for x0, x1 in pairwise(sorted({column.x0, column.x1, *inner})):
            middle = (x0 + x1) / 2
            z = column.z0
            for hole in holes:
                if hole.x0 < middle < hole.x1:
                    if hole.z0 > z:
                        rects.append(Rect(x0, z, x1, hole.z0))
                    z = max(z, hole.z1)
            if column.z1 > z:
                rects.append(Rect(x0, z, x1, column.z1))
    return rects


def _same(layers: Iterable[Layer]) -> bool:
    return len(set(layers)) == 1


def _near(a: float, b: float) -> bool:
    return abs(a - b) < 1e-9
