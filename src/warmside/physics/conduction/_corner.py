"""The corner of two walls: a horizontal section with two outside faces."""

from __future__ import annotations

from dataclasses import replace

from warmside.geometry import RegionKind
from warmside.physics.assembly import Assembly
from warmside.physics.conduction._field import Field, solve_field
from warmside.physics.conduction._field_bodies import Body, Space
from warmside.physics.conduction._field_wall import OUTSIDE, ROOM, clear_stack, outer_film
from warmside.physics.conduction._linear import layers
from warmside.physics.conduction._simple import ISO_FILMS, Films

_FAR = 1.0  # [m] how far the air reaches; any positive length does
_WOOD: RegionKind = "post"


def corner_field(
    assembly: Assembly, *, arm: float = 1.0, films: Films = ISO_FILMS, cells: int = 30_000
) -> Field:
    """Solve the outer corner of two walls alike, room inside it.

    The room lies at x < 0 and y < 0, its corner at the origin; each wall is the assembly's
    clear bay for ``arm`` [m] from there, one metre high, its end an adiabatic cut. The corner
    within the frame's depth is solid wood where the wall has posts; the other layers go round.
    Environments ``"room"`` and ``"outside"``.

    Parameters
    ----------
    assembly : Assembly
        The finished wall.
    arm : float
        Inner length of each wall [m].
    films : Films
        Surface resistances [m2 K/W].
    cells : int
        About how many cells at most.

    Raises
    ------
    InputError, SolverError
        As `solve_field`.
    """
    walls = layers(clear_stack(assembly), -arm, 0.0)
    posts = [stack for stack in assembly.stacks if stack.kind == _WOOD]
    filling = layers(posts[0], -arm, 0.0) if posts else walls
    bodies: list[Body] = []
    for wall, fill in zip(walls, filling, strict=True):
        turned = replace(wall, x0=wall.y0, x1=wall.y1, y0=-arm, y1=0.0)
        bodies += [wall, turned, *_around(fill)]
    depth = walls[-1].y1
    outer = outer_film(assembly, films)
    spaces = [
        Space(-arm, 0.0, -arm, 0.0, 0.0, 1.0, ROOM, films.inside),
        Space(-arm, depth, depth, depth + _FAR, 0.0, 1.0, OUTSIDE, outer),
        Space(depth, depth + _FAR, -arm, depth, 0.0, 1.0, OUTSIDE, outer),
    ]
    return solve_field(bodies, spaces, cells=cells)


def _around(layer: Body) -> list[Body]:
    """The part of a layer that goes round the corner: an angle of two boxes."""
    low, high = layer.y0, layer.y1
    along = replace(layer, x0=0.0, x1=high)
    return [along, replace(layer, x0=low, x1=high, y0=0.0, y1=low)] if low > 0.0 else [along]
