"""The exact choice of one move for each wall: an integer program, made exact by its cuts.

    max  a t - b c
    s.t. sum_o x_wo = 1 for each wall w;  H = sum h x;  A = sum r x;  low <= A <= high
         t <= v_k + dv/dH (H - H_k) + dv/dA (A - A_k) for each cut k
         c >= sum c_wo x_wo + once y;  c >= least y;  y >= x_wo of all that is worked

What other trades charge is added to ``c`` as it stands.

Since the saving ``v(H, A)`` is jointly concave, each cut lies above it everywhere and touches it at
its own point; the program bounds what can be had, and the choice that it returns is reckoned
exactly and cut off until the bound is met. Source: outer approximation, Duran and Grossmann 1986,
Mathematical Programming 36 (from memory). Solver: HiGHS through SciPy.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf

import numpy as np
from numpy.typing import NDArray

from warmside.study.plan.table import Aim, Cell, Charges, Move, Saving, result

Floats = NDArray[np.float64]
MOST_ROUNDS = 200
STEP_HEAT, STEP_AIR = 1e-3, 1e-5  # [W/K], [-] over which slopes are taken
TOLERANCE = 1e-7  # [-] of the greatest figure
SOLVER = 1e-5  # [-] what the solver's own tolerances may leave of it


class NoPlanError(RuntimeError):
    """The solver stopped without an answer."""


@dataclass(frozen=True)
class Choice:
    """One move for each wall, in the order in which the walls stand in the table."""

    moves: tuple[Move, ...]
    saving: float  # [currency] worth today
    cost: float  # [currency]
    rounds: int  # programs solved
    gap: float  # [-] between the bound and what was found, of the greatest figure

    @property
    def net(self) -> float:
        """Net present value [currency]."""
        return self.saving - self.cost


@dataclass(frozen=True)
class _Cut:
    heat: float
    air: float
    value: float
    slope_heat: float
    slope_air: float


def best_choice(cells: Sequence[Cell], saving: Saving, charges: Charges, aim: Aim) -> Choice | None:
    """The best over all cells, each an integer program of its own.

    Parameters
    ----------
    cells : sequence of Cell
        Ranges of leakage taken away, with the moves that hold in each.
    saving : callable
        Worth today of what is saved; jointly concave.
    charges : Charges
        What the house pays beside its walls.
    aim : Aim
        What is made greatest.

    Returns
    -------
    Choice or None
        None where no cell has a move for every wall.

    Raises
    ------
    NoPlanError
        The solver fails, or the bound is not met within 200 rounds.
    """
    found = [choice for cell in cells if (choice := _in_cell(cell, saving, charges, aim))]
    return max(found, key=lambda c: aim.value * c.saving - aim.cost * c.cost, default=None)


def _in_cell(cell: Cell, saving: Saving, charges: Charges, aim: Aim) -> Choice | None:
    cuts: list[_Cut] = [_cut(saving, 0.0, 0.0), _cut(saving, *_most(cell.moves))]
    best: Choice | None = None
    highest, tried = -inf, set[tuple[Move, ...]]()
    for rounds in range(1, MOST_ROUNDS + 1):
        solved = _program(cell, cuts, charges, aim)
        if solved is None:
            return best
        moves, bound = solved
        value, cost = result(moves, saving, charges)
        reached = aim.value * value - aim.cost * cost
        if reached > highest:
            highest, best = reached, Choice(moves, value, cost, rounds, 0.0)
        scale = max(1.0, abs(bound), abs(reached), aim.value * abs(value), aim.cost * cost)
        gap = (bound - highest) / scale
        # the same moves again: their cut is exact there, what is left is the solver's tolerance
        again = moves in tried and gap <= SOLVER
        tried.add(moves)
        if (gap <= TOLERANCE or again) and best is not None:
            return Choice(best.moves, best.saving, best.cost, rounds, max(gap, 0.0))
        cuts.append(_cut(saving, sum(m.heat for m in moves), sum(m.air for m in moves)))
    raise NoPlanError(f"the plan's bound was not met within {MOST_ROUNDS} rounds")


def _most(moves: Sequence[Move]) -> tuple[float, float]:
    """The most of both that any choice takes away."""
    heat: dict[str, float] = {}
    air: dict[str, float] = {}
    for move in moves:
        heat[move.wall] = max(heat.get(move.wall, -inf), move.heat)
        air[move.wall] = max(air.get(move.wall, -inf), move.air)
    return sum(heat.values()), sum(air.values())


def _cut(saving: Saving, heat: float, air: float) -> _Cut:
    value = saving(heat, air)
    return _Cut(
        heat,
        air,
        value,
        (saving(heat + STEP_HEAT, air) - value) / STEP_HEAT,
        (saving(heat, air + STEP_AIR) - value) / STEP_AIR,
    )


def _program(
    cell: Cell, cuts: Sequence[_Cut], charges: Charges, aim: Aim
) -> tuple[tuple[Move, ...], float] | None:
    """The moves that the program takes, and its bound; None where none fit the cell."""
    moves, n = cell.moves, len(cell.moves)
    walls = list(dict.fromkeys(move.wall for move in moves))
    heat = np.array([move.heat for move in moves])
    air = np.array([move.air for move in moves])
    # money in units in which the greatest figure is about one, as the solver's tolerances ask
    unit = max(1.0, charges.least, charges.once, *(abs(cut.value) for cut in cuts))
    cost = np.array([move.cost for move in moves]) / unit
    own = np.where([move.worked for move in moves], cost, 0.0)
    rows: list[Floats] = []
    low: list[float] = []
    high: list[float] = []

    def row(x: Floats | float, y: float, t: float, c: float, least: float, most: float) -> None:
        rows.append(np.concatenate([np.broadcast_to(x, n), [y, t, c]]))
        low.append(least)
        high.append(most)

    for wall in walls:
        row(np.array([float(move.wall == wall) for move in moves]), 0, 0, 0, 1.0, 1.0)
    row(air, 0, 0, 0, cell.low, cell.high)
    for cut in cuts:
        slopes = (cut.slope_heat * heat + cut.slope_air * air) / unit
        free = cut.value - cut.slope_heat * cut.heat - cut.slope_air * cut.air
        row(-slopes, 0, 1.0, 0, -inf, free / unit)
    row(-own, -charges.once / unit, 0, 1.0, 0.0, inf)
    row(0.0, -charges.least / unit, 0, 1.0, 0.0, inf)
    for k, move in enumerate(moves):
        if move.worked:
            row(np.array([-float(k == j) for j in range(n)]), 1.0, 0, 0, 0.0, inf)
    from scipy.optimize import Bounds, LinearConstraint, milp

    found = milp(
        np.concatenate([aim.cost * (cost - own), [0.0, -aim.value, aim.cost]]),
        integrality=np.concatenate([np.ones(n + 1), [0, 0]]),
        bounds=Bounds(
            np.concatenate([np.zeros(n + 1), [-inf, 0.0]]),
            np.concatenate([np.ones(n + 1), [inf, inf]]),
        ),
        constraints=LinearConstraint(np.array(rows), np.array(low), np.array(high)),
        options={"mip_rel_gap": 0.0},
    )
    if found.status == 2:
        return None
    if found.x is None or found.status != 0:
        raise NoPlanError(f"the plan's program: {found.message}")
    taken = {walls.index(moves[k].wall): moves[k] for k in range(n) if found.x[k] > 0.5}
    return tuple(taken[k] for k in range(len(walls))), -float(found.fun) * unit
