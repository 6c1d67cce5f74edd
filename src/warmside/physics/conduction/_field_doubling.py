"""Refine the field until doubling the divisions no longer changes what is read from it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from warmside.errors import Fault, InputError, SolverError
from warmside.physics.conduction._field import CELLS, Field, solve_field, solve_grid
from warmside.physics.conduction._field_bodies import Body, Space

FLOW_CHANGE = 0.01  # [-] ISO 10211 (from memory)
FACTOR_CHANGE = 0.005  # [-] ISO 10211 (from memory)


@dataclass(frozen=True)
class Refined:
    """The field on the finer of two grids, and what doubling the divisions changed.

    ``flow_change`` is the greatest change of an environment's heat flow over that flow [-], with
    one kelvin to each other environment; ``factor_change`` the greatest change of the lowest
    temperature factor of an environment's surfaces [-].
    """

    field: Field
    flow_change: float
    factor_change: float
    cells: tuple[int, int]


def solve_refined(
    bodies: Sequence[Body],
    spaces: Sequence[Space],
    *,
    cells: int = 30_000,
    limit: int = 4_000_000,
    lines: tuple[Sequence[float], Sequence[float], Sequence[float]] = ((), (), ()),
) -> Refined:
    """Halve all cells until heat flows change by < 1 % and temperature factors by < 0.005.

    The grid test of ISO 10211 (from memory). Starts from about ``cells`` cells; see
    `solve_field` for the rest.

    Raises
    ------
    InputError
        As `solve_field`, and if ``limit`` is no number of cells.
    SolverError
        If the test still fails when the next grid would have more than ``limit`` cells.
    """
    if isinstance(limit, bool) or not isinstance(limit, int) or not 1 <= limit <= CELLS[1]:
        allowed = f"a whole number 1 to {CELLS[1]}"
        raise InputError([Fault("field, limit of cells", f"{limit!r}", allowed)])
    coarse = solve_field(bodies, spaces, cells=cells, lines=lines)
    said = "no finer grid was within the limit"
    while (grid := coarse.grid.halved()).cells <= limit:
        fine = solve_grid(grid)
        flow = float(np.max(np.abs(_flows(fine) - _flows(coarse)) / _flows(fine)))
        factor = float(np.max(np.abs(_lowest(fine) - _lowest(coarse))))
        if flow < FLOW_CHANGE and factor < FACTOR_CHANGE:
            return Refined(fine, flow, factor, (coarse.grid.cells, fine.grid.cells))
        said = f"at the last doubling heat flow changed by {flow:.2%}, factors by {factor:.4f}"
        coarse = fine
    raise SolverError(
        f"the grid test of ISO 10211 did not pass within {limit} cells ({said})",
        "allow more cells, or leave out slivers that cannot matter",
    )


def _flows(field: Field) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    return np.asarray(field.coupling.sum(axis=1))


def _lowest(field: Field) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    """Lowest temperature factor of each environment's own surfaces."""
    names = field.environments
    spots = (field.coldest(n, {other: float(other == n) for other in names}) for n in names)
    return np.array([spot.temperature for spot in spots])
