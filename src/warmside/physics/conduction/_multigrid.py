"""The preconditioner: whole lines solved at once, and ever coarser grids across them.

A framed wall is divided finely through its depth and coarsely in its plane, so the cells along
a depth line are coupled far more strongly than cells side by side. One symmetric V-cycle
relaxes all depth lines in two colours, exactly along each line, and passes what is left to a
grid whose lines are merged in pairs in the plane while the depth stays divided.

Arrays are ordered by colours (see `_checker`), with one idle cell on every side of each grid.
Lines side by side are worked on together, and only those of the colour that is wanted: at these
sizes what counts is how often each number comes through from memory.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
from numba import config, get_num_threads, njit, prange, set_num_threads

from warmside.physics.conduction._checker import checkered_shape, span

Floats = npt.NDArray[np.float32]
Ints = npt.NDArray[np.int64]
_FAST = {"contract"}  # fused multiply-add only: NaN and order of sums stay as written
_STRETCH = 0.75  # [-] between the variational value, 0, and that of a grid of its own, 1
COARSEST = 4  # lines on the coarsest grid
SWEEPS = 4  # relaxations there
_CORES: int = config.NUMBA_NUM_THREADS  # type: ignore[attr-defined]
_ALONE = 250_000  # cells of a field up to which one core does: tens of milliseconds
_SMALL = 30_000  # cells of a level up to which one core is faster than waking the others


class Conductances(NamedTuple):
    """Conductances [W/K] from each cell to its next one along a, line and b, and to all air.

    Ordered by colours, (2, n, line, h).
    """

    a: Floats
    line: Floats
    b: Floats
    air: Floats


class Merger(NamedTuple):
    """How lines of one grid join: coarse line ``n`` holds the fine ones from ``start[n]`` on."""

    start: Ints
    parent: Ints
    stretch: Floats  # distance between neighbours, fine over coarse, to the power _STRETCH


@dataclass(frozen=True)
class Level:
    """One grid of the hierarchy with its work arrays, and how many cores work on it."""

    cores: int
    g: Conductances
    pivot: Floats
    b: Floats
    x: Floats
    mergers: tuple[Merger, Merger] | None
    place: Ints  # (2, 2, h) where lines of colour 0 go to in a coarse row; by parity of the rows


@njit(parallel=True, cache=True, fastmath=_FAST)
def factor(g, pivot):  # type: ignore[no-untyped-def]
    """Inverse pivots of every line's tridiagonal matrix.

    The pivot less its coupling onward is a sum of positive terms (all that leads out of the
    line, or back along it and then out), so that nothing cancels at any contrast.
    """
    _, n, length, h = pivot.shape
    for i in prange(1, n - 1):
        out = np.zeros(h - 1, np.float32)
        for c in range(2):
            low, high = span(c, i, h)
            out[:] = 0.0
            for j in range(1, length - 1):
                back, before = g.line[c, i, j - 1, low:high], pivot[c, i, j - 1, low:high]
                air, a0, a1 = g.air[c, i, j, low:high], g.a[1 - c, i - 1, j], g.a[c, i, j]
                a0, a1 = a0[low:high], a1[low:high]
                for k in range(out.size):
                    out[k] = back[k] * before[k] * out[k] + air[k] + a0[k] + a1[k]
                b0, b1 = g.b[1 - c, i, j, : h - 1], g.b[c, i, j, low:high]
                ahead, own = g.line[c, i, j, low:high], pivot[c, i, j, low:high]
                for k in range(out.size):
                    out[k] += b0[k] + b1[k]
                    total = out[k] + ahead[k]
                    own[k] = np.float32(1.0) / total if total > 0.0 else np.float32(0.0)


@njit(cache=True, fastmath=_FAST)
def _bring(g, other, c, i, j, row):  # type: ignore[no-untyped-def]
    """Add what flows into the lines of colour ``c`` from those of the ``other`` around them."""
    h = other.shape[2]
    low, high = span(c, i, h)
    a0, a1 = g.a[1 - c, i - 1, j, low:high], g.a[c, i, j, low:high]
    x0, x1 = other[i - 1, j, low:high], other[i + 1, j, low:high]
    for k in range(row.size):
        row[k] += a0[k] * x0[k] + a1[k] * x1[k]
    b0, b1 = g.b[1 - c, i, j, : h - 1], g.b[c, i, j, low:high]
    y0, y1 = other[i, j, : h - 1], other[i, j, 1:]
    for k in range(row.size):
        row[k] += b0[k] * y0[k] + b1[k] * y1[k]


@njit(parallel=True, cache=True, fastmath=_FAST)
def relax(c, fresh, g, pivot, b, x):  # type: ignore[no-untyped-def]
    """Solve every line of one colour; ``fresh`` when the other colour stands for zero."""
    _, n, length, h = x.shape
    own, other = x[c], x[1 - c]
    for i in prange(1, n - 1):
        low, high = span(c, i, h)
        for j in range(1, length - 1):
            row, before = own[i, j, low:high], own[i, j - 1, low:high]
            back, source = g.line[c, i, j - 1, low:high], b[c, i, j, low:high]
            inverse = pivot[c, i, j, low:high]
            for k in range(row.size):
                row[k] = source[k] + back[k] * before[k]
            if not fresh:
                _bring(g, other, c, i, j, row)
            for k in range(row.size):
                row[k] *= inverse[k]
        for j in range(length - 3, 0, -1):
            row, after = own[i, j, low:high], own[i, j + 1, low:high]
            ahead, inverse = g.line[c, i, j, low:high], pivot[c, i, j, low:high]
            for k in range(row.size):
                row[k] += ahead[k] * inverse[k] * after[k]


@njit(parallel=True, cache=True, fastmath=_FAST)
def restrict(g, x, start_a, place, coarse):  # type: ignore[no-untyped-def]
    """Sum residuals over merged lines.

    After colour 0 and then colour 1 were solved from zero, lines of colour 1 have no residual,
    and those of colour 0 just what their neighbours have since brought.
    """
    _, n, length, hc = coarse.shape
    h = x.shape[3]
    other = x[1]
    for ic in prange(1, n - 1):
        r, total = np.zeros(h - 1, np.float32), np.zeros(2 * hc, np.float32)
        for j in range(1, length - 1):
            total[:] = 0.0
            for i in range(start_a[ic], start_a[ic + 1]):
                low, high = span(0, i, h)
                r[:] = 0.0
                _bring(g, other, 0, i, j, r)
                at = place[ic % 2, i % 2, low:high]
                for k in range(r.size):
                    total[at[k]] += r[k]
            coarse[0, ic, j] = total[:hc]
            coarse[1, ic, j] = total[hc:]


@njit(parallel=True, cache=True, fastmath=_FAST)
def prolong(parent_a, place, coarse, x):  # type: ignore[no-untyped-def]
    """Add the coarse correction to colour 0; colour 1 is solved anew next, whatever it holds."""
    _, n, length, h = x.shape
    hc = coarse.shape[3]
    for i in prange(1, n - 1):
        ic = parent_a[i]
        more = np.zeros(2 * hc, np.float32)
        low, high = span(0, i, h)
        at = place[ic % 2, i % 2, low:high]
        for j in range(1, length - 1):
            more[:hc], more[hc:] = coarse[0, ic, j], coarse[1, ic, j]
            fine = x[0, i, j, low:high]
            for k in range(fine.size):
                fine[k] += more[at[k]]


@njit(parallel=True, cache=True)
def merge(start_a, start_b, stretch_a, stretch_b, fine, coarse):  # type: ignore[no-untyped-def]
    """Conductances of merged lines.

    Sums, and across merged lines sums scaled down for the longer way between their centres:
    never by more than a merger factor below the variational value, so a correction cannot run
    away.
    """
    for ic in prange(1, coarse.air.shape[1] - 1):
        _merge_row(start_a, start_b, stretch_a[ic], stretch_b, fine, coarse, ic)


@njit(cache=True)
def _merge_row(start_a, start_b, stretch_a, stretch_b, fine, coarse, ic):  # type: ignore[no-untyped-def]
    last = start_a[ic + 1] - 1
    for j in range(1, coarse.air.shape[2] - 1):
        for kc in range(1, start_b.size - 2):
            c, q = (ic + kc) % 2, kc // 2
            end = start_b[kc + 1] - 1
            for i in range(start_a[ic], last + 1):
                coarse.b[c, ic, j, q] += stretch_b[kc] * fine.b[(i + end) % 2, i, j, end // 2]
                for k in range(start_b[kc], end + 1):
                    coarse.line[c, ic, j, q] += fine.line[(i + k) % 2, i, j, k // 2]
                    coarse.air[c, ic, j, q] += fine.air[(i + k) % 2, i, j, k // 2]
            for k in range(start_b[kc], end + 1):
                coarse.a[c, ic, j, q] += stretch_a * fine.a[(last + k) % 2, last, j, k // 2]


def hierarchy(g: Conductances, widths: tuple[npt.NDArray[np.float64], ...]) -> list[Level]:
    """Build all grids down to a few lines.

    Parameters
    ----------
    g : Conductances
        Of the finest grid.
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
        place = _place(mergers[1]) if mergers else np.zeros((2, 2, 0), np.int64)
        levels.append(Level(cores, g, pivot, b, x, mergers, place))
        if mergers is None:
            return levels
        ma, mb = mergers
        shape = checkered_shape((ma.start.size - 1, g.air.shape[2], mb.start.size - 1))
        coarse = Conductances(*(np.zeros(shape, np.float32) for _ in range(4)))
        merge(ma.start, mb.start, ma.stretch, mb.stretch, g, coarse)
        widths = tuple(
            np.add.reduceat(w, m.start[1:-2] - 1) for w, m in zip(widths, mergers, strict=True)
        )
        g = coarse


