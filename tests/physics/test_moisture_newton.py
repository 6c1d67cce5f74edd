"""Newton's method of the hourly model: its matrix against differences, and the size of a change.

Other method: central differences of contents minus a step's share of the rates. A wrong entry does
not make a wrong answer, only more iterations, so that nothing else would show it.
"""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from warmside.physics.moisture import HygroMaterial, Slab, mesh
from warmside.physics.moisture._fluxes import C_WATER, CAPACITY, DX, N_DRIVERS, W, properties, rates
from warmside.physics.moisture._jacobian import jacobian, slopes
from warmside.physics.moisture._newton import size_of
from warmside.physics.moisture._simulation import grid_of

TAU = 900.0  # [s]
ROOM = (21.0, 1100.0, 8.0, 2e-8)  # degC, Pa, W/(m2 K), kg/(m2 s Pa)
OUTSIDE = (-6.0, 280.0, 20.0, 1e-7)
SUN, RAIN, LEAK, VENT, AIR, PRESSURE = 150.0, 2e-5, 3e-4, 2e-3, 4e-4, 101325.0


def material(name: str, liquid: bool) -> HygroMaterial:
    return HygroMaterial.from_functions(
        name, density=500.0, specific_heat=1400.0,
        storage=lambda s: 80.0 / (1.0 + s / 4e7),
        permeability=lambda w: 2e-11 * (1.0 + w / 100.0),
        conductivity=0.10, conductivity_wet=4e-4, permeability_over_t=0.0 if liquid else 1.0,
        liquid_conductivity=(lambda w: 1e-13 * (w / 80.0) ** 3) if liquid else None,
    )  # fmt: skip


DRAWS, DRY = material("draws liquid", True), material("vapour only", False)
CELLS = mesh((Slab(DRAWS, 0.02), Slab(DRY, 0.05), Slab(DRAWS, 0.03)), 12)
N = CELLS.width.size


def drivers(**given: float) -> np.ndarray:
    usual = {"sun": 0.0, "rain": 0.0, "leak": 0.0, "vent": 0.0, "air": 0.0} | given
    d = np.array([*ROOM, *OUTSIDE, *usual.values(), PRESSURE])
    assert d.size == N_DRIVERS
    return d


def state(seed: int) -> tuple[np.ndarray, np.ndarray]:
    rng = np.random.default_rng(seed)
    u = np.append(rng.uniform(0.8, 5.0, N - 1), 7.6)  # an outer face that takes part of the rain
    return u, np.linspace(18.0, -4.0, N) + rng.uniform(-1.0, 1.0, N)


def balance(unknowns: np.ndarray, d: np.ndarray, grid: tuple) -> np.ndarray:
    """Contents less what ``TAU`` brings, water and heat of each cell in turn."""
    kinds, spots, mat, cell, tab = grid
    u, T = unknowns[0::2].copy(), unknowns[1::2].copy()
    pr, flow, F, amounts = np.empty((6, N)), np.empty((2, N + 1)), np.empty((2, N)), np.empty(8)
    properties(u, T, mat, cell, tab, pr)
    rates(u, T, d, kinds, spots, mat, cell, tab, pr, flow, F, amounts)
    heat = (cell[CAPACITY] + C_WATER * pr[W]) * T * cell[DX]
    return np.stack((pr[W] * cell[DX] - TAU * F[0], heat - TAU * F[1]), 1).ravel()


def by_differences(unknowns: np.ndarray, d: np.ndarray, grid: tuple) -> np.ndarray:
    columns = []
    for k in range(unknowns.size):
        step = np.zeros(unknowns.size)
        step[k] = 1e-5
        up, down = balance(unknowns + step, d, grid), balance(unknowns - step, d, grid)
        columns.append((up - down) / 2e-5)
    return np.stack(columns, 1)


def by_hand(unknowns: np.ndarray, d: np.ndarray, grid: tuple) -> np.ndarray:
    """The compiled matrix, its blocks put where they belong."""
    kinds, spots, mat, cell, tab = grid
    u, T = unknowns[0::2].copy(), unknowns[1::2].copy()
    pr, sl, J = np.empty((6, N)), np.empty((6, N)), np.empty((3, N, 4))
    properties(u, T, mat, cell, tab, pr)
    slopes(u, T, mat, cell, tab, pr, sl)
    held, edge = np.ones((3, N)), np.zeros((5, 4))
    jacobian(u, T, d, kinds, spots, mat, cell, tab, pr, sl, TAU, J, held, edge)
    full = np.zeros((2 * N, 2 * N))
    for i in range(N):
        for block, j in ((0, i - 1), (1, i), (2, i + 1)):
            if 0 <= j < N:
                full[2 * i : 2 * i + 2, 2 * j : 2 * j + 2] = J[block, i].reshape(2, 2)
    return full


@pytest.mark.parametrize(
    ("kinds", "given"),
    [
        ((0, 0), {}),
        ((1, 1), {}),
        ((0, 0), {"sun": SUN, "rain": RAIN}),
        ((0, 0), {"leak": LEAK, "vent": VENT}),
        ((0, 0), {"air": AIR}),
        ((0, 0), {"air": -AIR}),
        ((1, 0), {"air": AIR, "leak": LEAK}),
        ((0, 0), {"leak": -LEAK}),
        ((0, 0), {"leak": 40.0 * LEAK}),
        ((0, 0), {"leak": -40.0 * LEAK}),
    ],
)
@pytest.mark.parametrize("seed", [1, 2])
def test_every_entry_is_the_derivative(kinds, given, seed):
    grid, d = grid_of(CELLS, kinds, (6, 9)), drivers(**given)
    unknowns = np.stack(state(seed), 1).ravel()
    expected, found = by_differences(unknowns, d, grid), by_hand(unknowns, d, grid)
    # rows of water and heat by columns of u and T: each kind has a unit of its own
    for row in (0, 1):
        for column in (0, 1):
            there = expected[row::2, column::2]
            scale = np.abs(there).max(axis=1, keepdims=True)
            # heat of the vapour that air carries, at the mean of two cells, is left out of dH/dT
            atol = 3e-4 if given.get("air") and (row, column) == (1, 1) else 1e-5
            assert_allclose(found[row::2, column::2] / scale, there / scale, rtol=0.0, atol=atol)


@pytest.mark.parametrize("n", [1, 2, 7, 8])
def test_the_size_of_a_change_is_its_largest_in_tolerances(n):
    """Exact: the same by numpy, an odd last cell included; what is no number is endless."""
    rng = np.random.default_rng(n)
    r, weight = rng.normal(size=(2, n)), rng.uniform(1.0, 9.0, n)
    for largest in range(n):
        r[0, largest] = 50.0 + largest
        expected = max((np.abs(r[0]) * weight).max(), np.abs(r[1]).max() * 20.0)
        assert_allclose(size_of(r, weight, 20.0), expected, rtol=1e-14)
    r[1, n - 1] = -1e6
    assert_allclose(size_of(r, weight, 20.0), 2e7, rtol=1e-14)
    r[1, n - 1] = np.nan
    assert size_of(r, weight, 20.0) == np.inf
