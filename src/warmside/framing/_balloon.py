"""The floor line of a balloon frame: ribbon, joist ends, fire blocks."""

from __future__ import annotations

from collections.abc import Sequence

from warmside.framing._layout import layout_steps
from warmside.framing._pieces import LEAST_GAP, Piece, Shell, behind_wood, overlap
from warmside.geometry import Rect


def floor_band(shell: Shell) -> tuple[float, float] | None:
    """Underside and top of the upper floor's joists [m]; None where no floor passes the wall.

    ``floor_line`` is the underside of the joists.
    """
    line = shell.wall.floor_line
    if shell.wall.frame != "balloon" or line is None:
        return None
    return line, line + shell.wall.joist_depth


def floor_pieces(shell: Shell, uprights: Sequence[Rect]) -> list[Piece]:
    """Ribbon let into the room side, and a joist end beside each stud on layout.

    Without a ribbon the joists are taken to run along the wall: no ends, an open band.
    """
    band = floor_band(shell)
    if band is None or not shell.wall.ribbon:
        return []
    z0, z1 = band
    sections = behind_wood(shell.sizes.board, shell.depth, reachable=True)
    ribbon = Rect(0.0, z0 - shell.sizes.strip, shell.length, z0)
    passing = sorted((u.x0, u.x1) for u in uprights if overlap(u.z0, u.z1, z0, z1))
    if shell.wall.layout_from == "right":
        flipped = _joist_faces(shell, [(shell.length - b, shell.length - a) for a, b in passing])
        faces = [(shell.length - b, shell.length - a) for a, b in flipped]
    else:
        faces = _joist_faces(shell, passing)
    ends = [
        Piece("joist end", "joist end", "floor line", Rect(x0, z0, x1, z1), shell.solid())
        for x0, x1 in faces
    ]
    return [Piece("ribbon", "ribbon", "block", ribbon, sections), *ends]


def _joist_faces(shell: Shell, passing: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """Joists [m] from the starting end, beyond whatever stands at each layout centre."""
    faces = []
    for centre in layout_steps(shell):
        near, far = centre - shell.width / 2, centre + shell.width / 2
        if not any(overlap(near - LEAST_GAP, far + LEAST_GAP, a, b) for a, b in passing):
            continue  # headed off at an opening
        for a, b in sorted(passing):
            if a < far + LEAST_GAP and b > far:
                far = b
        if far + shell.width < shell.length - shell.width:
            faces.append((far, far + shell.width))
    return faces


def fire_blocks(shell: Shell) -> list[Piece]:
    """Rows of blocks, where they were seen: in a balloon frame on the sill and at the floor line,
    in a platform frame at mid-height.
    """
    if shell.wall.fire_blocks != "present":
        return []
    w = shell.width
    band = floor_band(shell)
    if shell.wall.frame == "balloon":
        rows = [0.0] if band is None else [0.0, band[1]]
    else:
        rows = [min(c.z1 for c in shell.columns) / 2 - w / 2]
    return [
        Piece("fire block", "fire block", "block", Rect(0.0, z, shell.length, z + w), shell.solid())
        for z in rows
    ]