def _mergers(widths: tuple[npt.NDArray[np.float64], ...]) -> tuple[Merger, Merger]:
    """Merge neighbours in pairs, small ones first, until under two thirds of the lines remain.

    Faster coarsening saves a tenth of the work and costs half as many iterations again; so do
    wider steps of the limit, where slivers lie beside wide cells.
    """
    lines = widths[0].size * widths[1].size
    target = 2.02 * float(np.quantile(np.concatenate([w for w in widths if w.size > 1]), 0.2))
    while True:
        starts = [_pairs(w, target) for w in widths]
        if (starts[0].size - 3) * (starts[1].size - 3) <= 0.6 * lines:
            break
        target *= 1.05
    a, b = (_merger(w, s) for w, s in zip(widths, starts, strict=True))
    return a, b


@njit(cache=True)
def _pairs(width, target):  # type: ignore[no-untyped-def]
    """First lines of the merged pairs, idle ring included: pairs up to ``target`` [m] wide."""
    starts, count, n = np.zeros(width.size + 3, np.int64), 1, 1
    while n <= width.size:
        starts[count] = n
        count += 1
        n += 2 if n < width.size and width[n - 1] + width[n] <= target else 1
    starts[count], starts[count + 1] = width.size + 1, width.size + 2
    return starts[: count + 2]


