"""What a hole carries, and how much water with it."""

from __future__ import annotations

import math

import numpy as np

from warmside.errors import Fault, InputError
from warmside.physics.humid_air import saturation_pressure
from warmside.physics.moisture._potential import FloatArray

DISCHARGE = 0.6  # sharp-edged hole [-]
GAS_AIR = 287.05  # [J/(kg K)]


def hole_flow(area: float, pressure_difference: FloatArray | float) -> FloatArray:
    """Air through a sharp hole [m3/s]: ``C_d A sqrt(2 dp / rho)``, rho 1.2 kg/m3.

    ``area`` [m2], ``pressure_difference`` [Pa], none if it is negative. A hole of 6.45 cm2 at
    4 Pa: 1.00 L/s.
    """
    if not 0.0 <= area <= 1.0:
        raise InputError([Fault("hole, area", f"{area} m2", "0 to 1 m2")])
    drop = np.maximum(np.asarray(pressure_difference, dtype=np.float64), 0.0)
    return np.asarray(DISCHARGE * area * np.sqrt(2.0 * drop / 1.2))


def stack_pressure(height: float, inside: float, outside: FloatArray | float) -> FloatArray:
    """Pressure of warm room air over outdoor air [Pa], ``height`` [m] above the neutral level.

    ``g h rho_e (1 - T_e / T_i)``; ``inside``, ``outside`` [degC].
    """
    out = np.asarray(outside, dtype=np.float64) + 273.15
    density = 101_325.0 / (GAS_AIR * out)
    return np.asarray(9.81 * height * density * (1.0 - out / (inside + 273.15)))


def deposit(
    flow: FloatArray | float,
    room_vapour: FloatArray | float,
    surface_temperature: FloatArray | float,
) -> FloatArray:
    """Water [kg/s] that room air leaves on a surface it reaches: what it cannot hold there.

    ``flow`` [m3/s] measured at 1.2 kg/m3, ``room_vapour`` [Pa], ``surface_temperature`` [degC].
    An upper bound: the air warms nothing on its way and leaves exactly saturated.
    """
    held = np.asarray(saturation_pressure(np.asarray(surface_temperature, dtype=np.float64)))
    excess = np.maximum(np.asarray(room_vapour, dtype=np.float64) - held, 0.0)
    return np.asarray(np.asarray(flow) * 1.2 * 0.622 / 101_325.0 * excess)


def round_hole(diameter: float) -> float:
    """Area [m2] of a round hole of ``diameter`` [m]."""
    return math.pi * diameter**2 / 4.0
