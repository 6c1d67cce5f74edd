"""Time stepping of the hourly model: TR-BDF2 steps and their control. Compiled.

TR-BDF2 (Bank et al. 1985; error estimate of Hosea and Shampine 1996) is of second order, L-stable,
with two implicit stages of equal diagonal, so that one factorisation serves both and, while Newton
converges well, many hours. Conserved quantities are advanced by the fluxes and not by the states,
so that the balance closes to rounding whatever Newton left.
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from warmside.physics.moisture._blocks import substitute
from warmside.physics.moisture._compile import FloatArray, IntArray, compiled, making
from warmside.physics.moisture._fluxes import (
    C_WATER,
    CAPACITY,
    DX,
    N_AMOUNTS,
    N_DRIVERS,
    U_LOW,
    W,
    drivers,
    properties,
    rates,
)
from warmside.physics.moisture._jacobian import slopes
from warmside.physics.moisture._newton import (
    PACE_START,
    REJECTED,
    STEPS,
    size_of,
    stage,
    weigh,
)
from warmside.physics.moisture._workspace import Grid, Stage, State, Step, Tolerances

GAMMA: Final = 2.0 - math.sqrt(2.0)
DIAG: Final = GAMMA / 2.0
OMEGA: Final = math.sqrt(2.0) / 4.0
# weights minus those of the embedded third-order formula
E_0: Final = OMEGA - (1.0 - OMEGA) / 3.0
E_1: Final = OMEGA - (3.0 * OMEGA + 1.0) / 3.0
E_2: Final = DIAG - DIAG / 3.0

AHEAD: Final = 0.8  # how much of the last step's change is expected again
HOUR: Final = 3600.0
HALVINGS: Final = 24  # shortest step: 0.2 ms, for a jump at a bare surface
GROWTH_SAFETY: Final = 0.4
CLOSING: Final = 1e-6  # Newton's tolerance in the last hour: its state must hold what flowed


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
    step: Step,
    tolerances: Tolerances,
    counts: IntArray,
    fresh: bool,
    ahead: float,
) -> tuple[bool, bool, float]:
    """One TR-BDF2 step of ``dt`` [s] from state ``start`` to ``end``.

    Returns (converged, slow, error in tolerances). ``step.moved`` takes what crossed the boundary.
    """
    work, J, d, base, moved = step.stage, step.matrix, step.drivers, step.base, step.moved
    F, r, weight, held, F1 = work.rate, work.change, work.weight, work.held, step.first_rate
    u0, T0, X0, F0 = start.u, start.T, start.content, start.rate
    u, T, X, F2 = end.u, end.T, end.content, end.rate
    n = u0.size
    tau = DIAG * dt
    per_kelvin = 1.0 / tolerances.temperature
    slow = False
    for i in range(n):  # ``end`` still holds the start of the step before
        u[i] = max(u0[i] + ahead * min(0.2, max(-0.2, u0[i] - u[i])), U_LOW)
        T[i] = T0[i] + ahead * (T0[i] - T[i])
    weigh(u0, u0, held, tolerances.humidity, weight)
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
        done, also = stage(u, T, d, base, tau, grid, J, work, tolerances, counts, fresh)
        fresh = False
        slow = slow or also
        if not done:
            return False, True, math.inf
        for c in range(N_AMOUNTS):
            if number == 0:
                moved[c] = dt * OMEGA * (step.amounts[c] + work.amounts[c])
            else:
                moved[c] += tau * work.amounts[c]
    for q in range(2):
        for i in range(n):
            F2[q, i] = F[q, i]
            X[q, i] = base[q, i] + tau * F[q, i]
            r[q, i] = dt * (E_0 * F0[q, i] + E_1 * F1[q, i] + E_2 * F[q, i])
    substitute(J, r)
    error = size_of(r, weight, per_kelvin)
    if error > 1.0:  # between a dry and a wet state humidity is bounded by the wet one's
        weigh(u0, u, held, tolerances.humidity, weight)
        error = size_of(r, weight, per_kelvin)
    if error > 1.0:
        damp(r, held, J)
        error = size_of(r, weight, per_kelvin)
    return True, slow, error


@compiled
def damp(r: FloatArray, held: FloatArray, J: FloatArray) -> None:
    """Take from an error ``r`` what the step itself damps, by a second pass through the factors.

    A film that dries within a step leaves a start out of its balance with the air, which the next
    step forgets in seconds. Its estimate then stays the same however short the step is, and is
    wrong by that; slow errors pass unchanged. (Hairer and Wanner 1996, Solving ODEs II, IV.8, from
    memory.)
    """
    for i in range(r.shape[1]):
        r[1, i] = held[1, i] * r[0, i] + held[2, i] * r[1, i]
        r[0, i] *= held[0, i]
    substitute(J, r)


@making
def workspace(n: int) -> Step:
    """Room for ``attempt`` on ``n`` cells."""
    stage = Stage(
        np.empty((6, n)), np.empty((6, n)), np.empty((2, n + 1)), np.empty((2, n)),
        np.empty((2, n)), np.empty(N_AMOUNTS), np.empty(n), np.ones((3, n)), np.zeros((5, 4)),
        np.full(1, PACE_START),
    )  # fmt: skip
    return Step(
        stage, np.empty((3, n, 4)), np.empty(N_DRIVERS), np.empty((2, n)), np.empty(N_AMOUNTS),
        np.empty((2, n)), np.empty(N_AMOUNTS),
    )  # fmt: skip


@making
def begin(
    u: FloatArray, T: FloatArray, forcing: FloatArray, grid: Grid, step: Step
) -> tuple[State, State]:
    """Contents and rates at the start, and room for a second state."""
    mat, cell, tab, work, d = grid.material, grid.cell, grid.curves, step.stage, step.drivers
    pr = work.properties
    X, F = np.empty((2, u.size)), np.empty((2, u.size))
    drivers(forcing, 0, 0.0, d)
    properties(u, T, mat, cell, tab, pr)
    rates(u, T, d, grid.kinds, grid.spots, mat, cell, tab, pr, work.flow, F, work.amounts)
    step.amounts[:] = work.amounts
    for i in range(u.size):
        X[0, i] = pr[W, i] * cell[DX, i]
        X[1, i] = (cell[CAPACITY, i] + C_WATER * pr[W, i]) * T[i] * cell[DX, i]
    return State(u.copy(), T.copy(), X, F), State(u.copy(), T.copy(), X.copy(), F.copy())


@making
def march(
    u: FloatArray,
    T: FloatArray,
    forcing: FloatArray,
    grid: Grid,
    tolerances: Tolerances,
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
    step = workspace(u.size)
    start, end = begin(u, T, forcing, grid, step)
    level, factored, fresh = 6, -1, True
    loose = tolerances
    before = 0  # length of the last step, 0 where ``end`` is of no use
    for hour in range(forcing.shape[0] - 1):
        if hour == forcing.shape[0] - 2:  # the end state must hold what the balance says
            tolerances = Tolerances(loose.humidity, loose.temperature, min(CLOSING, loose.newton))
            fresh = True
        position = 0  # in units of the shortest step
        crossed[hour, :] = 0.0
        whole = 1 << HALVINGS
        while position < whole:
            while position % (whole >> level) != 0:
                level += 1
            length = whole >> level
            fresh = fresh or factored != level
            ahead = AHEAD * GAMMA * length / before if before > 0 else 0.0
            done, slow, error = attempt(
                start, end, forcing, hour, position / whole, (position + length) / whole,
                HOUR * length / whole, grid, step, tolerances, counts, fresh, ahead,
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
                crossed[hour, c] += step.moved[c]
            step.amounts[:] = step.stage.amounts
            start, end = end, start
            if error < GROWTH_SAFETY / 4.0 and level > 0 and position % (2 * length) == 0:
                level -= 1
        for k in range(watch.size):
            seen[0, hour, k] = start.u[watch[k]]
            seen[1, hour, k] = start.T[watch[k]]
    u[:] = start.u
    T[:] = start.T
    return int(forcing.shape[0] - 1)


@making
def derivative(seconds: float, y: FloatArray, forcing: FloatArray, grid: Grid) -> FloatArray:
    """dy/dt of y = (u_1, T_1, u_2, T_2 ...): the same equations for a general integrator."""
    mat, cell, tab = grid.material, grid.cell, grid.curves
    n = y.size // 2
    u, T = y[0::2].copy(), y[1::2].copy()
    pr, sl, F = np.empty((6, n)), np.empty((6, n)), np.empty((2, n))
    flow, amounts, d = np.empty((2, n + 1)), np.empty(N_AMOUNTS), np.empty(N_DRIVERS)
    hour = min(max(int(seconds / HOUR), 0), forcing.shape[0] - 2)
    drivers(forcing, hour, seconds / HOUR - hour, d)
    properties(u, T, mat, cell, tab, pr)
    rates(u, T, d, grid.kinds, grid.spots, mat, cell, tab, pr, flow, F, amounts)
    slopes(u, T, mat, cell, tab, pr, sl)
    dy = np.empty(2 * n)
    for i in range(n):
        capacity = cell[CAPACITY, i] + C_WATER * pr[W, i]
        dy[2 * i] = F[0, i] / (cell[DX, i] * sl[0, i])
        dy[2 * i + 1] = (F[1, i] - C_WATER * T[i] * F[0, i]) / (cell[DX, i] * capacity)
    return dy
