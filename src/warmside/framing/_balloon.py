"""The floor line of a balloon frame: ribbon, joist ends, fire blocks."""

from __future__ import annotations

from collections.abc import Sequence

from warmside.framing._parts import Rect
from warmside.framing._pieces import Piece, Shell, behind_wood


def floor_band(shell: Shell) -> tuple[float, float] | None:
    """Underside and top of the upper floor's joists [m]; None where no floor passes the wall.

    ``floor_line`` is the top of the joists.
    """
    line = shell.wall.floor_line
    if shell.wall.frame != "balloon" or line is None:
        return None
    return line - shell.wall.joist_depth, line


def floor_pieces(shell: Shell, studs: Sequence[Piece]) -> list[Piece]:
    """Ribbon let into the room side, and a joist end beside each full stud on layout.

    Without a ribbon the joists are taken to run along the wall: no ends, an open band.
    """
    band = floor_band(shell)
    if band is None or not shell.wall.ribbon:
        return []
    z0, z1 = band
    sections = behind_wood(shell.sizes.board, shell.depth, reachable=True)
    rect = Rect(0.0, z0 - shell.sizes.strip, shell.length, z0)
    pieces = [Piece("ribbon", "ribbon", "block", rect, sections)]
    side = 1 if shell.wall.layout_from == "left" else -1
    for stud in studs:
        x = (
            sorted((stud.rect.x1, stud.rect.x1 + shell.width))
            if side > 0
            else ([stud.rect.x0 - shell.width, stud.rect.x0])
        )
        rect = Rect(x[0], z0, x[1], z1)
        pieces.append(Piece("joist end", "joist end", "floor line", rect, shell.solid()))
    return pieces


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
