"""The preconditioner: whole lines solved at once, and ever coarser grids across them.

A framed wall is divided finely through its depth and coarsely in its plane, so the cells along
a depth line are coupled far more strongly than cells side by side. One symmetric V-cycle
relaxes all depth lines in two colours, exactly along each line, and passes what is left to a
grid whose lines are merged in pairs in the plane while the depth stays divided.

Arrays are ordered (a, line, b) with one idle cell on every side. A row of lines side by side
along b is contiguous and worked on together, both colours at once: computing the colour that
is not wanted, and throwing it away, costs less than stepping over it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
from numba import config, njit, prange, set_num_threads

Floats = npt.NDArray[np.float32]
Ints = npt.NDArray[np.int64]
_FAST = {"contract"}  # fused multiply-add only: NaN and order of sums stay as written
COARSEST = 4  # lines on the coarsest grid
SWEEPS = 4  # relaxations there
_PARTS = 8  # of the rows of a grid, handed to the cores
_CORES: int = config.NUMBA_NUM_THREADS  # type: ignore[attr-defined]
_ALONE = 250_000  # cells of a field up to which one core does: tens of milliseconds
_SMALL = 30_000  # cells of a level up to which one core is faster than waking the others


class Conductances(NamedTuple):
    """Conductances [W/K] from each cell to its next one along a, line and b, and to all air."""

    a: Floats
    line: Floats
    b: Floats
    air: Floats


class Merger(NamedTuple):
    """How lines of one grid join: coarse line ``n`` holds the fine ones from ``start[n]`` on."""

    start: Ints
    parent: Ints
    stretch: Floats  # distance between neighbours, fine over coarse


@dataclass(frozen=True)
class Level:
    """One grid of the hierarchy with its work arrays, and how many cores work on it."""

    cores: int
    g: Conductances
    pivot: Floats
    b: Floats
    x: Floats
    mergers: tuple[Merger, Merger] | None


@njit(parallel=True, cache=True, fastmath=_FAST)
def factor(g, pivot):  # type: ignore[no-untyped-def]
    """Inverse pivots of every line's tridiagonal matrix.

    The pivot less its coupling onward is a sum of positive terms (all that leads out of the
    line, or back along it and then out), so that nothing cancels at any contrast.
    """
    n, length, m = pivot.shape
    for i in prange(1, n - 1):
        out = np.zeros(m, np.float32)
        for j in range(1, length - 1):
            back, inverse, a0, a1 = g.line[i, j - 1], pivot[i, j - 1], g.a[i - 1, j], g.a[i, j]
            air, b, ahead, own = g.air[i, j], g.b[i, j], g.line[i, j], pivot[i, j]
            for k in range(1, m - 1):
                out[k] = back[k] * inverse[k] * out[k] + air[k] + a0[k] + a1[k]
            for k in range(1, m - 1):
                out[k] += b[k - 1] + b[k]
                total = out[k] + ahead[k]
                own[k] = np.float32(1.0) / total if total > 0.0 else np.float32(0.0)


@njit(cache=True, fastmath=_FAST)
def _add_across(a, b, x, i, j, r):  # type: ignore[no-untyped-def]
    """Add what flows into row (i, j) from the lines beside it at temperatures ``x``."""
    a0, a1, x0, x1 = a[i - 1, j], a[i, j], x[i - 1, j], x[i + 1, j]
    for k in range(r.size):
        r[k] += a0[k] * x0[k] + a1[k] * x1[k]
    inner, b0, b1, y0, y1 = r[1:-1], b[i, j, :-2], b[i, j, 1:-1], x[i, j, :-2], x[i, j, 2:]
    for k in range(inner.size):
        inner[k] += b0[k] * y0[k] + b1[k] * y1[k]


@njit(parallel=True, cache=True, fastmath=_FAST)
def relax(colour, fresh, g, pivot, b, x):  # type: ignore[no-untyped-def]
    """Solve every line of one colour; ``fresh`` when all of ``x`` stands for zero."""
    n, length, m = x.shape
    for part in prange(_PARTS):
        y = np.zeros((length, m), np.float32)  # once for many rows: allocation is slow in threads
        for i in range(1 + part * (n - 2) // _PARTS, 1 + (part + 1) * (n - 2) // _PARTS):
            _solve_row(fresh, g, pivot, b, x, i, y)
            _take(_colour(i + colour, m), fresh, y, x[i])


@njit(cache=True, fastmath=_FAST)
def _solve_row(fresh, g, pivot, b, x, i, y):  # type: ignore[no-untyped-def]
    """Solve all lines of row ``i`` as if their neighbours stood still, into ``y``."""
    length = y.shape[0]
    for j in range(1, length - 1):
        row, before, back, source = y[j], y[j - 1], g.line[i, j - 1], b[i, j]
        for k in range(row.size):
            row[k] = source[k] + back[k] * before[k]
        if not fresh:
            _add_across(g.a, g.b, x, i, j, row)
        own = pivot[i, j]
        for k in range(row.size):
            row[k] *= own[k]
    for j in range(length - 2, 0, -1):
        row, after, ahead, own = y[j], y[j + 1], g.line[i, j], pivot[i, j]
        for k in range(row.size):
            row[k] += ahead[k] * own[k] * after[k]


@njit(cache=True, fastmath=_FAST)
def _take(wanted, fresh, y, x):  # type: ignore[no-untyped-def]
    """Replace the wanted lines of ``x`` by those of ``y``; ``fresh`` sets the others to zero."""
    for j in range(1, y.shape[0] - 1):
        row, target = y[j], x[j]
        if fresh:
            for k in range(row.size):
                target[k] = wanted[k] * row[k]
        else:
            for k in range(row.size):
                target[k] += wanted[k] * (row[k] - target[k])


@njit(cache=True, fastmath=_FAST)
def _colour(i, m):  # type: ignore[no-untyped-def]
    """1 where i + k is odd, else 0."""
    wanted = np.zeros(m, np.float32)
    wanted[1 + i % 2 : m - 1 : 2] = 1.0
    return wanted


@njit(parallel=True, cache=True, fastmath=_FAST)
def restrict(g, x, start_a, start_b, coarse):  # type: ignore[no-untyped-def]
    """Sum residuals over merged lines.

    After colour 0 and then colour 1 were solved from zero, lines of colour 1 have no residual,
    and those of colour 0 just what their neighbours have since brought.
    """
    n, length, m = coarse.shape
    for part in prange(_PARTS):
        r, total = np.zeros(x.shape[2], np.float32), np.zeros(x.shape[2], np.float32)
        for ic in range(1 + part * (n - 2) // _PARTS, 1 + (part + 1) * (n - 2) // _PARTS):
            for j in range(1, length - 1):
                total[:] = 0.0
                for i in range(start_a[ic], start_a[ic + 1]):
                    r[:] = 0.0
                    _add_across(g.a, g.b, x, i, j, r)
                    for k in range(1 + i % 2, r.size - 1, 2):
                        total[k] += r[k]
                target = coarse[ic, j]
                for kc in range(1, m - 1):
                    target[kc] = 0.0
                    for k in range(start_b[kc], start_b[kc + 1]):
                        target[kc] += total[k]


@njit(parallel=True, cache=True, fastmath=_FAST)
def prolong(parent_a, parent_b, coarse, x):  # type: ignore[no-untyped-def]
    """Add the coarse correction; colour 1 is solved anew next, whatever it holds."""
    n, length, m = x.shape
    for i in prange(1, n - 1):
        for j in range(1, length - 1):
            fine, more = x[i, j], coarse[parent_a[i], j]
            for k in range(1, m - 1):
                fine[k] += more[parent_b[k]]


@njit(parallel=True, cache=True)
def merge(start_a, start_b, stretch_a, stretch_b, fine, coarse):  # type: ignore[no-untyped-def]
    """Conductances of merged lines.

    Sums, and across merged lines sums scaled by the longer way between their centres: never
    more than a merger factor below the variational value, so a correction cannot run away.
    """
    n, length, m = coarse.air.shape
    for ic in prange(1, n - 1):
        first, last = start_a[ic], start_a[ic + 1] - 1
        for j in range(1, length - 1):
            a, line, b, air = (
                coarse.a[ic, j],
                coarse.line[ic, j],
                coarse.b[ic, j],
                coarse.air[ic, j],
            )
            for kc in range(1, m - 1):
                for k in range(start_b[kc], start_b[kc + 1]):
                    a[kc] += stretch_a[ic] * fine.a[last, j, k]
                for i in range(first, last + 1):
                    b[kc] += stretch_b[kc] * fine.b[i, j, start_b[kc + 1] - 1]
                    for k in range(start_b[kc], start_b[kc + 1]):
                        line[kc] += fine.line[i, j, k]
                        air[kc] += fine.air[i, j, k]


def hierarchy(g: Conductances, widths: tuple[npt.NDArray[np.float64], ...]) -> list[Level]:
    """Build all grids down to a few lines.

    Parameters
    ----------
    g : Conductances
        Of the finest grid, (a, line, b).
    widths : two arrays
        Cell widths [m] along a and b, idle ring excluded.
    """
    levels: list[Level] = []
    several = share_work(g.air.size)
    while True:
        lines = widths[0].size * widths[1].size
        mergers = _mergers(widths) if lines > COARSEST else None
        pivot, b, x = (np.zeros_like(g.air) for _ in range(3))
        factor(g, pivot)
        cores = several if x.size > _SMALL else 1
        levels.append(Level(cores, g, pivot, b, x, mergers))
        if mergers is None:
            return levels
        ma, mb = mergers
        shape = (ma.start.size - 1, g.air.shape[1], mb.start.size - 1)
        coarse = Conductances(*(np.zeros(shape, np.float32) for _ in range(4)))
        merge(ma.start, mb.start, ma.stretch, mb.stretch, g, coarse)
        widths = tuple(
            np.add.reduceat(w, m.start[1:-2] - 1) for w, m in zip(widths, mergers, strict=True)
        )
        g = coarse


def _mergers(widths: tuple[npt.NDArray[np.float64], ...]) -> tuple[Merger, Merger]:
    """Merge neighbours in pairs, small ones first, until under two thirds of the lines remain.

    Faster coarsening saves a tenth of the work and costs half as many iterations again.
    """
    lines = widths[0].size * widths[1].size
    target = 2.02 * float(np.quantile(np.concatenate([w for w in widths if w.size > 1]), 0.2))
    while True:
        starts = [_pairs(w, target) for w in widths]
        if (starts[0].size - 3) * (starts[1].size - 3) <= 0.6 * lines:
            break
        target *= 1.3
    a, b = (_merger(w, s) for w, s in zip(widths, starts, strict=True))
    return a, b


def _pairs(width: npt.NDArray[np.float64], target: float) -> Ints:
    """First lines of the merged pairs, idle ring included: pairs up to ``target`` [m] wide."""
    starts, n = [0], 1
    while n <= width.size:
        starts.append(n)
        pair = n < width.size and width[n - 1] + width[n] <= target
        n += 2 if pair else 1
    return np.array([*starts, width.size + 1, width.size + 2], dtype=np.int64)


def _merger(width: npt.NDArray[np.float64], start: Ints) -> Merger:
    count = start.size - 1
    stretch = np.ones(count, np.float32)
    merged = np.add.reduceat(width, start[1:-2] - 1)
    last = start[2:-2] - 2  # the last fine line of each coarse one, ring not counted
    stretch[1 : merged.size] = (width[last] + width[last + 1]) / (merged[:-1] + merged[1:])
    return Merger(start, np.repeat(np.arange(count), np.diff(start)), stretch)


def share_work(cells: int) -> int:
    """Let as many cores work as a field of ``cells`` cells is worth, and return their number."""
    cores = 1 if cells <= _ALONE else _CORES
    set_num_threads(cores)
    return cores


def cycle(levels: list[Level], n: int = 0) -> None:
    """Replace ``x`` of level ``n`` by an approximate solution for its ``b``, starting at zero."""
    level = levels[n]
    set_num_threads(level.cores)
    work = (level.g, level.pivot, level.b, level.x)
    relax(0, True, *work)
    relax(1, False, *work)
    if level.mergers is None:
        for _ in range(SWEEPS):
            relax(0, False, *work)
            relax(1, False, *work)
    else:
        a, b = level.mergers
        restrict(level.g, level.x, a.start, b.start, levels[n + 1].b)
        cycle(levels, n + 1)
        set_num_threads(level.cores)
        prolong(a.parent, b.parent, levels[n + 1].x, level.x)
    relax(1, False, *work)
    relax(0, False, *work)
