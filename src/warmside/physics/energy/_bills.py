"""What fuel bills say of a house: base load, heating slope and balance point by degree days."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from warmside.errors import Fault, InputError

Floats = NDArray[np.float64]
DegreeDays = Callable[[float], Floats]
LEAST_PERIODS = 6
BALANCE_POINTS = np.round(np.arange(5.0, 22.05, 0.1), 1)  # [degC] that are tried


@dataclass(frozen=True)
class BillFit:
    """A house as its bills show it: ``use a day = base + slope x degree days a day``."""

    base: float  # [J/d] that weather does not move: hot water, cooking
    slope: float  # [J/(K d)]
    balance_point: float  # [degC]
    balance_error: float  # [K] standard error
    slope_error: float  # [J/(K d)] standard error
    explained: float  # [-] share of the variance that the weather explains, R2
    mean: float  # [J/d] of the bills
    scatter: float  # [-] standard deviation of the bills about the line, of their mean
    periods: int

    def year(self, degree_days: float, days: float = 365.0) -> float:
        """Use [J] in ``days`` with that many degree days [K d] below the balance point."""
        return self.base * days + self.slope * degree_days


def fit_bills(used: Sequence[float], days: Sequence[float], degree_days: DegreeDays) -> BillFit:
    """Fit base load, heating slope and balance point to bills.

    Weighted least squares of ``used / days`` on ``degree days / days``, each bill by its days, at
    every balance point of a grid of 0.1 K; base and slope are never negative. The point with the
    least residual is taken. Standard errors by linearising the three at the best point.
    Source: Fels 1986, Energy and Buildings 9, 5-18, and the heating-only change-point model of
    ASHRAE Guideline 14 (both from memory).

    Parameters
    ----------
    used : sequence of float
        Energy of each bill [J], shape (n,).
    days : sequence of float
        Days of each bill, shape (n,).
    degree_days : callable
        Degree days of every bill below a base [degC], shape (n,) [K d].

    Returns
    -------
    BillFit
        The best fit, with how well it follows the bills.

    Raises
    ------
    InputError
        Fewer than six bills, a bill without days, or figures below zero or not finite.
    """
    energy, length = np.asarray(used, dtype=float), np.asarray(days, dtype=float)
    _checked(energy, length)
    rate = energy / length
    tried = []
    for point in BALANCE_POINTS.tolist():
        heating = degree_days(point) / length
        base, slope = _line(heating, rate, length)
        left = float((length * (rate - base - slope * heating) ** 2).sum())
        tried.append((left, point, base, slope))
    left, point, base, slope = min(tried)
    mean = float(np.average(rate, weights=length))
    total = float((length * (rate - mean) ** 2).sum())
    errors = _errors(left, point, slope, length, degree_days)
    scatter = float(np.sqrt(left / length.sum())) / mean if mean > 0.0 else 0.0
    return BillFit(
        base, slope, point, errors[2], errors[1],
        explained=1.0 - left / total if total > 0.0 else 0.0,
        mean=mean,
        scatter=scatter,
        periods=len(rate),
    )  # fmt: skip


def _checked(energy: Floats, length: Floats) -> None:
    if energy.ndim != 1 or energy.shape != length.shape or energy.size < LEAST_PERIODS:
        read = f"{energy.size} bills and {length.size} lengths"
        raise InputError([Fault("bills", read, f"at least {LEAST_PERIODS}, each with its days")])
    if not (np.isfinite(energy).all() and (energy >= 0.0).all()):
        raise InputError([Fault("bills", "an amount below zero or not finite", "0 or more")])
    if not (np.isfinite(length).all() and (length > 0.0).all()):
        raise InputError([Fault("bills", "a bill of no days", "more than 0 days")])


def _line(x: Floats, y: Floats, weight: Floats) -> tuple[float, float]:
    """Weighted least-squares base and slope, neither below zero."""
    x0, y0 = np.average(x, weights=weight), np.average(y, weights=weight)
    spread = float((weight * (x - x0) ** 2).sum())
    slope = float((weight * (x - x0) * (y - y0)).sum()) / spread if spread > 0.0 else 0.0
    base = float(y0 - slope * x0)
    if slope < 0.0:
        return float(y0), 0.0
    if base < 0.0:
        squares = float((weight * x**2).sum())
        return 0.0, float((weight * x * y).sum()) / squares if squares > 0.0 else 0.0
    return base, slope


def _errors(
    left: float, point: float, slope: float, length: Floats, degree_days: DegreeDays
) -> tuple[float, float, float]:
    """Standard errors of base, slope and balance point."""
    step = 0.5
    heating = degree_days(point) / length
    moved = (degree_days(point + step) - degree_days(point - step)) / (2.0 * step) / length
    columns = np.column_stack([np.ones_like(length), heating, slope * moved])
    scale = np.maximum(np.abs(columns).max(axis=0), 1e-300)  # columns differ by many powers of ten
    scaled = columns / scale
    inverse = np.linalg.pinv(scaled.T @ (scaled * length[:, None]))
    variance = left / max(len(length) - 3, 1)
    deviations = np.sqrt(np.maximum(np.diag(inverse) * variance, 0.0)) / scale
    return float(deviations[0]), float(deviations[1]), float(deviations[2])
