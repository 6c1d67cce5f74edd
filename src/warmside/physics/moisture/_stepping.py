"""Time stepping of the hourly model: TR-BDF2 stages, Newton, step control. Compiled."""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from warmside.physics.moisture._compile import FloatArray, IntArray, compiled
from warmside.physics.moisture._kernels import (
    C_WATER,
    CAPACITY,
    DIAG,
    DX,
    E_0,
    E_1,
    E_2,
    GAMMA,
    M_LEAK,
    M_LEFT,
    M_RAIN,
    M_RIGHT,
    M_VENT,
    N_AMOUNTS,
    N_DRIVERS,
    OMEGA,
    Q_LEFT,
    Q_RIGHT,
    Q_SOURCE,
    U_LOW,
    W,
    drivers,
    exponential,
    factorise,
    jacobian,
    properties,
    rates,
    slopes,
    substitute,
)

Grid = tuple[IntArray, IntArray, IntArray, FloatArray, FloatArray]
State = tuple[FloatArray, FloatArray, FloatArray, FloatArray]
Work = tuple[FloatArray, ...]

PACE_START: Final = 0.2  # ratio of successive changes assumed with new factors
PACE_LEAST: Final = 0.02
PACE_DRIFT: Final = 1.15  # growth of that ratio with every stage in which it was not seen
LEAP: Final = 20.0  # tolerances of change that no guess may cover
AHEAD: Final = 0.8  # how much of the last step's change is expected again
SLOW: Final = 0.25  # ratio of successive changes that asks for new factors in the next step
REFRESH: Final = 0.5  # ratio that asks for them at once
HOUR: Final = 3600.0
HALVINGS: Final = 24  # shortest step: 0.2 ms, for a jump at a bare surface
NEWTON_MOST: Final = 12
GROWTH_SAFETY: Final = 0.4
# A change of u counts as one of humidity, e^-u du; this much is added so that near saturation,
# where humidity says nothing, the water content is still held.
WET_WEIGHT: Final = 0.03
# counts, columns of the statistics
STEPS, REJECTED, EVALUATIONS, FACTORISATIONS, FAILED = range(5)
N_COUNTS: Final = 5


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
    work: Work,
    settings: tuple[float, float, float],
    counts: IntArray,
    fresh: bool,
) -> tuple[bool, bool]:
    """One implicit stage: find (u, T) with content = base + tau * rates.

    Newton with kept factors. It ends when the next change, guessed from the last ratio of changes,
    would be small; rates and amounts are then carried along with the last change to first order.
    Returns (converged, slow): ``slow`` asks for new factors.
    """
    kinds, spots, mat, cell, tab = grid
    pr, sl, flow, F, r, amounts, weight, held, edge, pace = work
    n = u.size
    per_kelvin, share = 1.0 / settings[1], settings[2]
    before = math.inf
    slow = False
    for iteration in range(NEWTON_MOST):
        properties(u, T, mat, cell, tab, pr)
        rates(u, T, d, kinds, spots, mat, cell, tab, pr, flow, F, amounts)
        counts[EVALUATIONS] += 1
        if fresh:
            slopes(u, T, mat, cell, tab, pr, sl)
            jacobian(u, T, d, kinds, spots, mat, cell, tab, pr, sl, tau, J, held, edge)
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
        change = size_of(r, weight, per_kelvin)
        if not change < 1e6:
            return False, True
        if iteration > 0:
            ratio = change / before
            pace[0] = max(ratio, PACE_LEAST)
            slow = slow or ratio > SLOW
            # what was linear is not: go on with the slopes of the present state
            fresh = ratio > REFRESH and change > share
        done = change * pace[0] <= share and change < LEAP
        if done:
            linear(F, r, base, tau, held, edge, amounts, spots)
        for i in range(n):
            u[i] = max(u[i] + min(2.0, max(-2.0, r[0, i])), U_LOW)
            T[i] += min(20.0, max(-20.0, r[1, i]))
        if done:
            pace[0] = min(PACE_DRIFT * pace[0], 1.0)
            return True, slow
        before = change
    return False, True


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
    n = F.shape[1]
    for i in range(n):
        F[0, i] = (F[0, i] + held[0, i] * r[0, i] - base[0, i]) / tau
        F[1, i] = (F[1, i] + held[1, i] * r[0, i] + held[2, i] * r[1, i] - base[1, i]) / tau
    cells = (0, n - 1, n - 1, spots[0], spots[1])
    waters = (M_LEFT, M_RIGHT, M_RAIN, M_LEAK, M_VENT)
    heats = (Q_LEFT, Q_RIGHT, Q_SOURCE, Q_SOURCE, Q_SOURCE)
    for k in range(5):
        i = cells[k]
        if i >= 0:
            amounts[waters[k]] += edge[k, 0] * r[0, i] + edge[k, 1] * r[1, i]
            amounts[heats[k]] += edge[k, 2] * r[0, i] + edge[k, 3] * r[1, i]


