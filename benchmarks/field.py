"""The temperature field of a framed wall beside general solvers, on the same matrix.

``./bench field`` prints one line per size. ``./bench field 200000 1000000`` takes sizes of
one's own; ``--alone`` leaves the general solvers out, ``--runs N`` sets how often each is run.
"""

from __future__ import annotations

import argparse
import os
import platform
import statistics
import time
import tracemalloc
from collections.abc import Callable
from typing import NamedTuple

import numba
import numpy as np
import pyamg
import scipy
import scipy.sparse.linalg

from record import record
from warmside.catalog import load
from warmside.framing import frame_wall
from warmside.options import apply, offered
from warmside.physics.conduction import ISO_FILMS, solids, warm
from warmside.physics.conduction._conductance import (
    axes_of,
    bodies_of_cells,
    conductances,
    faces_of,
    matrix,
)
from warmside.physics.conduction._field import solve_grid
from warmside.physics.conduction._field_bodies import Blocks, paint
from warmside.physics.conduction._field_wall import _bodies, _spaces
from warmside.physics.conduction._grid import Grid, grid_of
from warmside.physics.conduction._multigrid import build, finest, grids_of
from warmside.physics.conduction._solver import solve
from warmside.survey import AsFound, FoundLayer, House, Opening, Wall

TOLERANCE = 1e-8
DIRECT_UP_TO = 60_000  # cells; beyond, a direct solution takes minutes and gigabytes
AMG_UP_TO = 4_000_000


def framed_wall() -> Blocks:
    """A 6 m wall with a window and a door, 2x4 studs, closed-cell foam in part of the bays."""
    catalog = load()
    house = House(name="bench", climate="north-bay", year_built=1931, volume=300)
    wall = Wall(
        name="long side",
        year_built=1955,
        faces=0,
        frame="platform",
        length=6.0,
        height=2.44,
        header="doubled",
        found=AsFound(
            finish=(FoundLayer(material="plaster-on-wood-lath"),),
            sheathing=(FoundLayer(material="board-sheathing"),),
            paper="building-paper",
            cladding=FoundLayer(material="wood-bevel-siding"),
        ),
        openings=(
            Opening(name="window", left=1.0, sill=0.9, width=1.1, height=1.2),
            Opening(name="door", kind="door", left=4.2, sill=0.0, width=0.9, height=2.03),
        ),
    )
    frame = frame_wall(wall, house, catalog.lumber)
    options = [o for o in offered(wall, house, catalog) if o.kind.name == "closed-cell"]
    boxes = solids(apply(options[1], wall, frame, catalog).assembly)
    return paint(_bodies(boxes, 10.0), _spaces(boxes, (), ISO_FILMS.inside, ISO_FILMS.outside))


class Timed(NamedTuple):
    """Median seconds on the clock, least seconds of work of all cores, and what was reached."""

    seconds: float
    work: float
    iterations: int
    residual: float


class Case:
    """One grid: its conductances, its equations, and who solves them in what time."""

    def __init__(self, grid: Grid, runs: int) -> None:
        self.grid, self.runs = grid, runs
        order = axes_of(grid)
        self.what = bodies_of_cells(grid, order)
        faces = faces_of(grid, self.what, order)
        self.g = conductances(grid, self.what, order, faces)
        room = faces.environment == 0
        self.heat = np.bincount(faces.cell[room], faces.conductance[room], self.what.size)
        self.widths = tuple(np.diff(grid.edges[axis]) for axis in order[::2])

    def timed(self, run: Callable[[], tuple[int, float]]) -> Timed:
        """Run as often as asked."""
        seconds, work = [], []
        for _ in range(self.runs):
            start, busy = time.perf_counter(), time.process_time()
            iterations, residual = run()
            seconds.append(time.perf_counter() - start)
            work.append(time.process_time() - busy)
        return Timed(statistics.median(seconds), min(work), iterations, residual)

    def lines(self) -> tuple[int, float]:
        """Our equations: grids and factors set up, then solved."""
        grids = grids_of(self.widths, self.what.shape[1])
        for ours, given in zip(finest(grids), finest(self.g), strict=True):
            ours[...] = given
        build(grids)
        found = solve(grids, self.heat.reshape(self.what.shape), tolerance=TOLERANCE, limit=100)
        return found.iterations, found.residual

    def whole(self) -> tuple[int, float]:
        """Everything from the boxes to heat flows."""
        field = solve_grid(self.grid)
        return field.iterations[0], field.residual

    def general(self) -> dict[str, Callable[[], tuple[int, float]]]:
        """The same equations for solvers that know nothing of walls."""
        a = matrix(self.g, self.what.shape[2])
        b = self.heat[self.what.ravel() >= 0]
        size = np.linalg.norm(b)

        def amg(build: Callable[..., pyamg.MultilevelSolver]) -> Callable[[], tuple[int, float]]:
            def run() -> tuple[int, float]:
                history: list[float] = []
                x = build(a).solve(b, tol=TOLERANCE, accel="cg", maxiter=200, residuals=history)
                return len(history) - 1, float(np.linalg.norm(b - a @ x) / size)

            return run

        def direct() -> tuple[int, float]:
            x = scipy.sparse.linalg.spsolve(a.tocsc(), b)
            return 1, float(np.linalg.norm(b - a @ x) / size)

        found = {}
        if self.grid.cells <= AMG_UP_TO:
            found["pyamg Ruge-Stueben + CG"] = amg(pyamg.ruge_stuben_solver)
            found["pyamg smoothed aggregation + CG"] = amg(pyamg.smoothed_aggregation_solver)
        if self.grid.cells <= DIRECT_UP_TO:
            found["scipy direct"] = direct
        return found


