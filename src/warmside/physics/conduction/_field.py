"""The steady temperature field of a body of boxes, for any temperatures around it."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import product
from typing import TypeVar

import numpy as np
import numpy.typing as npt

from warmside.errors import Fault, InputError
from warmside.physics.conduction._conductance import (
    Faces,
    axes_of,
    bodies_of_cells,
    conductances,
    faces_of,
    put_in_air,
)
from warmside.physics.conduction._field_bodies import AXES, NOTHING, Blocks, Body, Space, paint
from warmside.physics.conduction._field_bodies import triple as _triple
from warmside.physics.conduction._grid import Grid, grid_of
from warmside.physics.conduction._multigrid import build, share_work
from warmside.physics.conduction._solver import Solution, require, solve

Floats = npt.NDArray[np.float64]
_Number = TypeVar("_Number", np.float64, np.int32)
TOLERANCE = 1e-8  # [-] of the true relative residual
LIMIT = 400  # iterations; a framed wall takes ten to fifteen
CELLS = (1, 60_000_000)


@dataclass(frozen=True)
class Spot:
    """A place on a surface: where, of what, and what its temperature is made of.

    ``factors`` are the weights of the environments' temperatures; they add up to 1.
    """

    x: float  # [m]
    y: float  # [m]
    z: float  # [m]
    label: str
    temperature: float  # [degC]
    factors: Mapping[str, float]  # [-]


@dataclass(frozen=True)
class FactorMap:
    """Temperature factors over a surface seen along ``axis``, or over a plane.

    ``u`` and ``v`` are cell edges [m] along the two other axes in the order x, y, z;
    ``factor`` is (environments, u, v), ``depth`` [m] where each cell's face lies along the
    axis, ``body`` the number of the body there, and ``seen`` whether there is one.
    """

    axis: str
    u: Floats
    v: Floats
    factor: Floats
    depth: Floats
    body: npt.NDArray[np.int32]
    seen: npt.NDArray[np.bool_]


@dataclass(frozen=True)
class Field:
    """Temperature factors of every cell and face, ready for any temperatures.

    The temperature anywhere is the sum over environments of factor times environment
    temperature, because the conduction problem is linear.

    Attributes
    ----------
    grid : Grid
        Cells; ``grid.edges`` are along x, y, z [m].
    environments : tuple of str
        Names; the order of ``coupling`` and of all factors.
    coupling : array (n, n)
        Heat flow from environment i through the bodies to j per kelvin, L_ij [W/K].
    residual : float
        Largest true relative residual ||b - A x|| / ||b|| of the solutions [-].
    iterations : tuple of int
        Per solution; there is one fewer than environments.
    closure : float
        Largest sum of all heat flows over half the sum of their amounts [-].
    converged : bool
        Whether every solution met its tolerance.
    """

    grid: Grid
    environments: tuple[str, ...]
    coupling: Floats
    residual: float
    iterations: tuple[int, ...]
    closure: float
    converged: bool
    faces: Faces
    _cells: tuple[Floats, ...]  # one array per environment but the last, (a, line, b) with ring
    _what: npt.NDArray[np.int32]
    _order: tuple[int, int, int]

    def factor(self, environment: str) -> Floats:
        """Temperature factor of every cell [-], (nx, ny, nz).

        In air it is 1 for the cell's own environment and 0 for others; 0 where nothing is.
        """
        return self._natural(self._factor(self._index(environment)))[1:-1, 1:-1, 1:-1]

    def body(self) -> npt.NDArray[np.int32]:
        """Number of the body in each cell, negative where there is none, (nx, ny, nz)."""
        return self._natural(self._what)[1:-1, 1:-1, 1:-1]

    def temperature(self, temperatures: Mapping[str, float]) -> Floats:
        """Temperature of every cell [degC], (nx, ny, nz), for the environments' [degC]."""
        theta = self._theta(temperatures)
        total = np.zeros(self._what.shape)
        for n, t in enumerate(theta):
            total += t * self._factor(n)
        return self._natural(total)[1:-1, 1:-1, 1:-1]

    def flows(self, temperatures: Mapping[str, float]) -> dict[str, float]:
        """Heat flow out of each environment into the bodies [W]."""
        theta = self._theta(temperatures)
        lost = self.coupling.sum(axis=1) * theta - self.coupling @ theta
        return {name: float(q) for name, q in zip(self.environments, lost, strict=True)}

    def flow_by_label(
        self, environment: str, temperatures: Mapping[str, float]
    ) -> dict[str, float]:
        """Heat flow out of an environment [W], by the label of the body that it enters."""
        n, theta = self._index(environment), self._theta(temperatures)
        mine = self.faces.environment == n
        flow = self.faces.conductance * (theta[n] - theta @ self.face_factors(film=False))
        total = np.bincount(
            self.faces.body[mine], weights=flow[mine], minlength=len(self.grid.blocks.bodies)
        )
        shares: dict[str, float] = {}
        for body, q in zip(self.grid.blocks.bodies, total, strict=True):
            shares[body.label] = shares.get(body.label, 0.0) + float(q)
        return shares

    def face_factors(self, *, film: bool = True) -> Floats:
        """Temperature factors at all ``faces`` [-], (environments, faces).

        On the surface, or with ``film=False`` in the cell behind it.
        """
        faces, count = self.faces, len(self.environments)
        inner: Floats = np.ones((count, faces.cell.size))
        for n, cells in enumerate(self._cells):
            inner[n] = cells.ravel()[faces.cell]
            inner[-1] -= inner[n]
        if not film:
            return inner
        share = faces.within / (faces.within + faces.film)
        own = np.arange(count)[:, None] == faces.environment
        return np.asarray(inner + share * (own - inner))

    def coldest(self, environment: str, temperatures: Mapping[str, float]) -> Spot:
        """Find the coldest spot of the surfaces of an environment."""
        n, theta = self._index(environment), self._theta(temperatures)
        mine = np.flatnonzero(self.faces.environment == n)
        factors = self.face_factors()[:, mine]
        face = int(mine[np.argmin(theta @ factors)])
        label = self.grid.blocks.bodies[self.faces.body[face]].label
        spots = [(*corner, self.factors_at(*corner)) for corner in self._corners(face)]
        x, y, z, weights = min(spots, key=lambda spot: float(theta @ spot[3]))
        named = {e: float(w) for e, w in zip(self.environments, weights, strict=True)}
        return Spot(x, y, z, label, float(theta @ weights), named)

    def factors_at(self, x: float, y: float, z: float) -> Floats:
        """Temperature factors at a point of a body [-], (environments,).

        On a crossing of grid lines, the value that balances the heat flows to the up to eight
        cells around it and through the films there; exact wherever heat flows one way. Inside
        a cell, the value of the cell. Ask for grid lines through the points you need.

        Raises
        ------
        InputError
            If no body is there.
        """
        point = (x, y, z)
        weight, total = 0.0, np.zeros(len(self.environments))
        for cell in product(*(self._beside(axis, at) for axis, at in enumerate(point))):
            for w, factors in self._pulls(cell, point):
                weight += w
                total += w * factors
        if weight == 0.0:
            raise InputError([Fault("field, point", f"({x}, {y}, {z}) m", "a point in a body")])
        return total / weight

    def temperature_at(
        self, x: float, y: float, z: float, temperatures: Mapping[str, float]
    ) -> float:
        """Temperature at a point (x, y, z) [m] of a body [degC]; see `factors_at`.

        ``temperatures`` [degC] of every environment by name.
        """
        return float(self._theta(temperatures) @ self.factors_at(x, y, z))

    def columns(self, cell: npt.NDArray[np.int64]) -> npt.NDArray[np.int64]:
        """Numbers of cells along x, y, z (3, n) for the ``cell`` of `Faces`."""
        return self._where(cell) - 1

    def surface(self, environment: str, axis: str, side: int) -> FactorMap:
        """Map the surface of an environment as seen along ``axis``.

        ``side`` is where the viewer stands: -1 at lower coordinates, +1 at higher ones. Only
        faces normal to the axis appear; the nearest where there are several.
        """
        normal = self._axis(axis)
        faces = self.faces
        mine = (faces.environment == self._index(environment)) & (faces.axis == normal)
        pick = np.flatnonzero(mine & (faces.side == side))
        where = self._where(faces.cell[pick])
        # nearest to the viewer last, so that it is the one that stays
        by_depth = np.argsort(side * where[normal], kind="stable")
        pick, where = pick[by_depth], where[:, by_depth]
        u, v = (other for other in range(3) if other != normal)
        cell = (where[u] - 1, where[v] - 1)
        edges = self.grid.edges
        shape = (self.grid.shape[u], self.grid.shape[v])
        factor = np.zeros((len(self.environments), *shape))
        factor[:, cell[0], cell[1]] = self.face_factors()[:, pick]
        depth, body, seen = np.zeros(shape), np.full(shape, -1, np.int32), np.zeros(shape, bool)
        depth[cell] = edges[normal][where[normal] - (1 if side < 0 else 0)]
        body[cell], seen[cell] = faces.body[pick], True
        return FactorMap(axis, edges[u], edges[v], factor, depth, body, seen)

    def plane(self, axis: str, at: float) -> FactorMap:
        """Map a plane normal to ``axis`` at the grid line nearest to ``at`` [m].

        Between two bodies it takes the interface's value; beside air, the body's cell.
        """
        normal = self._axis(axis)
        edge = self.grid.edges[normal]
        line = int(np.argmin(np.abs(edge - at)))
        what = np.moveaxis(self._natural(self._what), normal, 0)[line : line + 2, 1:-1, 1:-1]
        half = np.array([0.5 / _triple(b.conductivity)[normal] for b in self.grid.blocks.bodies])
        widths = self.grid.widths(normal)[line : line + 2, None, None]
        g = np.where(what >= 0, 1.0 / (widths * half[np.maximum(what, 0)]), 0.0)
        total = g.sum(axis=0)
        seen = total > 0.0
        share = g / np.where(seen, total, 1.0)
        factor = [
            (share * np.moveaxis(self._natural(self._factor(n)), normal, 0)[
                line : line + 2, 1:-1, 1:-1
            ]).sum(axis=0)
            for n in range(len(self.environments))
        ]  # fmt: skip
        u, v = (self.grid.edges[other] for other in range(3) if other != normal)
        body = np.where(what[1] >= 0, what[1], what[0])
        depth = np.full(seen.shape, edge[line])
        return FactorMap(axis, u, v, np.array(factor), depth, body, seen)

    def _factor(self, n: int) -> Floats:
        """Field of environment ``n`` with its idle ring, axes in the solver's order."""
        if n < len(self._cells):
            return self._cells[n]
        rest = np.where(self._what == NOTHING, 0.0, 1.0)
        for other in self._cells:
            rest -= other
        return rest

    def _natural(self, array: npt.NDArray[_Number]) -> npt.NDArray[_Number]:
        return array.transpose(np.argsort(self._order))

    def _where(self, cell: npt.NDArray[np.int64]) -> npt.NDArray[np.int64]:
        """Indices along x, y, z, idle ring included, (3, cells)."""
        found = np.array(np.unravel_index(cell, self._what.shape))
        return found[np.argsort(self._order)]

    def _index(self, environment: str) -> int:
        if environment not in self.environments:
            allowed = "one of " + ", ".join(self.environments)
            raise InputError([Fault("field, environment", f"'{environment}'", allowed)])
        return self.environments.index(environment)

    @staticmethod
    def _axis(axis: str) -> int:
        if axis not in AXES:
            raise InputError([Fault("field, axis", f"'{axis}'", "x, y or z")])
        return AXES.index(axis)

    def _theta(self, temperatures: Mapping[str, float]) -> Floats:
        faults = [
            Fault(
                f"field, temperature of '{name}'", f"{temperatures.get(name)}", "-273 to 2000 degC"
            )
            for name in self.environments
            if not -273.15 <= temperatures.get(name, math.nan) <= 2000.0
        ]
        if faults:
            raise InputError(faults)
        return np.array([float(temperatures[name]) for name in self.environments])

    def _beside(self, axis: int, at: float) -> tuple[int, ...]:
        """Cells left and right of a coordinate, idle ring counted; one cell twice inside it."""
        edge = self.grid.edges[axis]
        return tuple(int(np.searchsorted(edge, at + nudge)) for nudge in (-1e-7, 1e-7))

    def _pulls(self, cell: tuple[int, ...], point: tuple[float, ...]) -> list[tuple[float, Floats]]:
        """Weights and factors of a cell and of the films on its faces that meet at ``point``."""
        what = self._natural(self._what)
        body = what[cell]
        if body < 0:
            return []
        blocks = self.grid.blocks
        widths = np.array([self.grid.widths(axis)[cell[axis]] for axis in range(3)])
        size, names = float(np.prod(widths)), self.environments
        inner = [float(self._natural(cells)[cell]) for cells in self._cells]
        factors = np.array([*inner, 1.0 - sum(inner)])
        lam = _triple(blocks.bodies[body].conductivity)
        pulls = [(float(np.mean(lam)) / size, factors)]
        for axis in range(3):
            left, right = self._beside(axis, point[axis])
            beyond = list(cell)
            beyond[axis] = right if cell[axis] == left else left
            other = what[tuple(beyond)]
            if other < NOTHING:
                space = blocks.spaces[NOTHING - 1 - other]
                film = max(_triple(space.film)[axis], 1e-12)
                own = np.array([float(name == space.environment) for name in names])
                pulls.append((0.5 / film * widths[axis] / size, own))
        return pulls

    def _corners(self, face: int) -> list[tuple[float, float, float]]:
        """The four corners of a face, x, y, z [m]."""
        faces = self.faces
        at = self._where(faces.cell[face : face + 1])[:, 0]
        ends: list[tuple[float, ...]] = []
        for axis, edge in enumerate(self.grid.edges):
            low, high = float(edge[at[axis] - 1]), float(edge[at[axis]])
            if axis == faces.axis[face]:
                ends.append((high,) if faces.side[face] > 0 else (low,))
            else:
                ends.append((low, high))
        return [(x, y, z) for x, y, z in product(*ends)]


