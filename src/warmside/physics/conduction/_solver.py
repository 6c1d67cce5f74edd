"""Conjugate gradients for the field, in double precision with a single-precision V-cycle."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeVar

import numpy as np
import numpy.typing as npt
from numba import njit, prange

from warmside.errors import SolverError
from warmside.physics.conduction._checker import checkered, plain, span
from warmside.physics.conduction._multigrid import Conductances, Level, cycle

Field = npt.NDArray[np.float64]
Single = npt.NDArray[np.float32]
_Number = TypeVar("_Number", np.float64, np.float32)
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
    _, n, length, h = x.shape
    part = np.zeros(n)
    for i in prange(1, n - 1):
        for c in range(2):
            low, high = span(c, i, h)
            mine, other = x[c, i], x[1 - c]
            for j in range(1, length - 1):
                own, y = mine[j, low:high], out[c, i, j, low:high]
                air, a0, a1 = g.air[c, i, j, low:high], g.a[1 - c, i - 1, j], g.a[c, i, j]
                for k in range(y.size):
                    y[k] = air[k] * np.float64(own[k])
                x0, x1 = other[i - 1, j, low:high], other[i + 1, j, low:high]
                _add_flows(a0[low:high], a1[low:high], own, x0, x1, y)
                line0, line1 = g.line[c, i, j - 1, low:high], g.line[c, i, j, low:high]
                _add_flows(line0, line1, own, mine[j - 1, low:high], mine[j + 1, low:high], y)
                b0, b1 = g.b[1 - c, i, j, : h - 1], g.b[c, i, j, low:high]
                _add_flows(b0, b1, own, other[i, j, : h - 1], other[i, j, 1:], y)
                part[i] += _product(own, y)
    return part.sum()


@njit(cache=True, fastmath=_FAST)
def _add_flows(g0, g1, own, x0, x1, y):  # type: ignore[no-untyped-def]
    """Add the heat that flows from cells of one row to those of two others."""
    for k in range(y.size):
        at = np.float64(own[k])
        y[k] += g0[k] * (at - np.float64(x0[k])) + g1[k] * (at - np.float64(x1[k]))


@njit(cache=True, fastmath=_FAST)
def _product(u, v):  # type: ignore[no-untyped-def]
    total = 0.0
    for k in range(u.size):
        total += np.float64(u[k]) * v[k]
    return total


@njit(parallel=True, cache=True, fastmath=_FAST)
def _advance(alpha, x, r, p, q, b):  # type: ignore[no-untyped-def]
    """x += alpha p, r -= alpha q, b = r in single precision; returns r.r."""
    rows = x.shape[0]
    part = np.zeros(rows)
    for i in prange(rows):
        total = 0.0
        xl, rl, pl, ql, bl = x[i], r[i], p[i], q[i], b[i]
        for k in range(xl.size):
            xl[k] += alpha * np.float64(pl[k])
            v = rl[k] - alpha * ql[k]
            rl[k] = v
            bl[k] = v
            total += v * v
        part[i] = total
    return part.sum()


@njit(parallel=True, cache=True, fastmath=_FAST)
def _dot(u, v):  # type: ignore[no-untyped-def]
    rows = u.shape[0]
    part = np.zeros(rows)
    for i in prange(rows):
        part[i] = _product(u[i], v[i])
    return part.sum()


@njit(parallel=True, cache=True, fastmath=_FAST)
def _turn(beta, z, p):  # type: ignore[no-untyped-def]
    """P = z + beta p."""
    for i in prange(z.shape[0]):
        zl, pl = z[i], p[i]
        for k in range(zl.size):
            pl[k] = zl[k] + beta * pl[k]


def _rows(array: npt.NDArray[_Number]) -> npt.NDArray[_Number]:
    """See an array as rows of cells one behind the other, to be shared out among cores."""
    return array.reshape(2 * array.shape[1], -1)


def solve(
    levels: list[Level],
    b: Field,
    *,
    tolerance: float,
    limit: int,
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
    """
    top = levels[0]
    heat, m = checkered(b), b.shape[2]
    x, r, q, p = np.zeros_like(heat), heat.copy(), np.zeros_like(heat), np.zeros_like(top.x)
    size = np.sqrt(_dot(_rows(r), _rows(r)))
    done, residual = 0, 1.0
    # the recurrence drifts from the true residual by rounding: check, and go on from the truth
    while residual > tolerance and done < limit:
        top.b[...] = r
        done += _descend(levels, x, r, p, q, 0.7 * tolerance * size, limit - done)
        _balance(top.g, x, r)
        before, residual = residual, _residual(top.g, x, heat, q, r) / size
        if not residual < 0.9 * before:
            break
    return Solution(plain(x, m), float(residual), done, bool(residual <= tolerance))


def _descend(
    levels: list[Level], x: Field, r: Field, p: Single, q: Field, goal: float, limit: int
) -> int:
    """Run conjugate gradients from the residual ``r``; returns the iterations taken.

    The direction ``p`` is single: whatever it is, x and r then take the same step along it.
    """
    top = levels[0]
    z, steps = _rows(top.x), (_rows(x), _rows(r), _rows(p), _rows(q), _rows(top.b))
    rho = beta = 0.0
    for n in range(limit):
        cycle(levels)
        new = _dot(z, steps[1])
        beta = new / rho if n else 0.0
        _turn(np.float32(beta), z, steps[2])
        rho = new
        energy = apply(top.g, p, q)
        if not (rho > 0.0 and energy > 0.0):
            return n + 1
        if np.sqrt(_advance(rho / energy, *steps)) <= goal:
            return n + 1
    return limit


def _balance(g: Conductances, x: Field, r: Field) -> None:
    """Shift all temperatures alike until the whole body's heat balance closes."""
    x += r.sum() / g.air.sum(dtype=np.float64)


def _residual(g: Conductances, x: Field, b: Field, q: Field, r: Field) -> float:
    apply(g, x, q)
    np.subtract(b, q, out=r)
    return float(np.sqrt(_dot(_rows(r), _rows(r))))


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
