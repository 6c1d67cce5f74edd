"""What stands round an opening: kings, trimmers, header, sill, weight pockets."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from warmside.catalog import Lumber
from warmside.framing._parts import Section
from warmside.framing._pieces import NEAR, Piece, Shell, overlap
from warmside.framing._sizes import header_depth_for
from warmside.geometry import Rect
from warmside.survey import Opening
from warmside.units import INCH

HeaderKind = Literal["doubled", "flat", "box", "none"]
WEIGHT_POCKET = 2.25 * INCH  # [m] 2 to 2-1/2 in. wide (common practice)
DOUBLE_SILL_FROM = 48 * INCH  # [m] wider windows stand on a doubled sill (common practice)
EDGE_HEADERS_FROM = 1930  # before it, flat doubled studs (common practice)
GAP_WHY = "closed in between the plies of the header"
WEIGHT_WHY = "the box of the sash weights: weights out and box opened before it can be filled"


@dataclass(frozen=True)
class Surround:
    """The members round one opening, as extents [m].

    ``x0``-``x1`` is the clear width between the trimmers, weight pockets included.
    """

    opening: Opening
    x0: float
    x1: float
    bearing: tuple[float, float]  # where the header ends
    kings: tuple[float, float]  # outer faces of the kings
    uprights: tuple[tuple[str, float, float, float], ...]  # member, x0, x1, head it carries
    header: HeaderKind
    head: float
    header_top: float
    sill: float  # underside of the rough sill


def pocket_of(opening: Opening) -> float:
    """Width of the weight pocket on each side of an opening [m]."""
    return WEIGHT_POCKET if opening.weight_pockets else 0.0


def span_of(opening: Opening) -> tuple[float, float]:
    """Clear width between the trimmers, as (x0, x1) [m]."""
    pocket = pocket_of(opening)
    return opening.left - pocket, opening.left + opening.width + pocket


def least_between(shell: Shell, low: Opening) -> float:
    """Height [m] that a header and a rough sill take between two openings."""
    return (low.header_depth or 2 * shell.width) + 2 * shell.width


def one_over_the_other(shell: Shell, one: Opening, other: Opening) -> bool:
    """Whether two openings stand far enough apart in height to be framed one over the other."""
    low, high = sorted((one, other), key=lambda o: o.sill)
    return high.sill - low.sill - low.height >= least_between(shell, low) - NEAR


def surrounds(
    shell: Shell, ends: tuple[float, float], lumber: Sequence[Lumber]
) -> tuple[Surround, ...]:
    """The surround of every opening, left to right; ``ends`` are the inner faces of the posts."""
    openings = sorted(shell.wall.openings, key=lambda o: (o.left, o.sill))
    return tuple(_surround(shell, o, openings, ends, lumber) for o in openings)


def _surround(
    shell: Shell,
    opening: Opening,
    openings: Sequence[Opening],
    ends: tuple[float, float],
    lumber: Sequence[Lumber],
) -> Surround:
    x0, x1 = span_of(opening)
    level = [o for o in openings if not one_over_the_other(shell, o, opening)]
    before = [span_of(o)[1] for o in level if span_of(o)[1] <= x0 + NEAR]
    after = [span_of(o)[0] for o in level if span_of(o)[0] >= x1 - NEAR]
    left = _side(x0 - max([ends[0], *before]), bool(before) and max(before) > ends[0], shell.width)
    right = _side(min([ends[1], *after]) - x1, bool(after) and min(after) < ends[1], shell.width)
    head = opening.sill + opening.height
    # a shared piece is built once, by the opening on its left, as high as either of them needs
    uprights = [(kind, x0 - b, x0 - a, head) for kind, a, b, shared in left.pieces if not shared]
    beside = [o for o in level if x1 - NEAR <= span_of(o)[0] <= min(after, default=x1) + NEAR]
    heads = [head, *(o.sill + o.height for o in beside)]
    for kind, a, b, shared in right.pieces:
        uprights.append((kind, x1 + a, x1 + b, max(heads) if shared else head))
    above = [_under_sill(shell, o) for o in openings if _stands_over(o, opening)]
    ceiling = min([shell.ceiling(x0, x1), *above])
    header, header_top = _header_extent(shell, opening, ceiling, lumber)
    return Surround(
        opening=opening,
        x0=x0,
        x1=x1,
        bearing=(x0 - left.bearing, x1 + right.bearing),
        kings=(x0 - left.total, x1 + right.total),
        uprights=tuple(uprights),
        header=header,
        head=head,
        header_top=header_top,
        sill=_under_sill(shell, opening),
    )


def _stands_over(high: Opening, low: Opening) -> bool:
    return high.sill >= low.sill + low.height - NEAR and overlap(*span_of(high), *span_of(low))


def _under_sill(shell: Shell, opening: Opening) -> float:
    """Underside of the rough sill [m], doubled under a wide window, no lower than the plate."""
    plies = 2 if opening.width > DOUBLE_SILL_FROM else 1
    return max(opening.sill - plies * shell.width, min(shell.floor, opening.sill))


@dataclass(frozen=True)
class _Side:
    """Pieces beside an opening: (member, nearer face, farther face, shared) from its edge [m]."""

    pieces: tuple[tuple[str, float, float, bool], ...]
    bearing: float
    total: float


def _side(room: float, neighbour: bool, width: float) -> _Side:
    """Trimmer and king in ``room`` [m]: what two openings stand too close for, they share."""
    pieces: list[tuple[str, float, float, bool]] = []
    near = 0.0
    bearing = 0.0
    for member in ("trimmer", "king stud"):
        free = room - 2 * near if neighbour else room - near
        if free <= NEAR:
            break
        shared = neighbour and free <= width + NEAR
        take = free if shared else min(width, free / 2 if neighbour else free)
        pieces.append((member, near, near + take, shared))
        if member == "trimmer":
            bearing = take / 2 if shared else take
        near += take
    return _Side(tuple(pieces), bearing, near)


def _header_extent(
    shell: Shell, opening: Opening, ceiling: float, lumber: Sequence[Lumber]
) -> tuple[HeaderKind, float]:
    """Kind of the header and the height of its top [m], no higher than what stands above."""
    by_era: HeaderKind = "flat" if shell.sizes.year < EDGE_HEADERS_FROM else "doubled"
    kind = opening.header or shell.wall.header or by_era
    x0, x1 = span_of(opening)
    by_span = header_depth_for(x1 - x0, shell.sizes, lumber)
    usual = {"doubled": by_span, "box": by_span, "flat": 2 * shell.width, "none": shell.width}
    head = opening.sill + opening.height
    depth = min(opening.header_depth or usual[kind], ceiling - head)
    return kind, head + max(depth, 0.0)


def foot_of(shell: Shell, around: Sequence[Surround], it: Surround, x0: float, x1: float) -> float:
    """Where an upright of ``it`` at ``x0``-``x1`` begins [m]: on the header of an opening below."""
    below = [o for o in around if o.head <= it.opening.sill and _apart(shell, o, it)]
    return max((o.header_top for o in below if overlap(x0, x1, *o.kings)), default=0.0)


def top_of(shell: Shell, around: Sequence[Surround], it: Surround, x0: float, x1: float) -> float:
    """Where an upright of ``it`` ends at the latest [m]: under the sill of an opening above."""
    above = [o for o in around if o.opening.sill >= it.head and _apart(shell, o, it)]
    return min((o.sill for o in above if overlap(x0, x1, o.x0, o.x1)), default=shell.height)


def _apart(shell: Shell, one: Surround, other: Surround) -> bool:
    return one_over_the_other(shell, one.opening, other.opening)


def opening_uprights(shell: Shell, around: Sequence[Surround]) -> list[Piece]:
    """Kings and trimmers; the lower of two stacked openings last, so that its own stand."""
    pieces = []
    for it in sorted(around, key=lambda it: -it.head):
        for member, x0, x1, head in it.uprights:
            top = head if member == "trimmer" else top_of(shell, around, it, x0, x1)
            rect = Rect(x0, foot_of(shell, around, it, x0, x1), x1, top)
            pieces.append(Piece(member, member, "stud", rect, shell.solid()))
    return pieces


def opening_pieces(shell: Shell, around: Sequence[Surround]) -> list[Piece]:
    """Weight pockets, rough sills and headers."""
    pieces = []
    for it in around:
        pieces += [*_weight_pockets(shell, it), *_sill(shell, it), *_header(shell, it)]
    return pieces


def _weight_pockets(shell: Shell, it: Surround) -> list[Piece]:
    if not it.opening.weight_pockets:
        return []
    inner0, inner1 = it.opening.left, it.opening.left + it.opening.width
    hollow = (Section(0.0, shell.depth, "space", reachable=False),)
    return [
        Piece(
            "weight pocket",
            "",
            "pocket",
            Rect(x0, it.opening.sill, x1, it.head),
            hollow,
            WEIGHT_WHY,
        )
        for x0, x1 in ((it.x0, inner0), (inner1, it.x1))
    ]


def _sill(shell: Shell, it: Surround) -> list[Piece]:
    plies = round((it.opening.sill - it.sill) / shell.width)
    edges = [it.opening.sill - shell.width * ply for ply in range(plies)]
    return [
        Piece(
            "rough sill",
            "rough sill",
            "sill",
            Rect(it.x0, z - shell.width, it.x1, z),
            shell.solid(),
        )
        for z in edges
        if z - shell.width >= shell.floor - NEAR
    ]


def _header(shell: Shell, it: Surround) -> list[Piece]:
    z0, z1 = it.head, it.header_top
    if z1 - z0 <= NEAR:
        return []
    if it.header == "doubled":
        return [_layer(it, "header ply", z0, z1, _plies(shell))]
    if it.header == "none":
        return [_layer(it, "head piece", z0, z1, shell.solid())]
    width = min(shell.width, (z1 - z0) / 2)
    member = "header ply" if it.header == "flat" else "header flange"
    flats = [_layer(it, member, z0, z0 + width, shell.solid())]
    flats.append(_layer(it, member, z1 - width, z1, shell.solid()))
    if it.header == "box" and z1 - z0 - 2 * width > NEAR:
        flats.append(_layer(it, "header skin", z0 + width, z1 - width, _skins(shell)))
    elif z1 - z0 - 2 * width > NEAR:  # a flat header measured deeper: packed solid
        flats.append(_layer(it, "header ply", z0 + width, z1 - width, shell.solid()))
    return flats


def _layer(it: Surround, member: str, z0: float, z1: float, sections: tuple[Section, ...]) -> Piece:
    rect = Rect(it.bearing[0], z0, it.bearing[1], z1)
    return Piece("header", member, "header", rect, sections, GAP_WHY)


def _plies(shell: Shell) -> tuple[Section, ...]:
    """Two plies on edge, flush with both faces; the spacer's place between them is hollow."""
    ply = min(shell.width, shell.depth / 2)
    return _between_faces(ply, shell.depth)


def _skins(shell: Shell) -> tuple[Section, ...]:
    """1x boards on both faces of a hollow header."""
    return _between_faces(min(shell.sizes.board, shell.depth / 2), shell.depth)


def _between_faces(face: float, depth: float) -> tuple[Section, ...]:
    if depth - 2 * face <= NEAR:
        return (Section(0.0, depth / 2, "wood"), Section(depth / 2, depth, "wood"))
    hollow = Section(face, depth - face, "space", reachable=False)
    return (Section(0.0, face, "wood"), hollow, Section(depth - face, depth, "wood"))
