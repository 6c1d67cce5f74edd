"""Compiled loops of the hourly model: material laws, fluxes, sources.

Cells run from the room (first) to the outside (last). Unknowns are the moisture potential ``u``
and the temperature ``T`` [degC] of each cell; conserved are water ``w`` [kg/m3] and enthalpy
``H = (rho c + c_w w) T`` [J/m3], both counted from dry material and water at 0 degC.

    dw/dt = -d(g_v + g_l)/dx + sources,   g_v = -delta(u) dp/dx + r m_a p,   g_l = -dPhi/dx
    dH/dt = -d q/dx + sources,   q = -lambda dT/dx + m_a c_a T + g_v (L + c_v T) + g_l c_w T

(EN 15026:2007, clause 4, with the sensible enthalpy of the moving water kept, so that energy is
conserved to rounding.) Phi is the integral of K ds, so that liquid in one material needs no mean
of a steep K over a face. r = 0.622/P turns vapour pressure into water carried by dry air.
"""

from __future__ import annotations

import math
from typing import Final

from warmside.physics.moisture._compile import FloatArray, IntArray, compiled
from warmside.physics.moisture._potential import DU, INTERVALS, T_REF

INV_DU: Final = 1.0 / DU
LAST: Final = INTERVALS
C_WATER: Final = 4187.0  # [J/(kg K)], EN 15026
C_VAPOUR: Final = 1850.0  # [J/(kg K)]
C_AIR: Final = 1006.0  # [J/(kg K)]
LATENT: Final = 2.5e6  # at 0 degC [J/kg], EN 15026
LN_610: Final = math.log(610.5)
U_LOW: Final = 1e-4
# rain is taken in full up to the first potential and runs off from the second on (75 % of the way
# to free saturation on a scale of log suction); between them a smooth step
RAIN_ALL, RAIN_NONE = 6.0, 10.0

# drivers of one moment, columns of the forcing table
T_L, P_L, H_L, B_L, T_R, P_R, H_R, B_R, SUN, RAIN, LEAK, VENT, AIR, PRESSURE = range(14)
N_DRIVERS: Final = 14
# amounts that cross the boundary, columns of the balance
M_LEFT, M_RIGHT, M_LEAK, M_VENT, M_RAIN, Q_LEFT, Q_RIGHT, Q_SOURCE = range(8)
N_AMOUNTS: Final = 8
# rows of cell properties
W, DELTA, PHI, PSI, LAM, VAP = range(6)
# rows of cell constants
# JOINED: one over the distance to the next cell, 0 where that is of another material [1/m]
DX, CAPACITY, TEMPERED, LAM_DRY, LAM_WET, JOINED = range(6)


@compiled
def ln_saturation(t: float) -> float:
    """Logarithm of saturation pressure in Pa at ``t`` [degC], ISO 13788:2012 (E.1), (E.2)."""
    if t >= 0.0:
        return LN_610 + 17.269 * t / (237.3 + t)
    return LN_610 + 21.875 * t / (265.5 + t)


@compiled
def ln_saturation_slope(t: float) -> float:
    """Derivative of ``ln_saturation`` [1/K]."""
    if t >= 0.0:
        return 17.269 * 237.3 / (237.3 + t) ** 2
    return 21.875 * 265.5 / (265.5 + t) ** 2


@compiled
def interval(u: float) -> int:
    """Row of the curves that holds ``u``."""
    return min(max(int(u * INV_DU), 0), LAST)


@compiled
def exponential(x: float) -> float:
    """exp(x) for -12 < x < 12 as (exp(x/32))^32, within 1e-10: plain sums that vectorise."""
    r = x * (1.0 / 32.0)
    e = 1.0 + r * (
        1.0 + r * (1 / 2 + r * (1 / 6 + r * (1 / 24 + r * (1 / 120 + r * (1 / 720 + r * (
            1 / 5040 + r * (1 / 40320 + r * (1 / 362880 + r * (1 / 3628800)))))))))
    )  # fmt: skip
    e *= e
    e *= e
    e *= e
    e *= e
    return e * e


