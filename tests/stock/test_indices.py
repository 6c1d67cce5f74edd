"""Sensitivity against the analytic values of two published test functions, and a library."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from warmside.errors import InputError
from warmside.stock import total_effects, worth_of_knowing


def ishigami(u: np.ndarray) -> np.ndarray:
    x = np.pi * (2.0 * u - 1.0)
    return np.sin(x[:, 0]) + 7.0 * np.sin(x[:, 1]) ** 2 + 0.1 * x[:, 2] ** 4 * np.sin(x[:, 0])


def ishigami_exact(a: float = 7.0, b: float = 0.1) -> tuple[list[float], list[float]]:
    """Ishigami and Homma 1990; the variances by integration (second-hand)."""
    v1 = 0.5 * (1.0 + b * np.pi**4 / 5.0) ** 2
    v2 = a**2 / 8.0
    v13 = b**2 * np.pi**8 * (1.0 / 18.0 - 1.0 / 50.0)
    total = v1 + v2 + v13
    return [v1 / total, v2 / total, 0.0], [(v1 + v13) / total, v2 / total, v13 / total]


def test_ishigami():
    """Analytic: S_T = 0.558, 0.442, 0.244."""
    first, total = ishigami_exact()
    assert_allclose(total, [0.5576, 0.4424, 0.2437], atol=5e-5)
    found = total_effects(ishigami, 3, 4096)
    assert_allclose([e.total for e in found], total, atol=0.01)
    assert_allclose([e.first for e in found], first, atol=0.02)


def test_sobol_g():
    """Analytic (Sobol 1993, second-hand): V_i = 1 / 3 (1 + a_i)^2, V_T,i = V_i prod(1 + V_j)."""
    a = np.array([0.0, 1.0, 4.5, 9.0])

    def g(u: np.ndarray) -> np.ndarray:
        return np.prod((np.abs(4.0 * u - 2.0) + a) / (1.0 + a), axis=1)

    v = 1.0 / (3.0 * (1.0 + a) ** 2)
    whole = np.prod(1.0 + v) - 1.0
    total = np.array([v[i] * np.prod(np.delete(1.0 + v, i)) for i in range(4)]) / whole
    found = total_effects(g, 4, 4096)
    assert_allclose([e.total for e in found], total, atol=0.01)


def test_as_a_reference_library_has_it():
    """Reference library: SALib's estimator on its own sample, within both errors."""
    analyze = pytest.importorskip("SALib.analyze.sobol")
    sample = pytest.importorskip("SALib.sample.sobol")
    problem = {"num_vars": 3, "names": ["a", "b", "c"], "bounds": [[0.0, 1.0]] * 3}
    points = sample.sample(problem, 1024, calc_second_order=False, seed=1)
    theirs = analyze.analyze(problem, ishigami(points), calc_second_order=False, seed=1)
    ours = total_effects(ishigami, 3, 1024)
    assert_allclose([e.total for e in ours], theirs["ST"], atol=0.04)


def test_the_standard_error_is_of_the_right_size():
    """Other method: the scatter of twenty seeds, within a factor of three (Sobol points scatter
    less than the error says, which takes them for random)."""
    runs = [total_effects(ishigami, 3, 256, seed) for seed in range(20)]
    scatter = np.std([[e.total for e in run] for run in runs], axis=0)
    said = np.mean([[e.error for e in run] for run in runs], axis=0)
    assert np.all(scatter < 1.5 * said)
    assert np.all(scatter > said / 12.0)


def test_an_unknown_that_does_nothing_has_no_effect():
    """Exact: 0."""
    found = total_effects(lambda u: u[:, 0], 2, 64)
    assert found[1].total == 0.0
    assert found[0].total == pytest.approx(1.0, abs=0.05)
    assert total_effects(lambda u: np.ones(len(u)), 2, 8)[0].total == 0.0


def test_worth_of_knowing_is_exact_where_it_can_be_reckoned():
    """Analytic: options worth u - 1/2 and 0 with u uniform: E max(u - 1/2, 0) = 1/8. Five parts see
    the means of fifths: (0.2 + 0.4) / 5 = 0.12."""
    u = (np.arange(2000) + 0.5) / 2000.0
    values = np.column_stack([u - 0.5, np.zeros(2000)])
    assert worth_of_knowing(u, values) == pytest.approx(0.12, abs=0.005)
    many = worth_of_knowing(u, values, bins=50)
    assert many == pytest.approx(0.125, abs=0.02)


def test_knowing_what_changes_no_choice_is_worth_nothing():
    """Exact: an unknown that has no say, and one that never turns the best option."""
    rng = np.random.default_rng(5)
    u, other = rng.random(600), rng.random(600)
    turned = np.column_stack([other - 0.5, np.zeros(600)])
    assert worth_of_knowing(u, turned) < 0.01
    assert worth_of_knowing(u, np.column_stack([u + 3.0, np.zeros(600)])) == pytest.approx(0.0)
    assert worth_of_knowing(u[:10], turned[:10]) == 0.0


@pytest.mark.parametrize("samples", [0, 7, 100])
def test_samples_that_no_sequence_has_are_told(samples):
    with pytest.raises(InputError, match="power of two"):
        total_effects(ishigami, 3, samples)


def test_a_model_that_gives_no_number_is_told():
    with pytest.raises(InputError, match="finite"):
        total_effects(lambda u: np.full(len(u), np.nan), 2, 8)
