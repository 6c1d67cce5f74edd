"""Where a wall ends: sections through its outside corner, its top under an attic, its foot.

The field of a wall ends there in adiabatic cuts. These sections tell what is left out: how cold
the inner edge gets, and how much more heat leaves than the walls, the ceiling and the floor that
meet there are counted with, psi of ISO 10211.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import pairwise
from typing import Literal, TypeAlias

import numpy as np
import numpy.typing as npt

from warmside.physics.assembly import Assembly, Stack
from warmside.physics.conduction._field import Field, solve_grid
from warmside.physics.conduction._field_bodies import Body, Space, paint
from warmside.physics.conduction._field_wall import OUTSIDE, ROOM, clear_stack, outer_film
from warmside.physics.conduction._grid import Grid
from warmside.physics.conduction._linear import layers
from warmside.physics.conduction._pieces import Alike, alike, by_material
from warmside.physics.conduction._places import REST, graded
from warmside.physics.conduction._simple import (
    ISO_FILMS,
    ISO_SURFACE_FILMS,
    Films,
    resistances,
)
from warmside.physics.conduction._slivers import raster, without_slivers

Floats: TypeAlias = npt.NDArray[np.float64]
End: TypeAlias = Literal["corner", "ceiling", "floor"]
Strip: TypeAlias = tuple[Stack, float]  # of the wall from its end on, and how wide [m]
BELOW = "below"
ARM = 0.8  # [m] of wall, ceiling and floor from the inner edge; its effect has died away
FIRST, GROWTH = 0.006, 0.35  # [m] cell at the inner edge on the coarser grid; [-] of distance added
TOLERANCE = 1e-6  # [-] of the true relative residual
LEAST = 0.0005  # [-] error of a factor, beside what doubling the divisions leaves open
WOOD = 0.12  # [W/(m K)] softwood across the grain, ASHRAE (second-hand)
# What lies beyond the wall; no survey asks, so these are our own figures, said where they count
LOFT_DEPTH = 0.15  # [m]
LOFT = (LOFT_DEPTH, 0.045)  # [m], [W/(m K)] loose fill on the ceiling, over the plates as well
LID = (0.0127, 0.16)  # ceiling board
BOARDS = (0.038, 0.12)  # subfloor and floor
JOIST, RIM = 0.19, 0.038  # [m] height of the joists and thickness of the rim that closes them
HALF_WAY = 0.5  # [-] temperature factor of the air below the floor
UP, DOWN = 0.10, 0.17  # [m2 K/W] films, ISO 6946 (from memory)
_FAR = 5.0  # [m]
_NEAR = 1e-6  # [m]


@dataclass(frozen=True)
class Junction:
    """An end of a wall, ``length`` [m] of it.

    ``psi`` is ``L2D - sum U l`` with the clear wall, ceiling and floor, the wall by its whole
    length (ISO 10211, from memory); ``beyond`` what leaves beyond the wall's own field, which
    ends there in an adiabatic cut, and beyond the clear ceiling or floor. Of a corner both are
    this wall's half. The true temperature factor of the coldest place lies within ``error`` of
    ``factor``.
    """

    end: End
    length: float  # [m] of this wall's corners together, or of its top or foot
    psi: float  # [W/(m K)]
    beyond: float  # [W/(m K)]
    factor: float  # [-]
    error: float  # [-]


def junction(assembly: Assembly, end: End) -> Junction:
    """Solve a section through an end of a wall.

    A corner is that of two walls alike, this one running through and the other butting against
    it, framed as this wall's end is (the left one, if it stands on a post) where
    its post is hollow. The ceiling is a board under
    `LOFT` and an attic as cold as outside; the floor is of `BOARDS` over air `HALF_WAY` between
    room and outside, its joists closed by a rim. Joists themselves are left out.

    Parameters
    ----------
    assembly : Assembly
        The closed wall.
    end : "corner", "ceiling" or "floor"
        Which end.

    Raises
    ------
    SolverError
        As `solve_field`.
    """
    assembly = without_slivers(assembly)
    wall = _section(assembly, _strips(assembly, end))
    found = {"corner": _corner, "ceiling": _ceiling, "floor": _floor}[end](wall)
    return replace(found, length=_length(assembly, end))


# sections


@dataclass(frozen=True)
class _Wall:
    """A wall in section: layers inside, strips in the frame's depth, layers outside."""

    inside: tuple[Body, ...]  # along y; only their y0, y1 and conductivities count
    outside: tuple[Body, ...]
    strips: tuple[tuple[float, float, tuple[Body, ...]], ...]  # from, to along the wall [m]
    depth: float  # [m] of the frame
    outer: float  # [m2 K/W] film outside
    clear: float  # [W/(m2 K)] transmittance of the clear wall

    @property
    def finish(self) -> float:
        """Thickness of all that lies inside the frame [m]."""
        return -min((body.y0 for body in self.inside), default=0.0)

    @property
    def cover(self) -> float:
        """Thickness of all that lies outside the frame [m]."""
        return max((body.y1 for body in self.outside), default=self.depth) - self.depth


