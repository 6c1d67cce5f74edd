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
from numba import njit

from warmside.geometry import RegionKind
from warmside.physics.assembly import Assembly
from warmside.physics.conduction._field import solve_grid
from warmside.physics.conduction._field_bodies import NOTHING, Blocks, Space
from warmside.physics.conduction._field_wall import ROOM, WallField, outer_film
from warmside.physics.conduction._grid import Grid
from warmside.physics.conduction._pieces import Alike, alike, by_material
from warmside.physics.conduction._simple import ISO_SURFACE_FILMS, Films
from warmside.physics.conduction._slivers import without_slivers

Floats = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]
REACH = 0.25  # [m] from the place to the cut
FIRST, GROWTH = 0.007, 0.55  # [m] cell at the place on the coarser grid; [-] of distance added
FIRST_DEPTH, GROWTH_DEPTH = 0.007, 0.4  # the same from the room surface outwards
TOLERANCE = 1e-5  # [-] of the true relative residual: factors then stand to 1e-5
# [-] of what doubling changed that is still to come: 1 at first order, 1/3 at second
REST = 2.0 / 3.0  # taken; the doubt is as much again
SLACK = 0.04  # [-] of a factor, by which the whole wall's grid may rank places wrongly
CANDIDATES = 2  # places looked at among pockets; three times as many among all other kinds
SPREAD = 0.02  # [m] how far the finish levels differences
APART = 0.3  # [m] between two on one edge
CLOSEST = 3  # places that are taken to their limits, of pockets and of all else
BESIDE = 0.04  # [m] round the place, where two grids are fine enough to be read
# [-] what one grid gives too much, and its doubt: from the demonstration's walls, own figures
FLATTERED, ONE_GRID = 0.001, 0.0045
PASSED_OVER = 0.002  # [-] by which a place not looked at may be colder; own figure, as above
OF_KIND = 0.004  # [-] the same among places of one kind that do not govern: one is looked at
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
    return np.asarray(_graded(lines, at, first, growth))


@njit(cache=True)
def _graded(lines, at, first, growth):  # type: ignore[no-untyped-def]
    away = lines - at
    counted = np.sign(away) * np.log1p(growth * np.abs(away) / first) / growth
    cells = np.maximum(np.ceil(np.diff(counted) - 1e-6), 1.0).astype(np.int64)
    edges = np.empty(cells.sum() + 1)
    place = 0
    for n in range(cells.size):
        edges[place] = lines[n]
        for m in range(1, cells[n]):
            step = counted[n] + (counted[n + 1] - counted[n]) * m / cells[n]
            edges[place + m] = at + np.sign(step) * np.expm1(growth * abs(step)) * first / growth
        place += cells[n]
    edges[place] = lines[-1]
    return edges


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


def spread(
    values: Floats, seen: Mask, u: tuple[Floats, Floats], v: tuple[Floats, Floats]
) -> tuple[Floats, Mask]:
    """Values at places, from all cells within a few `SPREAD` of them, and where there are any.

    ``u`` and ``v`` are cell edges and places [m]. Weighted by ``exp(-|x| / SPREAD)`` along both
    axes over the extent of each cell: what the finish, working as a fin, makes of a surface that
    is known as one value to a cell.
    """
    across, up = _spreading(*u), _spreading(*v)
    weight = across @ seen.astype(np.float64) @ up.T
    there = weight > 1e-6
    return (across @ (values * seen) @ up.T) / np.where(there, weight, 1.0), there


def _spreading(edges: Floats, places: Floats) -> Floats:
    """Weight of each cell at each place (places, cells), the integral of the kernel over it."""
    away = (edges[None, :] - places[:, None]) / SPREAD
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
    for model, spot in _candidates(wall, around).items():
        for place in _ranked(model):
            found[place.kind].append(spot.out(place))
    for kinds in (_HOLLOW, frozenset(wall.kinds) - _HOLLOW):
        _refine(found, kinds, around)
    coldest = (min(found[kind], key=lambda p: p.factor) for kind in wall.kinds)
    return tuple(
        replace(place, error=ONE_GRID + OF_KIND)
        if place.error == ONE_GRID and place.kind not in _HOLLOW
        else place
        for place in coldest
    )


