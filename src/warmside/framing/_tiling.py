"""Claims that overlap become tiles that do not: the wall cut along every edge, painted, rejoined.

The tiling is exact whatever was surveyed: each cell of the grid belongs to one piece, so areas add
up and nothing overlaps.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby

import numpy as np
from numpy.typing import NDArray

from warmside.framing._parts import Section
from warmside.framing._pieces import NEAR, Piece, Shell
from warmside.geometry import Rect

OUTSIDE = -1
SPACE = 0  # what no piece claims
Labels = NDArray[np.int32]
Run = tuple[int, int, int]  # label, first and last mark up a column


@dataclass(frozen=True)
class Tile:
    """A rectangle and the piece that it shows."""

    rect: Rect
    piece: Piece


@dataclass(frozen=True)
class Touch:
    """Two tiles that share an edge: their indices, left or lower one first, and the edge [m]."""

    first: int
    second: int
    line: tuple[float, float, float, float]

    @property
    def upright(self) -> bool:
        """Whether the shared edge stands."""
        return self.line[0] == self.line[2]

    @property
    def length(self) -> float:
        """Length of the shared edge [m]."""
        return self.line[2] - self.line[0] + self.line[3] - self.line[1]


class Ruler:
    """Edges along one axis: those within ``NEAR`` become one; outline and openings lead."""

    def __init__(self, leading: Iterable[float], others: Iterable[float]) -> None:
        firm = set(leading)
        self._first, self._last = min(firm), max(firm)
        raw = sorted(v for v in firm.union(others) if self._first <= v <= self._last)
        self._index: dict[float, int] = {}
        groups: list[list[float]] = []
        for value in raw:
            if not groups or value - groups[-1][-1] > NEAR:
                groups.append([])
            groups[-1].append(value)
            self._index[value] = len(groups) - 1
        self.marks = [_middle([v for v in g if v in firm] or g) for g in groups]
        self.marks[0], self.marks[-1] = self._first, self._last

    def at(self, value: float) -> int:
        """Index of the mark that stands for ``value`` [m]; beyond the ends, the end."""
        return self._index[min(max(value, self._first), self._last)]


def _middle(values: Sequence[float]) -> float:
    return values[0] if len(values) == 1 else (values[0] + values[-1]) / 2


def space(depth: float) -> Piece:
    """What is left between the members: a bay."""
    return Piece("bay", "", "bay", Rect(0, 0, 0, 0), (Section(0.0, depth, "space"),))


@dataclass(frozen=True)
class Tiling:
    """The tiles of a wall, and its outline and holes on the same edges."""

    tiles: tuple[Tile, ...]
    columns: tuple[Rect, ...]
    holes: tuple[Rect, ...]


def tile(shell: Shell, holes: Sequence[Rect], pieces: Sequence[Piece]) -> Tiling:
    """Cut the wall into tiles: later pieces over earlier ones, holes over all."""
    firm = [*shell.columns, *holes]
    xs = Ruler(_edges(firm, "x"), _edges([p.rect for p in pieces], "x"))
    zs = Ruler(_edges(firm, "z"), _edges([p.rect for p in pieces], "z"))
    grid = np.full((len(xs.marks) - 1, len(zs.marks) - 1), SPACE, dtype=np.int32)
    for label, piece in enumerate(pieces, start=1):
        grid[_cells(xs, zs, piece.rect)] = label
    for hole in holes:
        grid[_cells(xs, zs, hole)] = OUTSIDE
    for column in shell.columns:
        grid[xs.at(column.x0) : xs.at(column.x1), zs.at(column.z1) :] = OUTSIDE
    shown = [space(shell.depth), *pieces]
    tiles = [Tile(rect, shown[label]) for label, rect in _runs(grid, xs.marks, zs.marks)]
    tiles.sort(key=lambda t: (t.rect.x0, t.rect.z0))
    return Tiling(
        tuple(tiles),
        tuple(_on_marks(xs, zs, column) for column in shell.columns),
        tuple(_on_marks(xs, zs, hole) for hole in holes),
    )


def _edges(rects: Sequence[Rect], axis: str) -> list[float]:
    if axis == "x":
        return [edge for r in rects for edge in (r.x0, r.x1)]
    return [edge for r in rects for edge in (r.z0, r.z1)]


def _cells(xs: Ruler, zs: Ruler, rect: Rect) -> tuple[slice, slice]:
    return slice(xs.at(rect.x0), xs.at(rect.x1)), slice(zs.at(rect.z0), zs.at(rect.z1))


def _on_marks(xs: Ruler, zs: Ruler, rect: Rect) -> Rect:
    return Rect(
        xs.marks[xs.at(rect.x0)],
        zs.marks[zs.at(rect.z0)],
        xs.marks[xs.at(rect.x1)],
        zs.marks[zs.at(rect.z1)],
    )


def _runs(grid: Labels, xs: list[float], zs: list[float]) -> list[tuple[int, Rect]]:
    """Rectangles of one label: runs up each column, joined sideways where they are alike.

    The same from left and from right, so that a mirrored wall has mirrored tiles.
    """
    rects = []
    running: dict[Run, int] = {}  # the column where each run began
    before: list[int] = []
    for i, column in enumerate([*grid.tolist(), []]):
        if column == before:
            continue
        before = column
        here = _column_runs(column)
        for run in running.keys() - set(here):
            label, j0, j1 = run
            rects.append((label, Rect(xs[running.pop(run)], zs[j0], xs[i], zs[j1])))
        for run in here:
            running.setdefault(run, i)
    return rects


def _column_runs(column: Sequence[int]) -> list[Run]:
    runs = []
    start = 0
    for label, cells in groupby(column):
        end = start + len(list(cells))
        if label != OUTSIDE:
            runs.append((label, start, end))
        start = end
    return runs


def touches(rects: Sequence[Rect]) -> list[Touch]:
    """Every pair of rectangles that share part of an edge; ``rects`` do not overlap.

    Along one line the rectangles that end there follow one another, and so do those that begin
    there: one walk up the two rows finds every pair.
    """
    sides: dict[float, tuple[list[int], list[int]]] = defaultdict(lambda: ([], []))
    levels: dict[float, tuple[list[int], list[int]]] = defaultdict(lambda: ([], []))
    for i, r in enumerate(rects):
        sides[r.x1][0].append(i)
        sides[r.x0][1].append(i)
        levels[r.z1][0].append(i)
        levels[r.z0][1].append(i)
    up = [(r.z0, r.z1) for r in rects]
    along = [(r.x0, r.x1) for r in rects]
    found = [
        Touch(i, j, (x, a, x, b)) for x, row in sides.items() for i, j, a, b in _meet(*row, up)
    ]
    found += [
        Touch(i, j, (a, z, b, z)) for z, row in levels.items() for i, j, a, b in _meet(*row, along)
    ]
    return found


def _meet(
    ending: list[int], beginning: list[int], extents: Sequence[tuple[float, float]]
) -> Iterator[tuple[int, int, float, float]]:
    ending.sort(key=extents.__getitem__)
    beginning.sort(key=extents.__getitem__)
    m = n = 0
    while m < len(ending) and n < len(beginning):
        (a0, a1), (b0, b1) = extents[ending[m]], extents[beginning[n]]
        if min(a1, b1) > max(a0, b0):
            yield ending[m], beginning[n], max(a0, b0), min(a1, b1)
        if a1 <= b1:
            m += 1
        else:
            n += 1