@compiled
def properties(
    u: FloatArray, T: FloatArray, mat: IntArray, cell: FloatArray, tab: FloatArray, pr: FloatArray
) -> None:
    """Fill ``pr`` (6, n): w, delta, Phi, psi, lambda, vapour pressure of every cell.

    Two loops: the first gathers from the curves, the second is plain arithmetic that the compiler
    turns into vector instructions.
    """
    n = u.size
    for i in range(n):
        k = min(max(int(u[i] * INV_DU), 0), LAST)
        x = u[i] - k * DU
        c = tab[mat[i], k]
        pr[W, i] = c[0] + x * (c[1] + x * (c[2] + x * c[3]))
        pr[DELTA, i] = c[4] + x * (c[5] + x * (c[6] + x * c[7]))
        pr[PHI, i] = c[8] + x * (c[9] + x * (c[10] + x * c[11]))
        pr[PSI, i] = c[12] + x * (c[13] + x * (c[14] + x * c[15]))
    for i in range(n):
        t = T[i]
        ratio = T_REF / (t + 273.15)
        a = 17.269 if t >= 0.0 else 21.875
        b = 237.3 if t >= 0.0 else 265.5
        pr[VAP, i] = exponential(LN_610 + a * t / (b + t) - pr[PSI, i] * ratio)
        pr[DELTA, i] *= 1.0 + cell[TEMPERED, i] * (ratio - 1.0)
        pr[LAM, i] = cell[LAM_DRY, i] + cell[LAM_WET, i] * pr[W, i]


@compiled
def diffusivity(tab: FloatArray, m: int, u: float) -> float:
    """dPhi/du [kg/(m s)]."""
    k = interval(u)
    x = u - k * DU
    c = tab[m, k]
    return float(c[9] + x * (2.0 * c[10] + x * 3.0 * c[11]))


@compiled
def upstream(flow: float, conductance: float) -> float:
    """Weight of the upstream cell: 1/2 while conduction leads, towards 1 when flow does."""
    size = abs(flow)
    if size <= 2.0 * conductance:
        return 0.5
    return 1.0 - conductance / size


@compiled
def conductance(a: float, k_a: float, b: float, k_b: float) -> float:
    """Half cell ``a`` of ``k_a`` in series with half cell ``b`` of ``k_b``."""
    return k_a * k_b / (a * k_b + b * k_a + 1e-300)


@compiled
def surface(
    d: FloatArray,
    side: int,
    kind: int,
    T: FloatArray,
    m: int,
    cell: FloatArray,
    tab: FloatArray,
    pr: FloatArray,
    i: int,
) -> tuple[float, float, float, float, float]:
    """Flow of heat and water into cell ``i`` from its surface, with their conductances.

    Returns (conduction, vapour, liquid, heat conductance, vapour conductance).
    """
    t_out, p_out = d[side], d[side + 1]
    half = 0.5 * cell[DX, i]
    if kind == 1:  # the surface itself has this state
        g_h, g_v = pr[LAM, i] / half, pr[DELTA, i] / half
        log_h = (math.log(p_out) - ln_saturation(t_out)) * (t_out + 273.15) / T_REF
        u_out = -math.log(-math.expm1(min(log_h, -1e-6)))
        k = interval(u_out)
        x = u_out - k * DU
        c = tab[m, k]
        liquid = (c[8] + x * (c[9] + x * (c[10] + x * c[11])) - pr[PHI, i]) / half
    else:
        g_h = 1.0 / (1.0 / d[side + 2] + half / pr[LAM, i])
        g_v = d[side + 3] * pr[DELTA, i] / (pr[DELTA, i] + d[side + 3] * half)
        liquid = 0.0
        if side == T_R:
            t_out += d[SUN] / d[H_R]
    return g_h * (t_out - T[i]), g_v * (p_out - pr[VAP, i]), liquid, g_h, g_v


