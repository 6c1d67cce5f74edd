"""A band of what cannot be just anything: foam is no less than none and no deeper than its bay.

Intervals ordered by likelihood ratio: a truth ``m`` doubts from what cannot be crossed accepts the
readings ``x`` that are likeliest over what any truth that can be would make of them,

    exp(-(x - m)^2 / 2) / exp(-(x - max(x, 0))^2 / 2),

until nine in ten are accepted; the band of a reading is every truth that accepts it. It holds nine
truths in ten wherever these lie, is never empty, and far from any bound is the usual one. Feldman
and Cousins, Physical Review D 57, 3873 (1998), section IV B; from memory.
"""

from __future__ import annotations

from functools import cache

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]

BAND, WITHIN = 1.645, 0.9  # standard deviations of a 90 % band, and what lies within


def band(value: Floats, doubt: Floats, least: Floats, most: Floats) -> tuple[Floats, Floats]:
    """Both ends of a 90 % band of what lies between ``least`` and ``most``, (n,) each.

    Of the two bounds the nearer counts: where they lie but a few doubts apart, the band holds more.
    NaN where the value is.
    """
    above, below = (most - value) / doubt, (value - least) / doubt
    nearest, farthest = _limits(np.minimum(above, below))
    up = above <= below
    low = np.where(up, most - farthest * doubt, least + nearest * doubt)
    high = np.where(up, most - nearest * doubt, least + farthest * doubt)
    return np.clip(low, least, most), np.clip(high, least, most)


def _limits(x: Floats) -> tuple[Floats, Floats]:
    """The nearest and the farthest truth from a bound that accept a reading ``x`` from it, all in
    doubts."""
    truth, first, last = _accepting()
    nearest = np.where(x > last[0], x - BAND, np.interp(x, last[::-1], truth[::-1], left=0.0))
    farthest = np.where(x > first[0], x + BAND, np.interp(x, first[::-1], truth[::-1]))
    return nearest, farthest


@cache
def _accepting() -> tuple[Floats, Floats, Floats]:
    """Truths nearer than ``BAND`` to a bound, falling, and the first and last reading they accept.

    With ``d`` from the truth to the last reading and ``e`` to the first, nine in ten are
    ``Phi(d) - Phi(-e)``, and both are as likely where ``m^2 / 2 - e m + d^2 / 2 = 0``.
    """
    from scipy.special import ndtr, ndtri

    e = np.geomspace(BAND, 1e3, 2000)
    d = ndtri(WITHIN + ndtr(-e))
    truth = d**2 / (e + np.sqrt(np.maximum(e**2 - d**2, 0.0)))
    return truth, truth - e, truth + d