@compiled
def attempt(
    start: State,
    end: State,
    forcing: FloatArray,
    hour: int,
    share0: float,
    share1: float,
    dt: float,
    grid: Grid,
    J: FloatArray,
    work: Work,
    settings: tuple[float, float, float],
    counts: IntArray,
    fresh: bool,
    ahead: float,
) -> tuple[bool, bool, float]:
    """One TR-BDF2 step of ``dt`` [s] from state ``start`` to ``end``.

    A state is (u, T, content, rates). Returns (converged, slow, error in tolerances). ``moved``
    of the workspace takes what crossed the boundary.
    """
    pr, sl, flow, F, r, amounts, weight, held, edge, pace, d, base, moved, F1, amounts0 = work
    u0, T0, X0, F0 = start
    u, T, X, F2 = end
    n = u0.size
    inner = (pr, sl, flow, F, r, amounts, weight, held, edge, pace)
    tau = DIAG * dt
    slow = False
    for i in range(n):  # ``end`` still holds the start of the step before
        u[i] = max(u0[i] + ahead * min(0.2, max(-0.2, u0[i] - u[i])), U_LOW)
        T[i] = T0[i] + ahead * (T0[i] - T[i])
        weight[i] = (exponential(-min(u0[i], 11.0)) + WET_WEIGHT) / settings[0]
    for number in range(2):
        if number == 0:
            drivers(forcing, hour, share0 + GAMMA * (share1 - share0), d)
            for q in range(2):
                for i in range(n):
                    base[q, i] = X0[q, i] + tau * F0[q, i]
        else:
            drivers(forcing, hour, share1, d)
            for i in range(n):  # straight on from the first stage
                u[i] = max(u0[i] + (u[i] - u0[i]) / GAMMA, U_LOW)
                T[i] = T0[i] + (T[i] - T0[i]) / GAMMA
            for q in range(2):
                for i in range(n):
                    F1[q, i] = F[q, i]
                    base[q, i] = X0[q, i] + dt * OMEGA * (F0[q, i] + F1[q, i])
        done, also = stage(u, T, d, base, tau, grid, J, inner, settings, counts, fresh)
        fresh = False
        slow = slow or also
        if not done:
            return False, True, math.inf
        for c in range(N_AMOUNTS):
            if number == 0:
                moved[c] = dt * OMEGA * (amounts0[c] + amounts[c])
            else:
                moved[c] += tau * amounts[c]
    for q in range(2):
        for i in range(n):
            F2[q, i] = F[q, i]
            X[q, i] = base[q, i] + tau * F[q, i]
            r[q, i] = dt * (E_0 * F0[q, i] + E_1 * F1[q, i] + E_2 * F[q, i])
    substitute(J, r)
    return True, slow, size_of(r, weight, 1.0 / settings[1])


