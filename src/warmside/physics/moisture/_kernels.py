"""Compiled loops of the hourly model: fluxes, Jacobian, block elimination, time stepping.

Cells run from the room (first) to the outside (last). Unknowns are the moisture potential ``u``
and the temperature ``T`` [degC] of each cell; conserved are water ``w`` [kg/m3] and enthalpy
``H = (rho c + c_w w) T`` [J/m3], both counted from dry material and water at 0 degC.

    dw/dt = -d(g_v + g_l)/dx + sources,   g_v = -delta(u) dp/dx + r m_a p,   g_l = -dPhi/dx
    dH/dt = -d q/dx + sources,   q = -lambda dT/dx + m_a c_a T + g_v (L + c_v T) + g_l c_w T

(EN 15026:2007, clause 4, with the sensible enthalpy of the moving water kept, so that energy is
conserved to rounding.) Phi is the integral of K ds, so that liquid in one material needs no mean
of a steep K over a face. r = 0.622/P turns vapour pressure into water carried by dry air.

Time steps are TR-BDF2 (Bank et al. 1985; error estimate of Hosea and Shampine 1996): second order,
L-stable, two implicit stages of equal diagonal, so that one factorisation serves both and, while
Newton converges well, many hours. Conserved quantities are advanced by the fluxes and not by the
states, so that the balance closes to rounding whatever Newton left.
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np

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
DX, CAPACITY, TEMPERED, LAM_DRY, LAM_WET = range(5)

# TR-BDF2
GAMMA: Final = 2.0 - math.sqrt(2.0)
DIAG: Final = GAMMA / 2.0
OMEGA: Final = math.sqrt(2.0) / 4.0
# weights minus those of the embedded third-order formula
E_0: Final = OMEGA - (1.0 - OMEGA) / 3.0
E_1: Final = OMEGA - (3.0 * OMEGA + 1.0) / 3.0
E_2: Final = DIAG - DIAG / 3.0


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
        liquid = (pr[PHI, i] - pr[PHI, j]) / (a + b)
        mean = 0.5 * (T[i] + T[j])
        flow[0, j] = vapour + liquid
        flow[1, j] = (
            g_h * (T[i] - T[j]) + vapour * (LATENT + C_VAPOUR * mean) + liquid * (C_WATER * mean)
        )
    for i in spots[2:]:  # faces between two materials
        j = i + 1
        a, b = 0.5 * cell[DX, i], 0.5 * cell[DX, j]
        liquid = conductance(
            a, diffusivity(tab, mat[i], u[i]), b, diffusivity(tab, mat[j], u[j])
        ) * (u[i] - u[j])
        liquid -= (pr[PHI, i] - pr[PHI, j]) / (a + b)
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
    for q in range(2):
        for i in range(n):
            F[q, i] = flow[q, i] - flow[q, i + 1]
    sources(u, T, d, spots, pr, F, amounts)


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
    """Rain, a leak of room air to a cold face, outdoor air through a cavity."""
    n = u.size
    if d[RAIN] > 0.0:
        water = d[RAIN] * rain_taken(u[n - 1])[0]
        heat = water * C_WATER * d[T_R]
        amounts[M_RAIN] = water
        amounts[Q_SOURCE] += heat
        F[0, n - 1] += water
        F[1, n - 1] += heat
    k = spots[0]
    if k >= 0 and d[LEAK] > 0.0:
        excess = d[P_L] - math.exp(ln_saturation(T[k]))
        if excess > 0.0:
            water = d[LEAK] * 0.622 / d[PRESSURE] * excess
            heat = water * (LATENT + C_VAPOUR * T[k])
            amounts[M_LEAK] = water
            amounts[Q_SOURCE] += heat
            F[0, k] += water
            F[1, k] += heat
    k = spots[1]
    if k >= 0 and d[VENT] > 0.0:
        water = d[VENT] * 0.622 / d[PRESSURE] * (d[P_R] - pr[VAP, k])
        heat = d[VENT] * C_AIR * (d[T_R] - T[k]) + water * (LATENT + C_VAPOUR * T[k])
        amounts[M_VENT] = water
        amounts[Q_SOURCE] += heat
        F[0, k] += water
        F[1, k] += heat


@compiled
def slopes(
    u: FloatArray,
    T: FloatArray,
    mat: IntArray,
    cell: FloatArray,
    tab: FloatArray,
    pr: FloatArray,
    sl: FloatArray,
) -> None:
    """Fill ``sl`` (6, n): dw/du, ddelta/du, ddelta/dT, dPhi/du, dp/du, dp/dT."""
    for i in range(u.size):
        k = interval(u[i])
        x = u[i] - k * DU
        c = tab[mat[i], k]
        kelvin = T[i] + 273.15
        ratio = T_REF / kelvin
        factor = 1.0 + cell[TEMPERED, i] * (ratio - 1.0)
        sl[0, i] = c[1] + x * (2.0 * c[2] + x * 3.0 * c[3])
        sl[1, i] = (c[5] + x * (2.0 * c[6] + x * 3.0 * c[7])) * factor
        sl[2, i] = -pr[DELTA, i] / factor * cell[TEMPERED, i] * ratio / kelvin
        sl[3, i] = c[9] + x * (2.0 * c[10] + x * 3.0 * c[11])
        sl[4, i] = -pr[VAP, i] * (c[13] + x * (2.0 * c[14] + x * 3.0 * c[15])) * ratio
        sl[5, i] = pr[VAP, i] * (ln_saturation_slope(T[i]) + pr[PSI, i] * ratio / kelvin)


@compiled
def add_source(
    J: FloatArray,
    i: int,
    tau: float,
    kept: FloatArray,
    gu: float,
    gt: float,
    hu: float,
    ht: float,
) -> None:
    """Add the derivatives of what enters cell ``i`` to ``J``, and keep them in ``kept`` (4,)."""
    kept[0], kept[1], kept[2], kept[3] = gu, gt, hu, ht
    J[1, i, 0] -= tau * gu
    J[1, i, 1] -= tau * gt
    J[1, i, 2] -= tau * hu
    J[1, i, 3] -= tau * ht


@compiled
def jacobian(
    u: FloatArray,
    T: FloatArray,
    d: FloatArray,
    kinds: IntArray,
    spots: IntArray,
    mat: IntArray,
    cell: FloatArray,
    tab: FloatArray,
    pr: FloatArray,
    sl: FloatArray,
    tau: float,
    J: FloatArray,
    held: FloatArray,
    edge: FloatArray,
) -> None:
    """Fill ``J`` (3, n, 4): lower, diagonal, upper blocks of d(content)/dU - tau d(rate)/dU.

    ``held`` (3, n) takes d(water)/du, d(heat)/du, d(heat)/dT of the contents, ``edge`` (5, 4) the
    derivatives of what enters by the room face, outer face, rain, leak and cavity.
    """
    n = u.size
    J[:, :, :] = 0.0
    for i in range(n):
        held[0, i] = cell[DX, i] * sl[0, i]
        held[1, i] = cell[DX, i] * C_WATER * T[i] * sl[0, i]
        held[2, i] = cell[DX, i] * (cell[CAPACITY, i] + C_WATER * pr[W, i])
        J[1, i, 0], J[1, i, 2], J[1, i, 3] = held[0, i], held[1, i], held[2, i]
    for i in range(n - 1):
        j = i + 1
        a, b = 0.5 * cell[DX, i], 0.5 * cell[DX, j]
        g_v = conductance(a, pr[DELTA, i], b, pr[DELTA, j])
        g_h = conductance(a, pr[LAM, i], b, pr[LAM, j])
        drop, fall = pr[VAP, i] - pr[VAP, j], T[i] - T[j]
        mean = 0.5 * (T[i] + T[j])
        if mat[i] == mat[j]:
            g_u = 1.0 / (a + b)
            l_i, l_j = g_u * sl[3, i], -g_u * sl[3, j]
            liquid = (pr[PHI, i] - pr[PHI, j]) * g_u
        else:
            g_u = conductance(a, sl[3, i], b, sl[3, j])
            l_i, l_j = g_u, -g_u
            liquid = g_u * (u[i] - u[j])
        p_i = a * (g_v / (pr[DELTA, i] + 1e-300)) ** 2 * drop
        p_j = b * (g_v / (pr[DELTA, j] + 1e-300)) ** 2 * drop
        vu_i, vt_i = p_i * sl[1, i] + g_v * sl[4, i], p_i * sl[2, i] + g_v * sl[5, i]
        vu_j, vt_j = p_j * sl[1, j] - g_v * sl[4, j], p_j * sl[2, j] - g_v * sl[5, j]
        q_i = a * (g_h / pr[LAM, i]) ** 2 * cell[LAM_WET, i] * sl[0, i] * fall
        q_j = b * (g_h / pr[LAM, j]) ** 2 * cell[LAM_WET, j] * sl[0, j] * fall
        up_i, up_j = 0.0, 0.0
        if d[AIR] != 0.0:
            flow_v, flow_h = d[AIR] * 0.622 / d[PRESSURE], d[AIR] * C_AIR
            near_v, near_h = upstream(flow_v, g_v), upstream(flow_h, g_h)
            if flow_h < 0.0:
                near_v, near_h = 1.0 - near_v, 1.0 - near_h
            vu_i += flow_v * near_v * sl[4, i]
            vt_i += flow_v * near_v * sl[5, i]
            vu_j += flow_v * (1.0 - near_v) * sl[4, j]
            vt_j += flow_v * (1.0 - near_v) * sl[5, j]
            up_i, up_j = flow_h * near_h, flow_h * (1.0 - near_h)
        latent, sensible = LATENT + C_VAPOUR * mean, C_WATER * mean
        both = 0.5 * (drop * g_v * C_VAPOUR + liquid * C_WATER)
        wu_i, hu_i = vu_i + l_i, q_i + vu_i * latent + l_i * sensible
        wu_j, hu_j = vu_j + l_j, q_j + vu_j * latent + l_j * sensible
        ht_i, ht_j = g_h + up_i + vt_i * latent + both, up_j - g_h + vt_j * latent + both
        J[1, i, 0] += tau * wu_i
        J[1, i, 1] += tau * vt_i
        J[1, i, 2] += tau * hu_i
        J[1, i, 3] += tau * ht_i
        J[2, i, 0], J[2, i, 1] = tau * wu_j, tau * vt_j
        J[2, i, 2], J[2, i, 3] = tau * hu_j, tau * ht_j
        J[0, j, 0], J[0, j, 1] = -tau * wu_i, -tau * vt_i
        J[0, j, 2], J[0, j, 3] = -tau * hu_i, -tau * ht_i
        J[1, j, 0] -= tau * wu_j
        J[1, j, 1] -= tau * vt_j
        J[1, j, 2] -= tau * hu_j
        J[1, j, 3] -= tau * ht_j
    border(u, T, d, kinds, spots, mat, cell, tab, pr, sl, tau, J, edge)


@compiled
def border(
    u: FloatArray,
    T: FloatArray,
    d: FloatArray,
    kinds: IntArray,
    spots: IntArray,
    mat: IntArray,
    cell: FloatArray,
    tab: FloatArray,
    pr: FloatArray,
    sl: FloatArray,
    tau: float,
    J: FloatArray,
    edge: FloatArray,
) -> None:
    """Add the derivatives of surfaces and sources to ``J``, and keep them in ``edge``."""
    n = u.size
    edge[:, :] = 0.0
    for side, i, kind in ((T_L, 0, kinds[0]), (T_R, n - 1, kinds[1])):
        heat, vapour, liquid, g_h, g_v = surface(d, side, kind, T, mat[i], cell, tab, pr, i)
        vu, vt, ht = -g_v * sl[4, i], -g_v * sl[5, i], -g_h
        lu = -sl[3, i] / (0.5 * cell[DX, i]) if kind == 1 else 0.0
        drop = vapour / (g_v + 1e-300)
        vu += 0.5 * cell[DX, i] * (g_v / (pr[DELTA, i] + 1e-300)) ** 2 * sl[1, i] * drop
        if d[AIR] != 0.0:
            inward = d[AIR] if side == T_L else -d[AIR]
            if inward < 0.0:
                vu += inward * 0.622 / d[PRESSURE] * sl[4, i]
                vt += inward * 0.622 / d[PRESSURE] * sl[5, i]
                ht += inward * C_AIR
        latent = LATENT + C_VAPOUR * T[i]
        hu = vu * latent + lu * C_WATER * T[i]
        hu += 0.5 * cell[DX, i] * g_h / pr[LAM, i] ** 2 * cell[LAM_WET, i] * sl[0, i] * heat
        ht += vt * latent + vapour * C_VAPOUR + liquid * C_WATER
        add_source(J, i, tau, edge[0 if side == T_L else 1], vu + lu, vt, hu, ht)
    k = n - 1
    if d[RAIN] > 0.0:
        slope = d[RAIN] * rain_taken(u[k])[1]
        add_source(J, k, tau, edge[2], slope, 0.0, slope * C_WATER * d[T_R], 0.0)
    k = spots[0]
    if k >= 0 and d[LEAK] > 0.0:
        saturation = math.exp(ln_saturation(T[k]))
        if d[P_L] > saturation:
            flow = d[LEAK] * 0.622 / d[PRESSURE]
            vt = -flow * saturation * ln_saturation_slope(T[k])
            ht = vt * (LATENT + C_VAPOUR * T[k]) + flow * (d[P_L] - saturation) * C_VAPOUR
            add_source(J, k, tau, edge[3], 0.0, vt, 0.0, ht)
    k = spots[1]
    if k >= 0 and d[VENT] > 0.0:
        flow = d[VENT] * 0.622 / d[PRESSURE]
        latent = LATENT + C_VAPOUR * T[k]
        vu, vt = -flow * sl[4, k], -flow * sl[5, k]
        ht = -d[VENT] * C_AIR + vt * latent + flow * (d[P_R] - pr[VAP, k]) * C_VAPOUR
        add_source(J, k, tau, edge[4], vu, vt, vu * latent, ht)


@compiled
def less(D: FloatArray, A: FloatArray, Q: FloatArray) -> None:
    """D = D - A Q of 2 by 2 blocks."""
    D[0] -= A[0] * Q[0] + A[1] * Q[2]
    D[1] -= A[0] * Q[1] + A[1] * Q[3]
    D[2] -= A[2] * Q[0] + A[3] * Q[2]
    D[3] -= A[2] * Q[1] + A[3] * Q[3]


@compiled
def times(A: FloatArray, B: FloatArray, C: FloatArray) -> None:
    """C = A B of 2 by 2 blocks; C may be A or B."""
    c0, c1 = A[0] * B[0] + A[1] * B[2], A[0] * B[1] + A[1] * B[3]
    c2, c3 = A[2] * B[0] + A[3] * B[2], A[2] * B[1] + A[3] * B[3]
    C[0], C[1], C[2], C[3] = c0, c1, c2, c3


@compiled
def invert(D: FloatArray) -> None:
    """D = D^-1 of a 2 by 2 block."""
    scale = 1.0 / (D[0] * D[3] - D[1] * D[2])
    d0, d1, d2, d3 = D[0], D[1], D[2], D[3]
    D[0], D[1], D[2], D[3] = d3 * scale, -d1 * scale, -d2 * scale, d0 * scale


@compiled
def factorise(J: FloatArray) -> None:
    """Block elimination in place, from both ends to the middle row: two chains at once.

    ``J[1]`` becomes the inverses of the pivots. Of the two other blocks of a row, the one that
    points to its end becomes the multiplier, the one that points to the middle inverse times
    itself. Without pivoting: the blocks are dominated by storage and by what leaves the cell.
    """
    n = J.shape[1]
    m = n // 2
    for i in range(m):
        if i > 0:
            less(J[1, i], J[0, i], J[2, i - 1])
            times(J[0, i], J[1, i - 1], J[0, i])
        invert(J[1, i])
        times(J[1, i], J[2, i], J[2, i])
    for i in range(n - 1, m, -1):
        if i < n - 1:
            less(J[1, i], J[2, i], J[0, i + 1])
            times(J[2, i], J[1, i + 1], J[2, i])
        invert(J[1, i])
        times(J[1, i], J[0, i], J[0, i])
    if m > 0:
        less(J[1, m], J[0, m], J[2, m - 1])
        times(J[0, m], J[1, m - 1], J[0, m])
    if m < n - 1:
        less(J[1, m], J[2, m], J[0, m + 1])
        times(J[2, m], J[1, m + 1], J[2, m])
    invert(J[1, m])


@compiled
def substitute(J: FloatArray, r: FloatArray) -> None:
    """Solve with the factors of ``factorise``; ``r`` (2, n) becomes the solution.

    The two chains run side by side, so that one works while the other waits. Unsigned indices
    spare the check for negative ones.
    """
    n = J.shape[1]
    m = n // 2
    both = n - 1 - m  # rows beyond the middle
    a0, a1, b0, b1 = r[0, 0], r[1, 0], r[0, n - 1], r[1, n - 1]
    for k in range(1, both):
        j = np.uint64(n - 1 - k)
        y0 = r[0, k] - J[0, k, 0] * a0 - J[0, k, 1] * a1
        a1 = r[1, k] - J[0, k, 2] * a0 - J[0, k, 3] * a1
        a0 = y0
        r[0, k], r[1, k] = a0, a1
        z0 = r[0, j] - J[2, j, 0] * b0 - J[2, j, 1] * b1
        b1 = r[1, j] - J[2, j, 2] * b0 - J[2, j, 3] * b1
        b0 = z0
        r[0, j], r[1, j] = b0, b1
    for k in range(max(both, 1), m):
        y0 = r[0, k] - J[0, k, 0] * a0 - J[0, k, 1] * a1
        a1 = r[1, k] - J[0, k, 2] * a0 - J[0, k, 3] * a1
        a0 = y0
        r[0, k], r[1, k] = a0, a1
    y0 = r[0, m] - J[0, m, 0] * a0 - J[0, m, 1] * a1 - J[2, m, 0] * b0 - J[2, m, 1] * b1
    y1 = r[1, m] - J[0, m, 2] * a0 - J[0, m, 3] * a1 - J[2, m, 2] * b0 - J[2, m, 3] * b1
    a0, a1 = J[1, m, 0] * y0 + J[1, m, 1] * y1, J[1, m, 2] * y0 + J[1, m, 3] * y1
    b0, b1 = a0, a1
    r[0, m], r[1, m] = a0, a1
    for k in range(1, both + 1):
        i, j = np.uint64(m - k), np.uint64(m + k)
        y0 = J[1, i, 0] * r[0, i] + J[1, i, 1] * r[1, i] - J[2, i, 0] * a0 - J[2, i, 1] * a1
        a1 = J[1, i, 2] * r[0, i] + J[1, i, 3] * r[1, i] - J[2, i, 2] * a0 - J[2, i, 3] * a1
        a0 = y0
        r[0, i], r[1, i] = a0, a1
        z0 = J[1, j, 0] * r[0, j] + J[1, j, 1] * r[1, j] - J[0, j, 0] * b0 - J[0, j, 1] * b1
        b1 = J[1, j, 2] * r[0, j] + J[1, j, 3] * r[1, j] - J[0, j, 2] * b0 - J[0, j, 3] * b1
        b0 = z0
        r[0, j], r[1, j] = b0, b1
    for k in range(both + 1, m + 1):
        i = np.uint64(m - k)
        y0 = J[1, i, 0] * r[0, i] + J[1, i, 1] * r[1, i] - J[2, i, 0] * a0 - J[2, i, 1] * a1
        a1 = J[1, i, 2] * r[0, i] + J[1, i, 3] * r[1, i] - J[2, i, 2] * a0 - J[2, i, 3] * a1
        a0 = y0
        r[0, i], r[1, i] = a0, a1


@compiled
def drivers(forcing: FloatArray, hour: int, share: float, d: FloatArray) -> None:
    """Straight line between two hours of the forcing table."""
    for c in range(N_DRIVERS):
        d[c] = forcing[hour, c] + share * (forcing[hour + 1, c] - forcing[hour, c])
