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
    N_AMOUNTS,
    N_DRIVERS,
    OMEGA,
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
    """Largest change in humidity and temperature, in units of their tolerances."""
    wet, warm, total = 0.0, 0.0, 0.0
    for i in range(weight.size):
        wet = max(wet, abs(r[0, i]) * weight[i])
        warm = max(warm, abs(r[1, i]))
        total += r[0, i] + r[1, i]
    if total != total:
        return math.inf
    return max(wet, warm * per_kelvin)


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

    Returns (converged, slow): ``slow`` asks for new factors.
    """
    kinds, spots, mat, cell, tab = grid
    pr, sl, flow, F, r, amounts, weight = work
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
            jacobian(u, T, d, kinds, spots, mat, cell, tab, pr, sl, tau, J)
            factorise(J)
            counts[FACTORISATIONS] += 1
            fresh = False
        for i in range(n):
            water = pr[W, i] * cell[DX, i]
            heat = (cell[CAPACITY, i] + C_WATER * pr[W, i]) * T[i] * cell[DX, i]
            r[0, i] = base[0, i] + tau * F[0, i] - water
            r[1, i] = base[1, i] + tau * F[1, i] - heat
        substitute(J, r)
        change = size_of(r, weight, per_kelvin)
        if not change < 1e6:
            return False, True
        if iteration > 0:
            ratio = change / before
            slow = slow or ratio > SLOW
            # what was linear is not: go on with the slopes of the present state
            fresh = ratio > REFRESH and change > share
        for i in range(n):
            u[i] = max(u[i] + min(2.0, max(-2.0, r[0, i])), U_LOW)
            T[i] += min(20.0, max(-20.0, r[1, i]))
        if change <= share:
            return True, slow
        before = change
    return False, True


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
) -> tuple[bool, bool, float]:
    """One TR-BDF2 step of ``dt`` [s] from state ``start`` to ``end``.

    A state is (u, T, content, rates). Returns (converged, slow, error in tolerances). ``moved``
    of the workspace takes what crossed the boundary.
    """
    pr, sl, flow, F, r, amounts, weight, d, base, moved, F1, amounts0 = work
    u0, T0, X0, F0 = start
    u, T, X, F2 = end
    n = u0.size
    inner = (pr, sl, flow, F, r, amounts, weight)
    tau = DIAG * dt
    slow = False
    for i in range(n):
        u[i], T[i] = u0[i], T0[i]
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
    r, base, F1 = np.empty((2, n)), np.empty((2, n)), np.empty((2, n))
    amounts, amounts0, moved = np.empty(N_AMOUNTS), np.empty(N_AMOUNTS), np.empty(N_AMOUNTS)
    d = np.empty(N_DRIVERS)
    J = np.empty((3, n, 4))
    work = (pr, sl, flow, F, r, amounts, weight, d, base, moved, F1, amounts0)
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
    for hour in range(forcing.shape[0] - 1):
        if hour == forcing.shape[0] - 2:  # the end state must hold what the balance says
            settings = (loose[0], loose[1], 1e-6)
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
            done, slow, error = attempt(
                start, end, forcing, hour, position / whole, (position + length) / whole,
                HOUR * length / whole, grid, J, work, settings, counts, fresh,
            )  # fmt: skip
            factored = level
            was_fresh = fresh
            fresh = slow
            if not done or error > 1.0:
                counts[REJECTED] += 1
                if done or was_fresh:
                    level += 1
                if level > HALVINGS:
                    return hour
                fresh = True
                continue
            counts[STEPS] += 1
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
