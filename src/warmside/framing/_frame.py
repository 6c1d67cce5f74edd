"""A surveyed wall becomes a frame."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from itertools import chain

from warmside.catalog import Lumber
from warmside.framing._assumptions import assumptions, warnings
from warmside.framing._balloon import fire_blocks, floor_pieces
from warmside.framing._bays import Space, bay_of, close, is_sliver, spaces
from warmside.framing._braces import Band, bands, brace_joints, brace_members, let_in
from warmside.framing._check import check, outline
from warmside.framing._joints import (
    FAMILY,
    edge_joints,
    numbered,
    opening_joints,
    service_joints,
    splice_joints,
    wood_joints,
)
from warmside.framing._layout import layout_studs, plates
from warmside.framing._openings import Surround, opening_pieces, opening_uprights, surrounds
from warmside.framing._parts import Frame, Hole, Member, Pocket, Region
from warmside.framing._pieces import Piece, Shell
from warmside.framing._posts import (
    end_faces,
    end_posts,
    is_post,
    ladder_blocks,
    partition_extent,
    partition_posts,
)
from warmside.framing._sizes import sizes_of
from warmside.framing._tiling import Tile, Tiling, Touch, tile, touches
from warmside.geometry import Rect, RegionKind
from warmside.survey import House, Wall


def frame_wall(wall: Wall, house: House, lumber: Sequence[Lumber]) -> Frame:
    """Frame a surveyed wall: members, bays, joints and pockets as exact geometry.

    Regions tile the wall: their areas and the openings add up to its area, with no overlap. A
    mirrored wall gives a mirrored frame. What the survey leaves open is taken by common practice
    and listed in ``Frame.assumptions``.

    Parameters
    ----------
    wall : Wall
        The wall as surveyed [m].
    house : House
        For the year where the wall has none of its own.
    lumber : sequence of Lumber
        Actual sizes by era; measured ``stud_width`` and ``stud_depth`` override them.

    Raises
    ------
    InputError
        Where the parts do not fit into the wall, with every fault found.
    """
    sizes = sizes_of(wall, house, lumber)
    shell = Shell(wall, sizes, outline(wall, sizes))
    check(shell)
    around = surrounds(shell, end_faces(shell), lumber)
    outlines = [_hole_rect(it) for it in around]
    tiling = tile(shell, outlines, _plan(shell, around))
    rects = [t.rect for t in tiling.tiles]
    touching = touches(rects)
    found = spaces(tiling.tiles, touching)
    return _assembled(shell, around, tiling, touching, found)


def _hole_rect(it: Surround) -> Rect:
    o = it.opening
    return Rect(o.left, o.sill, o.left + o.width, it.head)


def _plan(shell: Shell, around: Sequence[Surround]) -> list[Piece]:
    """Every piece, the one that gives way first."""
    ends = end_posts(shell)
    partitions = partition_posts(shell)
    taken = [(p.rect.x0, p.rect.x1) for p in ends]
    taken += [partition_extent(shell, p) for p in shell.wall.partitions if is_post(p)]
    studs = layout_studs(shell, around, taken)
    beside = opening_uprights(shell, around)
    uprights = [p.rect for p in chain(studs, beside, ends, partitions)]
    standing = [(r.x0, r.x1) for r in uprights]
    return [
        *floor_pieces(shell, uprights),
        *fire_blocks(shell),
        *ladder_blocks(shell, standing),
        *studs,
        *partitions,
        *beside,
        *ends,
        *opening_pieces(shell, around),
        *plates(shell),
    ]


def _assembled(
    shell: Shell,
    around: Sequence[Surround],
    tiling: Tiling,
    touching: Sequence[Touch],
    found: Sequence[Space],
) -> Frame:
    bays = [space for space in found if not is_sliver(space)]
    slivers = {i for space in found if is_sliver(space) for i in space.tiles}
    tiles = [close(t) if i in slivers else t for i, t in enumerate(tiling.tiles)]
    names = _names(tiles, bays)
    kinds = _region_kinds(tiles, touching)
    members = _members(tiles, names)
    holes = _holes(tiling, around)
    braces = bands(shell)
    # tile by tile, so that a bay knows the regions that a brace makes of its tiles
    split = [
        _braced(braces, shell.sizes.board, Region(kind, name, t.rect, t.piece.sections))
        for kind, name, t in zip(kinds, names, tiles, strict=True)
    ]
    joints = [
        *wood_joints(tiles, names, touching),
        *edge_joints(shell, tiles, names),
        *splice_joints(shell, tiles, names),
        *opening_joints(holes),
        *service_joints(shell, tiles, names),
        *brace_joints(shell, [m for m in members if FAMILY[m.kind] == "upright"]),
    ]
    return Frame(
        wall=shell.wall.name,
        outline=tiling.columns,
        depth=shell.depth,
        stud_width=shell.width,
        members=(*members, *brace_members(shell)),
        bays=tuple(
            bay_of(f"bay {n}", bay, [r for i in bay.tiles for r in split[i]], shell, around)
            for n, bay in enumerate(bays, start=1)
        ),
        regions=tuple(chain.from_iterable(split)),
        joints=numbered(joints),
        pockets=_pockets(tiles, names),
        holes=holes,
        warnings=warnings(shell, around),
        assumptions=assumptions(shell, around),
    )


def _braced(braces: Sequence[Band], board: float, region: Region) -> list[Region]:
    regions = [region]
    for band in braces:
        regions = let_in(regions, band, board)
    return regions


def _names(tiles: Sequence[Tile], bays: Sequence[Space]) -> list[str]:
    """Names by kind, numbered left to right; every tile of one bay bears the name of the bay."""
    counts: Counter[str] = Counter()
    bay_names = {i: f"bay {n}" for n, bay in enumerate(bays, start=1) for i in bay.tiles}
    names = []
    for i, it in enumerate(tiles):
        if it.piece.region == "bay":
            names.append(bay_names[i])
        else:
            counts[it.piece.name] += 1
            names.append(f"{it.piece.name} {counts[it.piece.name]}")
    return names


def _region_kinds(tiles: Sequence[Tile], touching: Sequence[Touch]) -> list[RegionKind]:
    """The kind of each tile; studs face to face over half their height are double studs."""
    kinds: list[RegionKind] = [t.piece.region for t in tiles]
    doubled: set[int] = set()
    for touch in touching:
        pair = tiles[touch.first], tiles[touch.second]
        if touch.upright and all(t.piece.region == "stud" for t in pair):
            half = min(t.rect.height for t in pair) / 2
            doubled |= {touch.first, touch.second} if touch.length >= half else set()
    for i in doubled:
        kinds[i] = "double stud"
    return kinds


def _members(tiles: Sequence[Tile], names: Sequence[str]) -> list[Member]:
    members = []
    for it, name in zip(tiles, names, strict=True):
        woods = [s for s in it.piece.sections if s.what == "wood"]
        for n, wood in enumerate(woods):
            face = "" if len(woods) == 1 else ", room ply" if n == 0 else ", outer ply"
            members.append(Member(name + face, it.piece.member, it.rect, wood.y0, wood.y1))
    return members


def _pockets(tiles: Sequence[Tile], names: Sequence[str]) -> tuple[Pocket, ...]:
    return tuple(
        Pocket(name, it.rect, s.y0, s.y1, it.piece.why)
        for it, name in zip(tiles, names, strict=True)
        for s in it.piece.sections
        if s.what == "space" and not s.reachable
    )


def _holes(tiling: Tiling, around: Sequence[Surround]) -> tuple[Hole, ...]:
    return tuple(
        Hole(it.opening.name, it.opening.kind, rect, it.opening.weight_pockets)
        for it, rect in zip(around, tiling.holes, strict=True)
    )
