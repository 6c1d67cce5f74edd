"""The coldest place of each kind of region: local models, graded towards it, with their error.

On the grid of a whole wall the cells beside an edge are a few centimetres wide, and the plaster
over it changes its temperature within as much. What is wanted stands on edges: where wood meets a
hollow pocket. So each such place gets a model of its own: the wall around it, cut off where
nothing of the cut is felt, on two grids that grow away from it. What doubling the divisions
changed gives the limit and the error.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from warmside.geometry import RegionKind
from warmside.physics.assembly import Assembly
from warmside.physics.conduction._field import Field, solve_grid
from warmside.physics.conduction._field_bodies import Body, Space, paint, triple
from warmside.physics.conduction._field_wall import ROOM, WallField, outer_film
from warmside.physics.conduction._grid import Grid
from warmside.physics.conduction._simple import ISO_SURFACE_FILMS, Films
from warmside.physics.conduction._slivers import without_slivers

Floats = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]
REACH = 0.25  # [m] from the place to the cut
FIRST, GROWTH = 0.007, 0.55  # [m] cell at the place on the coarser grid; [-] of distance added
FIRST_DEPTH, GROWTH_DEPTH = 0.007, 0.4  # the same from the room surface outwards
TOLERANCE = 1e-6  # [-] of the true relative residual
# [-] of what doubling changed that is still to come: 1 at first order, 1/3 at second
REST = 2.0 / 3.0  # taken; the doubt is as much again
SLACK = 0.04  # [-] of a factor, by which the whole wall's grid may rank places wrongly
CANDIDATES = 2  # places looked at for each kind; for all but pockets together three times as many
SPREAD = 0.02  # [m] how far the finish levels differences
APART = 0.3  # [m] between two on one edge
CLOSEST = 3  # places that are taken to their limits, of pockets and of all else
BESIDE = 0.04  # [m] round the place, where two grids are fine enough to be read
# [-] what one grid gives too much, and its doubt: from the demonstration's walls, own figures
FLATTERED, ONE_GRID = 0.001, 0.0045
PASSED_OVER = 0.002  # [-] by which a place not looked at may be colder; own figure, as above
_FAR = 1.0  # [m]
_HOLLOW: frozenset[RegionKind] = frozenset({"pocket"})


@dataclass(frozen=True)
class Place:
    """The coldest place of a kind of region on the room surface.

    ``factor`` is its temperature factor, extrapolated to endless refinement; the true one lies
    within ``error`` of it.
    """

    kind: RegionKind
    x: float  # [m]
    z: float  # [m]
    factor: float  # [-]
    error: float  # [-]

    @property
    def lowest(self) -> float:
        """Cold end of the band [-]: what verdicts are held against."""
        return self.factor - self.error

    def moved(self, x: float, z: float) -> Place:
        """The same in a wall where the origin lies at ``x``, ``z`` [m]."""
        return replace(self, x=self.x + x, z=self.z + z)


def graded(lines: Floats, at: float, first: float, growth: float) -> Floats:
    """Cell edges [m] on all ``lines``; cells about ``first + growth |x - at|`` wide.

    Parameters
    ----------
    lines : array
        Faces that must be kept [m], rising.
    at : float
        Where the cells are smallest [m].
    first, growth : float
        Their width there [m] and what it gains with distance [-].

    Returns
    -------
    array
        Rising [m].
    """
    away = lines - at
    counted = np.sign(away) * np.log1p(growth * np.abs(away) / first) / growth
    cells = np.maximum(np.ceil(np.diff(counted) - 1e-6), 1.0).astype(int)
    steps = np.concatenate(
        [np.linspace(a, b, n, endpoint=False)
         for a, b, n in zip(counted[:-1], counted[1:], cells, strict=True)]
        + [counted[-1:]]
    )  # fmt: skip
    edges = at + np.sign(steps) * np.expm1(growth * np.abs(steps)) * first / growth
    edges[np.concatenate(([0], np.cumsum(cells)))] = lines
    return np.asarray(edges)


def at_nodes(values: Floats, seen: Mask, u: Floats, v: Floats) -> tuple[Floats, Mask]:
    """Values on the crossings of cell edges, from those of the cells' middles; and where any is.

    Linear between middles; beyond the last, that of the nearest.
    """
    weight, total = np.zeros((u.size, v.size)), np.zeros((u.size, v.size))
    shares = [_near_shares(edges) for edges in (u, v)]
    for i, j in ((0, 0), (0, 1), (1, 0), (1, 1)):
        at = (slice(i, u.size - 1 + i), slice(j, v.size - 1 + j))
        w = np.outer(shares[0][i], shares[1][j]) * seen
        weight[at] += w
        total[at] += w * values
    there = weight > 0.0
    return total / np.where(there, weight, 1.0), there


def _near_shares(edges: Floats) -> tuple[Floats, Floats]:
    """Weight of each cell at its lower and at its upper edge, the shorter way the more."""
    width = np.diff(edges)
    before, after = np.append(width[0], width[:-1]), np.append(width[1:], width[-1])
    return before / (width + before), after / (width + after)


def spread(values: Floats, seen: Mask, u: Floats, v: Floats) -> tuple[Floats, Mask]:
    """Values on the crossings of cell edges, from all cells within a few `SPREAD` of them.

    Weighted by ``exp(-|x| / SPREAD)`` along both axes over the extent of each cell: what the
    finish, working as a fin, makes of a surface that is known as one value to a cell.
    """
    across, up = (_spreading(edges) for edges in (u, v))
    weight = across @ seen @ up.T
    there = weight > 1e-6
    return (across @ (values * seen) @ up.T) / np.where(there, weight, 1.0), there


def _spreading(edges: Floats) -> Floats:
    """Weight of each cell at each edge (edges, cells), the integral of the kernel over it."""
    away = (edges[None, :] - edges[:, None]) / SPREAD
    reached = np.sign(away) * (1.0 - np.exp(-np.abs(away)))
    return 0.5 * np.diff(reached, axis=1)


def touching(mask: Mask) -> Mask:
    """Nodes that touch a cell of ``mask``."""
    out = np.zeros((mask.shape[0] + 1, mask.shape[1] + 1), bool)
    for i in (0, 1):
        for j in (0, 1):
            out[i : mask.shape[0] + i, j : mask.shape[1] + j] |= mask
    return out


def coldest_places(
    assembly: Assembly, wall: WallField, films: Films = ISO_SURFACE_FILMS
) -> tuple[Place, ...]:
    """Find the coldest place of each kind of region of a closed wall, each with its error.

    The field of the whole wall names where to look; local models tell how cold it is there, with
    surface ``films`` of their own [m2 K/W] (by default the ones for surface humidity).

    Parameters
    ----------
    assembly : Assembly
        The wall.
    wall : WallField
        Its field, closed.
    films : Films
        Surface resistances of the local models [m2 K/W].

    Returns
    -------
    tuple of Place
        In the order of ``wall.kinds``.

    Raises
    ------
    SolverError
        As `solve_field`.
    """
    around = _Surroundings.of(assembly, wall, films)
    found: dict[RegionKind, list[Place]] = {kind: [] for kind in wall.kinds}
    for model, (x, z) in _candidates(wall, around).items():
        for place in _ranked(model):
            found[place.kind].append(place.moved(x, z))
    for kinds in (_HOLLOW, frozenset(wall.kinds) - _HOLLOW):
        own = sorted((p for k in kinds for p in found.get(k, ())), key=lambda p: p.factor)
        closest = {around.at(p.x, p.z): (p.x, p.z) for p in reversed(own[: 2 * CLOSEST])}
        for model, (x, z) in list(closest.items())[: -CLOSEST - 1 : -1]:
            for place in (limit.moved(x, z) for limit in _limits(model)):
                kept = (p for p in found[place.kind] if not _at(p, x, z))
                found[place.kind] = [*kept, place]
    return tuple(min(found[kind], key=lambda p: p.factor) for kind in wall.kinds)


def _at(place: Place, x: float, z: float) -> bool:
    return max(abs(place.x - x), abs(place.z - z)) < 1e-3


def _candidates(wall: WallField, around: _Surroundings) -> dict[_Local, tuple[float, float]]:
    """Where each kind, and the wall pockets apart, may be coldest, by the whole wall's grid."""
    seen = wall.room_surface
    theta = wall.temperatures(1.0, 0.0)
    factor = np.tensordot([theta[n] for n in wall.field.environments], seen.factor, 1)
    u, v = (_halved(edges) for edges in (seen.u, seen.v))
    factor, there, number_of = (np.repeat(np.repeat(a, 2, 0), 2, 1) for a in (
        factor, seen.seen, wall.kind
    ))  # fmt: skip
    nodes, there = spread(factor, there, u, v)
    own = {kind: touching(number_of == n) & there for n, kind in enumerate(wall.kinds)}
    reached = [mask for kind, mask in own.items() if kind not in _HOLLOW]
    models: dict[_Local, tuple[float, float]] = {}
    for mask, number in (
        *((mask, CANDIDATES) for mask in own.values()),
        *((np.logical_or.reduce(part), 3 * CANDIDATES) for part in (reached,) if part),
    ):
        i, k = np.nonzero(mask)
        for n in _apart(nodes[i, k], u[i], v[k], number):
            place = float(u[i[n]]), float(v[k[n]])
            models.setdefault(around.at(*place), place)
    return models


