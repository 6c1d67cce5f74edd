"""Which spaces are bays, what each is called, and which are too narrow to spray."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from warmside.framing._balloon import floor_band
from warmside.framing._openings import Surround
from warmside.framing._parts import Bay, Region, Section
from warmside.framing._pieces import LEAST_GAP, NEAR, Shell
from warmside.framing._tiling import Tile, Touch
from warmside.geometry import Rect

NARROW = 0.15  # [m] a bay narrower than this is slow to spray (common practice)
SLIVER_WHY = "the gap is too narrow to spray: caulk or pack it"
BayKind = Literal["stud bay", "over header", "under sill", "post pocket", "narrow"]


@dataclass(frozen=True)
class Space:
    """Tiles whose spaces run into one another."""

    tiles: tuple[int, ...]
    rect: Rect


def spaces(tiles: Sequence[Tile], touching: Sequence[Touch]) -> list[Space]:
    """Groups of tiles with reachable space that touch, left to right.

    The space behind a ribbon or a ladder block joins the bay above to the bay below.
    """
    root = list(range(len(tiles)))

    def find(i: int) -> int:
        while root[i] != i:
            root[i] = root[root[i]]
            i = root[i]
        return i

    open_tiles = {i for i, t in enumerate(tiles) if t.piece.reachable_depth > 0}
    for touch in touching:
        if touch.first in open_tiles and touch.second in open_tiles:
            root[find(touch.first)] = find(touch.second)
    groups: dict[int, list[int]] = defaultdict(list)
    for i in sorted(open_tiles):
        groups[find(i)].append(i)
    found = [
        Space(tuple(group), _around([tiles[i].rect for i in group])) for group in groups.values()
    ]
    return sorted(found, key=lambda s: (s.rect.x0, s.rect.z0))


def _around(rects: Sequence[Rect]) -> Rect:
    return Rect(
        min(r.x0 for r in rects),
        min(r.z0 for r in rects),
        max(r.x1 for r in rects),
        max(r.z1 for r in rects),
    )


def is_sliver(space: Space) -> bool:
    """Whether a space is too small to spray in either direction."""
    return min(space.rect.width, space.rect.height) < LEAST_GAP - NEAR


def close(tile: Tile) -> Tile:
    """The same tile with its spaces out of reach."""
    sections = tuple(replace(s, reachable=False) for s in tile.piece.sections)
    region = "pocket" if tile.piece.region == "bay" else tile.piece.region
    name = "gap" if tile.piece.region == "bay" else tile.piece.name
    piece = replace(tile.piece, name=name, region=region, sections=sections, why=SLIVER_WHY)
    return Tile(tile.rect, piece)


def bay_of(
    name: str, space: Space, regions: Sequence[Region], shell: Shell, around: Sequence[Surround]
) -> Bay:
    """The bay that a space makes; its volume is what foam can fill [m3]."""
    return Bay(
        name=name,
        rect=space.rect,
        depth=shell.depth,
        volume=sum(region.rect.area * _reach(region.sections) for region in regions),
        kind=_kind(space.rect, around),
        open_at=_open_at(space.rect, shell),
    )


def _reach(sections: Sequence[Section]) -> float:
    return sum(s.y1 - s.y0 for s in sections if s.what == "space" and s.reachable)


def _kind(rect: Rect, around: Sequence[Surround]) -> BayKind:
    """Between two openings one over the other, a bay counts as over the header of the lower."""
    inside = [
        it for it in around if rect.x0 >= it.bearing[0] - NEAR and rect.x1 <= it.bearing[1] + NEAR
    ]
    if any(rect.z0 >= it.head - NEAR for it in inside):
        return "over header"
    if any(rect.z1 <= it.opening.sill + NEAR for it in inside):
        return "under sill"
    return "narrow" if rect.width < NARROW - NEAR else "stud bay"


def _open_at(rect: Rect, shell: Shell) -> tuple[Literal["bottom", "top", "floor line"], ...]:
    """Where a bay of a balloon frame runs on; blocks that nobody saw are taken as missing."""
    if shell.wall.frame != "balloon" or shell.wall.fire_blocks == "present":
        return ()
    ends: list[Literal["bottom", "top", "floor line"]] = []
    if rect.z0 <= NEAR:
        ends.append("bottom")
    band = floor_band(shell)
    if band and rect.z0 < band[1] - NEAR and rect.z1 > band[0] + NEAR:
        ends.append("floor line")
    return tuple(ends)
