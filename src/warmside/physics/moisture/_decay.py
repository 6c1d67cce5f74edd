"""Rot in pine sapwood, hour by hour."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from warmside.physics.moisture._mould import checked_series
from warmside.physics.moisture._potential import FloatArray

SOURCE: Final = (
    "Viitanen, Toratti, Makkonen et al. 2010, Eur. J. Wood Prod. 68(3) 303-313 (abstract read;"
    " the formulas from memory)"
)


@dataclass(frozen=True, eq=False)
class Decay:
    """Activation [-] (rot starts at 1) and mass lost [% of dry mass] after every hour."""

    activation: FloatArray
    mass_loss: FloatArray


def critical_time(temperature: float, humidity: float) -> float:
    """Hours [h] of constant exposure until rot starts; from memory.

    ``720 (2.3 T + 0.035 RH - 0.024 T RH) / (-42.9 + 0.14 T + 0.45 RH)``, ``temperature`` [degC]
    0 to 30, ``humidity`` [%] 95 to 100. At 20 degC and 97 %: 576 h. Infinite where it has no
    positive value (close to freezing at 95 %).
    """
    below = -42.9 + 0.14 * temperature + 0.45 * humidity
    above = 2.3 * temperature + 0.035 * humidity - 0.024 * temperature * humidity
    return 720.0 * above / below if below > 0.0 and above > 0.0 else np.inf


def decay(temperature: FloatArray, humidity: FloatArray, start: float = 0.0) -> Decay:
    """Rot at a surface, hour by hour.

    Activation ``a`` grows by ``dt / t_crit(T, RH)`` above 0 degC and 95 %, and falls by
    ``dt / 17520 h`` otherwise; from ``a = 1`` on mass is lost at
    ``-0.0596 + 1.96e-4 T + 6.25e-4 RH`` % per hour, RH in percent. Source: `SOURCE`.

    Parameters
    ----------
    temperature, humidity : FloatArray
        At the surface, hourly, shape (n_hours,) [degC], [-].
    start : float
        Activation at the start [-].

    Returns
    -------
    Decay
        Series of shape (n_hours,).

    Raises
    ------
    InputError
        Series of different length, values that are not finite.
    """
    t, h = checked_series(temperature, humidity)
    from warmside.physics.moisture._loops import decay_loop

    activation, loss = decay_loop(t, 100.0 * np.minimum(h, 1.0), float(start))
    return Decay(activation, loss)