def _halved(edges: Floats) -> Floats:
    """Edges and middles of cells."""
    return np.insert(edges, np.arange(1, edges.size), 0.5 * (edges[1:] + edges[:-1]))


def _apart(factor: Floats, x: Floats, z: Floats, number: int) -> list[int]:
    """The coldest nodes, one to a place on an edge, at most ``number``."""
    left = factor < factor.min() + SLACK
    chosen: list[int] = []
    while left.any() and len(chosen) < number:
        n = int(np.argmin(np.where(left, factor, np.inf)))
        chosen.append(n)
        across, up = abs(x - x[n]), abs(z - z[n])
        left &= (across > 1e-3) & (np.maximum(across, up) > BESIDE) | (up > APART)
    return chosen


@dataclass(frozen=True)
class _Local:
    """A piece of wall about the origin: all that its temperatures follow from."""

    ends: bytes  # (n, 6) x0, x1, y0, y1, z0, z1 of its bodies [m]
    conductivities: bytes  # (n, 3) [W/(m K)]
    kinds: tuple[RegionKind, ...]
    regions: bytes  # (m, 4) x0, x1, z0, z1 [m]
    kind: bytes  # (m,) number of each region's kind
    inside: float  # [m2 K/W]
    outside: float  # [m2 K/W]