def solve_field(
    bodies: Sequence[Body],
    spaces: Sequence[Space],
    *,
    cells: int = 200_000,
    lines: tuple[Sequence[float], Sequence[float], Sequence[float]] = ((), (), ()),
    throw: bool = True,
    tolerance: float = TOLERANCE,
) -> Field:
    """Solve steady conduction through ``bodies`` between the environments of ``spaces``.

    div(lambda grad T) = 0 by finite volumes on a tensor grid whose lines follow every face,
    with harmonic conductances between cells and a surface resistance on every face that meets
    air. Faces that meet nothing are adiabatic (cut planes). Directions along which nothing
    changes keep one cell, so 2-D and 1-D sections are the thin cases.

    Parameters
    ----------
    bodies, spaces : sequence
        See `Body` and `Space`.
    cells : int
        About how many cells at most.
    lines : three sequences of float
        Further grid lines along x, y, z [m], through points whose temperature is wanted.
    throw : bool
        Raise if a solution does not converge; otherwise see ``converged``.
    tolerance : float
        Of the true relative residual [-].

    Returns
    -------
    Field

    Raises
    ------
    InputError
        If bodies, spaces or the number of cells cannot be used.
    SolverError
        If the equations could not be solved to ``tolerance``.
    """
    blocks = paint(bodies, spaces, lines)
    low, high = CELLS
    if isinstance(cells, bool) or not isinstance(cells, int) or not low <= cells <= high:
        raise InputError([Fault("field, cells", f"{cells!r}", f"a whole number {low} to {high}")])
    return solve_grid(grid_of(blocks, cells, _flat(blocks)), throw=throw, tolerance=tolerance)


