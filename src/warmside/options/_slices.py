"""A scheme meets the framing: slices of depth, and a stack for each kind of region."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import lru_cache
from itertools import pairwise

from warmside.framing import Frame, Section
from warmside.geometry import Rect, RegionKind
from warmside.options._furring import split, strips
from warmside.options._layers import Piece, Scheme, Sheet, layer_of
from warmside.physics.assembly import Layer, Role, Stack

NEAR = 1e-6  # [m] faces nearer than this are one face
# kind, sections, whether a furring strip lies before it, and whether old fill is missing in it
_Path = tuple[RegionKind, tuple[Section, ...], bool, bool]


def stack_up(frame: Frame, scheme: Scheme) -> tuple[Stack, ...]:
    """Stacks of the wall, all cut at the same depths; their areas sum to the net area."""
    paths = _paths(frame, bool(scheme.furring), scheme.empty_share)
    through = {path[1:]: _pieces(*path[1:], scheme, frame.depth) for path in paths}
    cuts = _cuts(piece for pieces in through.values() for piece in pieces)
    inside, outside = _sheets(scheme.inside), _sheets(scheme.outside)
    layers = {path: (*inside, *_layers(pieces, cuts), *outside) for path, pieces in through.items()}
    stacks: dict[tuple[RegionKind, tuple[Layer, ...]], list[Rect]] = {}
    for path, places in paths.items():
        stacks.setdefault((path[0], layers[path[1:]]), []).extend(places)
    return tuple(
        Stack(kind, sum(rect.area for rect in rects), layers, tuple(rects))
        for (kind, layers), rects in stacks.items()
    )


@lru_cache(maxsize=32)  # the walls of a house, with furring and without, whole fill and not
def _paths(frame: Frame, furred: bool, empty: float) -> Mapping[_Path, tuple[Rect, ...]]:
    """Where the wall is alike through its depth; the same for every option."""
    paths: dict[_Path, list[Rect]] = {}
    across = strips(frame) if furred else ()
    tops = _tops(frame, empty) if empty > 0.0 else ()
    for region in frame.regions:
        slumped = tops if region.kind == "bay" else ()
        for places, strip in zip(split(region.rect, across), (True, False), strict=True):
            parts = [split(place, slumped) for place in places]
            for n, missing in enumerate((True, False)):
                rects = [rect for part in parts for rect in part[n]]
                if rects:
                    way = region.kind, region.sections, strip, missing
                    paths.setdefault(way, []).extend(rects)
    return {path: tuple(rects) for path, rects in paths.items()}


def _tops(frame: Frame, empty: float) -> tuple[Rect, ...]:
    """The top of every bay, ``empty`` [-] of its height."""
    bays = (bay.rect for bay in frame.bays)
    return tuple(Rect(b.x0, b.z1 - empty * b.height, b.x1, b.z1) for b in bays)


def _pieces(
    sections: tuple[Section, ...], strip: bool, missing: bool, scheme: Scheme, depth: float
) -> tuple[Piece, ...]:
    """Pieces through the furring and the studs, room side first."""
    parts: list[Section] = []
    if scheme.furring:
        parts.append(Section(-scheme.furring, 0.0, "wood" if strip else "space"))
    for section in sections:
        last = parts[-1] if parts else None
        if last and _open(last) and _open(section):
            parts[-1] = Section(last.y0, section.y1, "space")
        else:
            parts.append(section)
    pieces: list[Piece] = []
    for part in parts:
        if part.what == "wood":
            role: Role = "furring" if part.y1 <= 0 else "wood"
            pieces.append(Piece(part.y0, part.y1, scheme.wood, role))
        elif missing or not part.reachable:
            pieces.append(Piece(part.y0, part.y1, scheme.air, "gap"))
        else:
            pieces += _filled(part.y0, part.y1, scheme, depth)
    return tuple(pieces)


def _open(section: Section) -> bool:
    return section.what == "space" and section.reachable


def _filled(a: float, b: float, scheme: Scheme, depth: float) -> list[Piece]:
    """A reachable space from ``a`` to ``b``: foam on the face it is sprayed at, then the rest."""
    if scheme.from_outside:
        face = min(b, a + scheme.foam_thickness)
        foam, rest = (a, face), (face, b)
    else:
        # over a stud, foam begins where it stands proud of the studs
        face = max(a, (b if b > 0 else depth) - scheme.foam_thickness)
        face = min(face, b)
        foam, rest = (face, b), (a, face)
    pieces = _rest(*rest, scheme)
    if scheme.foam and foam[1] - foam[0] > NEAR:
        pieces.append(Piece(*foam, scheme.foam, "foam"))
    return sorted(pieces, key=lambda piece: piece.y0)


def _rest(a: float, b: float, scheme: Scheme) -> list[Piece]:
    if b - a <= NEAR:
        return []
    if scheme.fill is None:
        return [Piece(a, b, scheme.air, "gap")]
    inner = a if scheme.fill_thickness is None else max(a, b - scheme.fill_thickness)
    gap = [Piece(a, inner, scheme.air, "gap")] if inner - a > NEAR else []
    return [*gap, Piece(inner, b, scheme.fill, "fill", scheme.fill_state)]


def _cuts(pieces: Iterable[Piece]) -> list[float]:
    cuts: list[float] = []
    for y in sorted(y for piece in pieces for y in (piece.y0, piece.y1)):
        if not cuts or y - cuts[-1] > NEAR:
            cuts.append(y)
    return cuts


def _layers(pieces: tuple[Piece, ...], cuts: list[float]) -> tuple[Layer, ...]:
    layers = []
    for y0, y1 in pairwise(cuts):
        middle = (y0 + y1) / 2
        piece = next(piece for piece in pieces if piece.y0 <= middle <= piece.y1)
        whole = piece.y1 - piece.y0
        layers.append(layer_of(piece.row, piece.role, y1 - y0, whole, state=piece.state))
    return tuple(layers)


def _sheets(sheets: Iterable[Sheet]) -> tuple[Layer, ...]:
    return tuple(layer_of(s.row, s.role, s.thickness, s.thickness, s.vented) for s in sheets)
