"""Where air passes foam by: lines of wood on wood, edges of openings, boxes and pipes."""

from __future__ import annotations

import math
from collections.abc import Sequence

from warmside.framing._layout import layout_centres
from warmside.framing._parts import Hole, Joint, JointKind
from warmside.framing._pieces import NEAR, Shell
from warmside.framing._tiling import Tile, Touch
from warmside.geometry import Rect
from warmside.units import INCH

STOCK = 192 * INCH  # [m] plates come 16 ft long (common practice)
SPLICE_OFFSET = 48 * INCH  # [m] splices of the two top plates lie 4 ft apart (common practice)
# what a member counts as where two meet
FAMILY = {
    "stud": "upright", "king stud": "upright", "trimmer": "upright", "cripple": "upright",
    "corner stud": "upright", "turned stud": "upright", "solid post": "upright",
    "partition stud": "upright", "post block": "upright",
    "bottom plate": "plate", "top plate": "plate",
    "header ply": "header", "header flange": "header", "header skin": "header",
    "head piece": "header", "rough sill": "sill",
    "fire block": "block", "ladder block": "block", "ribbon": "ribbon", "joist end": "ribbon",
}  # fmt: skip
# first match wins
MEETINGS: tuple[tuple[str, JointKind], ...] = (
    ("ribbon", "ribbon and joist"),
    ("block", "block to stud"),
    ("header", "header to frame"),
    ("sill", "sill to frame"),
    ("plate", "stud to plate"),
    ("upright", "stud to stud"),
)
# perimeter of the hole in the wall [m] (common practice): a 2 x 3 in. device box, a 4 in. round
# box, a 14 x 20 in. panel, an 8 in. light, a 6 in. duct
BOX_PERIMETER = {
    "outlet": 10 * INCH,
    "switch": 10 * INCH,
    "light": 4 * math.pi * INCH,
    "panel": 68 * INCH,
    "recessed light": 8 * math.pi * INCH,
    "duct": 6 * math.pi * INCH,
}
# outside diameter [m] (common practice): 1/2 in. copper, 1-1/2 and 2 in. iron, cable, 3/4 in. gas
PIPE_DIAMETER = {
    "water": 5 / 8 * INCH,
    "drain": 1.9 * INCH,
    "vent": 2.375 * INCH,
    "cable": 1 / 2 * INCH,
    "gas": 1.05 * INCH,
    "duct": 4 * INCH,
}


def numbered(joints: Sequence[Joint]) -> tuple[Joint, ...]:
    """The joints left to right, then upwards, named by number."""
    ordered = sorted(joints, key=lambda j: (j.line[0], j.line[1], j.line[2], j.line[3], j.kind))
    return tuple(
        Joint(f"joint {n}", j.kind, j.line, j.length, j.between, j.opening)
        for n, j in enumerate(ordered, start=1)
    )


def wood_joints(
    tiles: Sequence[Tile], names: Sequence[str], touching: Sequence[Touch]
) -> list[Joint]:
    """Every line where two members meet, by what they are."""
    joints = []
    for touch in touching:
        pair = (tiles[touch.first].piece.member, tiles[touch.second].piece.member)
        if pair[0] and pair[1]:
            between = (names[touch.first], names[touch.second])
            joints.append(Joint("", _meeting(pair, touch), touch.line, touch.length, between))
    return joints


def _meeting(pair: tuple[str, str], touch: Touch) -> JointKind:
    families = {FAMILY[member] for member in pair}
    if families == {"plate"}:
        return "plate splice" if touch.upright else "plate to plate"
    if families == {"header"}:
        return "header plies"
    return next(kind for family, kind in MEETINGS if family in families)