def _refine(
    found: dict[RegionKind, list[Place]], kinds: frozenset[RegionKind], around: _Surroundings
) -> None:
    """Take the coldest of ``kinds`` to their limits, up to `CLOSEST`, while they may govern."""
    own = sorted((p for k in kinds for p in found.get(k, ())), key=lambda p: p.factor)
    coldest, taken = np.inf, set[_Local]()
    for place in own[: 2 * CLOSEST]:
        model, spot = around.at(place.x, place.z)
        if model in taken:
            continue
        if len(taken) == CLOSEST or place.lowest > coldest:
            return
        taken.add(model)
        for limit in (spot.out(limit) for limit in _limits(model)):
            others = (p for p in found[limit.kind] if not _at(p, spot.x, spot.z))
            found[limit.kind] = [*others, limit]
            coldest = min(coldest, limit.lowest) if limit.kind in kinds else coldest


def _at(place: Place, x: float, z: float) -> bool:
    return max(abs(place.x - x), abs(place.z - z)) < 1e-3


def _candidates(wall: WallField, around: _Surroundings) -> dict[_Local, _Spot]:
    """Where each kind, and all but pockets together, may be coldest, by the whole wall's grid."""
    seen = wall.room_surface
    theta = wall.temperatures(1.0, 0.0)
    factor = np.tensordot([theta[n] for n in wall.field.environments], seen.factor, 1)
    u, v = (_halved(edges) for edges in (seen.u, seen.v))
    nodes, there = spread(factor, seen.seen, (seen.u, u), (seen.v, v))
    number_of = np.repeat(np.repeat(np.where(seen.seen, wall.kind, -1), 2, 0), 2, 1)
    own = {kind: touching(number_of == n) & there for n, kind in enumerate(wall.kinds)}
    reached = [mask for kind, mask in own.items() if kind not in _HOLLOW]
    models: dict[_Local, _Spot] = {}
    for mask, number in (
        *((mask, CANDIDATES if kind in _HOLLOW else 1) for kind, mask in own.items()),
        *((np.logical_or.reduce(part), 3 * CANDIDATES) for part in (reached,) if part),
    ):
        i, k = np.nonzero(mask)
        for n in _apart(nodes[i, k], u[i], v[k], number):
            models.setdefault(*around.at(float(u[i[n]]), float(v[k[n]])))
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
    """A piece of wall about the origin, and which kind of region lies where in it."""

    piece: Alike
    kinds: tuple[RegionKind, ...]
    regions: bytes  # (m, 4) x0, x1, z0, z1 [m]
    kind: bytes  # (m,) number of each region's kind


@dataclass(frozen=True)
class _Spot:
    """Where the origin of a piece lies, and whether it is seen in a mirror."""

    x: float  # [m]
    z: float  # [m]
    turned: tuple[bool, ...]  # along x and along z

    def out(self, place: Place) -> Place:
        """A place of the piece in the wall."""
        x, z = (-v if t else v for v, t in zip((place.x, place.z), self.turned, strict=True))
        return replace(place, x=self.x + x, z=self.z + z)


@dataclass(frozen=True)
class _Surroundings:
    """A wall from which pieces are cut."""

    blocks: Blocks
    kinds: tuple[RegionKind, ...]
    regions: Floats  # (m, 4) [m]
    kind: npt.NDArray[np.int8]  # (m,) number of each region's kind
    spaces: tuple[Space, ...]

    @classmethod
    def of(cls, assembly: Assembly, wall: WallField, films: Films) -> _Surroundings:
        regions = without_slivers(assembly).regions
        rects = [(n, r) for n, kind in enumerate(wall.kinds) for r in regions[kind]]
        around = (-_FAR, _FAR, -_FAR, _FAR, -_FAR, _FAR)
        return cls(
            by_material(wall.field.grid.blocks),
            wall.kinds,
            np.array([(r.x0, r.x1, r.z0, r.z1) for _, r in rects]),
            np.array([n for n, _ in rects], np.int8),
            (
                Space(*around, ROOM, films.inside),
                Space(*around, "outside", outer_film(assembly, films)),
            ),
        )

    def at(self, x: float, z: float) -> tuple[_Local, _Spot]:
        """The piece about a place, cut off at `REACH`."""
        lines, y, up = self.blocks.lines
        (across, i), (upwards, k) = _clipped(lines, x), _clipped(up, z)
        what = np.full((across.size + 1, y.size + 1, upwards.size + 1), NOTHING, np.int32)
        inner = self.blocks.what[1:-1, 1:-1, 1:-1][i, :, k]
        what[1:-1, 1:-1, 1:-1] = np.where(inner >= 0, inner, NOTHING)
        what[:, 0], what[:, -1] = NOTHING - 1, NOTHING - 2
        blocks = replace(self.blocks, lines=(across, y, upwards), what=what, spaces=self.spaces)
        piece, turned = alike(blocks, (0, 2))
        regions, kind = self._kinds_about(x, z, turned)
        return _Local(piece, self.kinds, regions, kind), _Spot(x, z, turned)

    def _kinds_about(self, x: float, z: float, turned: tuple[bool, ...]) -> tuple[bytes, bytes]:
        """Regions that come near a place, as the piece has them, in one order."""
        about = self.regions - (x, x, z, z)
        near = (about[:, ::2] <= BESIDE).all(axis=1) & (about[:, 1::2] >= -BESIDE).all(axis=1)
        rects = np.clip(about[near], -2.0 * BESIDE, 2.0 * BESIDE)
        for axis in (0, 1):
            if turned[axis]:
                ends = slice(2 * axis, 2 * axis + 2)
                rects[:, ends] = 0.0 - rects[:, ends][:, ::-1]
        rects, kind = np.round(rects, 6) + 0.0, self.kind[near]
        order = np.lexsort((*rects.T, kind))
        return rects[order].tobytes(), kind[order].tobytes()


