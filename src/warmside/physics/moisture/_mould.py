"""Mould on a surface, hour by hour."""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from warmside.errors import Fault, InputError
from warmside.physics.assembly import MouldClass
from warmside.physics.moisture._potential import FloatArray
from warmside.physics.moisture._workspace import MouldParameters

SOURCE: Final = (
    "Hukka and Viitanen 1999, Ojanen, Viitanen et al. 2010, as restated in an academic script"
    " by Laukkarinen 2011-2016 (second-hand)"
)
MOULD_LIMIT: Final = 3.0  # mould index that a sound wall stays below; ASHRAE 160, from memory


MOULD: Final[dict[MouldClass, MouldParameters]] = {
    "very sensitive": MouldParameters(1.0, 2.0, 1.0, 7.0, 2.0, 80.0, 1.0),
    "sensitive": MouldParameters(0.578, 0.386, 0.3, 6.0, 1.0, 80.0, 0.5),
    "medium resistant": MouldParameters(0.072, 0.097, 0.0, 5.0, 1.5, 85.0, 0.25),
    "resistant": MouldParameters(0.033, 0.014, 0.0, 3.0, 1.0, 85.0, 0.1),
}
CLASSES: Final[tuple[MouldClass, ...]] = tuple(MOULD)


def critical_humidity(temperature: float, humidity_min: float) -> float:
    """Relative humidity [%] above which mould grows at ``temperature`` [degC].

    ``max(-0.00267 T^3 + 0.160 T^2 - 3.13 T + 100, RH_min)`` up to 20 degC, RH_min above, 100 below
    0. At 10 degC and 80: 82.03.
    """
    t = temperature
    if t < 0.0:
        return 100.0
    if t > 20.0:
        return humidity_min
    return max(-0.00267 * t**3 + 0.160 * t**2 - 3.13 * t + 100.0, humidity_min)


def greatest_index(temperature: float, humidity: float, p: MouldParameters) -> float:
    """Index [-] at which growth ends: ``A + B r - C r^2``.

    ``r = (RH_crit - RH) / (RH_crit - 100)``; Hukka and Viitanen 1999. ``temperature`` [degC],
    ``humidity`` [%], ``p`` of the class; 0 where nothing grows.
    """
    critical = critical_humidity(temperature, p.humidity_min)
    if critical >= 100.0:
        return 0.0
    r = (critical - humidity) / (critical - 100.0)
    return p.a + p.b * r - p.c * r * r


def mould_index(
    temperature: FloatArray, humidity: FloatArray, mould_class: MouldClass, start: float = 0.0
) -> FloatArray:
    """Mould index [-] after every hour, 0 (none) to 6.

    Growth ``dM/dt = k1 k2 / (7 exp(-0.68 ln T - 13.9 ln RH + 66.02))`` per day with
    ``k2 = 1 - exp(2.3 (M - M_max))``; decline in dry or frozen hours 0.00133 per hour in the
    first 6 hours, none to 24 hours, 0.000667 per hour after, times the class's share.

    Parameters
    ----------
    temperature : FloatArray
        Of the surface, shape (n_hours,) [degC].
    humidity : FloatArray
        At the surface, shape (n_hours,) [-].
    mould_class : MouldClass
        Sensitivity of the surface.
    start : float
        Index at the start [-].

    Raises
    ------
    InputError
        Unknown class, values that are not finite.
    """
    if mould_class not in MOULD:
        raise InputError([Fault("mould class", f"{mould_class}", ", ".join(MOULD))])
    t, h = checked_series(temperature, humidity)
    from warmside.physics.moisture._loops import mould_loop

    return mould_loop(t, 100.0 * np.minimum(h, 1.0), MOULD[mould_class], float(start))


def first_growth_weeks(temperature: float, humidity: float) -> float:
    """Weeks [-] until mould is first seen under the microscope on pine (index 1), 1999 regression.

    ``exp(-0.68 ln T - 13.9 ln RH + 66.02)``, ``temperature`` [degC], ``humidity`` [%].
    """
    return math.exp(-0.68 * math.log(temperature) - 13.9 * math.log(humidity) + 66.02)


def visible_growth_weeks(temperature: float, humidity: float) -> float:
    """Weeks [-] until mould is seen by eye on pine (index 3), 1999 regression, from memory.

    ``exp(-0.74 ln T - 12.72 ln RH + 61.50)``, ``temperature`` [degC], ``humidity`` [%].
    """
    return math.exp(-0.74 * math.log(temperature) - 12.72 * math.log(humidity) + 61.50)


def checked_series(temperature: FloatArray, humidity: FloatArray) -> tuple[FloatArray, FloatArray]:
    t = np.ascontiguousarray(temperature, dtype=np.float64)
    h = np.ascontiguousarray(humidity, dtype=np.float64)
    if t.ndim != 1 or t.shape != h.shape or t.size == 0:
        raise InputError(
            [Fault("surface series", f"shapes {t.shape}, {h.shape}", "two equal series")]
        )
    if not (np.isfinite(t).all() and np.isfinite(h).all()) or h.min() < 0.0 or h.max() > 1.1:
        raise InputError(
            [
                Fault(
                    "surface series",
                    "values not finite or humidity out of range",
                    "degC and 0 to 1",
                )
            ]
        )
    return t, h