@compiled
def rates(
    u: FloatArray,
    T: FloatArray,
    d: FloatArray,
    kinds: IntArray,
    spots: IntArray,
    mat: IntArray,
    cell: FloatArray,
    tab: FloatArray,
    pr: FloatArray,
    flow: FloatArray,
    F: FloatArray,
    amounts: FloatArray,
) -> None:
    """Fill ``F`` (2, n) with the rates of water and enthalpy per square metre of each cell.

    ``pr`` must hold the properties at (u, T). ``flow`` (2, n + 1) takes water and heat over every
    face, outwards positive; ``amounts`` (8,) what crosses the boundary [kg/(m2 s)], [W/m2].
    """
    n = u.size
    for i in range(n - 1):
        j = i + 1
        a, b = 0.5 * cell[DX, i], 0.5 * cell[DX, j]
        g_v = pr[DELTA, i] * pr[DELTA, j] / (a * pr[DELTA, j] + b * pr[DELTA, i])
        g_h = pr[LAM, i] * pr[LAM, j] / (a * pr[LAM, j] + b * pr[LAM, i])
        vapour = g_v * (pr[VAP, i] - pr[VAP, j])
        liquid = (pr[PHI, i] - pr[PHI, j]) * cell[JOINED, i]
        mean = 0.5 * (T[i] + T[j])
        flow[0, j] = vapour + liquid
        flow[1, j] = (
            g_h * (T[i] - T[j]) + vapour * (LATENT + C_VAPOUR * mean) + liquid * (C_WATER * mean)
        )
    for s in range(2, spots.size):  # faces between two materials that draw liquid
        i = spots[s]
        j = i + 1
        g_u = conductance(
            0.5 * cell[DX, i], diffusivity(tab, mat[i], u[i]),
            0.5 * cell[DX, j], diffusivity(tab, mat[j], u[j]),
        )  # fmt: skip
        liquid = g_u * (u[i] - u[j])
        flow[0, j] += liquid
        flow[1, j] += liquid * C_WATER * 0.5 * (T[i] + T[j])
    if d[AIR] != 0.0:
        carried(d, T, cell, pr, flow)
    amounts[:] = 0.0
    for side, i, kind in ((T_L, 0, kinds[0]), (T_R, n - 1, kinds[1])):
        heat, vapour, liquid, _, _ = surface(d, side, kind, T, mat[i], cell, tab, pr, i)
        if d[AIR] != 0.0:
            inward = d[AIR] if side == T_L else -d[AIR]
            came = inward > 0.0
            vapour += inward * 0.622 / d[PRESSURE] * (d[side + 1] if came else pr[VAP, i])
            heat += inward * C_AIR * (d[side] if came else T[i])
        heat += vapour * (LATENT + C_VAPOUR * T[i]) + liquid * C_WATER * T[i]
        amounts[M_LEFT if side == T_L else M_RIGHT] = vapour + liquid
        amounts[Q_LEFT if side == T_L else Q_RIGHT] = heat
    flow[0, 0], flow[0, n] = amounts[M_LEFT], -amounts[M_RIGHT]
    flow[1, 0], flow[1, n] = amounts[Q_LEFT], -amounts[Q_RIGHT]
    for i in range(n):
        F[0, i] = flow[0, i] - flow[0, i + 1]
        F[1, i] = flow[1, i] - flow[1, i + 1]
    if d[RAIN] > 0.0 or d[VENT] > 0.0:
        sources(u, T, d, spots, pr, F, amounts)
    if d[LEAK] != 0.0 and spots[0] >= 0:
        leaking(T, d, spots[0], cell, pr, F, amounts)


