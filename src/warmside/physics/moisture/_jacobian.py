"""Derivatives of the fluxes for Newton's method. Compiled."""

from __future__ import annotations

from warmside.physics.moisture._compile import FloatArray, IntArray, compiled
from warmside.physics.moisture._fluxes import (
    AIR,
    C_AIR,
    C_VAPOUR,
    C_WATER,
    CAPACITY,
    DELTA,
    DX,
    JOINED,
    LAM,
    LAM_WET,
    LATENT,
    LEAK,
    P_L,
    P_R,
    PHI,
    PRESSURE,
    PSI,
    RAIN,
    T_L,
    T_R,
    TEMPERED,
    VAP,
    VENT,
    W,
    conductance,
    interval,
    ln_saturation_slope,
    rain_taken,
    surface,
    upstream,
)
from warmside.physics.moisture._potential import DU, T_REF


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
        g_u = cell[JOINED, i]
        if g_u > 0.0:
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
        if d[LEAK] != 0.0 and j <= spots[0]:
            flow_h = d[LEAK] * C_AIR
            near_h = upstream(flow_h, g_h)
            if flow_h < 0.0:
                near_h = 1.0 - near_h
            up_i += flow_h * near_h
            up_j += flow_h * (1.0 - near_h)
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
        if side == T_L and d[LEAK] < 0.0 and spots[0] >= 0:
            ht += d[LEAK] * C_AIR
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
    if k >= 0 and d[LEAK] != 0.0:
        flow = abs(d[LEAK]) * 0.622 / d[PRESSURE]
        latent = LATENT + C_VAPOUR * T[k]
        came = d[P_L] if d[LEAK] > 0.0 else d[P_R]
        vu, vt = -flow * sl[4, k], -flow * sl[5, k]
        ht = vt * latent + flow * (came - pr[VAP, k]) * C_VAPOUR
        ht -= max(d[LEAK], 0.0) * C_AIR
        add_source(J, k, tau, edge[3], vu, vt, vu * latent, ht)
    k = spots[1]
    if k >= 0 and d[VENT] > 0.0:
        flow = d[VENT] * 0.622 / d[PRESSURE]
        latent = LATENT + C_VAPOUR * T[k]
        vu, vt = -flow * sl[4, k], -flow * sl[5, k]
        ht = -d[VENT] * C_AIR + vt * latent + flow * (d[P_R] - pr[VAP, k]) * C_VAPOUR
        add_source(J, k, tau, edge[4], vu, vt, vu * latent, ht)
