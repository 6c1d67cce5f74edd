"""How cold the sky looks from below."""

from __future__ import annotations

import numpy as np

from warmside.physics.climate._hourly import FloatArray
from warmside.physics.humid_air import dew_point

STEFAN_BOLTZMANN = 5.670374e-8  # [W/(m2 K4)], CODATA


def sky_temperature_from_longwave(longwave: FloatArray) -> FloatArray:
    """Black-body temperature [degC] of a long-wave flow from the sky [W/m2]."""
    return np.asarray((np.maximum(longwave, 40.0) / STEFAN_BOLTZMANN) ** 0.25 - 273.15)


def clear_sky_emissivity(dew: FloatArray) -> FloatArray:
    """Emissivity of a clear sky [-] at dew point ``dew`` [degC].

    ``0.711 + 0.56 (Td/100) + 0.73 (Td/100)^2``; Berdahl and Martin 1984, without the terms for
    hour and pressure (second-hand). At 10 degC: 0.7743.
    """
    return np.asarray(0.711 + 0.56 * dew / 100.0 + 0.73 * (dew / 100.0) ** 2)


def sky_temperature_from_cloud(
    temperature: FloatArray, humidity: FloatArray, cloud: FloatArray
) -> FloatArray:
    """Sky temperature [degC] of air at ``temperature`` [degC], ``humidity`` [-], ``cloud`` [-].

    ``T_sky = T_a e^(1/4)``, ``e = e_0 (1 + 0.0224 N - 0.0035 N^2 + 0.00028 N^3)`` with N in tenths
    (from memory), at most 1.
    """
    n = 10.0 * cloud
    dew = dew_point(temperature, np.clip(humidity, 0.01, 1.0))
    e = clear_sky_emissivity(dew) * (1.0 + 0.0224 * n - 0.0035 * n**2 + 0.00028 * n**3)
    return np.asarray((temperature + 273.15) * np.minimum(e, 1.0) ** 0.25 - 273.15)
