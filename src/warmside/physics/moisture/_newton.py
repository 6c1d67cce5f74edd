"""One implicit stage: Newton with kept factors. Compiled.

A small change of the state follows the slopes; a great one in ``u`` follows the water that it
stands for.
"""

from __future__ import annotations

import math
from typing import Final

from warmside.physics.moisture._blocks import factorise, substitute
from warmside.physics.moisture._compile import FloatArray, IntArray, compiled
from warmside.physics.moisture._fluxes import (
    C_WATER,
    CAPACITY,
    DX,
    LAST,
    M_LEAK,
    M_LEFT,
    M_RAIN,
    M_RIGHT,
    M_VENT,
    Q_LEFT,
    Q_RIGHT,
    Q_SOURCE,
    U_LOW,
    W,
    exponential,
    properties,
    rates,
)
from warmside.physics.moisture._jacobian import jacobian, slopes
from warmside.physics.moisture._potential import DU, OVERFILL
from warmside.physics.moisture._workspace import Grid, Stage, Tolerances

PACE_START: Final = 0.2  # ratio of successive changes assumed with new factors
PACE_LEAST: Final = 0.04
PACE_DRIFT: Final = 1.15  # growth of that ratio with every stage in which it was not seen
LEAP: Final = 20.0  # tolerances of change that no guess may cover
SLOW: Final = 0.25  # ratio of successive changes that asks for new factors in the next step
REFRESH: Final = 0.5  # ratio that asks for them at once
NEWTON_MOST: Final = 12
STRAIGHT: Final = 0.2  # change of u up to which slopes are trusted
# A change of u counts as one of humidity, e^-u du; this much is added so that near saturation,
# where humidity says nothing, the water content is still held; less in a cell that holds no more
# than a film of dew, which comes and goes in minutes.
WET_WEIGHT: Final = 0.03
FILM: Final = 1e-3  # [kg/m2] of water with a change of 1 in u
# counts, columns of the statistics
STEPS, REJECTED, EVALUATIONS, FACTORISATIONS = range(4)
N_COUNTS: Final = 4


@compiled
def weigh(
    u0: FloatArray, u1: FloatArray, held: FloatArray, tolerance: float, weight: FloatArray
) -> None:
    """Tolerances in a change of 1 in u, at the wetter of two states."""
    for i in range(u0.size):
        wet = WET_WEIGHT * min(1.0, held[0, i] * (1.0 / FILM))
        weight[i] = (exponential(-min(max(u0[i], u1[i]), 11.0)) + wet) / tolerance