def _flat(blocks: Blocks) -> tuple[bool, bool, bool]:
    """Axes along which nothing changes: one block, and no air at its ends."""
    inner = slice(1, -1)
    x, y, z = (
        ends.shape[0] == 3 and bool(np.all(ends[[0, 2], inner, inner] == NOTHING))
        for ends in (np.moveaxis(blocks.what, axis, 0) for axis in range(3))
    )
    return x, y, z


def solve_grid(grid: Grid, *, throw: bool = True, tolerance: float = TOLERANCE) -> Field:
    """Solve on a given grid; see `solve_field`.

    Parameters
    ----------
    grid : Grid
        Of bodies and spaces.
    throw : bool
        Raise where the tolerance is not reached, or hand back the field as it is.
    tolerance : float
        Of the true relative residual [-].

    Raises
    ------
    InputError
        An environment that touches no body.
    SolverError
        No convergence.
    """
    share_work(grid.cells)
    order = axes_of(grid)
    what = bodies_of_cells(grid, order)
    faces = faces_of(grid, what, order)
    names = grid.blocks.environments
    bare = [name for n, name in enumerate(names) if not np.any(faces.environment == n)]
    if bare:
        allowed = "a space that touches a body"
        raise InputError(
            [Fault(f"field, environment '{n}'", "it touches no body", allowed) for n in bare]
        )
    grids = build(conductances(grid, what, order, faces))
    solutions = []
    for n in range(len(names) - 1):
        mine = faces.environment == n
        heat = np.bincount(
            faces.cell[mine], weights=faces.conductance[mine], minlength=what.size
        ).astype(np.float64, copy=False)
        solution = solve(grids, heat.reshape(what.shape), tolerance=tolerance, limit=LIMIT)
        own = [float(space.environment == names[n]) for space in grid.blocks.spaces]
        put_in_air(solution.x, what, np.array(own))
        solutions.append(require(solution, tolerance) if throw else solution)
    return _field(grid, faces, solutions, what, order)