@dataclass(frozen=True)
class _Surroundings:
    """A wall from which pieces are cut."""

    ends: Floats  # (n, 6) of its bodies [m]
    conductivities: Floats  # (n, 3)
    kinds: tuple[RegionKind, ...]
    regions: Floats  # (m, 4) [m]
    kind: npt.NDArray[np.int8]  # (m,) number of each region's kind
    films: tuple[float, float]

    @classmethod
    def of(cls, assembly: Assembly, wall: WallField, films: Films) -> _Surroundings:
        bodies = wall.field.grid.blocks.bodies
        regions = without_slivers(assembly).regions
        rects = [(n, r) for n, kind in enumerate(wall.kinds) for r in regions[kind]]
        return cls(
            np.array([(b.x0, b.x1, b.y0, b.y1, b.z0, b.z1) for b in bodies]),
            np.array([triple(b.conductivity) for b in bodies]),
            wall.kinds,
            np.array([(r.x0, r.x1, r.z0, r.z1) for _, r in rects]),
            np.array([n for n, _ in rects], np.int8),
            (films.inside, outer_film(assembly, films)),
        )

    def at(self, x: float, z: float) -> _Local:
        """The piece about a place, rounded to a tenth of a micrometre so that equals are equal."""
        ends, kept = _clipped(self.ends, (0, x), (4, z))
        regions, some = _clipped(self.regions, (0, x), (2, z))
        return _Local(
            ends.tobytes(),
            self.conductivities[kept].tobytes(),
            self.kinds,
            regions.tobytes(),
            self.kind[some].tobytes(),
            *self.films,
        )