@compiled
def size_of(r: FloatArray, weight: FloatArray, per_kelvin: float) -> float:
    """Largest change in humidity and temperature, in units of their tolerances.

    Two cells at a time, for shorter chains; the sum alone sees a NaN.
    """
    n = weight.size
    wet0, wet1, warm0, warm1, total = 0.0, 0.0, 0.0, 0.0, 0.0
    for k in range(n // 2):
        i, j = 2 * k, 2 * k + 1
        x0, x1 = abs(r[0, i]) * weight[i], abs(r[0, j]) * weight[j]
        y0, y1 = abs(r[1, i]), abs(r[1, j])
        wet0 = x0 if x0 > wet0 else wet0
        wet1 = x1 if x1 > wet1 else wet1
        warm0 = y0 if y0 > warm0 else warm0
        warm1 = y1 if y1 > warm1 else warm1
        total += (x0 + y0) + (x1 + y1)
    if n % 2 == 1:
        x0, y0 = abs(r[0, n - 1]) * weight[n - 1], abs(r[1, n - 1])
        wet0 = x0 if x0 > wet0 else wet0
        warm0 = y0 if y0 > warm0 else warm0
        total += x0 + y0
    if not total < math.inf:
        return math.inf
    return float(max(wet0, wet1, warm0 * per_kelvin, warm1 * per_kelvin))


@compiled
def stage(
    u: FloatArray,
    T: FloatArray,
    d: FloatArray,
    base: FloatArray,
    tau: float,
    grid: Grid,
    J: FloatArray,
    work: Stage,
    tolerances: Tolerances,
    counts: IntArray,
    fresh: bool,
) -> tuple[bool, bool]:
    """One implicit stage: find (u, T) with content = base + tau * rates.

    Newton with kept factors. It ends when the next change, guessed from the last ratio of changes,
    would be small; rates and amounts are then carried along with the last change to first order.
    Returns (converged, slow): ``slow`` asks for new factors.
    """
    mat, cell, tab = grid.material, grid.cell, grid.curves
    pr, F, r, held, pace = work.properties, work.rate, work.change, work.held, work.pace
    n = u.size
    per_kelvin, share = 1.0 / tolerances.temperature, tolerances.newton
    before = math.inf
    slow = False
    for iteration in range(NEWTON_MOST):
        properties(u, T, mat, cell, tab, pr)
        rates(
            u, T, d, grid.kinds, grid.spots, mat, cell, tab, pr, work.flow, F, work.amounts
        )  # fmt: skip
        counts[EVALUATIONS] += 1
        if fresh:
            slopes(u, T, mat, cell, tab, pr, work.slopes)
            jacobian(
                u, T, d, grid.kinds, grid.spots, mat, cell, tab, pr, work.slopes, tau, J, held,
                work.edge,
            )  # fmt: skip
            factorise(J)
            counts[FACTORISATIONS] += 1
            pace[0] = PACE_START
            fresh = False
        for i in range(n):
            # contents take the place of rates, which come back from them at the end
            water = pr[W, i] * cell[DX, i]
            heat = (cell[CAPACITY, i] + C_WATER * pr[W, i]) * T[i] * cell[DX, i]
            r[0, i] = base[0, i] + tau * F[0, i] - water
            r[1, i] = base[1, i] + tau * F[1, i] - heat
            F[0, i], F[1, i] = water, heat
        substitute(J, r)
        change = size_of(r, work.weight, per_kelvin)
        if not change < 1e6:
            return False, True
        if iteration > 0:
            ratio = change / before
            pace[0] = max(ratio, PACE_LEAST)
            slow = slow or ratio > SLOW
            # what was linear is not: go on with the slopes of the present state
            fresh = ratio > REFRESH and change > share
        done = change * pace[0] <= share and change < LEAP and mild(F, r, held)
        if done:
            linear(F, r, base, tau, held, work.edge, work.amounts, grid.spots)
        move(u, T, r, pr, held, mat, cell, tab)
        if done:
            pace[0] = min(PACE_DRIFT * pace[0], 1.0)
            return True, slow
        before = change
    return False, True


@compiled
def move(
    u: FloatArray,
    T: FloatArray,
    r: FloatArray,
    pr: FloatArray,
    held: FloatArray,
    mat: IntArray,
    cell: FloatArray,
    tab: FloatArray,
) -> None:
    """Change the state by ``r``.

    A great change of ``u`` follows the water it stands for and not the slope: where a film of dew
    grows or goes, vapour pressure hardly depends on u, and the equation is linear in water.
    """
    most = 0.0
    for i in range(u.size):
        most = abs(r[0, i]) if abs(r[0, i]) > most else most
    if most <= STRAIGHT:
        for i in range(u.size):
            u[i] = max(u[i] + r[0, i], U_LOW)
            T[i] += min(20.0, max(-20.0, r[1, i]))
        return
    for i in range(u.size):
        T[i] += min(20.0, max(-20.0, r[1, i]))
        if abs(r[0, i]) <= STRAIGHT:
            u[i] = max(u[i] + r[0, i], U_LOW)
            continue
        water = pr[W, i] + held[0, i] / cell[DX, i] * r[0, i]
        u[i] = holding(tab[mat[i]], water) if water > tab[mat[i], 0, 0] else max(0.5 * u[i], U_LOW)


@compiled
def holding(curve: FloatArray, water: float) -> float:
    """Potential at which a material holds ``water`` [kg/m3], straight between nodes."""
    low, high = 0, LAST
    if water >= curve[LAST, 0]:
        return float(LAST * DU + (water - curve[LAST, 0]) / OVERFILL)
    while high - low > 1:
        middle = (low + high) // 2
        if curve[middle, 0] <= water:
            low = middle
        else:
            high = middle
    rise = curve[high, 0] - curve[low, 0]
    beyond = (water - curve[low, 0]) / rise if rise > 0.0 else 0.0
    return float(max((low + beyond) * DU, U_LOW))


@compiled
def mild(F: FloatArray, r: FloatArray, held: FloatArray) -> bool:
    """Whether the change ``r`` moves at most half of the water in any cell, ``F``.

    A cell emptied by slopes would hold less than nothing, and no later step could start from it.
    """
    most = 0.0
    for i in range(F.shape[1]):
        over = abs(held[0, i] * r[0, i]) - 0.5 * F[0, i]
        most = over if over > most else most
    return bool(most <= 0.0)


@compiled
def linear(
    F: FloatArray,
    r: FloatArray,
    base: FloatArray,
    tau: float,
    held: FloatArray,
    edge: FloatArray,
    amounts: FloatArray,
    spots: IntArray,
) -> None:
    """Rates after the change ``r`` to first order, from the contents in ``F`` before it.

    ``tau (F + F' r) = content + content' r - base`` by the equations just solved; what crosses
    the boundary is changed by the same derivatives, so that the balance stays exact.
    """
    n, per = F.shape[1], 1.0 / tau
    for i in range(n):
        F[0, i] = (F[0, i] + held[0, i] * r[0, i] - base[0, i]) * per
        F[1, i] = (F[1, i] + held[1, i] * r[0, i] + held[2, i] * r[1, i] - base[1, i]) * per
    cells = (0, n - 1, n - 1, spots[0], spots[1])
    waters = (M_LEFT, M_RIGHT, M_RAIN, M_LEAK, M_VENT)
    heats = (Q_LEFT, Q_RIGHT, Q_SOURCE, Q_SOURCE, Q_SOURCE)
    for k in range(5):
        i = cells[k]
        if i >= 0:
            amounts[waters[k]] += edge[k, 0] * r[0, i] + edge[k, 1] * r[1, i]
            amounts[heats[k]] += edge[k, 2] * r[0, i] + edge[k, 3] * r[1, i]
