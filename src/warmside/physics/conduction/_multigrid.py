"""The preconditioner: whole lines solved at once, and ever coarser grids across them.

A framed wall is divided finely through its depth and coarsely in its plane, so the cells along
a depth line are coupled far more strongly than cells side by side. One symmetric V-cycle
relaxes all depth lines in two colours, exactly along each line, and passes what is left to a
grid whose lines are merged in pairs in the plane while the depth stays divided.

Arrays are ordered (a, b, line) with one idle cell on every side and the line axis contiguous.
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
_CORES: int = config.NUMBA_NUM_THREADS  # type: ignore[attr-defined]
_ALONE = 250_000  # cells of a field up to which one core does: tens of milliseconds
_SMALL = 30_000  # cells of a level up to which one core is faster than waking the others


class Conductances(NamedTuple):
    """Conductances [W/K] from each cell to its next one along a, b and line, and to all air."""

    a: Floats
    b: Floats
    line: Floats
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
    n, m, length = pivot.shape
    for i in prange(1, n - 1):
        for k in range(1, m - 1):
            out = np.float32(0.0)
            before = np.float32(0.0)
            for j in range(length):
                out = before * out + g.air[i, k, j]
                out += g.a[i - 1, k, j] + g.a[i, k, j] + g.b[i, k - 1, j] + g.b[i, k, j]
                total = out + g.line[i, k, j]
                inverse = np.float32(1.0) / total if total > 0.0 else np.float32(0.0)
                pivot[i, k, j] = inverse
                before = g.line[i, k, j] * inverse


@njit(cache=True, fastmath=_FAST)
def _add(share, source, target):  # type: ignore[no-untyped-def]
    """Add ``share`` of one line to another."""
    for j in range(target.size):
        target[j] += share * source[j]


@njit(cache=True, fastmath=_FAST)
def _add_neighbours(a, b, x, i, k, r):  # type: ignore[no-untyped-def]
    """Add what flows into line (i, k) from its four neighbours at temperatures ``x``."""
    a0, a1, b0, b1 = a[i - 1, k], a[i, k], b[i, k - 1], b[i, k]
    x0, x1, x2, x3 = x[i - 1, k], x[i + 1, k], x[i, k - 1], x[i, k + 1]
    for j in range(r.size):
        r[j] += a0[j] * x0[j] + a1[j] * x1[j] + b0[j] * x2[j] + b1[j] * x3[j]


@njit(cache=True, fastmath=_FAST)
def _solve_line(g, pivot, r, x):  # type: ignore[no-untyped-def]
    """Solve one line's tridiagonal system for the right-hand side ``r``, which is overwritten."""
    n = r.size
    y = r[0] * pivot[0]
    r[0] = y
    for j in range(1, n):
        y = r[j] * pivot[j] + (g[j - 1] * pivot[j]) * y
        r[j] = y
    x[n - 1] = y
    for j in range(n - 2, -1, -1):
        y = r[j] + (g[j] * pivot[j]) * y
        x[j] = y


@njit(parallel=True, cache=True, fastmath=_FAST)
def relax(colour, fresh, g, pivot, b, x):  # type: ignore[no-untyped-def]
    """Solve every line of one colour; ``fresh`` when all of ``x`` stands for zero."""
    n, m, length = x.shape
    for i in prange(1, n - 1):
        r = np.empty(length, np.float32)
        for k in range(1 + (i + colour) % 2, m - 1, 2):
            r[:] = b[i, k]
            if not fresh:
                _add_neighbours(g.a, g.b, x, i, k, r)
            _solve_line(g.line[i, k], pivot[i, k], r, x[i, k])


@njit(parallel=True, cache=True, fastmath=_FAST)
def restrict(g, x, start_a, start_b, coarse):  # type: ignore[no-untyped-def]
    """Sum residuals over merged lines.

    After colour 0 and then colour 1 were solved from zero, lines of colour 1 have no residual,
    and those of colour 0 just what their neighbours have since brought.
    """
    n, m, _ = coarse.shape
    for ic in prange(1, n - 1):
        for kc in range(1, m - 1):
            r = coarse[ic, kc]
            r[:] = 0.0
            for i in range(start_a[ic], start_a[ic + 1]):
                for k in range(start_b[kc], start_b[kc + 1]):
                    if (i + k) % 2 == 1:
                        _add_neighbours(g.a, g.b, x, i, k, r)


@njit(parallel=True, cache=True, fastmath=_FAST)
def prolong(parent_a, parent_b, coarse, x):  # type: ignore[no-untyped-def]
    """Add the coarse correction to the lines of colour 0; colour 1 is solved anew next."""
    n, m, _ = x.shape
    for i in prange(1, n - 1):
        for k in range(1 + i % 2, m - 1, 2):
            _add(np.float32(1.0), coarse[parent_a[i], parent_b[k]], x[i, k])


@njit(parallel=True, cache=True)
def merge(start_a, start_b, stretch_a, stretch_b, fine, coarse):  # type: ignore[no-untyped-def]
    """Conductances of merged lines.

    Sums, and across merged lines sums scaled by the longer way between their centres: never
    more than a merger factor below the variational value, so a correction cannot run away.
    """
    n, m, _ = coarse.air.shape
    for ic in prange(1, n - 1):
        for kc in range(1, m - 1):
            last_a, last_b = start_a[ic + 1] - 1, start_b[kc + 1] - 1
            for i in range(start_a[ic], last_a + 1):
                for k in range(start_b[kc], last_b + 1):
                    _add(np.float32(1.0), fine.line[i, k], coarse.line[ic, kc])
                    _add(np.float32(1.0), fine.air[i, k], coarse.air[ic, kc])
            for k in range(start_b[kc], last_b + 1):
                _add(stretch_a[ic], fine.a[last_a, k], coarse.a[ic, kc])
            for i in range(start_a[ic], last_a + 1):
                _add(stretch_b[kc], fine.b[i, last_b], coarse.b[ic, kc])


def hierarchy(g: Conductances, widths: tuple[npt.NDArray[np.float64], ...]) -> list[Level]:
    """Build all grids down to a few lines.

    Parameters
    ----------
    g : Conductances
        Of the finest grid, (a, b, line).
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
        shape = (ma.start.size - 1, mb.start.size - 1, g.air.shape[2])
        coarse = Conductances(*(np.zeros(shape, np.float32) for _ in range(4)))
        merge(ma.start, mb.start, ma.stretch, mb.stretch, g, coarse)
        widths = tuple(
            np.add.reduceat(w, m.start[1:-2] - 1) for w, m in zip(widths, mergers, strict=True)
        )
        g = coarse


def _mergers(widths: tuple[npt.NDArray[np.float64], ...]) -> tuple[Merger, Merger]:
    """Merge neighbours in pairs, small ones first, until well under two thirds remain."""
    lines = widths[0].size * widths[1].size
    several = np.concatenate([w for w in widths if w.size > 1])
    target = 2.02 * float(np.quantile(several, 0.2))
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