def _section(assembly: Assembly, strips: Sequence[Strip]) -> _Wall:
    clear, outer = clear_stack(assembly), outer_film(assembly, ISO_FILMS)
    inside, _, outside = _parted(clear, assembly)
    ends = np.cumsum([0.0, *(width for _, width in strips)]).tolist()
    framed = [_parted(stack, assembly)[1] for stack, _ in strips]
    return _Wall(
        inside, outside,
        tuple((a, b, bodies) for (a, b), bodies in zip(pairwise(ends), framed, strict=True)),
        assembly.depth, outer,
        1.0 / (sum(resistances(clear)) + ISO_FILMS.inside + outer),
    )  # fmt: skip


def _parted(
    stack: Stack, assembly: Assembly
) -> tuple[tuple[Body, ...], tuple[Body, ...], tuple[Body, ...]]:
    """The layers of a stack inside the frame, in its depth and outside it."""
    bodies = [
        replace(b, y0=b.y0 + assembly.y0, y1=b.y1 + assembly.y0) for b in layers(stack, 0.0, 1.0)
    ]
    return (
        tuple(b for b in bodies if b.y1 <= _NEAR),
        tuple(b for b in bodies if b.y1 > _NEAR and b.y0 < assembly.depth - _NEAR),
        tuple(b for b in bodies if b.y0 >= assembly.depth - _NEAR),
    )


def _length(assembly: Assembly, end: End) -> float:
    """Of a wall's corners together [m], each an end that stands on a post; of its top or foot."""
    if end != "corner":
        return sum(column.width for column in assembly.outline)
    left, right = _posts(assembly)
    return left * assembly.outline[0].height + right * assembly.outline[-1].height


def _posts(assembly: Assembly) -> tuple[bool, bool]:
    """Whether the wall stands on a post at its left and at its right end."""
    posts = assembly.regions.get("post", ())
    first, last = assembly.outline[0].x0, assembly.outline[-1].x1
    return (
        any(abs(post.x0 - first) < _NEAR for post in posts),
        any(abs(post.x1 - last) < _NEAR for post in posts),
    )


def _strips(assembly: Assembly, end: End) -> list[Strip]:
    """The wall from its end on, as the section cuts it, then clear bay."""
    x, z, what = raster(assembly)
    if end == "corner":
        if not _posts(assembly)[0] and _posts(assembly)[1]:
            x, what = (x[-1] - x)[::-1], what[::-1]
        row = what[:, _hollow_row(assembly, x, z, what)]
        widths = np.diff(x)
    else:
        row, widths = what[_bay_column(assembly, x, what)], np.diff(z)
        if end == "ceiling":
            row, widths = row[::-1], widths[::-1]
    strips: list[Strip] = []
    for n, width in zip(row.tolist(), widths.tolist(), strict=True):
        if n < 0 or (assembly.stacks[n].kind == "bay" and strips):
            break
        if assembly.stacks[n].kind == "bay":
            break
        strips.append((assembly.stacks[n], width))
        if sum(w for _, w in strips) > 0.5 * ARM:
            break
    reached = sum(width for _, width in strips)
    return [*strips, (clear_stack(assembly), ARM + assembly.depth - reached)]


def _hollow_row(assembly: Assembly, x: Floats, z: Floats, what: npt.NDArray[np.int64]) -> int:
    """A height at which the left end's post is hollow, else the middle one."""
    near = x[:-1] < x[0] + 0.2
    hollow = [n for n, stack in enumerate(assembly.stacks) if stack.kind == "pocket"]
    rows = np.flatnonzero(np.isin(what[near], hollow).any(axis=0))
    middle = int(np.searchsorted(z, 0.5 * (z[0] + z[-1]))) - 1
    return int(rows[np.argmin(abs(rows - middle))]) if rows.size else middle


