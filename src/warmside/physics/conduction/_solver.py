"""Conjugate gradients for the field: the answer in double precision, the way there in single.

The residual that conjugate gradients carry along drifts from the true one by rounding. It is
therefore computed anew, in double precision from the temperatures, whenever it has fallen far
enough, and the search goes on from the truth without giving up its direction.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from numba import njit, prange

from warmside.errors import SolverError
from warmside.physics.conduction._checker import checkered, plain
from warmside.physics.conduction._cores import compiled_twice
from warmside.physics.conduction._multigrid import Grids, cycle, product, share_work, shares

Field = npt.NDArray[np.float64]
Single = npt.NDArray[np.float32]
_FAST = {"contract", "reassoc"}  # sums in any order; NaN stays NaN
_RENEW = 1e-4  # [-] fall of the residual after which rounding begins to show
_RUN = 4096  # cells that are summed in single precision


@dataclass(frozen=True)
class Solution:
    """Temperatures in every cell, and how well they satisfy the equations.

    ``residual`` is ||b - A x|| / ||b||, computed from ``x`` at the end.
    """

    x: Field
    residual: float
    iterations: int
    converged: bool


@njit(cache=True, fastmath=_FAST)
def _norm(v):  # type: ignore[no-untyped-def]
    """Euclidean norm, by this core alone: for one sum it does not pay to wake the others."""
    total = 0.0
    for k in range(v.size):
        total += np.float64(v[k]) * np.float64(v[k])
    return np.sqrt(total)


@njit(cache=True, fastmath=_FAST)
def _leaving(g, c, i, x, out):  # type: ignore[no-untyped-def]
    """Heat that leaves each cell of colour ``c`` in a row of the finest grid."""
    rows, length, h = g.shape[0]
    size, o = length * h, (i + c) % 2
    at, beside = (c * rows + i) * size, ((1 - c) * rows + i) * size
    own = x[at : at + size]
    for g0, g1, x0, x1 in (
        (g.a[beside - size :], g.a[at:], x[beside - size :], x[beside + size :]),
        (g.b[beside - 1 + o :], g.b[at:], x[beside - 1 + o :], x[beside + o :]),
        (g.line[at - h :], g.line[at:], x[at - h :], x[at + h :]),
    ):
        _add_flows(g0, g1, own, x0, x1, out)


@njit(cache=True, fastmath=_FAST)
def _add_flows(g0, g1, own, x0, x1, out):  # type: ignore[no-untyped-def]
    """Add the heat that flows from cells to those before and behind them."""
    for k in range(own.size):
        out[k] += g0[k] * (own[k] - x0[k]) + g1[k] * (own[k] - x1[k])


@njit(cache=True, fastmath=_FAST)
def _apply(g, c, i, x, out):  # type: ignore[no-untyped-def]
    """As `_leaving`, with what goes to air; single or double precision as ``x`` and ``out``."""
    at = (c * g.shape[0, 0] + i) * out.size
    air, own = g.air[at : at + out.size], x[at : at + out.size]
    for k in range(out.size):
        out[k] = air[k] * own[k]
    _leaving(g, c, i, x, out)


@njit(cache=True, fastmath=_FAST)
def _step(g, beta, p, q, rows):  # type: ignore[no-untyped-def]
    """p = x + beta p, and close behind q = A p; returns p . q."""
    size, total = g.shape[0, 1] * g.shape[0, 2], 0.0
    for i in range(rows[:2, 0].min(), rows[:2, 1].max() + 1):
        for c in range(2):
            at = (c * g.shape[0, 0] + i) * size
            if rows[0, 0] <= i < rows[0, 1]:
                x, own = g.x[at : at + size], p[at : at + size]
                for k in range(size):
                    own[k] = x[k] + beta * own[k]
        for c in range(2):
            if rows[1, 0] <= i - 1 < rows[1, 1]:
                at = (c * g.shape[0, 0] + i - 1) * size
                out = q[at : at + size]
                _apply(g, c, i - 1, p, out)
                total += product(p[at : at + size], out)
    return total


@njit(parallel=True, cache=True)
def _shared_step(g, beta, p, q, cores):  # type: ignore[no-untyped-def]
    """`_step` by all cores."""
    rows, part = shares(g.shape[0, 0], cores), np.zeros(2 * cores - 1)
    for s in prange(cores):
        part[s] = _step(g, beta, p, q, rows[s])
    for s in range(cores, 2 * cores - 1):
        part[s] = _step(g, beta, p, q, rows[s])
    return part.sum()


@njit(cache=True)
def _turn(g, beta, p, q, cores):  # type: ignore[no-untyped-def]
    """p = x + beta p and q = A p; returns p . q."""
    if cores > 1:
        return _shared_step(g, beta, p, q, cores)
    return _step(g, beta, p, q, shares(g.shape[0, 0], 1)[0])


def _advanced(alpha, x, r, p, q):  # type: ignore[no-untyped-def]
    """x += alpha p, r -= alpha q; returns r . r."""
    runs = (x.size + _RUN - 1) // _RUN
    part = np.zeros(runs)
    for n in prange(runs):
        cells = slice(n * _RUN, (n + 1) * _RUN)
        xs, rs, ps, qs, total = x[cells], r[cells], p[cells], q[cells], np.float32(0.0)
        for k in range(xs.size):
            xs[k] += np.float64(alpha) * np.float64(ps[k])
            v = rs[k] - alpha * qs[k]
            rs[k] = v
            total += v * v
        part[n] = total
    return part.sum()


def _renewed(g, heat, x, r):  # type: ignore[no-untyped-def]
    """r = heat - A x in double precision; returns r . r and the sum of r."""
    rows, length, h = g.shape[0]
    size = length * h
    square, balance = np.zeros(rows), np.zeros(rows)
    for i in prange(1, rows - 1):
        out = np.empty(size)
        for c in range(2):
            _apply(g, c, i, x, out)
            at = (c * rows + i) * size
            brought, left = heat[at : at + size], r[at : at + size]
            squares = total = 0.0
            for k in range(size):
                v = brought[k] - out[k]
                left[k] = v
                squares += v * v
                total += v
            square[i] += squares
            balance[i] += total
    return square.sum(), balance.sum()


_shared_advance, _advance_alone = compiled_twice(_advanced, fastmath=_FAST)
_shared_renew, _renew_alone = compiled_twice(_renewed, fastmath=_FAST)


@njit(cache=True)
def _advance(alpha, x, r, p, q, cores):  # type: ignore[no-untyped-def]
    """x += alpha p, r -= alpha q; returns the norm of r."""
    if cores > 1:
        return np.sqrt(_shared_advance(alpha, x, r, p, q))
    return np.sqrt(_advance_alone(alpha, x, r, p, q))


@njit(cache=True)
def _renew(g, heat, x, r, cores):  # type: ignore[no-untyped-def]
    """r = heat - A x in double precision; returns the norm of r and its sum."""
    square, balance = _shared_renew(g, heat, x, r) if cores > 1 else _renew_alone(g, heat, x, r)
    return np.sqrt(square), balance


@njit(cache=True)
def _descend(g, heat, x, p, q, goal, limit, cores):  # type: ignore[no-untyped-def]
    """Run conjugate gradients from the residual in ``rhs``; returns the iterations taken.

    The direction ``p`` is single: whatever it is, x and r then take the same step along it.
    ``p`` and ``q`` are room for the search.
    """
    r = g.rhs[: x.size]
    rho, true = 0.0, _norm(r)
    for n in range(limit):
        new = cycle(g, cores)
        energy = _turn(g, np.float32(new / rho if n > 0 else 0.0), p, q, cores)
        rho = new
        if not (rho > 0.0 and energy > 0.0):
            return n + 1
        norm = _advance(np.float32(rho / energy), x, r, p, q, cores)
        if norm <= goal:
            return n + 1
        if norm <= _RENEW * true:
            before, true = true, _renew(g, heat, x, r, cores)[0]
            if true > 0.9 * before:
                return n + 1
    return limit


def solve(grids: Grids, b: Field, *, tolerance: float, limit: int) -> Solution:
    """Solve A x = b to ``tolerance`` on the true relative residual.

    Parameters
    ----------
    grids : Grids
        From `build`; the finest holds the matrix.
    b : array (a, line, b)
        Heat brought to each cell [W].
    tolerance : float
        Of ||b - A x|| / ||b|| [-].
    limit : int
        Most iterations.
    """
    heat = checkered(b)
    shape, heat = heat.shape, heat.ravel()
    size = float(_norm(heat))
    heat /= size  # so that single precision neither runs over nor under
    x, r, done = np.zeros_like(heat), grids.rhs[: heat.size], 0
    r[...] = heat
    cores = share_work(x.size)
    residual, before = 1.0, np.inf
    while residual > tolerance and done < limit and residual < 0.9 * before:
        p, q = np.zeros_like(r), np.zeros_like(r)  # room for the search
        done += _descend(grids, heat, x, p, q, 0.9 * tolerance, limit - done, cores)
        before, residual = residual, _close(grids, heat, x, r, cores)
    x *= size
    solved = bool(residual <= tolerance)
    return Solution(plain(x.reshape(shape), b.shape[2]), residual, done, solved)


def _close(g: Grids, heat: Field, x: Field, r: Single, cores: int) -> float:
    """Shift all temperatures alike until the whole body's heat balance closes.

    Returns the norm of the residual there.
    """
    air = g.air[: x.size]
    shift = _renew(g, heat, x, r, cores)[1] / air.sum(dtype=np.float64)
    x += shift
    r -= np.float32(shift) * air
    return float(_norm(r))


def require(solution: Solution, tolerance: float) -> Solution:
    """Return the solution, or raise if it did not converge.

    Raises
    ------
    SolverError
        With the residual reached and what to try.
    """
    if not solution.converged:
        raise SolverError(
            f"the temperature field stopped at a residual of {solution.residual:.1e} after "
            f"{solution.iterations} iterations (asked: {tolerance:.0e})",
            "try fewer cells, thicker slivers, or conductivities less far apart",
        )
    return solution