def bytes_per_cell(grid: Grid) -> float:
    """Peak of all arrays of a whole solution, per cell."""
    tracemalloc.start()
    solve_grid(grid)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    return peak / grid.cells


def bandwidth() -> float:
    """Bytes copied in a second by numpy, one core, read and written counted [B/s]."""
    source = np.ones(25_000_000)
    target = np.empty_like(source)
    times = []
    for _ in range(5):
        begun = time.perf_counter()
        np.copyto(target, source)
        times.append(time.perf_counter() - begun)
    return 2.0 * source.nbytes / min(times)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument(
        "cells", nargs="*", type=int, default=[50_000, 200_000, 1_000_000, 3_000_000, 10_000_000]
    )
    parser.add_argument("--alone", action="store_true")
    parser.add_argument("--runs", type=int, default=3)
    asked = parser.parse_args()
    libraries = (np, scipy, numba, pyamg)
    print(
        "Python", platform.python_version(), *(f"{m.__name__} {m.__version__}" for m in libraries)
    )
    print(f"{numba.config.NUMBA_NUM_THREADS} cores, {platform.machine()}; seconds: median of "
          f"{asked.runs}, set-up included, to a true residual of {TOLERANCE:.0e}; work: least "
          f"seconds of all cores together; load before: {os.getloadavg()[0]:.1f}")  # fmt: skip
    print(f"{'cells':>10}  {'solver':32}{'seconds':>9}{'work':>9}{'iterations':>12}"
          f"{'residual':>10}{'bytes/cell':>12}{'times ours':>12}{'in work':>9}")  # fmt: skip
    warm()
    blocks, before = framed_wall(), None
    for cells in asked.cells:
        grid = grid_of(blocks, cells, (False, False, False))
        case = Case(grid, asked.runs)
        memory = bytes_per_cell(grid)
        ours = case.timed(case.lines)
        show(grid.cells, "lines and in-plane grids + CG", ours, f"{memory:12.0f}")
        show(grid.cells, "  the same from boxes to flows", case.timed(case.whole))
        noted = f"{grid.cells} cells"
        streamed = ours.iterations * memory * grid.cells / bandwidth()
        record(f"field, {noted}", ours.seconds, "s", target="<= 0.25 at 1e6",
               ratio=ours.seconds / streamed,
               against="copying all its memory once an iteration")  # fmt: skip
        record(f"iterations, {noted}", ours.iterations, "-", target="<= 15")
        record(f"memory, {noted}", memory, "bytes/cell", target="<= 150")
        if not asked.alone:
            for name, run in case.general().items():
                other = case.timed(run)
                record(f"{name}, {noted}", other.seconds, "s", ratio=other.seconds / ours.seconds,
                       against="times ours")  # fmt: skip
                times = f"{other.seconds / ours.seconds:12.1f}{other.work / ours.work:9.1f}"
                show(grid.cells, name, other, f"{'':12}{times}")
        if before:
            power = np.log(ours.work / before[1]) / np.log(grid.cells / before[0])
            print(f"{'':12}work grows as cells^{power:.2f} from the size before")
        before = (grid.cells, ours.work)


def show(cells: int, name: str, result: Timed, more: str = "") -> None:
    print(f"{cells:10d}  {name:32}{result.seconds:9.3f}{result.work:9.3f}{result.iterations:12d}"
          f"{result.residual:10.1e}{more}", flush=True)  # fmt: skip


if __name__ == "__main__":
    main()
