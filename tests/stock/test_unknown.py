"""Distributions against a reference library and the definition."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy import stats

from warmside.stock import Unknown

U = np.linspace(0.005, 0.995, 41)


def test_normal():
    """Reference library: scipy's quantiles; the outer thousandths are cut off."""
    one = Unknown("house.indoor_humidity", "", "normal", (0.4, 0.05))
    assert_allclose([one.at(u) for u in U], stats.norm.ppf(U, 0.4, 0.05), rtol=1e-12)
    assert one.at(0.0) == pytest.approx(stats.norm.ppf(0.001, 0.4, 0.05))
    assert one.likeliest == 0.4


@pytest.mark.parametrize("mode", [1.0, 1.5, 3.0])
def test_triangular(mode: float):
    """Reference library: scipy's quantiles, mode at either end too."""
    one = Unknown("wall.spacing", "", "triangular", (1.0, mode, 3.0))
    exact = stats.triang.ppf(U, (mode - 1.0) / 2.0, 1.0, 2.0)
    assert_allclose([one.at(u) for u in U], exact, rtol=1e-12)
    assert one.likeliest == mode


def test_choice():
    """Definition: each choice over a stretch as long as its weight."""
    one = Unknown("wall.found.fill", "", "choice", ("", "a", "b"), (0.5, 0.0, 0.5))
    assert [one.at(u) for u in (0.0, 0.499, 0.5, 0.999, 1.0)] == ["", "", "b", "b", "b"]
    assert one.as_number(0.7) == 2.0
    assert one.likeliest == ""
