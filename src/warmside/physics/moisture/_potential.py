"""The moisture potential, and the table of material functions over it.

The unknown of the hourly model is ``u``, defined from the suction ``s`` [Pa] of the pore water:

    psi = s / (rho_w R_v T_ref),   h = exp(-psi),   u = -ln(1 - h)              [-]

In dry material h is nearly the relative humidity and u nearly h, so that dry wood is as smooth in u
as in humidity. Near saturation 1 - h is nearly psi, so that u = -ln(psi): the logarithm of suction,
in which the steep end of every storage curve is drawn out. One elementary formula serves both ends,
it needs no switch, and it is continuous across layers because suction is.

At another temperature the humidity over the same water follows Kelvin: phi = h^(T_ref/T). Storage
kept as a function of suction therefore shifts with temperature as wood does: at constant water
content 20 K of cooling lowers the humidity over spruce at 50 % by about 2 %.
"""

from __future__ import annotations

import math
from functools import cache, lru_cache
from typing import Final

import numpy as np
import numpy.typing as npt

from warmside.physics.humid_air import WATER_DENSITY, WATER_VAPOUR_GAS_CONSTANT

FloatArray = npt.NDArray[np.float64]

T_REF: Final = 293.15  # [K]
SUCTION_UNIT: Final = WATER_DENSITY * WATER_VAPOUR_GAS_CONSTANT * T_REF  # at psi = 1 [Pa]

# u = 14 is a suction of 112 Pa, a centimetre of water: as wet as a hanging layer gets.
U_MAX: Final = 14.0
INTERVALS: Final = 1024
DU: Final = U_MAX / INTERVALS
NODES: FloatArray = np.linspace(0.0, U_MAX, INTERVALS + 1)
# Water beyond U_MAX stands free in the layer; the slope keeps the equations solvable [kg/m3].
OVERFILL: Final = 50.0


def psi_of_u(u: FloatArray | float) -> FloatArray:
    """Reduced suction psi [-] of the potential ``u`` [-], u > 0."""
    return np.asarray(-np.log(-np.expm1(-np.asarray(u, dtype=np.float64))))


def suction_of_u(u: FloatArray | float) -> FloatArray:
    """Suction [Pa] of the potential ``u`` [-], u > 0."""
    return psi_of_u(u) * SUCTION_UNIT


def u_of_suction(suction: FloatArray | float) -> FloatArray:
    """Potential [-] of a suction [Pa] > 0."""
    return np.asarray(-np.log(-np.expm1(-np.asarray(suction, dtype=np.float64) / SUCTION_UNIT)))


def u_of_humidity(humidity: FloatArray | float, temperature: FloatArray | float) -> FloatArray:
    """Potential [-] of a relative humidity [-] in (0, 1) at ``temperature`` [degC]."""
    kelvin = np.asarray(temperature, dtype=np.float64) + 273.15
    log_h = np.log(np.asarray(humidity, dtype=np.float64)) * kelvin / T_REF
    return np.asarray(np.minimum(-np.log(-np.expm1(log_h)), U_MAX))


def humidity_of_u(u: FloatArray | float, temperature: FloatArray | float) -> FloatArray:
    """Relative humidity [-] of the potential ``u`` [-] at ``temperature`` [degC]."""
    kelvin = np.asarray(temperature, dtype=np.float64) + 273.15
    wet = np.maximum(np.asarray(u, dtype=np.float64), 1e-6)
    return np.asarray(np.exp(-psi_of_u(wet) * T_REF / kelvin))


def curves(storage: FloatArray, vapour: FloatArray, liquid: FloatArray) -> FloatArray:
    """Cubic pieces of three material functions and of psi, for the compiled loop.

    Parameters
    ----------
    storage, vapour, liquid : FloatArray
        At ``NODES``: water content [kg/m3], vapour permeability [kg/(m s Pa)], liquid transport
        potential, the integral of K ds, [kg/(m s)].

    Returns
    -------
    FloatArray
        Shape (INTERVALS + 1, 16): for each interval the coefficients c0..c3 in (u - u_k) of the
        four functions one after the other. The last row carries on beyond ``U_MAX``.
    """
    blocks = [_rising(np.ascontiguousarray(one).tobytes()) for one in (storage, vapour, liquid)]
    table = np.hstack([*blocks, _psi()])
    table[-1, 1] = OVERFILL
    return table


@lru_cache(maxsize=1024)  # foams of every thickness store water alike
def _rising(nodes: bytes) -> FloatArray:
    """Pieces of a function by its values at ``NODES``, (INTERVALS + 1, 4)."""
    from scipy.interpolate import PchipInterpolator

    values, table = np.frombuffer(nodes), np.zeros((INTERVALS + 1, 4))
    # monotone wherever the values are (Fritsch and Carlson), continuous in slope
    table[:-1] = PchipInterpolator(NODES, values).c[::-1].T
    table[-1, 0] = values[-1]
    # straight in the first interval, so that it can be followed a little below zero
    table[0] = values[0], (values[1] - values[0]) / DU, 0.0, 0.0
    return table


@cache
def _psi() -> FloatArray:
    """Pieces of psi, (INTERVALS + 1, 4)."""
    from scipy.interpolate import CubicHermiteSpline

    table, inner = np.zeros((INTERVALS + 1, 4)), NODES[1:]
    table[1:-1] = CubicHermiteSpline(inner, psi_of_u(inner), -1.0 / np.expm1(inner)).c[::-1].T
    # psi has a logarithmic end at u = 0: a straight line below the first node (1.4 % humidity)
    slope = -1.0 / math.expm1(DU)
    table[0, :2] = psi_of_u(DU) - slope * DU, slope
    table[-1, 0] = psi_of_u(U_MAX)
    return table
