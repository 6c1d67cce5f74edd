"""Finite volumes: harmonic conductances between cells, and the faces that touch air."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
from numba import njit, prange

from warmside.physics.conduction._checker import checkered, plain
from warmside.physics.conduction._cores import compiled_twice
from warmside.physics.conduction._field_bodies import NOTHING, triple
from warmside.physics.conduction._grid import Grid
from warmside.physics.conduction._multigrid import Grids, finest, grids_of, share_work

if TYPE_CHECKING:
    from scipy.sparse import csr_matrix


@dataclass(frozen=True)
class Faces:
    """Every cell face between a body and air, one entry each.

    ``cell`` indexes the field with its idle ring, flattened; ``axis`` is 0, 1, 2 for a face
    normal to x, y, z and ``side`` is +1 where the air lies towards larger coordinates.
    """

    cell: npt.NDArray[np.int64]
    axis: npt.NDArray[np.int8]
    side: npt.NDArray[np.int8]
    body: npt.NDArray[np.int32]
    environment: npt.NDArray[np.int32]
    area: npt.NDArray[np.float64]  # [m2]
    within: npt.NDArray[np.float64]  # [m2 K/W] from the cell centre to its face
    film: npt.NDArray[np.float64]  # [m2 K/W]
    conductance: npt.NDArray[np.float64]  # [W/K] from the cell centre to the air


def axes_of(grid: Grid) -> tuple[int, int, int]:
    """Order of the axes for the solver: across, along the lines, and side by side.

    Lines run along the axis with the finest cells, where coupling is strongest; of the two
    others the one with more cells comes last.
    """
    wide = [float(np.log(grid.widths(axis)[1:-1]).mean()) for axis in range(3)]
    several = [axis for axis in (1, 0, 2) if grid.shape[axis] > 1]
    line = min(several, key=lambda axis: wide[axis], default=1)
    a, b = sorted((axis for axis in range(3) if axis != line), key=lambda axis: grid.shape[axis])
    return a, line, b


def bodies_of_cells(grid: Grid, order: tuple[int, int, int]) -> npt.NDArray[np.int32]:
    """Body or space number of every cell, idle ring included, axes in ``order``."""
    a, line, b = (grid.block[axis] for axis in order)
    what = np.ascontiguousarray(grid.blocks.what.transpose(order))
    laid_out: npt.NDArray[np.int32] = _laid_out(what, a, line, b)
    return laid_out


@njit(cache=True)
def _laid_out(what, a, line, b):  # type: ignore[no-untyped-def]
    """What lies in each cell, by the blocks that cells along each axis lie in."""
    out = np.empty((a.size, line.size, b.size), what.dtype)
    for i in range(a.size):
        for j in range(line.size):
            for k in range(b.size):
                out[i, j, k] = what[a[i], line[j], b[k]]
    return out


@njit(cache=True)
def put_in_air(x, what, values):  # type: ignore[no-untyped-def]
    """Set cells of space ``s`` to ``values[s]``, and those of nothing to zero."""
    field, number = x.reshape(-1), what.reshape(-1)
    for n in range(field.size):
        if number[n] < NOTHING:
            field[n] = values[NOTHING - 1 - number[n]]
        elif number[n] == NOTHING:
            field[n] = 0.0


def conductances(
    grid: Grid, what: npt.NDArray[np.int32], order: tuple[int, int, int], faces: Faces
) -> Grids:
    """Conductances [W/K] between cells and to all air in the finest of the grids to be built.

    Between cell centres: area / (d1 / (2 lambda1) + d2 / (2 lambda2)), the series of two half
    cells; to air as in `Faces`.
    """
    half = np.ascontiguousarray(grid.blocks.half_resistivity[:, order])
    da, dl, db = (grid.widths(axis) for axis in order)
    grids = grids_of((da[1:-1], db[1:-1]), dl.size)
    a, line, b, air = finest(grids)
    between = _shared_between if share_work(grid.cells) > 1 else _between_alone
    between(what, half, da, dl, db, a, line, b)
    brought = np.bincount(faces.cell, weights=faces.conductance, minlength=what.size)
    air[...] = checkered(brought.reshape(what.shape).astype(np.float32))
    return grids


def _between(what, half, da, dl, db, a, line, b):  # type: ignore[no-untyped-def]
    n, length, m = what.shape
    for i in prange(1, n - 1):
        for j in range(1, length - 1):
            for k in range(1, m - 1):
                body = what[i, j, k]
                if body < 0:
                    continue
                c, q = (i + k) % 2, k // 2
                other = what[i + 1, j, k]
                if other >= 0:
                    way = da[i] * half[body, 0] + da[i + 1] * half[other, 0]
                    a[c, i, j, q] = dl[j] * db[k] / way
                other = what[i, j + 1, k]
                if other >= 0:
                    way = dl[j] * half[body, 1] + dl[j + 1] * half[other, 1]
                    line[c, i, j, q] = da[i] * db[k] / way
                other = what[i, j, k + 1]
                if other >= 0:
                    way = db[k] * half[body, 2] + db[k + 1] * half[other, 2]
                    b[c, i, j, q] = da[i] * dl[j] / way


_shared_between, _between_alone = compiled_twice(_between)


def faces_of(grid: Grid, what: npt.NDArray[np.int32], order: tuple[int, int, int]) -> Faces:
    """Find all faces between a body and air."""
    counts = np.zeros(what.shape[0], np.int64)
    nowhere = np.zeros(0, np.int64)
    find = _shared_find if share_work(grid.cells) > 1 else _find_alone
    find(what, NOTHING, counts, False, nowhere, nowhere)
    ends = np.cumsum(counts)
    cell, turn = np.zeros(ends[-1], np.int64), np.zeros(ends[-1], np.int64)
    find(what, NOTHING, ends - counts, True, cell, turn)
    blocks = grid.blocks
    spaces, names = blocks.spaces, blocks.environments
    number = np.array([names.index(one.environment) for one in spaces], np.int32)
    films = np.array([triple(space.film) for space in spaces])
    widths = tuple(grid.widths(axis) for axis in order)
    found = _measured(what, cell, turn, order, widths, blocks.half_resistivity, films, number)
    return Faces(cell, *found)


@njit(cache=True)
def _measured(what, cell, turn, order, widths, half, films, number):  # type: ignore[no-untyped-def]
    """What `Faces` tells, faces of one cell in a run; ``number`` of each space's environment."""
    rows, size = what.shape[1] * what.shape[2], cell.size
    steps, flat = (rows, what.shape[2], 1), what.reshape(-1)
    normal, air_side = np.empty(size, np.int8), np.empty(size, np.int8)
    body, environment = np.empty(size, np.int32), np.empty(size, np.int32)
    area, within, film, conductance = np.empty((4, size))
    first = 0
    for n in range(size):
        here = cell[n]
        i, j, k = here // rows, here // what.shape[2] % what.shape[1], here % what.shape[2]
        wide = (widths[0][i], widths[1][j], widths[2][k])
        axis, side = turn[n] // 2, 2 * (turn[n] % 2) - 1
        space = NOTHING - 1 - flat[here + side * steps[axis]]
        normal[n], air_side[n] = order[axis], side
        body[n], environment[n] = flat[here], number[space]
        area[n] = wide[0] * wide[1] * wide[2] / wide[axis]
        within[n] = wide[axis] * half[body[n], order[axis]]
        film[n] = films[space, order[axis]]
        conductance[n] = area[n] / (within[n] + film[n])
        if n + 1 == size or cell[n + 1] != here:
            # the solver holds each cell's sum in single precision; to close, the parts must add
            # up to it
            total = conductance[first : n + 1].sum()
            conductance[first : n + 1] *= np.float64(np.float32(total)) / total
            first = n + 1
    return normal, air_side, body, environment, area, within, film, conductance


