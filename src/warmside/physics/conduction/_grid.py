"""The tensor grid: lines on every face, cells that grow away from the faces."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from math import prod

import numpy as np
import numpy.typing as npt
from numba import njit

from warmside.physics.conduction._field_bodies import Blocks

Floats = npt.NDArray[np.float64]
GROWTH = 1.5  # [-] from one cell to the next, away from a face
LARGEST = 8.0  # [-] largest cell over the cell at a face


@dataclass(frozen=True)
class Grid:
    """Cells along x, y and z, and the block that each of them lies in.

    ``edges`` are cell edges [m]. Fields have one idle cell more on every side; ``edges`` does not.
    """

    blocks: Blocks
    edges: tuple[Floats, Floats, Floats]

    @property
    def shape(self) -> tuple[int, int, int]:
        """Cells along x, y, z, idle ring excluded."""
        nx, ny, nz = (edge.size - 1 for edge in self.edges)
        return nx, ny, nz

    @property
    def cells(self) -> int:
        """Number of cells, idle ring excluded."""
        return prod(self.shape)

    @cached_property
    def block(self) -> tuple[npt.NDArray[np.int64], ...]:
        """Block number of each cell along x, y, z, idle ring included."""
        numbers = []
        for edge, line in zip(self.edges, self.blocks.lines, strict=True):
            inner = np.searchsorted(line, 0.5 * (edge[1:] + edge[:-1]))
            numbers.append(np.concatenate(([0], inner, [line.size])))
        return tuple(numbers)

    def widths(self, axis: int) -> Floats:
        """Cell widths [m] along an axis, the idle ring as copies of its neighbours."""
        return self._widths[axis]

    @cached_property
    def _widths(self) -> tuple[Floats, ...]:
        widths = (np.diff(edge) for edge in self.edges)
        return tuple(np.concatenate((width[:1], width, width[-1:])) for width in widths)

    def halved(self) -> Grid:
        """Cut every cell in two along each axis that has more than one cell."""
        edges = tuple(
            edge if edge.size == 2 else np.sort(np.append(edge, 0.5 * (edge[1:] + edge[:-1])))
            for edge in self.edges
        )
        return Grid(self.blocks, edges)  # type: ignore[arg-type]


@njit(cache=True)
def divide(line, first):  # type: ignore[no-untyped-def]
    """Cell edges [m] between the faces ``line`` [m]: ``first`` [m] at each face, then growing."""
    edges = np.empty(count(line, first) + 1)
    edges[0], n = line[0], 0
    for face in range(line.size - 1):
        low, high = line[face], line[face + 1]
        cells = _between(0.5 * (high - low), first)
        width, widths = first, edges[n + 1 : n + cells + 1]
        for m in range((cells + 1) // 2):
            widths[m] = widths[cells - 1 - m] = width
            width = min(width * GROWTH, LARGEST * first)
        widths[:] = low + (high - low) * np.cumsum(widths) / widths.sum()
        n += cells
        edges[n] = high
    return edges


@njit(cache=True)
def count(line, first):  # type: ignore[no-untyped-def]
    """Number of cells of `divide`."""
    total = 0
    for n in range(line.size - 1):
        total += _between(0.5 * (line[n + 1] - line[n]), first)
    return total


@njit(cache=True)
def _between(half, first):  # type: ignore[no-untyped-def]
    """Cells between two faces ``2 half`` [m] apart; a sliver thinner than half a cell stays one."""
    if half < 0.25 * first:
        return 1
    width, reach, cells = first, first, 2
    while reach < half:
        width = min(width * GROWTH, LARGEST * first)
        reach += width
        cells += 2
    return cells


def grid_of(blocks: Blocks, cells: int, flat: tuple[bool, bool, bool]) -> Grid:
    """Find the finest graded grid of at most about ``cells`` cells.

    One width at all faces first; then axis by axis a smaller one, as far as there is room: where
    many members are alike, all of them take one more cell at the same width, and the number of
    cells jumps. An axis that is ``flat`` (nothing changes along it) keeps one cell per interval.
    """
    span = max(float(line[-1] - line[0]) for line in blocks.lines)
    axes = [axis for axis in range(3) if not flat[axis]]
    counts = [line.size - 1 for line in blocks.lines]

    def few(first: float, some: list[int]) -> bool:
        number = prod(n for axis, n in enumerate(counts) if axis not in some)
        more = prod(count(blocks.lines[axis], first) for axis in some)
        return bool(number * more <= cells)

    first = _least(lambda width: few(width, axes), span * 1e-5, span)
    widths = [first] * 3
    for axis in axes:
        counts[axis] = count(blocks.lines[axis], first)
    for axis in reversed(axes):
        same = [other for other in axes if _alike(blocks.lines[other], blocks.lines[axis])]
        width = _least(lambda width, some=same: few(width, some), 0.5 * first, widths[axis])  # type: ignore[misc]
        for other in same:  # a wall's mirror image keeps a grid that mirrors it
            widths[other], counts[other] = width, count(blocks.lines[other], width)
    edges = tuple(
        line if one else divide(line, width)
        for line, one, width in zip(blocks.lines, flat, widths, strict=True)
    )
    return Grid(blocks, edges)  # type: ignore[arg-type]


def _alike(one: Floats, other: Floats) -> bool:
    return one.size == other.size and bool(np.allclose(one, other, rtol=0.0, atol=1e-9))


def _least(fits: Callable[[float], bool], low: float, high: float) -> float:
    """Least width [m] from ``low`` to ``high`` that ``fits``; ``high`` if none does."""
    for _ in range(14):
        middle = np.sqrt(low * high)
        low, high = (low, middle) if fits(middle) else (middle, high)
    return float(high)