def _clipped(lines: Floats, at: float) -> tuple[Floats, slice]:
    """Lines about ``at``, cut off at `REACH`, and the blocks between them."""
    low, high = at - REACH, at + REACH
    first = int(np.searchsorted(lines, low + 1e-6, side="right")) - 1
    last = int(np.searchsorted(lines, high - 1e-6))
    some = slice(max(first, 0), min(last, lines.size - 1))
    return np.clip(lines[some.start : some.stop + 1] - at, -REACH, REACH), some


def _ranked(local: _Local) -> tuple[Place, ...]:
    """The coldest place of each kind near the origin, on one grid, less what one grid flatters."""
    u, v, nodes, there = _solved(local.piece, False)
    return _read(local, (u, v), nodes - FLATTERED, np.full(nodes.shape, ONE_GRID), there)


def _limits(local: _Local) -> tuple[Place, ...]:
    """The coldest place of each kind at the origin, by two grids, the limit and its error."""
    u, v, nodes, there = _solved(local.piece, False)
    fine = _solved(local.piece, True)[2][::2, ::2]
    rest = REST * (fine - nodes)
    return _read(local, (u, v), fine + rest, np.abs(rest) + PASSED_OVER, there)


def _read(
    local: _Local, at: tuple[Floats, Floats], factor: Floats, error: Floats, there: Mask
) -> tuple[Place, ...]:
    """The coldest node of each kind within `BESIDE` of the origin."""
    some = tuple(slice(*np.searchsorted(w, (-BESIDE, BESIDE + 1e-12)).tolist()) for w in at)
    u, v = (w[part] for w, part in zip(at, some, strict=True))
    factor, error, there = factor[some], error[some], there[some]
    rects, kind = np.frombuffer(local.regions).reshape(-1, 4), np.frombuffer(local.kind, np.int8)
    within = _within(rects, u, v)
    places = []
    for number in dict.fromkeys(kind.tolist()):
        own = there & within[:, :, kind == number].any(axis=2)
        if own.any():
            i, k = np.unravel_index(np.argmin(np.where(own, factor, np.inf)), own.shape)
            spot = (float(a[n, m]) for a, n, m in ((factor, i, k), (error, i, k)))
            places.append(Place(local.kinds[number], float(u[i]), float(v[k]), *spot))
    return tuple(places)


@lru_cache(maxsize=8192)
def _solved(piece: Alike, fine: bool) -> tuple[Floats, Floats, Floats, Mask]:
    """Crossings of the surface's lines [m], their temperature factors, and where there are any."""
    x, y, z = piece.blocks.lines
    edges = (
        graded(x, 0.0, FIRST, GROWTH),
        graded(y, float(y[0]), FIRST_DEPTH, GROWTH_DEPTH),
        graded(z, 0.0, FIRST, GROWTH),
    )
    grid = Grid(piece.blocks, edges)
    seen = solve_grid(grid.halved() if fine else grid, tolerance=TOLERANCE).surface(ROOM, "y", -1)
    return seen.u, seen.v, *at_nodes(seen.factor[0], seen.seen, seen.u, seen.v)


def _within(rects: Floats, u: Floats, v: Floats) -> Mask:
    """Nodes in or on the edge of each rectangle, (u, v, rectangles)."""
    x0, x1, z0, z1 = rects.T
    across = (u[:, None] >= x0 - 1e-6) & (u[:, None] <= x1 + 1e-6)
    up = (v[:, None] >= z0 - 1e-6) & (v[:, None] <= z1 + 1e-6)
    return np.asarray(across[:, None, :] & up[None, :, :])
