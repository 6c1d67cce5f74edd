"""How far places run into one another: a camera's blur as the wall has it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.ndimage import gaussian_filter

from proof.conftest import Case
from warmside.proof import Stand
from warmside.proof.estimate import median
from warmside.proof.smear import Smear


@pytest.mark.parametrize("turned", [-25.0, 0.0, 12.0, 40.0])
def test_smear_of_a_wall_seen_aslant(case: Case, turned: float):
    # exact: a pixel at the angle a off the optical axis spans cos(a)^2 / f along the picture, and
    # the wall, at b off its normal, is crossed D / cos(b)^2 for each radian; f in pixels
    p = case.prediction
    stand = Stand(x=2.0, z=float(p.z.mean()), distance=4.0, turned=turned)
    smear = Smear.through(stand.view, p, 0.8)
    focal = 160.0 / np.tan(np.radians(30.0))
    away = 4.0 * np.cos(np.radians(turned))
    eye = 2.0 - 4.0 * np.sin(np.radians(turned))
    off = np.arctan((p.x - eye) / away)
    a = off - np.radians(turned)
    assert_allclose(
        smear.along, 0.8 * away * np.cos(a) ** 2 / (focal * np.cos(off) ** 2), rtol=2e-3
    )
    # up the wall it is the way to the wall along the axis, over the focal length
    deep = np.hypot(p.x - eye, away) * np.cos(a)
    assert_allclose(smear.up, 0.8 * deep / focal, rtol=2e-3)


def test_an_even_smear_is_a_gaussian_filter(case: Case):
    # reference library: SciPy
    p = case.prediction
    factor = p.at(p.planned)
    seen = Smear.even(0.021, p).of(factor)
    side = float(p.x[1] - p.x[0])
    assert_allclose(seen, gaussian_filter(factor, 0.021 / side), rtol=0, atol=1e-6)
    assert Smear.even(0.0, p).of(factor) is factor


def test_an_uneven_smear_against_sums_place_by_place(case: Case):
    # other method: weights of every place around, with the deviations of the place that is seen
    p = case.prediction
    factor = p.at(np.where(np.arange(p.planned.size) % 3 == 0, 0.0, p.planned)).astype(float)
    along, up = (np.linspace(low, high, p.x.size) for low, high in ((0.012, 0.03), (0.01, 0.018)))
    smear = replace(Smear.even(0.02, p), along=along, up=up)
    seen = smear.of(factor)
    rng = np.random.default_rng(4)
    rows, columns = (rng.integers(15, n - 15, 60) for n in factor.shape)
    z, x = np.arange(factor.shape[0]) * smear.side, np.arange(factor.shape[1]) * smear.side
    for r, c in zip(rows, columns, strict=True):
        near = np.exp(-0.5 * (((z - z[r]) / up[c]) ** 2)[:, None]
                      - 0.5 * (((x - x[c]) / along[c]) ** 2)[None, :])  # fmt: skip
        # what lies between the least and the most is told by its variance: 2 % of the span
        told = float((near * factor).sum() / near.sum())
        assert seen[r, c] == pytest.approx(told, rel=0, abs=0.02 * np.ptp(factor))
    flat = np.full(factor.shape, 3.5)
    assert_allclose(smear.of(flat), 3.5, rtol=1e-12)


def test_the_median_of_a_few_is_numpys():
    # reference library: NumPy
    rng = np.random.default_rng(1)
    for size in (1, 2, 3, 12, 401):
        values = rng.standard_normal(size)
        assert median(values) == np.median(values)
        assert median(np.arange(size)) == np.median(np.arange(size))
    assert np.isnan(median(np.zeros(0)))