def _find(what, nothing, start, fill, cell, turn):  # type: ignore[no-untyped-def]
    """Count the faces in each plane of cells, or write them from ``start`` on."""
    n, m, length = what.shape
    for i in prange(1, n - 1):
        at = start[i]
        for k in range(1, m - 1):
            for j in range(1, length - 1):
                if what[i, k, j] < 0:
                    continue
                for way in range(6):
                    step = 2 * (way % 2) - 1
                    di, dk, dj = (
                        step if way // 2 == 0 else 0,
                        step if way // 2 == 1 else 0,
                        step if way // 2 == 2 else 0,
                    )
                    if what[i + di, k + dk, j + dj] < nothing:
                        if fill:
                            cell[at] = (i * m + k) * length + j
                            turn[at] = way
                        at += 1
        if not fill:
            start[i] = at


_shared_find, _find_alone = compiled_twice(_find)


def matrix(grids: Grids, m: int) -> csr_matrix:
    """Assemble the equations of all cells that conduct, for comparison with general solvers.

    Symmetric and positive definite; cells that are idle are left out, (cells, cells) [W/K].
    ``m`` is the number of lines side by side, idle ones included.
    """
    from scipy.sparse import csr_matrix, diags_array

    a, line, b, air = (plain(part, m) for part in finest(grids))
    size, shape = air.size, air.shape
    diagonal = air.astype(np.float64).ravel()
    rows, columns, values = [], [], []
    for part, step in ((a, shape[1] * shape[2]), (line, shape[2]), (b, 1)):
        here = np.flatnonzero(part)
        value = part.ravel()[here].astype(np.float64)
        diagonal += np.bincount(here, value, size) + np.bincount(here + step, value, size)
        rows.append(here)
        columns.append(here + step)
        values.append(-value)
    upper = csr_matrix(
        (np.concatenate(values), (np.concatenate(rows), np.concatenate(columns))), (size, size)
    )
    full = upper + upper.T + diags_array(diagonal)
    used = np.flatnonzero(diagonal)
    return full.tocsr()[used][:, used]