def _merger(width: npt.NDArray[np.float64], start: Ints) -> Merger:
    count = start.size - 1
    stretch = np.ones(count, np.float32)
    merged = np.add.reduceat(width, start[1:-2] - 1)
    last = start[2:-2] - 2  # the last fine line of each coarse one, ring not counted
    distances = (width[last] + width[last + 1]) / (merged[:-1] + merged[1:])
    stretch[1 : merged.size] = distances**_STRETCH
    return Merger(start, np.repeat(np.arange(count), np.diff(start)), stretch)


def _place(b: Merger) -> Ints:
    """Where lines of colour 0 go to in a coarse row: both colours of it side by side.

    (2, 2, h), by parity of the coarse row and of the fine one.
    """
    h, coarse = (b.parent.size + 1) // 2, (b.start.size) // 2
    place = np.zeros((2, 2, h), np.int64)
    for above in range(2):
        for i in range(2):
            into = b.parent[i::2]
            place[above, i, : into.size] = (above + into) % 2 * coarse + into // 2
    return place


def share_work(cells: int) -> int:
    """Let as many cores work as a field of ``cells`` cells is worth, and return their number."""
    cores = 1 if cells <= _ALONE else _CORES
    _use(cores)
    return cores


def _use(cores: int) -> None:
    """Let ``cores`` work; asking what does is much cheaper than telling it again."""
    if get_num_threads() != cores:
        set_num_threads(cores)


def cycle(levels: list[Level], n: int = 0) -> None:
    """Replace ``x`` of level ``n`` by an approximate solution for its ``b``, starting at zero."""
    level = levels[n]
    _use(level.cores)
    work = (level.g, level.pivot, level.b, level.x)
    relax(0, True, *work)
    relax(1, False, *work)
    if level.mergers is None:
        for _ in range(SWEEPS):
            relax(0, False, *work)
            relax(1, False, *work)
    else:
        a = level.mergers[0]
        restrict(level.g, level.x, a.start, level.place, levels[n + 1].b)
        cycle(levels, n + 1)
        _use(level.cores)
        prolong(a.parent, level.place, levels[n + 1].x, level.x)
    relax(1, False, *work)
    relax(0, False, *work)
