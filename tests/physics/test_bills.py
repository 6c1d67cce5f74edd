"""Bills by degree days, against other solvers, a hand sum and a house of known figures."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from scipy.optimize import curve_fit
from statsmodels.api import WLS, add_constant

from warmside.errors import InputError
from warmside.physics.energy import fit_bills

DAYS = np.array([31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31], dtype=float)


def a_year(seed: int = 0):
    """Daily means of a cold town, by month [degC]."""
    rng = np.random.default_rng(seed)
    day = np.arange(365)
    mean = 5.0 - 17.0 * np.cos(2.0 * np.pi * (day - 20) / 365.0) + rng.normal(0.0, 4.0, 365)
    return np.split(mean, np.cumsum(DAYS.astype(int))[:-1])


def degree_days(months):
    return lambda base: np.array([np.maximum(base - m, 0.0).sum() for m in months])


def test_known_figures_come_back():
    """Other method: bills made from the model itself."""
    below = degree_days(a_year())
    fit = fit_bills(40e6 * DAYS + 22e6 * below(16.3), DAYS, below)
    assert_allclose(fit.balance_point, 16.3, rtol=0, atol=1e-9)
    assert_allclose([fit.base, fit.slope], [40e6, 22e6], rtol=1e-9, atol=0)
    assert_allclose(fit.explained, 1.0, rtol=0, atol=1e-12)
    year = float((40e6 * DAYS + 22e6 * below(16.3)).sum())
    assert_allclose(fit.year(float(below(16.3).sum())), year, rtol=1e-9, atol=0)


@pytest.mark.parametrize("seed", [1, 2, 3, 4])
def test_as_two_libraries_fit_it(seed):
    """Reference: statsmodels' weighted line at the same point; SciPy's curve for the point."""
    months, rng = a_year(seed), np.random.default_rng(seed)
    below = degree_days(months)
    used = (35e6 * DAYS + 25e6 * below(15.0)) * rng.normal(1.0, 0.05, 12)
    fit = fit_bills(used, DAYS, below)
    line = WLS(used / DAYS, add_constant(below(fit.balance_point) / DAYS), weights=DAYS).fit()
    assert_allclose([fit.base, fit.slope], line.params, rtol=1e-8, atol=0)
    assert_allclose(fit.explained, line.rsquared, rtol=1e-8, atol=0)

    def curve(_, base, slope, point):
        return 1e6 * (base + slope * below(point) / DAYS)

    (base, slope, point), errors = curve_fit(
        curve, np.arange(12.0), used / DAYS, p0=(35.0, 25.0, 15.5), sigma=DAYS**-0.5,
        epsfcn=1e-6,
    )  # fmt: skip
    assert_allclose(fit.balance_point, point, rtol=0, atol=0.1)
    assert_allclose([fit.base, fit.slope], [base * 1e6, slope * 1e6], rtol=0.02, atol=0)
    error = np.sqrt(np.diag(errors))
    assert_allclose(fit.balance_error, error[2], rtol=0.15, atol=0)
    assert_allclose(fit.slope_error, error[1] * 1e6, rtol=0.15, atol=0)


def test_a_line_by_hand():
    """By hand: 30-day months at 0, 10 and 20 degC below a balance point of 15 and 10 units a day
    of base: 10 + 2 x 15 = 40, 10 + 2 x 5 = 20 and 10."""
    temperatures = [0.0, 10.0, 20.0, 0.0, 10.0, 20.0]

    def below(base: float):
        return np.array([30.0 * max(base - t, 0.0) for t in temperatures])

    fit = fit_bills(30.0 * np.array([40.0, 20, 10, 40, 20, 10]), [30.0] * 6, below)
    assert_allclose([fit.base, fit.slope, fit.balance_point], [10, 2, 15], rtol=1e-9, atol=0)


@settings(max_examples=30, deadline=None)
@given(st.integers(0, 500), st.floats(0.0, 0.3))
def test_neither_base_nor_slope_is_ever_negative(seed, noise):
    months, rng = a_year(seed), np.random.default_rng(seed)
    below = degree_days(months)
    used = np.maximum(5e6 * DAYS + 20e6 * below(15.0) * rng.normal(1.0, noise, 12), 0.0)
    fit = fit_bills(used, DAYS, below)
    assert fit.base >= 0.0
    assert fit.slope >= 0.0
    assert fit.explained <= 1.0 + 1e-12
    assert np.isfinite([fit.balance_error, fit.slope_error, fit.scatter]).all()


def test_bills_that_summer_drives_show_no_heating():
    """A cooled house: use rises with warmth, and heating is none of it."""
    below = degree_days(a_year())
    fit = fit_bills(60e6 * DAYS - 1.0e6 * below(15.0), DAYS, below)
    assert fit.slope == 0.0


@pytest.mark.parametrize(
    ("used", "days"),
    [
        ([1.0] * 5, [30.0] * 5),
        ([1.0] * 6, [30.0] * 5),
        ([1.0] * 5 + [float("nan")], [30.0] * 6),
        ([1.0] * 5 + [-1.0], [30.0] * 6),
        ([1.0] * 6, [30.0] * 5 + [0.0]),
    ],
)
def test_what_is_no_bill_is_refused(used, days):
    with pytest.raises(InputError, match="bill"):
        fit_bills(used, days, lambda base: np.full(len(used), base))