def _bay_column(assembly: Assembly, x: Floats, what: npt.NDArray[np.int64]) -> int:
    """A place along the wall where most of the height is bay."""
    bays = [n for n, stack in enumerate(assembly.stacks) if stack.kind == "bay"]
    return int(np.argmax(np.isin(what, bays).sum(axis=1) * (np.diff(x) > 0.05)))


def _slab(x0: float, x1: float, y0: float, y1: float, conductivity: float) -> Body:
    return Body(x0, x1, y0, y1, 0.0, 1.0, (conductivity, conductivity, conductivity))


def _laid(parts: Iterable[Body], x0: float, x1: float) -> list[Body]:
    """Layers along x, from ``x0`` to ``x1`` [m]."""
    return [replace(b, x0=x0, x1=x1) for b in parts if x1 - x0 > _NEAR]


def _upright(wall: _Wall, x0: float) -> list[Body]:
    """Frame and all, along x from its end at 0; the layers inside from ``x0`` on [m]."""
    last = wall.strips[-1][1]
    framed = [body for a, b, parts in wall.strips for body in _laid(parts, a, b)]
    return [*_laid(wall.inside, x0, last), *framed, *_laid(wall.outside, 0.0, last)]


# Sections that are alike, in whatever wall, are solved once; the length is the wall's own.


@lru_cache(maxsize=1024)
def _corner(wall: _Wall) -> Junction:
    d, f, t, last = wall.depth, wall.finish, wall.cover, wall.strips[-1][1]
    stud = wall.strips[0][1] if len(wall.strips) > 1 else 0.038
    clear = wall.strips[-1][2]
    bodies = _upright(wall, d)
    # the other wall runs down from this one's inner face: its depth along x, its room at larger x
    bodies += [_slab(0.0, d, -stud, 0.0, WOOD)]
    foot = d - last  # both walls are counted from the outer edge of the frame on
    bodies += [_turned(b, d, foot, -stud) for b in clear]
    bodies += [_turned(b, d, foot, -f) for b in wall.inside]
    bodies += [_turned(b, d, foot, d) for b in wall.outside]
    for b in wall.outside:  # round the outer edge: each layer an angle of two boxes
        reach = b.y1 - d
        bodies += [replace(b, x0=-reach, x1=0.0)]
        if b.y0 > d + _NEAR:
            bodies += [replace(_turned(b, d, d, b.y0), x1=-(b.y0 - d))]
    outer = wall.outer

    def spaces(films: Films) -> tuple[Space, ...]:
        return (
            Space(d + f, last, foot, -f, 0.0, 1.0, ROOM, films.inside),
            Space(-_FAR, last, d + t, _FAR, 0.0, 1.0, OUTSIDE, outer),
            Space(-_FAR, -t, foot, d + t, 0.0, 1.0, OUTSIDE, outer),
        )

    l2d, factor, error = _solved(bodies, spaces, (d + f, -f), 0.0)
    half = 0.5 * l2d
    return Junction("corner", 1.0, half - wall.clear * last, half - _alone(wall), factor, error)


def _turned(body: Body, depth: float, y0: float, y1: float) -> Body:
    """A layer of the wall that stands across: its depth runs against x."""
    along, across, _ = _three(body)
    lam = (across, along, along)
    return replace(body, x0=depth - body.y1, x1=depth - body.y0, y0=y0, y1=y1, conductivity=lam)


def _three(body: Body) -> tuple[float, float, float]:
    lam = body.conductivity
    return lam if isinstance(lam, tuple) else (lam, lam, lam)


@lru_cache(maxsize=1024)
def _ceiling(wall: _Wall) -> Junction:
    lid, loft = LID, LOFT
    d, f, t, last = wall.depth, wall.finish, wall.cover, wall.strips[-1][1]
    # x runs down from the top of the plates; the ceiling hangs below them, room at y < -f
    bodies = _upright(wall, 0.0)
    bodies += [_slab(0.0, lid[0], -last, -f, lid[1]), _slab(-loft[0], 0.0, -last, d, loft[1])]
    outer = wall.outer

    def spaces(films: Films) -> tuple[Space, ...]:
        up = UP if films is ISO_FILMS else films.inside
        return (
            Space(lid[0], last, -last, -f, 0.0, 1.0, ROOM, (up, films.inside, films.inside)),
            Space(-_FAR, 0.0, -last, _FAR, 0.0, 1.0, OUTSIDE, (UP, outer, outer)),
            Space(0.0, last, d + t, _FAR, 0.0, 1.0, OUTSIDE, outer),
        )

    l2d, factor, error = _solved(bodies, spaces, (lid[0], -f), 0.0)
    over = (last - f) / (UP + lid[0] / lid[1] + loft[0] / loft[1] + UP)
    clear, alone = l2d - over - wall.clear * last, l2d - over - _alone(wall)
    return Junction("ceiling", 1.0, clear, alone, factor, error)


