"""Walls in the ground against a two-dimensional sum of the ground round them, and its limits."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from scipy.sparse import coo_matrix, diags
from scipy.sparse.linalg import spsolve

from warmside.errors import InputError
from warmside.physics.energy import buried_wall

SOIL = 2.0
YEAR = 2.0 * np.pi / (365.25 * 86400.0)  # [1/s]
STORES = 2.0e6  # [J/(m3 K)] of ground, ISO 13370


def _graded(least: float, most: float) -> np.ndarray:
    steps = least * 1.12 ** np.arange(200)
    edges = np.concatenate([[0.0], np.cumsum(steps)])
    return np.append(edges[edges < most - least], most)


def mean_loss(resistance: float, depth: float, *, swing: bool = False) -> complex:
    """Volumes about half a basement 8 m wide, 30 m of ground: from the room at 1 K, or with
    ``swing`` from outdoor air that swings by 1 K in a year; mean over the wall [W/(m2 K)].
    """
    fine = 0.02
    x = np.concatenate([-_graded(fine, 4.0)[:0:-1], _graded(fine, 30.0)])
    z = np.concatenate([np.linspace(0.0, depth, round(depth / fine) + 1),
                        depth + _graded(fine, 30.0)[1:]])  # fmt: skip
    dx, dz = np.diff(x), np.diff(z)
    room = (x[1:] <= 0.0)[None, :] & (z[1:] <= depth + 1e-9)[:, None]
    number = np.where(room, -1, np.cumsum(~room).reshape(room.shape) - 1)
    count = int((~room).sum())
    across = SOIL * dz[:, None] / ((dx[1:] + dx[:-1]) / 2.0)[None, :]
    down = SOIL * dx[None, :] / ((dz[1:] + dz[:-1]) / 2.0)[:, None]
    pairs = [(number[:, :-1], number[:, 1:], across), (number[:-1], number[1:], down)]
    rows, cols, links = (np.concatenate(v) for v in zip(
        *((a[m], b[m], g[m]) for a, b, g in pairs for m in [(a >= 0) & (b >= 0)]), strict=True
    ))  # fmt: skip
    own, inside, outside = (np.zeros(count) for _ in range(3))
    np.add.at(own, rows, links)
    np.add.at(own, cols, links)
    out = number[0, number[0] >= 0]
    np.add.at(outside, out, dx[number[0] >= 0] / (0.04 + dz[0] / 2.0 / SOIL))
    at = int(np.searchsorted(x, 0.0))
    wall = number[: round(depth / fine), at]
    into = dz[: wall.size] / (resistance + dx[at] / 2.0 / SOIL)
    np.add.at(inside, wall, into)
    floor = number[wall.size, :at]  # 0.3 m of footing about it goes half into a bare floor
    np.add.at(inside, floor, dx[:at] / (0.27 + dz[wall.size] / 2.0 / SOIL))
    links_ = coo_matrix((-links, (rows, cols)), (count, count))
    whole = links_ + links_.T + diags(own + inside + outside)
    if not swing:
        warm = spsolve(whole.tocsc(), inside)
        return complex((into * (1.0 - warm[wall])).sum() / depth)
    volume = (dz[:, None] * dx[None, :])[~room]
    felt = spsolve((whole + 1j * YEAR * STORES * diags(volume)).tocsc(), outside.astype(complex))
    return complex((into * felt[wall]).sum() / depth)


@pytest.mark.parametrize("resistance", [0.35, 1.0, 4.0])
@pytest.mark.parametrize("depth", [0.6, 1.5, 2.0])
def test_a_wall_in_the_ground_loses_what_volumes_of_ground_let_through(resistance, depth):
    """Other method, a hand's sum at 1.5 m and 0.35: 4/(1.5 pi) (1 + 0.7/4.4) ln(1.5/0.7 + 1) =
    0.849 x 1.159 x 1.145 = 1.127, of which volumes make 1.245: the standard's own roughness.
    """
    found = buried_wall(resistance, depth)
    assert_allclose(found, mean_loss(resistance, depth).real, rtol=0.13, atol=0)
    if (resistance, depth) == (0.35, 1.5):
        assert_allclose(found, 1.127, rtol=1e-3, atol=0)


@pytest.mark.parametrize("resistance", [0.35, 2.0])
def test_a_winter_s_loss_is_near_that_at_rest(resistance):
    """Other method: with 13 K between room and the year's mean, 6 K more in the heating season,
    what the wall loses is within a tenth of the loss at rest times 19 K.
    """
    rest, swing = mean_loss(resistance, 1.5), mean_loss(resistance, 1.5, swing=True)
    winter = (13.0 * rest.real + 6.0 * swing.real) / 19.0
    assert_allclose(winter, rest.real, rtol=0.1, atol=0)
    assert_allclose(-np.angle(swing) / (2.0 * np.pi) * 12.0, 0.3, rtol=0, atol=0.1)  # [months]


@given(st.floats(0.1, 10.0), st.floats(0.05, 4.0), st.floats(0.5, 4.0))
def test_ground_keeps_heat_and_deeper_keeps_more(resistance, depth, soil):
    """Exact: never above the open wall's, less with depth and with resistance."""
    found = buried_wall(resistance, depth, soil)
    assert 0.0 < found <= 1.0 / resistance
    assert buried_wall(resistance, 1.5 * depth, soil) <= found * (1.0 + 1e-12)
    assert buried_wall(1.5 * resistance, depth, soil) < found


@pytest.mark.parametrize("wrong", [(0.0, 1.5), (1.0, -1.0), (float("nan"), 1.0)])
def test_what_is_not_above_zero_is_refused(wrong):
    with pytest.raises(InputError, match="above zero"):
        buried_wall(*wrong)
