"""Studs on layout, the cripples that keep the layout at openings, and plates."""

from __future__ import annotations

from collections.abc import Sequence

from warmside.framing._openings import Surround, foot_of, top_of
from warmside.framing._pieces import LEAST_GAP, NEAR, Piece, Shell, overlap
from warmside.geometry import Rect


def layout_steps(shell: Shell) -> list[float]:
    """Distances [m] of the stud centres from the starting end, the two end studs left out.

    The first stud stands at the starting end; the others are centred on multiples of the spacing
    from it; the last bay is what remains.
    """
    count = int((shell.length - 1.5 * shell.width) / shell.wall.spacing + NEAR)
    return [shell.wall.spacing * k for k in range(1, count + 1)]


def layout_centres(shell: Shell) -> list[float]:
    """Centres [m] of the studs on layout, in order of layout."""
    steps = layout_steps(shell)
    return [shell.length - s for s in steps] if shell.wall.layout_from == "right" else steps


def layout_studs(
    shell: Shell, around: Sequence[Surround], taken: Sequence[tuple[float, float]]
) -> list[Piece]:
    """Full studs, and cripples above and below openings, left out where another upright stands.

    A gap that could not be sprayed is not left beside a post, king or trimmer either.

    ``taken`` are the extents of the posts, as (x0, x1) [m].
    """
    pieces = []
    for centre in layout_centres(shell):
        x0, x1 = centre - shell.width / 2, centre + shell.width / 2
        if any(_crowds(x0, x1, a, b) for a, b in taken):
            continue
        beside = [it for it in around if _crowds(x0, x1, *it.kings)]
        if not beside:
            pieces.append(shell.upright("stud", x0, x1))
            continue
        for z0, z1 in _free_heights(shell, around, beside, x0, x1):
            rect = Rect(x0, z0, x1, z1)
            pieces.append(Piece("cripple", "cripple", "stud", rect, shell.solid()))
    return pieces


def _free_heights(
    shell: Shell, around: Sequence[Surround], beside: Sequence[Surround], x0: float, x1: float
) -> list[tuple[float, float]]:
    """Heights [m] at which a stud at ``x0``-``x1`` is clear of every surround in its way."""
    free = [(shell.floor, shell.ceiling(x0, x1))]
    for it in beside:
        foot, top = foot_of(shell, around, it, x0, x1), top_of(shell, around, it, x0, x1)
        zones = [
            (0.0, it.sill if _clear(x0, x1, it.x0, it.x1) else foot),
            (it.header_top if _clear(x0, x1, *it.bearing) else top, shell.height),
        ]
        cut = [(max(a, c), min(b, d)) for a, b in free for c, d in zones]
        free = [(a, b) for a, b in cut if b - a >= LEAST_GAP]
    return free


def _crowds(x0: float, x1: float, a: float, b: float) -> bool:
    """Whether a stud at ``x0``-``x1`` [m] leaves no room to spray before ``a`` or after ``b``."""
    return overlap(x0, x1, a - LEAST_GAP + 2 * NEAR, b + LEAST_GAP - 2 * NEAR)


def _clear(x0: float, x1: float, a: float, b: float) -> bool:
    """Whether a stud at ``x0``-``x1`` [m] stands between ``a`` and ``b`` with room to spray."""
    return x0 >= a + LEAST_GAP - NEAR and x1 <= b - LEAST_GAP + NEAR


def plates(shell: Shell) -> list[Piece]:
    """Bottom plate of a platform frame, and two top plates on every column of the outline."""
    w = shell.width
    pieces = []
    if shell.wall.frame == "platform":
        rect = Rect(0.0, 0.0, shell.length, w)
        pieces.append(Piece("bottom plate", "bottom plate", "plate", rect, shell.solid()))
    for column in shell.columns:
        for top in (column.z1 - w, column.z1):
            rect = Rect(column.x0, top - w, column.x1, top)
            pieces.append(Piece("top plate", "top plate", "plate", rect, shell.solid()))
    return pieces