@lru_cache(maxsize=1024)
def _floor(wall: _Wall) -> Junction:
    boards, (d, f, t, last) = BOARDS, (wall.depth, wall.finish, wall.cover, wall.strips[-1][1])
    below = boards[0] + JOIST
    # x runs up from the floor; boards, joist space and rim below it
    bodies = _upright(wall, 0.0)
    bodies += [
        _slab(-boards[0], 0.0, -last, d, boards[1]),
        _slab(-below, -boards[0], d - RIM, d, WOOD),
        *_laid(wall.outside, -below, 0.0),
    ]
    outer = wall.outer

    def spaces(films: Films) -> tuple[Space, ...]:
        return (
            Space(
                0.0, last, -last, -f, 0.0, 1.0, ROOM, (max(films.inside, DOWN), films.inside, 0.1)
            ),
            Space(
                -below, -boards[0], -last, d - RIM, 0.0, 1.0, BELOW, (DOWN, ISO_FILMS.inside, 0.1)
            ),
            Space(-below, last, d + t, _FAR, 0.0, 1.0, OUTSIDE, outer),
        )

    l2d, factor, error = _solved(bodies, spaces, (0.0, -f), HALF_WAY)
    under = (last - f) * (1.0 - HALF_WAY) / (DOWN + boards[0] / boards[1] + DOWN)
    clear, alone = l2d - under - wall.clear * last, l2d - under - _alone(wall)
    return Junction("floor", 1.0, clear, alone, factor, error)


def _alone(wall: _Wall) -> float:
    """Heat through the wall's section as its own field counts it, its end adiabatic [W/(m K)]."""
    last, deep = wall.strips[-1][1], wall.depth + wall.cover
    spaces = (
        Space(0.0, last, -_FAR, -wall.finish, 0.0, 1.0, ROOM, ISO_FILMS.inside),
        Space(0.0, last, deep, _FAR, 0.0, 1.0, OUTSIDE, wall.outer),
    )
    section = by_material(paint(_upright(wall, 0.0), spaces))
    return _heat(alike(section)[0], (0.0, -wall.finish), 0.0)


# solving


def _solved(
    bodies: Sequence[Body],
    spaces: Callable[[Films], tuple[Space, ...]],
    edge: tuple[float, float],
    below: float,
) -> tuple[float, float, float]:
    """Heat out of the room, extrapolated [W/(m K)]; lowest factor on its surfaces and its error."""
    section = by_material(paint(bodies, spaces(ISO_FILMS)))
    at_surfaces = replace(section, spaces=spaces(ISO_SURFACE_FILMS))
    return _heat(alike(section)[0], edge, below), *_lowest(alike(at_surfaces)[0], edge, below)


def _grids(section: Alike, edge: tuple[float, float]) -> tuple[Field, Field]:
    x, y, z = section.blocks.lines
    edges = graded(x, edge[0], FIRST, GROWTH), graded(y, edge[1], FIRST, GROWTH), z
    grid = Grid(section.blocks, edges)
    coarse, fine = (solve_grid(g, tolerance=TOLERANCE) for g in (grid, grid.halved()))
    return coarse, fine


def _theta(field: Field, below: float) -> dict[str, float]:
    factors = {ROOM: 1.0, OUTSIDE: 0.0, BELOW: below}
    return {name: factors[name] for name in field.environments}


@lru_cache(maxsize=2048)
def _heat(section: Alike, edge: tuple[float, float], below: float) -> float:
    one, two = (f.flows(_theta(f, below))[ROOM] for f in _grids(section, edge))
    return two + REST * (two - one)


@lru_cache(maxsize=2048)
def _lowest(section: Alike, edge: tuple[float, float], below: float) -> tuple[float, float]:
    grids = _grids(section, edge)
    one, two = (f.coldest(ROOM, _theta(f, below)).temperature for f in grids)
    rest = REST * (two - one)
    return two + rest, abs(rest) + LEAST
