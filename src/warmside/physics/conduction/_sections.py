"""The resistance of a whole framed wall from sections through it, with its error.

A tensor grid through a whole wall is coarse beside each of its hundred edges, and what finite
volumes give it is always too much. The heat of a wall is taken apart instead, as ISO 10211 and
ISO 14683 do: what goes straight through each region, and for every edge what it adds per metre,
from sections across it. Sections that are alike are solved once, all of them side by side.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from warmside.physics.assembly import Assembly, Layer, Stack
from warmside.physics.conduction._field import Field, solve_grid
from warmside.physics.conduction._field_bodies import NOTHING, Blocks, Body, Space, triple
from warmside.physics.conduction._field_wall import OUTSIDE, ROOM, outer_film
from warmside.physics.conduction._grid import Grid, divide
from warmside.physics.conduction._linear import layers
from warmside.physics.conduction._simple import ISO_FILMS, Films, resistances
from warmside.physics.conduction._slivers import raster, without_slivers

Floats = npt.NDArray[np.float64]
Piece = tuple[tuple[int, float], ...]  # side by side: number of a stack, width [m]
CUT = 0.13  # [m] from an edge its effect has died away; a wider region is cut there
FIRST, FIRST_DEPTH = 0.03, 0.015  # [m] cells at faces on the coarser grid, across and in depth
TOLERANCE = 1e-5  # [-] of the true relative residual
# [-] of what doubling changed that is still to come: 1 at first order, 1/3 at second; half of it
# is doubtful
REST = 2.0 / 3.0
SHARE = 0.85  # [-] of what all edges add, by those that are solved on two grids
TOGETHER = 32  # pieces in one section
MEETING = 0.002  # [-] of the heat: where edges meet, left out; own figure, by fields of 3 M cells
_APART = 0.05  # [m]
_FAR = 1.0  # [m] a body's own ends are of no use once it is painted
_DIGITS = 6  # of lengths [m] and conductivities [W/(m K)]: closer is alike


@dataclass(frozen=True)
class Resistance:
    """A resistance air to air, extrapolated to endless refinement; true within ``error``."""

    value: float  # [m2 K/W]
    error: float  # [m2 K/W]


def section_resistance(assembly: Assembly, films: Films = ISO_FILMS) -> Resistance:
    """Resistance of a closed framed wall by its sections.

    ``Phi = sum U A + sum psi l``: straight through every region, and what every edge adds, from
    a horizontal section at each height and an upright one at each place along the wall. What
    happens where edges meet is left out and is part of the error.

    Parameters
    ----------
    assembly : Assembly
        The closed wall.
    films : Films
        Surface resistances [m2 K/W].

    Returns
    -------
    Resistance
        Air to air over the net area [m2 K/W].

    Raises
    ------
    SolverError
        As `solve_field`.
    """
    assembly = without_slivers(assembly)
    x, z, what = raster(assembly)
    kinds, what = _alike(assembly.stacks, what)
    ends = films.inside + outer_film(assembly, films)
    clear = np.array([1.0 / (sum(resistances(stack)) + ends) for stack in kinds])
    dx, dz = np.diff(x), np.diff(z)
    straight = float(np.sum(np.where(what >= 0, clear[what], 0.0) * np.outer(dx, dz)))
    pieces: Counter[Piece] = Counter()
    for widths, heights, table in ((dx, dz, what.T), (dz, dx, what)):
        reached: Counter[tuple[int, ...]] = Counter()  # most rows of a raster are alike
        for row, height in zip(table.tolist(), heights.tolist(), strict=True):
            reached[tuple(row)] += height
        across = widths.tolist()
        for alike, height in reached.items():
            for piece in _pieces(alike, across):
                pieces[piece] += height
    if not pieces:
        value = assembly.net_area / straight
        return Resistance(value, 0.0)
    found = tuple(pieces)
    lengths = np.array([pieces[piece] for piece in found])
    section = _Section.of(kinds, clear, films.inside, outer_film(assembly, films))
    coarse = section.added(found, False) * lengths
    # the edges that matter most again on twice as fine a grid; the rest change as they do
    first = np.argsort(-np.abs(coarse))
    summed = np.cumsum(np.abs(coarse[first]))
    many = int(np.searchsorted(summed, SHARE * summed[-1])) + 1
    some = first[:many]
    finer = section.added([found[n] for n in some], True) * lengths[some]
    whole = float(coarse[some].sum())
    grown = float(finer.sum()) / whole - 1.0 if whole else 0.0
    added = float(coarse.sum()) * (1.0 + (1.0 + REST) * grown)
    heat = straight + added
    value = float(assembly.net_area / heat)
    doubt = 0.5 * abs(REST * grown * float(coarse.sum())) / heat
    return Resistance(value, value * (doubt + MEETING))


def _alike(
    stacks: Sequence[Stack], what: npt.NDArray[np.int64]
) -> tuple[list[Stack], npt.NDArray[np.int64]]:
    """Stacks of the same layers as one, and the raster in their numbers."""
    numbers: dict[tuple[Layer, ...], int] = {}
    new = [numbers.setdefault(stack.layers, len(numbers)) for stack in stacks]
    kinds = {n: stack for stack, n in zip(reversed(stacks), reversed(new), strict=True)}
    return [kinds[n] for n in range(len(kinds))], np.array([*new, -1])[what]


def _pieces(row: Sequence[int], widths: Sequence[float]) -> Iterable[Piece]:
    """A section cut into pieces that do not feel each other: by openings, and in wide regions."""
    runs: list[tuple[int, float]] = []
    for n, width in zip(row, widths, strict=True):
        if runs and runs[-1][0] == n:
            runs[-1] = (n, runs[-1][1] + width)
        else:
            runs.append((n, width))
    piece: list[tuple[int, float]] = []
    for n, width in [*runs, (-1, 0.0)]:
        if n >= 0:
            piece.append((n, round(min(width, CUT if width > 2.0 * CUT else width), 6)))
        if n < 0 or width > 2.0 * CUT:
            if len(piece) > 1:
                yield min(tuple(piece), tuple(reversed(piece)))
            piece = piece[-1:] if n >= 0 else []


@dataclass(frozen=True)
class _Section:
    """What the edges of a wall are solved with, its stacks cut at the same depths."""

    depths: Floats  # (n + 1,) [m]
    number: npt.NDArray[np.int32]  # (kinds, n) of a material
    materials: tuple[Body, ...]
    spaces: tuple[Space, Space]
    clear: Floats  # (kinds,) transmittance straight through [W/(m2 K)]

    @classmethod
    def of(cls, kinds: Sequence[Stack], clear: Floats, inside: float, outside: float) -> _Section:
        made = [layers(stack, 0.0, 1.0) for stack in kinds]
        ends = np.unique(np.round([end for bodies in made for b in bodies for end in (b.y0, b.y1)],
                                  _DIGITS))  # fmt: skip
        middle = 0.5 * (ends[1:] + ends[:-1])
        last = [np.array([body.y1 for body in bodies]) for bodies in made]
        lam = np.array([
            [triple(bodies[min(n, y1.size - 1)].conductivity)
             for n in np.searchsorted(y1, middle).tolist()]
            for bodies, y1 in zip(made, last, strict=True)
        ])  # fmt: skip
        table, number = np.unique(
            np.round(lam.reshape(-1, 3), _DIGITS), axis=0, return_inverse=True
        )
        rows: npt.NDArray[np.int32] = number.reshape(len(made), -1).astype(np.int32)
        rows[middle > np.array([y1[-1] for y1 in last])[:, None]] = NOTHING
        kept = np.append(True, (np.diff(rows, axis=1) != 0).any(axis=0))
        around = (-_FAR, _FAR, -_FAR, _FAR, -_FAR, _FAR)
        return cls(
            ends[np.append(kept, True)],
            rows[:, kept],
            tuple(Body(*around, (x, y, z)) for x, y, z in table.tolist()),
            (Space(*around, ROOM, inside), Space(*around, OUTSIDE, outside)),
            clear,
        )

    def added(self, pieces: Sequence[Piece], halved: bool) -> Floats:
        """What the edges in each piece add to the heat straight through [W/(m K)]."""
        return np.concatenate(
            [np.zeros(0), *(self._added(some, halved) for some in _batched(pieces, TOGETHER))]
        )

    def _added(self, pieces: Sequence[Piece], halved: bool) -> Floats:
        """Some pieces side by side in one section, no heat between them."""
        row = np.array([part for piece in pieces for part in (*piece, (-1, _APART))])
        kind, u = row[:, 0].astype(int), np.append(0.0, np.cumsum(row[:, 1]))
        starts = np.append(0.0, u[1:][kind < 0])[:-1]
        what = np.full((kind.size + 2, self.depths.size + 1, 3), NOTHING, np.int32)
        what[1:-1, 1:-1, 1] = np.where(kind[:, None] >= 0, self.number[kind], NOTHING)
        what[:, 0], what[:, -1] = NOTHING - 1, NOTHING - 2
        z = np.array([0.0, 1.0])
        blocks = Blocks((u, self.depths, z), what, self.materials, self.spaces)
        grid = Grid(blocks, (divide(u, FIRST), divide(self.depths, FIRST_DEPTH), z))
        field = solve_grid(grid.halved() if halved else grid, tolerance=TOLERANCE)
        straight = [sum(self.clear[n] * width for n, width in piece) for piece in pieces]
        return np.asarray(_flows(field, starts.tolist()) - np.array(straight))


def _batched(pieces: Sequence[Piece], size: int) -> Iterable[Sequence[Piece]]:
    """Runs of at most ``size`` pieces."""
    return (pieces[n : n + size] for n in range(0, len(pieces), size))


def _flows(field: Field, starts: Sequence[float]) -> Floats:
    """Heat out of the room through each piece [W/(m K)]."""
    faces, room = field.faces, field.environments.index(ROOM)
    mine = faces.environment == room
    flow = faces.conductance[mine] * (1.0 - field.face_factors(film=False)[room, mine])
    edges = field.grid.edges[0]
    middle = 0.5 * (edges[1:] + edges[:-1])[field.columns(faces.cell[mine])[0]]
    number = np.searchsorted(starts, middle) - 1
    return np.asarray(np.bincount(number, weights=flow, minlength=len(starts)), np.float64)
