"""The preconditioner: whole lines solved at once, and ever coarser grids across them.

A framed wall is divided finely through its depth and coarsely in its plane, so the cells along
a depth line are coupled far more strongly than cells side by side. One symmetric V-cycle
relaxes all depth lines in two colours, exactly along each line, and passes what is left to a
grid whose lines are merged in pairs in the plane while the depth stays divided.

All grids lie one behind the other in flat arrays, each ordered by colours (see `_checker`) with
one idle cell on every side, so that the whole cycle is one compiled call. At large sizes what
counts is how often each number comes through from memory: the three steps of each half of the
cycle therefore follow one another row by row, while a row is still in the cache.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt
from numba import config, get_num_threads, njit, prange, set_num_threads

from warmside.physics.conduction._cores import compiled_twice

Floats = npt.NDArray[np.float32]
Ints = npt.NDArray[np.int64]
_FAST = {"contract", "reassoc"}  # sums in any order; NaN stays NaN
# For loops over arrays that live in the caller: counting who holds each piece of them, with atomic
# additions, took a quarter of the time of a small field.
_loop: Any = njit(cache=True, fastmath=_FAST, _nrt=False)  # type: ignore[call-overload]
_STRETCH = 0.75  # [-] between the variational value, 0, and that of a grid of its own, 1
_KEPT = (0.8, 0.6, 0.55)  # [-] of the lines at the first, second and each further step, at most
COARSEST = 4  # lines on the coarsest grid
_MOST = 64  # grids: each has at most two thirds of the lines of the one before
SWEEPS = 4  # relaxations there
_CORES: int = config.NUMBA_NUM_THREADS  # type: ignore[attr-defined]
_ALONE = 250_000  # cells of a field up to which one core does: tens of milliseconds
_SMALL = 60_000  # cells of a grid up to which one core is faster than waking the others
_THIN = 16  # rows of a grid below which they are not shared out


class Grids(NamedTuple):
    """All grids of the hierarchy, the finest first, and how lines of one join in the next.

    ``a``, ``line``, ``b`` are conductances [W/K] from each cell to its next one along these
    axes, ``air`` those to all air, ``pivot`` the inverse pivots of the lines [K/W], ``rhs`` and
    ``x`` the heat [W] brought to each cell and the answer.
    """

    shape: Ints  # (grids, 3) rows, cells along a line, places in a row
    start: Ints  # (grids + 1,) first cell of each grid
    a: Floats
    line: Floats
    b: Floats
    air: Floats
    pivot: Floats
    rhs: Floats
    x: Floats
    row: Ints  # first of the tables by row of each grid
    place: Ints  # first of the tables by place of each grid
    parent: Ints  # by row: the coarse row that it goes into
    stretch_a: Floats  # by row: factor of its conductance to the next one; 0 inside a pair
    into: Ints  # by parity of coarse row, first k and place: where in the coarse row, see `_into`
    stretch_b: Floats  # by first k and place: as stretch_a


# one row of lines


@_loop
def _bring(g, n, c, i, t):  # type: ignore[no-untyped-def]
    """Add to ``t`` what flows into the lines of colour ``c`` from the other lines around them."""
    rows, length, h = g.shape[n]
    size, o = length * h, (i + c) % 2
    own, other = g.start[n] + (c * rows + i) * size, g.start[n] + ((1 - c) * rows + i) * size
    g0, g1 = g.a[other - size : other], g.a[own : own + size]
    x0, x1 = g.x[other - size : other], g.x[other + size : other + 2 * size]
    for k in range(size):
        t[k] += g0[k] * x0[k] + g1[k] * x1[k]
    # where a row of places ends, the next begins: idle lines stand between them
    before, behind = other - 1 + o, other + o
    h0, h1 = g.b[before : before + size], g.b[own : own + size]
    y0, y1 = g.x[before : before + size], g.x[behind : behind + size]
    for k in range(size):
        t[k] += h0[k] * y0[k] + h1[k] * y1[k]


@_loop
def _relax(g, n, c, i, fresh, t):  # type: ignore[no-untyped-def]
    """Solve the lines of colour ``c``; ``fresh`` when the other colour stands for zero."""
    rows, length, h = g.shape[n]
    own = g.start[n] + (c * rows + i) * length * h
    rhs = g.rhs[own : own + t.size]
    for k in range(t.size):
        t[k] = rhs[k]
    if not fresh:
        _bring(g, n, c, i, t)
    for j in range(1, length - 1):
        at = own + j * h
        x, before, source = g.x[at : at + h], g.x[at - h : at], t[j * h : j * h + h]
        back, pivot = g.line[at - h : at], g.pivot[at : at + h]
        for k in range(h):
            x[k] = (source[k] + back[k] * before[k]) * pivot[k]
    for j in range(length - 3, 0, -1):
        at = own + j * h
        x, after = g.x[at : at + h], g.x[at + h : at + 2 * h]
        ahead, pivot = g.line[at : at + h], g.pivot[at : at + h]
        for k in range(h):
            x[k] += ahead[k] * pivot[k] * after[k]


@_loop
def _into(g, n, c, i):  # type: ignore[no-untyped-def]
    """Where the first coarse row below row ``i`` begins, and the places of its lines from there.

    Places count from the first cell of the coarse row of colour 0, through to those of colour 1.
    """
    h, below = g.shape[n, 2], g.shape[n + 1]
    row = g.parent[g.row[n] + i]
    first = g.place[n] + (2 * (row % 2) + (i + c) % 2) * h
    return g.start[n + 1] + row * below[1] * below[2], g.into[first : first + h]


@_loop
def _restrict(g, n, i, t):  # type: ignore[no-untyped-def]
    """Add the residuals of a row to the coarse one.

    After colour 0 and then colour 1 were solved from zero, lines of colour 1 have no residual,
    and those of colour 0 just what their neighbours have since brought.
    """
    _, length, h = g.shape[n]
    t[:] = 0.0
    _bring(g, n, 0, i, t)
    base, into = _into(g, n, 0, i)
    for j in range(1, length - 1):
        coarse, r = g.rhs[base + j * g.shape[n + 1, 2] :], t[j * h : j * h + h]
        for k in range(h):
            coarse[into[k]] += r[k]


@_loop
def _prolong(g, n, i):  # type: ignore[no-untyped-def]
    """Add the coarse correction to colour 0; colour 1 is solved anew next, whatever it holds."""
    _, length, h = g.shape[n]
    base, into = _into(g, n, 0, i)
    own = g.start[n] + i * length * h
    for j in range(1, length - 1):
        coarse, x = g.x[base + j * g.shape[n + 1, 2] :], g.x[own + j * h : own + j * h + h]
        for k in range(h):
            x[k] += coarse[into[k]]


@_loop
def product(u, v):  # type: ignore[no-untyped-def]
    """Scalar product of a few thousand numbers, in their own precision."""
    total = u[0] * v[0]
    for k in range(1, u.size):
        total += u[k] * v[k]
    return total


@_loop
def _work(g, n, i):  # type: ignore[no-untyped-def]
    """Product of ``rhs`` and ``x`` in both colours of a row."""
    rows, length, h = g.shape[n]
    size, total = length * h, 0.0
    for c in range(2):
        own = g.start[n] + (c * rows + i) * size
        total += product(g.x[own : own + size], g.rhs[own : own + size])
    return total


# the cycle


@njit(cache=True)
def shares(rows, cores):  # type: ignore[no-untyped-def]
    """Rows of three steps that each need the one before in the rows beside, (2 cores - 1, 3, 2).

    First a share for every core: where another works beyond, the second step stays one row away
    from there and the third two. Then the seams between them, where the steps left are made up.
    """
    out = np.zeros((2 * cores - 1, 3, 2), np.int64)
    for s in range(cores):
        first, last = 1 + (rows - 2) * s // cores, 1 + (rows - 2) * (s + 1) // cores
        for step in range(3):
            out[s, step, 0] = first + (step if s > 0 else 0)
            out[s, step, 1] = last - (step if s < cores - 1 else 0)
            if s > 0:
                out[cores + s - 1, step] = first - step, first + step
    return out


@njit(cache=True)
def _leg(g, n, down, rows):  # type: ignore[no-untyped-def]
    """Half a cycle, its three steps on ``rows`` close behind each other; see `shares`."""
    t, work = np.empty(g.shape[n, 1] * g.shape[n, 2], np.float32), 0.0
    for i in range(rows[:, 0].min(), rows[:, 1].max() + 2):
        if rows[0, 0] <= i < rows[0, 1]:
            if down:
                _relax(g, n, 0, i, True, t)
            else:
                _prolong(g, n, i)
        if rows[1, 0] <= i - 1 < rows[1, 1]:
            _relax(g, n, 1, i - 1, False, t)
        if rows[2, 0] <= i - 2 < rows[2, 1]:
            if down:
                _restrict(g, n, i - 2, t)
            else:
                _relax(g, n, 0, i - 2, False, t)
                work += _work(g, n, i - 2) if n == 0 else 0.0
    return work


@njit(parallel=True, cache=True)
def _shared_leg(g, n, down, cores):  # type: ignore[no-untyped-def]
    rows, work = shares(g.shape[n, 0], cores), np.zeros(2 * cores - 1)
    for s in prange(cores):
        work[s] = _leg(g, n, down, rows[s])
    for s in range(cores, 2 * cores - 1):
        work[s] = _leg(g, n, down, rows[s])
    return work.sum()


@njit(cache=True)
def _half(g, n, down, cores):  # type: ignore[no-untyped-def]
    rows = g.shape[n, 0]
    if cores > 1 and rows >= _THIN * cores and g.start[n + 1] - g.start[n] > _SMALL:
        return _shared_leg(g, n, down, cores)
    return _leg(g, n, down, shares(rows, 1)[0])


@njit(cache=True)
def _coarsest(g, n):  # type: ignore[no-untyped-def]
    """Relax a grid of a few lines until little is left, the colours in a symmetric order."""
    rows, t, work = g.shape[n, 0], np.empty(g.shape[n, 1] * g.shape[n, 2], np.float32), 0.0
    for sweep in range(2 * SWEEPS + 3):
        for i in range(1, rows - 1):
            _relax(g, n, sweep % 2, i, sweep == 0, t)
    for i in range(1, rows - 1):
        work += _work(g, n, i)
    return work


@njit(cache=True)
def cycle(g, cores):  # type: ignore[no-untyped-def]
    """Put an approximate solution for ``rhs`` of the finest grid in its ``x``; returns rhs . x."""
    last = g.shape.shape[0] - 1
    for n in range(last):
        g.rhs[g.start[n + 1] : g.start[n + 2]] = 0.0
        _half(g, n, True, cores)
    work = _coarsest(g, last)
    for n in range(last - 1, -1, -1):
        work = _half(g, n, False, cores)
    return work


# setting up


@njit(cache=True, fastmath=_FAST, error_model="numpy")
def _factor(g, n, c, i):  # type: ignore[no-untyped-def]
    """Inverse pivots of the tridiagonal matrices of a row's lines.

    The pivot less its coupling onward is a sum of positive terms (all that leads out of the
    line, or back along it and then out), so that nothing cancels at any contrast.
    """
    rows, length, h = g.shape[n]
    size, o = length * h, (i + c) % 2
    own, other = g.start[n] + (c * rows + i) * size, g.start[n] + ((1 - c) * rows + i) * size
    air, a0, a1 = g.air[own : own + size], g.a[other - size : other], g.a[own : own + size]
    b0, b1 = g.b[other - 1 + o : other - 1 + o + size], g.b[own : own + size]
    beside = air + a0 + a1 + b0 + b1
    out = np.zeros(h, np.float32)
    for j in range(1, length - 1):
        at, sides = own + j * h, beside[j * h : j * h + h]
        back, before, ahead = g.line[at - h : at], g.pivot[at - h : at], g.line[at : at + h]
        pivot = g.pivot[at : at + h]
        for k in range(h):
            out[k] = back[k] * before[k] * out[k] + sides[k]
            total = out[k] + ahead[k]
            pivot[k] = np.float32(1.0) / total if total > 0.0 else np.float32(0.0)


@_loop
def _merge(g, n, c, i):  # type: ignore[no-untyped-def]
    """Add a row's conductances to those of merged lines.

    Sums, and across merged lines sums scaled down for the longer way between their centres:
    never by more than a merger factor below the variational value, so a correction cannot run
    away.
    """
    rows, length, h = g.shape[n]
    base, into = _into(g, n, c, i)
    tables = g.place[n] // 2 + (i + c) % 2 * h
    along, across = g.stretch_b[tables : tables + h], g.stretch_a[g.row[n] + i]
    for j in range(1, length - 1):
        at, to = g.start[n] + ((c * rows + i) * length + j) * h, base + j * g.shape[n + 1, 2]
        for k in range(h):
            place = to + into[k]
            g.line[place] += g.line[at + k]
            g.air[place] += g.air[at + k]
            g.a[place] += across * g.a[at + k]
            g.b[place] += along[k] * g.b[at + k]


def _built(g):  # type: ignore[no-untyped-def]
    for n in range(g.shape.shape[0]):
        for i in prange(1, g.shape[n, 0] - 1):
            _factor(g, n, 0, i)
            _factor(g, n, 1, i)
        if n + 1 < g.shape.shape[0]:
            parent = g.parent[g.row[n] : g.row[n] + g.shape[n, 0]]
            for row in prange(1, g.shape[n + 1, 0] - 1):
                for i in range(np.searchsorted(parent, row), np.searchsorted(parent, row + 1)):
                    _merge(g, n, 0, i)
                    _merge(g, n, 1, i)


_shared_build, _build_alone = compiled_twice(_built)


def build(g: Grids) -> Grids:
    """Fill in all that follows from the conductances of the finest grid."""
    fill = _shared_build if share_work(int(g.start[1])) > 1 else _build_alone
    fill(g)
    return g


def grids_of(widths: tuple[npt.NDArray[np.float64], ...], length: int) -> Grids:
    """Lay out all grids, down to a few lines, with nothing in them yet.

    Parameters
    ----------
    widths : two arrays
        Cell widths [m] along a and b, idle ring excluded.
    length : int
        Cells along a line, idle ones included.
    """
    wa, wb = widths
    shapes, row, place, parent, stretch_a, into, stretch_b = _layout(wa, wb, length)
    sizes = 2 * shapes.prod(axis=1)
    # one piece of memory, which large pages can hold
    a, line, b, air, pivot, rhs, x = np.zeros((7, int(sizes.sum())), np.float32)
    return Grids(
        shapes, np.append(0, np.cumsum(sizes)), a, line, b, air, pivot, rhs, x,
        row, place, parent, stretch_a, into, stretch_b,
    )  # fmt: skip


@njit(cache=True)
def _layout(wa, wb, length):  # type: ignore[no-untyped-def]
    """Shapes of all grids, and the tables by row and by place; see `Grids`."""
    shape, row = np.zeros((_MOST, 3), np.int64), np.zeros((2, _MOST), np.int64)
    rows, h = wa.size + 2, (wb.size + 3) // 2  # no grid has more
    shape[0] = rows, length, h
    parent, stretch_a = np.zeros(_MOST * rows, np.int64), np.zeros(_MOST * rows, np.float32)
    into, stretch_b = np.zeros(_MOST * 4 * h, np.int64), np.zeros(_MOST * 2 * h, np.float32)
    n = 0
    while wa.size * wb.size > COARSEST and n < _MOST - 1:
        starts = _pairs(wa, wb, _KEPT[min(n, len(_KEPT) - 1)])
        at, place = row[0, n], row[1, n]
        wa, by_row, stretch = _join(wa, starts[0])
        parent[at : at + by_row.size], stretch_a[at : at + stretch.size] = by_row, stretch
        wb, by_place, stretch = _join(wb, starts[1])
        n += 1
        shape[n] = wa.size + 2, length, (wb.size + 3) // 2
        to, along = _by_place(by_place, stretch, shape[n])
        into[place : place + to.size] = to.ravel()
        stretch_b[place // 2 : place // 2 + along.size] = along.ravel()
        row[0, n], row[1, n] = at + by_row.size, place + to.size
    at, place = row[0, n], row[1, n]
    return (
        shape[: n + 1].copy(), row[0, : n + 1].copy(), row[1, : n + 1].copy(), parent[:at],
        stretch_a[:at], into[:place], stretch_b[: place // 2],
    )  # fmt: skip


@njit(cache=True)
def _pairs(wa, wb, kept):  # type: ignore[no-untyped-def]
    """First lines of merged pairs along both axes, rings included: narrow ones first.

    Until at most ``kept`` [-] of the lines remain, or all are merged: of five that leaves three.
    The first step is to join hardly more than the slivers beside faces: a fast one there costs
    half as many iterations again on a fine grid, and further down it does not. Wider steps of
    the limit cost them too, where slivers lie beside wide cells.
    """
    alone = np.zeros(0)
    several = np.sort(np.concatenate((wa if wa.size > 1 else alone, wb if wb.size > 1 else alone)))
    target, least = 2.02 * several[several.size // 5], ((wa.size + 1) // 2) * ((wb.size + 1) // 2)
    most = max(kept * wa.size * wb.size, least)
    while True:
        a, b = _up_to(wa, target), _up_to(wb, target)
        if (a.size - 3) * (b.size - 3) <= most:
            return a, b
        target *= 1.05


@njit(cache=True)
def _up_to(width, target):  # type: ignore[no-untyped-def]
    """First lines when neighbours merge that together are up to ``target`` [m] wide."""
    starts, count, n = np.zeros(width.size + 3, np.int64), 1, 1
    while n <= width.size:
        starts[count] = n
        count += 1
        n += 2 if n < width.size and width[n - 1] + width[n] <= target else 1
    starts[count], starts[count + 1] = width.size + 1, width.size + 2
    return starts[: count + 2]


@njit(cache=True)
def _join(width, start):  # type: ignore[no-untyped-def]
    """Widths [m] of merged lines, and by line the coarse one and the stretch to the next."""
    merged = np.zeros(start.size - 3)
    parent, stretch = np.zeros(width.size + 2, np.int64), np.zeros(width.size + 2, np.float32)
    for n in range(1, start.size - 2):
        merged[n - 1] = width[start[n] - 1 : start[n + 1] - 1].sum()
        parent[start[n] : start[n + 1]] = n
    parent[-1] = start.size - 2
    for n in range(1, merged.size):
        last = start[n + 1] - 1
        apart = (width[last - 1] + width[last]) / (merged[n - 1] + merged[n])
        stretch[last] = apart**_STRETCH
    return merged, parent, stretch


@njit(cache=True)
def _by_place(parent, stretch, coarse):  # type: ignore[no-untyped-def]
    """Where lines go to in a coarse row, (2, 2, h): by its parity, the first k, and place.

    And the stretch of each to the next one, (2, h).
    """
    rows, length, h = coarse
    fine = (parent.size + 1) // 2
    into, along = np.zeros((2, 2, fine), np.int64), np.zeros((2, fine), np.float32)
    for k in range(parent.size):
        along[k % 2, k // 2] = stretch[k]
        for parity in range(2):
            colour = (parity + parent[k]) % 2
            into[parity, k % 2, k // 2] = colour * rows * length * h + parent[k] // 2
    return into, along


def finest(g: Grids) -> tuple[Floats, Floats, Floats, Floats]:
    """Conductances of the finest grid along a, line and b and to air, (2, rows, length, h)."""
    shape, cells = (2, *g.shape[0]), int(g.start[1])
    a, line, b, air = (part[:cells].reshape(shape) for part in (g.a, g.line, g.b, g.air))
    return a, line, b, air


def share_work(cells: int) -> int:
    """Let as many cores work as a field of ``cells`` cells is worth, and return their number."""
    cores = 1 if cells <= _ALONE else _CORES
    if get_num_threads() != cores:
        set_num_threads(cores)
    return cores