@compiled
def carried(
    d: FloatArray, T: FloatArray, cell: FloatArray, pr: FloatArray, flow: FloatArray
) -> None:
    """Add what air flowing through the layers carries over the faces inside."""
    flow_v, flow_h = d[AIR] * 0.622 / d[PRESSURE], d[AIR] * C_AIR
    for f in range(1, T.size):
        i, j = (f - 1, f) if flow_h > 0.0 else (f, f - 1)
        a, b = 0.5 * cell[DX, i], 0.5 * cell[DX, j]
        up = upstream(flow_v, conductance(a, pr[DELTA, i], b, pr[DELTA, j]))
        water = flow_v * (up * pr[VAP, i] + (1.0 - up) * pr[VAP, j])
        up = upstream(flow_h, conductance(a, pr[LAM, i], b, pr[LAM, j]))
        flow[0, f] += water
        flow[1, f] += flow_h * (up * T[i] + (1.0 - up) * T[j])
        flow[1, f] += water * (LATENT + 0.5 * C_VAPOUR * (T[i] + T[j]))


@compiled
def rain_taken(u: float) -> tuple[float, float]:
    """Share of the rain that a face at potential ``u`` takes, and its slope."""
    s = min(1.0, max(0.0, (RAIN_NONE - u) / (RAIN_NONE - RAIN_ALL)))
    return s * s * (3.0 - 2.0 * s), -6.0 * s * (1.0 - s) / (RAIN_NONE - RAIN_ALL)


@compiled
def sources(
    u: FloatArray,
    T: FloatArray,
    d: FloatArray,
    spots: IntArray,
    pr: FloatArray,
    F: FloatArray,
    amounts: FloatArray,
) -> None:
    """Rain, outdoor air through a cavity."""
    n = u.size
    if d[RAIN] > 0.0:
        water = d[RAIN] * rain_taken(u[n - 1])[0]
        heat = water * C_WATER * d[T_R]
        amounts[M_RAIN] = water
        amounts[Q_SOURCE] += heat
        F[0, n - 1] += water
        F[1, n - 1] += heat
    k = spots[1]
    if k >= 0 and d[VENT] > 0.0:
        water = d[VENT] * 0.622 / d[PRESSURE] * (d[P_R] - pr[VAP, k])
        heat = d[VENT] * C_AIR * (d[T_R] - T[k]) + water * (LATENT + C_VAPOUR * T[k])
        amounts[M_VENT] = water
        amounts[Q_SOURCE] += heat
        F[0, k] += water
        F[1, k] += heat


@compiled
def leaking(
    T: FloatArray,
    d: FloatArray,
    k: int,
    cell: FloatArray,
    pr: FloatArray,
    F: FloatArray,
    amounts: FloatArray,
) -> None:
    """Air that leaks past cell ``k``: out of the room where it is positive, into it below 0.

    On its way through the layers before ``k`` it takes the temperature of each (a crack gives its
    heat to what it runs along), but keeps its vapour; at ``k`` it comes to the vapour pressure and
    the temperature there and goes. Outdoor air comes to ``k`` first and to the room through the
    same layers. In full exchange the water is ``0.622 m / P (p_from - p_k)``, either sign.
    """
    flow = d[LEAK] * C_AIR
    heat = flow * (d[T_L] if flow > 0.0 else T[0])
    amounts[Q_LEFT] += heat
    F[1, 0] += heat
    for j in range(1, k + 1):
        i = j - 1
        near = upstream(
            flow, conductance(0.5 * cell[DX, i], pr[LAM, i], 0.5 * cell[DX, j], pr[LAM, j])
        )
        if flow < 0.0:
            near = 1.0 - near
        heat = flow * (near * T[i] + (1.0 - near) * T[j])
        F[1, i] -= heat
        F[1, j] += heat
    came = d[P_L] if flow > 0.0 else d[P_R]
    water = abs(d[LEAK]) * 0.622 / d[PRESSURE] * (came - pr[VAP, k])
    heat = water * (LATENT + C_VAPOUR * T[k]) - flow * (T[k] if flow > 0.0 else d[T_R])
    amounts[M_LEAK] = water
    amounts[Q_SOURCE] += heat
    F[0, k] += water
    F[1, k] += heat


@compiled
def drivers(forcing: FloatArray, hour: int, share: float, d: FloatArray) -> None:
    """Straight line between two hours of the forcing table."""
    for c in range(N_DRIVERS):
        d[c] = forcing[hour, c] + share * (forcing[hour + 1, c] - forcing[hour, c])
