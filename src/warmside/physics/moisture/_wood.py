"""Equilibrium of wood with the air around it."""

from __future__ import annotations

import numpy as np

from warmside.physics.moisture._potential import FloatArray


def wood_equilibrium(temperature: FloatArray | float, humidity: FloatArray | float) -> FloatArray:
    """Equilibrium moisture content of wood [kg/kg dry].

    Hailwood and Horrobin's two-hydrate form with the coefficients of Simpson 1998 (FPL-RN-0268),
    ``h`` the humidity,

        M = 18 / W (K h / (1 - K h) + (K1 K h + 2 K1 K2 (K h)^2) / (1 + K1 K h + K1 K2 (K h)^2)).

    Parameters
    ----------
    temperature : FloatArray or float
        From -20 to 60 [degC].
    humidity : FloatArray or float
        Of the air [-]; broadcast with ``temperature``.

    Returns
    -------
    FloatArray
        Not a storage curve above 97 %: it ends at 0.29 at saturation. At 21.1 degC and 50 %:
        0.0924.
    """
    t, h = np.asarray(temperature, dtype=np.float64), np.asarray(humidity, dtype=np.float64)
    w = 349.0 + 1.29 * t + 0.0135 * t**2
    k = 0.805 + 0.000736 * t - 0.00000273 * t**2
    k1 = 6.27 - 0.00938 * t - 0.000303 * t**2
    k2 = 1.91 + 0.0407 * t - 0.000293 * t**2
    kh = k * h
    return np.asarray(
        18.0
        / w
        * (kh / (1.0 - kh) + (k1 * kh + 2.0 * k1 * k2 * kh**2) / (1.0 + k1 * kh + k1 * k2 * kh**2))
    )


def humidity_of_wood(moisture: float, temperature: float) -> float:
    """Relative humidity [-] at which wood holds so much: `wood_equilibrium` inverted by halving.

    Parameters
    ----------
    moisture : float
        Of the wood [kg/kg dry].
    temperature : float
        From -20 to 60 [degC].

    Returns
    -------
    float
        0.005 to 0.97: beyond, wood says nothing about the air around it.
    """
    low, high = 0.005, 0.97
    for _ in range(60):
        middle = 0.5 * (low + high)
        if float(wood_equilibrium(temperature, middle)) < moisture:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)