def _clipped(ends: Floats, *ways: tuple[int, float]) -> tuple[Floats, Mask]:
    """Boxes about a place, cut off at `REACH`; which are left.

    ``ways`` are the columns where an axis begins, and the place on it [m].
    """
    kept = np.logical_and.reduce(
        [(ends[:, n + 1] > at - REACH + 1e-6) & (ends[:, n] < at + REACH - 1e-6) for n, at in ways]
    )
    cut = ends[kept]
    for n, at in ways:
        cut[:, n : n + 2] = np.clip(cut[:, n : n + 2] - at, -REACH, REACH)
    return np.round(cut, 7), kept


@lru_cache(maxsize=8192)
def _ranked(local: _Local) -> tuple[Place, ...]:
    """The coldest place of each kind near the origin, on one grid, less what one grid flatters."""
    u, v, nodes, there = _nodes(solve_grid(_grid(local), tolerance=TOLERANCE))
    return _read(local, BESIDE, (u, v), nodes - FLATTERED, np.full(nodes.shape, ONE_GRID), there)


@lru_cache(maxsize=8192)
def _limits(local: _Local) -> tuple[Place, ...]:
    """The coldest place of each kind at the origin, by two grids, the limit and its error."""
    grid = _grid(local)
    u, v, nodes, there = _nodes(solve_grid(grid, tolerance=TOLERANCE))
    fine = _nodes(solve_grid(grid.halved(), tolerance=TOLERANCE))[2][::2, ::2]
    rest = REST * (fine - nodes)
    return _read(local, BESIDE, (u, v), fine + rest, np.abs(rest) + PASSED_OVER, there)


def _read(
    local: _Local, reach: float, at: tuple[Floats, Floats], factor: Floats, error: Floats,
    there: Mask,
) -> tuple[Place, ...]:  # fmt: skip
    """The coldest node of each kind within ``reach`` [m] of the origin."""
    u, v = at
    rects, kind = np.frombuffer(local.regions).reshape(-1, 4), np.frombuffer(local.kind, np.int8)
    near = there & (np.abs(u) <= reach)[:, None] & (np.abs(v) <= reach)
    places = []
    for number in np.unique(kind).tolist():
        own = near & _within(rects[kind == number], u, v)
        if own.any():
            i, k = np.unravel_index(np.argmin(np.where(own, factor, np.inf)), own.shape)
            spot = (float(a[n, m]) for a, n, m in ((factor, i, k), (error, i, k)))
            places.append(Place(local.kinds[number], float(u[i]), float(v[k]), *spot))
    return tuple(places)


def _grid(local: _Local) -> Grid:
    ends, conductivities = np.frombuffer(local.ends), np.frombuffer(local.conductivities)
    ends, conductivities = ends.reshape(-1, 6), conductivities.reshape(-1, 3)
    bodies = [
        Body(x0, x1, y0, y1, z0, z1, (a, b, c))
        for (x0, x1, y0, y1, z0, z1), (a, b, c) in zip(
            ends.tolist(), conductivities.tolist(), strict=True
        )
    ]
    front, back = float(ends[:, 2].min()), float(ends[:, 3].max())
    side = (-_FAR, _FAR)
    spaces = [
        Space(*side, front - _FAR, front, *side, ROOM, local.inside),
        Space(*side, back, back + _FAR, *side, "outside", local.outside),
    ]
    blocks = paint(bodies, spaces)
    x, y, z = blocks.lines
    return Grid(
        blocks,
        (
            graded(x, 0.0, FIRST, GROWTH),
            graded(y, front, FIRST_DEPTH, GROWTH_DEPTH),
            graded(z, 0.0, FIRST, GROWTH),
        ),
    )


def _nodes(field: Field) -> tuple[Floats, Floats, Floats, Mask]:
    seen = field.surface(ROOM, "y", -1)
    return seen.u, seen.v, *at_nodes(seen.factor[0], seen.seen, seen.u, seen.v)


def _within(rects: Floats, u: Floats, v: Floats) -> Mask:
    """Nodes in or on the edge of a rectangle."""
    x0, x1, z0, z1 = rects.T
    across = (u[:, None] >= x0 - 1e-6) & (u[:, None] <= x1 + 1e-6)
    up = (v[:, None] >= z0 - 1e-6) & (v[:, None] <= z1 + 1e-6)
    return np.asarray(np.einsum("ur,vr->uv", across, up) > 0)
