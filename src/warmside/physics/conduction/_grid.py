"""The tensor grid: lines on every face, cells that grow away from the faces."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np
import numpy.typing as npt

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
        return int(np.prod(self.shape))

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
        width = np.diff(self.edges[axis])
        return np.concatenate((width[:1], width, width[-1:]))

    def halved(self) -> Grid:
        """Cut every cell in two along each axis that has more than one cell."""
        edges = tuple(
            edge if edge.size == 2 else np.sort(np.append(edge, 0.5 * (edge[1:] + edge[:-1])))
            for edge in self.edges
        )
        return Grid(self.blocks, edges)  # type: ignore[arg-type]


def divide(line: Floats, first: float) -> Floats:
    """Cell edges [m] between the faces ``line`` [m]: ``first`` [m] at each face, then growing."""
    edges = [line[:1]]
    for low, high in pairwise(line):
        half, widths = 0.5 * (high - low), [first]
        while sum(widths) < half:
            widths.append(min(widths[-1] * GROWTH, LARGEST * first))
        # a sliver thinner than half a cell stays one cell
        pattern = np.array([1.0] if half < 0.25 * first else [*widths, *widths[::-1]])
        edges.append(low + (high - low) * np.cumsum(pattern) / pattern.sum())
        edges[-1][-1] = high
    return np.concatenate(edges)


def grid_of(blocks: Blocks, cells: int, flat: tuple[bool, bool, bool]) -> Grid:
    """Find the finest graded grid of at most about ``cells`` cells.

    An axis that is ``flat`` (nothing changes along it) keeps one cell per interval.
    """

    def grid(first: float) -> Grid:
        edges = tuple(
            line if one else divide(line, first)
            for line, one in zip(blocks.lines, flat, strict=True)
        )
        return Grid(blocks, edges)  # type: ignore[arg-type]

    span = max(float(line[-1] - line[0]) for line in blocks.lines)
    low, high = np.log(span * 1e-5), np.log(span)
    for _ in range(24):
        middle = 0.5 * (low + high)
        if _count(blocks, np.exp(middle), flat) > cells:
            low = middle
        else:
            high = middle
    return grid(float(np.exp(high)))


def _count(blocks: Blocks, first: float, flat: tuple[bool, bool, bool]) -> float:
    """Estimate the cells of `divide` without building them (its widths in closed form)."""
    total = 1.0
    growing = np.log(LARGEST) / np.log(GROWTH)  # cells until the largest
    reach = first * (LARGEST - 1.0) / (GROWTH - 1.0)  # [m] covered by them
    for line, one in zip(blocks.lines, flat, strict=True):
        half = 0.5 * np.diff(line)
        near = np.log1p(np.minimum(half, reach) / first * (GROWTH - 1.0)) / np.log(GROWTH)
        far = np.maximum(half - reach, 0.0) / (LARGEST * first)
        number = 2.0 * np.ceil(np.minimum(near, growing) + far)
        total *= float(np.sum(np.where(half < 0.25 * first, 1.0, number))) if not one else half.size
    return total