@compiled
def march(
    u: FloatArray,
    T: FloatArray,
    forcing: FloatArray,
    grid: Grid,
    settings: tuple[float, float, float],
    watch: IntArray,
    seen: FloatArray,
    crossed: FloatArray,
    counts: IntArray,
) -> int:
    """Integrate over all hours of ``forcing`` (n_hours + 1, N_DRIVERS).

    ``u``, ``T`` (n,) are the start and become the end. ``watch`` (n_watch,) are cells whose u and T
    go to ``seen`` (2, n_hours, n_watch); ``crossed`` (n_hours, N_AMOUNTS) takes what crossed the
    boundary in each hour. Returns the hour reached; less than n_hours is a failure.
    """
    kinds, spots, mat, cell, tab = grid
    n = u.size
    pr, sl, F = np.empty((6, n)), np.empty((6, n)), np.empty((2, n))
    flow, weight = np.empty((2, n + 1)), np.empty(n)
    held, edge, pace = np.empty((3, n)), np.zeros((5, 4)), np.full(1, PACE_START)
    r, base, F1 = np.empty((2, n)), np.empty((2, n)), np.empty((2, n))
    amounts, amounts0, moved = np.empty(N_AMOUNTS), np.empty(N_AMOUNTS), np.empty(N_AMOUNTS)
    d = np.empty(N_DRIVERS)
    J = np.empty((3, n, 4))
    work = (pr, sl, flow, F, r, amounts, weight, held, edge, pace, d, base, moved, F1, amounts0)
    u0, T0, X0, F0 = u.copy(), T.copy(), np.empty((2, n)), np.empty((2, n))
    u1, T1, X1, F2 = u.copy(), T.copy(), np.empty((2, n)), np.empty((2, n))
    drivers(forcing, 0, 0.0, d)
    properties(u0, T0, mat, cell, tab, pr)
    rates(u0, T0, d, kinds, spots, mat, cell, tab, pr, flow, F0, amounts0)
    for i in range(n):
        X0[0, i] = pr[W, i] * cell[DX, i]
        X0[1, i] = (cell[CAPACITY, i] + C_WATER * pr[W, i]) * T0[i] * cell[DX, i]
    level, factored, fresh = 6, -1, True
    loose = settings
    before = 0  # length of the last step, 0 where ``end`` is of no use
    for hour in range(forcing.shape[0] - 1):
        if hour == forcing.shape[0] - 2:  # the end state must hold what the balance says
            settings = (loose[0], loose[1], min(1e-6, loose[2]))
            fresh = True
        position = 0  # in units of the shortest step
        crossed[hour, :] = 0.0
        whole = 1 << HALVINGS
        while position < whole:
            while position % (whole >> level) != 0:
                level += 1
            length = whole >> level
            fresh = fresh or factored != level
            start, end = (u0, T0, X0, F0), (u1, T1, X1, F2)
            ahead = AHEAD * GAMMA * length / before if before > 0 else 0.0
            done, slow, error = attempt(
                start, end, forcing, hour, position / whole, (position + length) / whole,
                HOUR * length / whole, grid, J, work, settings, counts, fresh,
                ahead,
            )  # fmt: skip
            factored = level
            was_fresh = fresh
            fresh = slow
            if not done or error > 1.0:
                counts[REJECTED] += 1
                before = 0
                if done or was_fresh:
                    level += 1
                if level > HALVINGS:
                    return hour
                fresh = True
                continue
            counts[STEPS] += 1
            before = length
            position += length
            for c in range(N_AMOUNTS):
                crossed[hour, c] += moved[c]
            amounts0[:] = amounts
            u0, u1 = u1, u0
            T0, T1 = T1, T0
            X0, X1 = X1, X0
            F0, F2 = F2, F0
            if error < GROWTH_SAFETY / 4.0 and level > 0 and position % (2 * length) == 0:
                level -= 1
        for k in range(watch.size):
            seen[0, hour, k] = u0[watch[k]]
            seen[1, hour, k] = T0[watch[k]]
    u[:] = u0
    T[:] = T0
    return int(forcing.shape[0] - 1)


@compiled
def derivative(seconds: float, y: FloatArray, forcing: FloatArray, grid: Grid) -> FloatArray:
    """dy/dt of y = (u_1, T_1, u_2, T_2 ...): the same equations for a general integrator."""
    kinds, spots, mat, cell, tab = grid
    n = y.size // 2
    u, T = y[0::2].copy(), y[1::2].copy()
    pr, sl, F = np.empty((6, n)), np.empty((6, n)), np.empty((2, n))
    flow, amounts, d = np.empty((2, n + 1)), np.empty(N_AMOUNTS), np.empty(N_DRIVERS)
    hour = min(max(int(seconds / HOUR), 0), forcing.shape[0] - 2)
    drivers(forcing, hour, seconds / HOUR - hour, d)
    properties(u, T, mat, cell, tab, pr)
    rates(u, T, d, kinds, spots, mat, cell, tab, pr, flow, F, amounts)
    slopes(u, T, mat, cell, tab, pr, sl)
    dy = np.empty(2 * n)
    for i in range(n):
        capacity = cell[CAPACITY, i] + C_WATER * pr[W, i]
        dy[2 * i] = F[0, i] / (cell[DX, i] * sl[0, i])
        dy[2 * i + 1] = (F[1, i] - C_WATER * T[i] * F[0, i]) / (cell[DX, i] * capacity)
    return dy
