"""Conjugate gradients for the field, in double precision with a single-precision V-cycle."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from numba import njit, prange

from warmside.errors import SolverError
from warmside.physics.conduction._multigrid import Conductances, Level, cycle

Field = npt.NDArray[np.float64]
_FAST = {"contract", "reassoc"}  # sums in any order; NaN stays NaN


@dataclass(frozen=True)
class Solution:
    """Temperatures in every cell, and how well they satisfy the equations.

    ``residual`` is ||b - A x|| / ||b||, computed from ``x`` at the end.
    """

    x: Field
    residual: float
    iterations: int
    converged: bool


@njit(parallel=True, cache=True, fastmath=_FAST)
def apply(g, x, out):  # type: ignore[no-untyped-def]
    """Heat [W] that leaves each cell at temperatures ``x``; returns its product with ``x``."""
    n, length, m = x.shape
    part = np.zeros(n)
    for i in prange(1, n - 1):
        total = 0.0
        for j in range(1, length - 1):
            own, y, air = x[i, j], out[i, j], g.air[i, j]
            for k in range(m):
                y[k] = air[k] * own[k]
            _add_flow(g.a[i - 1, j], own, x[i - 1, j], y)
            _add_flow(g.a[i, j], own, x[i + 1, j], y)
            _add_flow(g.line[i, j - 1], own, x[i, j - 1], y)
            _add_flow(g.line[i, j], own, x[i, j + 1], y)
            _add_flow(g.b[i, j, :-2], own[1:-1], own[:-2], y[1:-1])
            _add_flow(g.b[i, j, 1:-1], own[1:-1], own[2:], y[1:-1])
            for k in range(m):
                total += own[k] * y[k]
        part[i] = total
    return part.sum()


@njit(cache=True, fastmath=_FAST)
def _add_flow(g, x, other, y):  # type: ignore[no-untyped-def]
    """Add the heat that flows from the cells of one row to those of another."""
    for k in range(y.size):
        y[k] += g[k] * (x[k] - other[k])


@njit(parallel=True, cache=True, fastmath=_FAST)
def _advance(alpha, x, r, p, q, b):  # type: ignore[no-untyped-def]
    """x += alpha p, r -= alpha q, b = r in single precision; returns r.r."""
    n = x.shape[0]
    part = np.zeros(n)
    for i in prange(n):
        total = 0.0
        for k in range(x.shape[1]):
            xl, rl, pl, ql, bl = x[i, k], r[i, k], p[i, k], q[i, k], b[i, k]
            for j in range(xl.size):
                xl[j] += alpha * pl[j]
                v = rl[j] - alpha * ql[j]
                rl[j] = v
                bl[j] = v
                total += v * v
        part[i] = total
    return part.sum()


@njit(parallel=True, cache=True, fastmath=_FAST)
def _dot(u, v):  # type: ignore[no-untyped-def]
    n = u.shape[0]
    part = np.zeros(n)
    for i in prange(n):
        total = 0.0
        for k in range(u.shape[1]):
            ul, vl = u[i, k], v[i, k]
            for j in range(ul.size):
                total += ul[j] * vl[j]
        part[i] = total
    return part.sum()


@njit(parallel=True, cache=True, fastmath=_FAST)
def _turn(beta, z, p):  # type: ignore[no-untyped-def]
    """P = z + beta p."""
    for i in prange(z.shape[0]):
        for k in range(z.shape[1]):
            zl, pl = z[i, k], p[i, k]
            for j in range(zl.size):
                pl[j] = zl[j] + beta * pl[j]


def solve(
    levels: list[Level],
    b: Field,
    *,
    tolerance: float,
    limit: int,
    start: Field | None = None,
) -> Solution:
    """Solve A x = b to ``tolerance`` on the true relative residual.

    Parameters
    ----------
    levels : list of Level
        From `hierarchy`; the finest holds the matrix.
    b : array (a, line, b)
        Heat brought to each cell [W].
    tolerance : float
        Of ||b - A x|| / ||b|| [-].
    limit : int
        Most iterations.
    start : array or None
        First guess.
    """
    top = levels[0]
    x = np.zeros_like(b) if start is None else start
    p, q, r = np.zeros_like(b), np.zeros_like(b), b.copy()
    size = np.sqrt(_dot(b, b))
    done, residual = 0, _residual(top.g, x, b, q, r) / size if start is not None else 1.0
    # the recurrence drifts from the true residual by rounding: check, and go on from the truth
    while residual > tolerance and done < limit:
        top.b[...] = r
        done += _descend(levels, x, r, p, q, 0.7 * tolerance * size, limit - done)
        _balance(top.g, x, r)
        before, residual = residual, _residual(top.g, x, b, q, r) / size
        if not residual < 0.9 * before:
            break
    return Solution(x, float(residual), done, bool(residual <= tolerance))


def _descend(
    levels: list[Level], x: Field, r: Field, p: Field, q: Field, goal: float, limit: int
) -> int:
    """Run conjugate gradients from the residual ``r``; returns the iterations taken."""
    top = levels[0]
    rho = beta = 0.0
    for n in range(limit):
        cycle(levels)
        new = _dot(r, top.x)
        beta = new / rho if n else 0.0
        _turn(beta, top.x, p)
        rho = new
        energy = apply(top.g, p, q)
        if not (rho > 0.0 and energy > 0.0):
            return n + 1
        if np.sqrt(_advance(rho / energy, x, r, p, q, top.b)) <= goal:
            return n + 1
    return limit


def _balance(g: Conductances, x: Field, r: Field) -> None:
    """Shift all temperatures alike until the whole body's heat balance closes."""
    x += r.sum() / g.air.sum(dtype=np.float64)


def _residual(g: Conductances, x: Field, b: Field, q: Field, r: Field) -> float:
    apply(g, x, q)
    np.subtract(b, q, out=r)
    return float(np.sqrt(_dot(r, r)))


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