def _field(
    grid: Grid,
    faces: Faces,
    solutions: list[Solution],
    what: npt.NDArray[np.int32],
    order: tuple[int, int, int],
) -> Field:
    names, g = grid.blocks.environments, faces.conductance
    n = len(names)
    flows = np.zeros((n, n))  # out of environment i for unit temperature of j
    closure = 0.0
    for j, solution in enumerate(solutions):
        cell = solution.x.ravel()[faces.cell]
        q = g * ((faces.environment == j) - cell)
        flows[:, j] = np.bincount(faces.environment, weights=q, minlength=n)
        half = 0.5 * float(np.abs(flows[:, j]).sum())
        closure = max(closure, abs(float(flows[:, j].sum())) / half if half > 0.0 else 0.0)
    flows[:, -1] = -flows[:, :-1].sum(axis=1)
    coupling = -flows
    np.fill_diagonal(coupling, 0.0)
    return Field(
        grid=grid,
        environments=names,
        coupling=coupling,
        residual=max(s.residual for s in solutions),
        iterations=tuple(s.iterations for s in solutions),
        closure=closure,
        converged=all(s.converged for s in solutions),
        faces=faces,
        _cells=tuple(s.x for s in solutions),
        _what=what,
        _order=order,
    )


def warm() -> None:
    """Compile the solver, by solving the smallest wall."""
    wall = Body(0, 1, 0, 1, 0, 1, 1.0)
    room, outside = Space(0, 1, -1, 0, 0, 1, "room", 0.1), Space(0, 1, 1, 2, 0, 1, "outside", 0.1)
    solve_field([wall], [room, outside], cells=64, lines=((0.5,), (), (0.5,)))
