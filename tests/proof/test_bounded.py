"""Bands of what lies within bounds."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy import stats

from warmside.proof.bounded import band

FAR = 50.0


def of(value: float, least: float, most: float) -> tuple[float, float]:
    low, high = band(*(np.array([float(v)]) for v in (value, 1.0, least, most)))
    return float(low[0]), float(high[0])


# published: Feldman and Cousins, Phys. Rev. D 57, 3873 (1998), table X, 90 %, from memory
@pytest.mark.parametrize(
    ("read", "low", "high"),
    [(-3.0, 0.0, 0.26), (-2.0, 0.0, 0.40), (-1.0, 0.0, 0.81), (0.0, 0.0, 1.64), (1.0, 0.0, 2.64),
     (2.0, 0.58, 3.64), (3.0, 1.37, 4.64)],
)  # fmt: skip
def test_a_mean_that_cannot_be_negative(read: float, low: float, high: float):
    assert_allclose(of(read, 0.0, FAR), (low, high), rtol=0.0, atol=0.006)
    assert_allclose(of(-read, -FAR, 0.0), (-high, -low), rtol=0.0, atol=0.006)


@pytest.mark.parametrize("truth", [0.0, 0.1, 0.5, 1.0, 1.6, 2.5, 4.0])
def test_nine_in_ten_wherever_the_truth_lies(truth: float):
    # exact, by its definition: readings about the truth, added up by their density
    x = truth + np.linspace(-9.0, 9.0, 36_001)
    low, high = band(x, np.ones_like(x), np.zeros_like(x), np.full_like(x, FAR))
    held = (low <= truth + 1e-9) & (truth <= high + 1e-9)
    assert_allclose(np.trapezoid(stats.norm.pdf(x - truth) * held, x), 0.9, rtol=0.0, atol=2e-3)


def test_far_from_any_bound_it_is_the_usual_band():
    # reference library: quantiles of the normal
    expected = 3.0 + stats.norm.ppf([0.05, 0.95])
    assert_allclose(of(3.0, -FAR, FAR), expected, rtol=0.0, atol=2e-3)


@pytest.mark.parametrize("value", [-1e6, -30.0, -1.0, 0.0, 0.2, 1.0, 30.0, 1e6])
def test_a_band_is_never_empty_and_never_beyond_what_can_be(value: float):
    low, high = of(value, 0.0, 1.0)
    assert 0.0 <= low < high <= 1.0
    assert np.isnan(of(float("nan"), 0.0, 1.0)).all()
