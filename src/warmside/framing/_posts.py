"""Posts: at the corners, at the steps of the outline, and behind partitions."""

from __future__ import annotations

import math

from warmside.framing._balloon import floor_band
from warmside.framing._parts import Section
from warmside.framing._pieces import NEAR, Piece, Shell, behind_wood, overlap
from warmside.geometry import Rect
from warmside.survey import Partition
from warmside.units import INCH

BLOCK = 12 * INCH  # [m] height of a block in a post (common practice)
BLOCKS_WITHIN = 48 * INCH  # [m] from block to block at most (common practice)
LADDER_PITCH = 24 * INCH  # [m] from one ladder block to the next (common practice)
CORNER_WHY = "closed in the corner post, behind the end stud of the adjoining wall"
TURNED_WHY = "behind the stud turned flat in the corner"
PARTITION_WHY = "behind the partition that is nailed to this post"


def corner_width(shell: Shell, post: str) -> float:
    """Extent of a corner post along the wall [m]."""
    return {
        "three-stud": 3 * shell.width,
        "two-stud": shell.width + shell.depth,
        "solid": shell.depth,
        "none": shell.width,
    }[post]


def end_faces(shell: Shell) -> tuple[float, float]:
    """Inner faces of the two end posts [m]."""
    left = corner_width(shell, shell.wall.corner_left)
    return left, shell.length - corner_width(shell, shell.wall.corner_right)


def end_posts(shell: Shell) -> list[Piece]:
    """Both ends of the wall, and a stud under the higher side of every step."""
    inner_left, inner_right = end_faces(shell)
    left = _corner(shell, shell.wall.corner_left, shell.ceiling(0.0, inner_left))
    right = _corner(shell, shell.wall.corner_right, shell.ceiling(inner_right, shell.length))
    right = [_turned_round(shell, piece) for piece in right]
    return [*left, *right, *_step_studs(shell)]


def _corner(shell: Shell, post: str, ceiling: float) -> list[Piece]:
    """The post at x = 0 under plates at ``ceiling`` [m], first piece at the end of the wall."""
    w = shell.width
    if post == "none":
        return [shell.upright("stud", 0.0, w)]
    if post == "solid":
        return [shell.upright("solid post", 0.0, shell.depth, "post")]
    end = shell.upright("corner stud", 0.0, w, "post")
    if post == "two-stud":
        rect = Rect(w, 0.0, w + shell.depth, shell.height)
        sections = behind_wood(w, shell.depth, reachable=False)
        return [end, Piece("turned stud", "turned stud", "post", rect, sections, TURNED_WHY)]
    inner = shell.upright("corner stud", 2 * w, 3 * w, "post")
    return [end, *_blocked_pocket(shell, ceiling), inner]


def _blocked_pocket(shell: Shell, ceiling: float) -> list[Piece]:
    """The dead pocket of a three-stud corner, with blocks at bottom, top and between."""
    x0, x1 = shell.width, 2 * shell.width
    hollow = (Section(0.0, shell.depth, "space", reachable=False),)
    rect = Rect(x0, 0.0, x1, shell.height)
    pieces = [Piece("post pocket", "", "pocket", rect, hollow, CORNER_WHY)]
    z0, z1 = shell.floor, ceiling
    block = min(BLOCK, (z1 - z0) / 3)
    steps = max(2, math.ceil((z1 - z0 - block) / BLOCKS_WITHIN))
    for step in range(steps + 1):
        low = z0 + (z1 - z0 - block) * step / steps
        rect = Rect(x0, low, x1, low + block)
        pieces.append(Piece("post block", "post block", "post", rect, shell.solid()))
    return pieces


def _turned_round(shell: Shell, piece: Piece) -> Piece:
    """The same piece seen from the other end of the wall."""
    r = piece.rect
    rect = Rect(shell.length - r.x1, r.z0, shell.length - r.x0, r.z1)
    return Piece(piece.name, piece.member, piece.region, rect, piece.sections, piece.why)


def _step_studs(shell: Shell) -> list[Piece]:
    pieces = []
    for low, high in zip(shell.columns, shell.columns[1:], strict=False):
        if abs(high.z1 - low.z1) > NEAR:
            x0 = high.x0 if high.z1 > low.z1 else high.x0 - shell.width
            pieces.append(shell.upright("stud", x0, x0 + shell.width))
    return pieces


def partition_extent(shell: Shell, partition: Partition) -> tuple[float, float]:
    """What the post behind a partition takes of the wall, as (x0, x1) [m]."""
    half = {
        "three-stud": shell.width + shell.depth / 2,
        "two-stud": (shell.width + shell.depth) / 2,
        "ladder": 0.0,
        "none": 0.0,
    }[partition.post]
    return partition.at - half, partition.at + half


def is_post(partition: Partition) -> bool:
    """Whether studs of its own back the partition."""
    return partition.post in ("three-stud", "two-stud")


def partition_posts(shell: Shell) -> list[Piece]:
    """Studs behind partitions with what lies between them; ladders come with the blocks."""
    pieces = []
    for partition in shell.wall.partitions:
        if not is_post(partition):
            continue
        x0, x1 = partition_extent(shell, partition)
        w = shell.width
        rect = Rect(x0 + w, 0.0, x1 - w, shell.height)
        if partition.post == "three-stud":
            sections = behind_wood(w, shell.depth, reachable=False)
            middle = Piece("turned stud", "turned stud", "post", rect, sections, PARTITION_WHY)
        else:
            hollow = (Section(0.0, shell.depth, "space", reachable=False),)
            middle = Piece("post pocket", "", "pocket", rect, hollow, PARTITION_WHY)
        pieces.append(middle)
        pieces.append(shell.upright("partition stud", x0, x0 + w, "post"))
        pieces.append(shell.upright("partition stud", x1 - w, x1, "post"))
    return pieces


def ladder_blocks(shell: Shell, uprights: list[tuple[float, float]]) -> list[Piece]:
    """Flat blocks at the room face between the studs beside each ladder partition."""
    pieces = []
    for partition in shell.wall.partitions:
        at = partition.at
        on_stud = any(overlap(x0, x1, at - NEAR, at + NEAR) for x0, x1 in uprights)
        if partition.post != "ladder" or on_stud:
            continue
        x0 = max((u[1] for u in uprights if u[1] <= at + NEAR), default=0.0)
        x1 = min((u[0] for u in uprights if u[0] >= at - NEAR), default=shell.length)
        top = shell.ceiling(x0, x1)
        sections = behind_wood(shell.width, shell.depth, reachable=True)
        band = floor_band(shell)
        z = shell.floor + LADDER_PITCH
        while z + shell.depth < top:
            rect = Rect(x0, z, x1, z + shell.depth)
            if band is None or not overlap(
                rect.z0, rect.z1, band[0] - shell.sizes.strip, band[1] + shell.width
            ):
                pieces.append(Piece("ladder block", "ladder block", "block", rect, sections))
            z += LADDER_PITCH
    return pieces
