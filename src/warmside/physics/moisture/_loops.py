"""Compiled loops over series: water contents; mould and decay, which have memory."""

from __future__ import annotations

import math

import numpy as np

from warmside.physics.moisture._compile import FloatArray, making
from warmside.physics.moisture._potential import DU, INTERVALS
from warmside.physics.moisture._workspace import MouldParameters


@making
def contents_loop(curve: FloatArray, u: FloatArray) -> FloatArray:
    """Water content [kg/m3] of every potential, from a material's curves."""
    held = np.empty(u.size)
    for i in range(u.size):
        k = min(max(int(u[i] / DU), 0), INTERVALS)
        x = u[i] - k * DU
        c = curve[k]
        held[i] = c[0] + x * (c[1] + x * (c[2] + x * c[3]))
    return held


@making
def mould_loop(t: FloatArray, h: FloatArray, p: MouldParameters, start: float) -> FloatArray:
    """Mould index [-] after every hour, see `mould_index`.

    ``t`` [degC], ``h`` [%], both (n_hours,); ``p`` constants of the class; ``start`` [-].
    """
    index = np.empty(t.size)
    m = start
    dry = 0
    for i in range(t.size):
        critical = 100.0
        if t[i] > 20.0:
            critical = p.humidity_min
        elif t[i] >= 0.0:
            critical = max(
                -0.00267 * t[i] ** 3 + 0.160 * t[i] ** 2 - 3.13 * t[i] + 100.0, p.humidity_min
            )
        if 0.0 < t[i] < 50.0 and h[i] >= critical and critical < 100.0:
            dry = 0
            r = (critical - h[i]) / (critical - 100.0)
            most = p.a + p.b * r - p.c * r * r
            k1 = p.k_below if m < 1.0 else p.k_above
            k2 = max(1.0 - math.exp(2.3 * (m - most)), 0.0)
            weeks = math.exp(-0.68 * math.log(t[i]) - 13.9 * math.log(h[i]) + 66.02)
            m += k1 * k2 / (7.0 * 24.0 * weeks)
        else:
            dry += 1
            if dry <= 6:
                m -= 0.032 / 24.0 * p.decline
            elif dry > 24:
                m -= 0.016 / 24.0 * p.decline
            m = max(m, 0.0)
        index[i] = m
    return index


@making
def decay_loop(t: FloatArray, h: FloatArray, start: float) -> tuple[FloatArray, FloatArray]:
    """Activation [-] and mass loss [%] after every hour, see `decay`.

    ``t`` [degC], ``h`` [%], both (n_hours,); ``start`` [-].
    """
    activation, loss = np.empty(t.size), np.empty(t.size)
    a, lost = start, 0.0
    for i in range(t.size):
        rate = 0.0
        if t[i] > 0.0 and h[i] >= 95.0:
            rate = -5.96e-2 + 1.96e-4 * t[i] + 6.25e-4 * h[i]  # [% per h]
            below = -42.9 + 0.14 * t[i] + 0.45 * h[i]
            above = 2.3 * t[i] + 0.035 * h[i] - 0.024 * t[i] * h[i]
            if below > 0.0 and above > 0.0:
                a = min(a + below / (above * 720.0), 1.0)
        else:
            a = max(a - 1.0 / 17520.0, 0.0)
        if a >= 1.0 and rate > 0.0:
            lost += rate
        activation[i] = a
        loss[i] = lost
    return activation, loss
