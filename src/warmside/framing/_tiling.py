"""Claims that overlap become tiles that do not: the wall cut along every edge, painted, rejoined.

The tiling is exact whatever was surveyed: each cell of the grid belongs to one piece, so areas add
up and nothing overlaps.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from warmside.framing._parts import Rect, Section
from warmside.framing._pieces import NEAR, Piece, Shell

OUTSIDE = -1
SPACE = 0  # what no piece claims
Labels = NDArray[np.int32]


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
        firm = np.unique(np.asarray(list(leading), dtype=float))
        self._raw = np.unique(np.concatenate([firm, np.asarray(list(others), dtype=float)]))
        self._raw = self._raw[(self._raw >= firm[0]) & (self._raw <= firm[-1])]
        self._group = np.concatenate([[0], np.cumsum(np.diff(self._raw) > NEAR)])
        is_firm = np.isin(self._raw, firm)
        marks = []
        for group in range(self._group[-1] + 1):
            members = self._group == group
            led = members & is_firm
            values = self._raw[led if led.any() else members]
            marks.append(float(values[0] + values[-1]) / 2)
        marks[0], marks[-1] = float(firm[0]), float(firm[-1])
        self.marks = marks

    def at(self, value: float) -> int:
        """Index of the mark that stands for ``value`` [m]; beyond the ends, the end."""
        place = int(np.searchsorted(self._raw, value))
        return int(self._group[min(place, len(self._raw) - 1)])


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
    running: dict[tuple[int, int, int], int] = {}  # (label, z0, z1) -> column where it began
    for i in range(len(xs)):
        here = _column_runs(grid[i]) if i < len(grid) else []
        for run in set(running) - set(here):
            label, j0, j1 = run
            rects.append((label, Rect(xs[running.pop(run)], zs[j0], xs[i], zs[j1])))
        for run in here:
            running.setdefault(run, i)
    return rects


def _column_runs(column: Labels) -> list[tuple[int, int, int]]:
    breaks = np.flatnonzero(np.diff(column)) + 1
    edges = [0, *breaks.tolist(), len(column)]
    runs = zip(column[edges[:-1]].tolist(), edges, edges[1:], strict=False)
    return [(label, j0, j1) for label, j0, j1 in runs if label != OUTSIDE]


def touches(rects: Sequence[Rect]) -> list[Touch]:
    """Every pair of rectangles that share part of an edge."""
    found = []
    sides: dict[float, tuple[list[int], list[int]]] = defaultdict(lambda: ([], []))
    levels: dict[float, tuple[list[int], list[int]]] = defaultdict(lambda: ([], []))
    for i, r in enumerate(rects):
        sides[r.x1][0].append(i)
        sides[r.x0][1].append(i)
        levels[r.z1][0].append(i)
        levels[r.z0][1].append(i)
    for x, (lefts, rights) in sides.items():
        for i in lefts:
            for j in rights:
                z0, z1 = max(rects[i].z0, rects[j].z0), min(rects[i].z1, rects[j].z1)
                if z1 > z0:
                    found.append(Touch(i, j, (x, z0, x, z1)))
    for z, (belows, aboves) in levels.items():
        for i in belows:
            for j in aboves:
                x0, x1 = max(rects[i].x0, rects[j].x0), min(rects[i].x1, rects[j].x1)
                if x1 > x0:
                    found.append(Touch(i, j, (x0, z, x1, z)))
    return found