def edge_joints(shell: Shell, tiles: Sequence[Tile], names: Sequence[str]) -> list[Joint]:
    """Plate to floor and to ceiling, feet of balloon studs on the sill, plies of headers."""
    joints = []
    for tile, name in zip(tiles, names, strict=True):
        r, member = tile.rect, tile.piece.member
        bottom, top = (r.x0, r.z0, r.x1, r.z0), (r.x0, r.z1, r.x1, r.z1)
        if member == "bottom plate":
            joints.append(Joint("", "plate to floor", bottom, r.width, (name, "floor")))
        elif (
            member == "top plate" and abs(r.z1 - shell.ceiling(r.x0, r.x1) - 2 * shell.width) < NEAR
        ):
            joints.append(Joint("", "plate to ceiling", top, r.width, (name, "ceiling")))
        elif member == "header ply" and len(tile.piece.sections) > 1:
            joints.append(Joint("", "header plies", bottom, r.width, (name, name)))
        elif member and FAMILY[member] == "upright" and r.z0 == 0.0:
            joints.append(Joint("", "stud to plate", bottom, r.width, (name, "sill")))
    if shell.wall.frame == "balloon" and shell.wall.storey <= 1:
        line = (0.0, 0.0, shell.length, 0.0)
        joints.append(Joint("", "sill to foundation", line, shell.length, ("sill", "foundation")))
    return joints


def splice_joints(shell: Shell, tiles: Sequence[Tile], names: Sequence[str]) -> list[Joint]:
    """Plates longer than the stock are spliced over studs on layout, the two top plates offset."""
    centres = layout_centres(shell)
    per_stock = max(1, int(STOCK / shell.wall.spacing + NEAR))
    offset = min(int(SPLICE_OFFSET / shell.wall.spacing + NEAR), per_stock - 1)
    joints = []
    for tile, name in zip(tiles, names, strict=True):
        r = tile.rect
        if tile.piece.region != "plate" or r.width <= STOCK + NEAR:
            continue
        upper = tile.piece.member == "top plate" and any(
            abs(r.z1 - c.z1) < NEAR for c in shell.columns
        )
        for k in range(per_stock - (offset if upper else 0), len(centres) + 1, per_stock):
            x = centres[k - 1]
            if r.x0 + shell.width < x < r.x1 - shell.width:
                line = (x, r.z0, x, r.z1)
                joints.append(Joint("", "plate splice", line, r.height, (name, name)))
    return joints


def opening_joints(holes: Sequence[Hole]) -> list[Joint]:
    """The rough opening's four edges, threshold included."""
    joints = []
    for hole in holes:
        r = hole.rect
        for edge, line, length in (
            ("sill" if hole.kind == "window" else "threshold", (r.x0, r.z0, r.x1, r.z0), r.width),
            ("head", (r.x0, r.z1, r.x1, r.z1), r.width),
            ("left jamb", (r.x0, r.z0, r.x0, r.z1), r.height),
            ("right jamb", (r.x1, r.z0, r.x1, r.z1), r.height),
        ):
            between = (hole.name, edge)
            joints.append(Joint("", "opening perimeter", line, length, between, hole.name))
    return joints


def service_joints(shell: Shell, tiles: Sequence[Tile], names: Sequence[str]) -> list[Joint]:
    """Boxes and pipes: the length is the perimeter of the hole.

    A pipe that runs up a bay passes the bottom plate and the top plates.
    """
    joints = []
    for box in shell.wall.boxes:
        part = _part_at(box.x, box.z, tiles, names)
        line = (box.x, box.z, box.x, box.z)
        joints.append(Joint("", "box", line, BOX_PERIMETER[box.kind], (box.kind, part)))
    for pipe in shell.wall.pipes:
        top = shell.ceiling(pipe.x, pipe.x + 2 * NEAR)
        ends = [(0.0, "floor"), (top, "top plate")] if pipe.run == "vertical" else [(pipe.z, "")]
        for z, part in ends:
            part = part or _part_at(pipe.x, z, tiles, names)
            round_it = math.pi * PIPE_DIAMETER[pipe.kind]
            between = (pipe.kind, part)
            joints.append(Joint("", "penetration", (pipe.x, z, pipe.x, z), round_it, between))
    return joints


def _part_at(x: float, z: float, tiles: Sequence[Tile], names: Sequence[str]) -> str:
    def holds(r: Rect) -> bool:
        return r.x0 <= x <= r.x1 and r.z0 <= z <= r.z1

    return next((n for t, n in zip(tiles, names, strict=True) if holds(t.rect)), "wall")
