"""Furring strips across the studs, and how they split what lies behind them."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import pairwise

from warmside.framing import Frame
from warmside.geometry import Rect

STRIP_WIDTH = 0.0381  # [m] a 2x2 or 2x4 ripped; common practice, no source
STRIP_SPACING = 0.6096  # [m] on centre; common practice, no source


def strips(frame: Frame) -> tuple[Rect, ...]:
    """Horizontal strips: one at the foot, one at the top of each column, and between on centre."""
    return tuple(
        Rect(column.x0, z, column.x1, z + STRIP_WIDTH)
        for column in frame.outline
        for z in _feet(column)
    )


def split(rect: Rect, across: Iterable[Rect]) -> tuple[tuple[Rect, ...], tuple[Rect, ...]]:
    """Parts of ``rect`` under the strips ``across``, and the parts between them."""
    across = tuple(across)
    if not across:
        return (), (rect,)
    under = [cut for strip in across if (cut := _common(rect, strip)) is not None]
    xs = sorted({rect.x0, rect.x1, *(x for cut in under for x in (cut.x0, cut.x1))})
    between: list[Rect] = []
    for x0, x1 in pairwise(xs):
        here = [cut for cut in under if cut.x0 <= x0 and cut.x1 >= x1]
        edges = [
            rect.z0,
            *(z for cut in sorted(here, key=_foot) for z in (cut.z0, cut.z1)),
            rect.z1,
        ]
        between += [
            Rect(x0, z0, x1, z1)
            for z0, z1 in zip(edges[::2], edges[1::2], strict=True)
            if z1 - z0 > 1e-9
        ]
    return tuple(under), tuple(between)


def _feet(column: Rect) -> list[float]:
    top = column.z1 - STRIP_WIDTH
    if top <= column.z0 + STRIP_WIDTH:
        return [column.z0] if column.height > STRIP_WIDTH else []
    feet = []
    z = column.z0
    while z + STRIP_WIDTH <= top:
        feet.append(z)
        z += STRIP_SPACING
    return [*feet, top]


def _common(a: Rect, b: Rect) -> Rect | None:
    x0, x1, z0, z1 = max(a.x0, b.x0), min(a.x1, b.x1), max(a.z0, b.z0), min(a.z1, b.z1)
    return Rect(x0, z0, x1, z1) if x1 - x0 > 1e-9 and z1 - z0 > 1e-9 else None


def _foot(rect: Rect) -> float:
    return rect.z0
