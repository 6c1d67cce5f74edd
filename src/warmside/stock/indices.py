"""Which unknown matters most: total-effect indices, and what knowing it would be worth."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from warmside.errors import Fault, InputError

Floats = NDArray[np.float64]
_RESAMPLES = 200
LEAST = 40  # samples below which nothing is said


@dataclass(frozen=True)
class Effect:
    """Share of the variance that hangs on one unknown, alone or with others [-]."""

    first: float  # alone
    total: float  # together with all others
    error: float  # [-] standard error of ``total``


def total_effects(
    model: Callable[[Floats], Floats], count: int, samples: int = 256, seed: int = 1
) -> tuple[Effect, ...]:
    """First-order and total-effect indices of a model over the unit cube.

    ``S_T,i = E[(f(A) - f(A_B^i))^2] / 2 V`` (Jansen 1999) and ``S_i = E[f(B) (f(A_B^i) - f(A))]
    / V`` (Saltelli et al. 2010, table 2; both second-hand), with A and B the halves of one Sobol
    sequence and ``A_B^i`` A with column i from B.

    Parameters
    ----------
    model : callable
        From points (n, count) [-] to values (n,).
    count : int
        How many unknowns.
    samples : int
        Points of each half; a power of two. The model is run ``samples (count + 2)`` times.
    seed : int
        Of the scrambling.

    Returns
    -------
    tuple of Effect
        One for each unknown; all 0 where nothing varies.

    Raises
    ------
    InputError
        ``samples`` that is no power of two from 8 on, no unknown, or values that are not finite.
    """
    from scipy.stats.qmc import Sobol

    if count < 1 or samples < 8 or samples & (samples - 1):
        read = f"{samples} samples of {count} unknowns"
        raise InputError([Fault("indices", read, "a power of two from 8 on; one unknown or more")])
    both = Sobol(2 * count, rng=np.random.default_rng(seed)).random(samples)
    a, b = both[:, :count], both[:, count:]
    at_a, at_b = _values(model, a), _values(model, b)
    variance = float(np.var(np.concatenate([at_a, at_b])))
    if variance <= 0.0:
        return (Effect(0.0, 0.0, 0.0),) * count
    effects = []
    for i in range(count):
        mixed = a.copy()
        mixed[:, i] = b[:, i]
        at_mixed = _values(model, mixed)
        squares = (at_a - at_mixed) ** 2 / (2.0 * variance)
        first = float(np.mean((at_b - at_b.mean()) * (at_mixed - at_a))) / variance
        error = float(np.std(squares)) / samples**0.5
        effects.append(Effect(first, float(squares.mean()), error))
    return tuple(effects)


def _values(model: Callable[[Floats], Floats], points: Floats) -> Floats:
    values = np.asarray(model(points), dtype=np.float64)
    if values.shape != (len(points),) or not np.isfinite(values).all():
        raise InputError([Fault("model", f"shape {values.shape}", "one finite value a point")])
    return values


def worth_of_knowing(unknown: Floats, values: Floats, bins: int = 5) -> float:
    """What it is worth to know one unknown before choosing, by the draws at hand.

    ``E_u[max_o E(v_o | u)] - max_o E(v_o)``: the draws are parted by the unknown into ``bins`` of
    equal number, and the best option is taken in each. What chance alone would give is taken off:
    the same with the unknown shuffled.

    Parameters
    ----------
    unknown : ndarray
        Drawn values of the unknown, (n,).
    values : ndarray
        Value of each option in each draw, (n, n_options); doing nothing is one of them.
    bins : int
        Parts [-].

    Returns
    -------
    float
        In the unit of the values, 0 or more; 0 where there are too few draws to say.
    """
    if len(unknown) < max(LEAST, 4 * bins):
        return 0.0
    rng = np.random.default_rng(len(unknown))
    gained = _parted(unknown, values, bins)
    by_chance = np.mean(
        [_parted(rng.permutation(unknown), values, bins) for _ in range(_RESAMPLES)]
    )
    return max(gained - float(by_chance), 0.0)


def _parted(unknown: Floats, values: Floats, bins: int) -> float:
    parts = np.array_split(np.argsort(unknown, kind="stable"), bins)
    known = sum(len(part) * float(values[part].mean(axis=0).max()) for part in parts)
    return known / len(unknown) - float(values.mean(axis=0).max())
