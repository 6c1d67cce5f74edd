"""The three calculation cases of ISO 10211:2017, annex C, through the public function.

Geometry, conductivities and reference values of cases 2 and 3 as given in a general
finite-element library's public test data; the table of case 1 from memory, checked here
against its Fourier series. Temperature within 0.1 K and heat flow within 0.1 W/m or 1 %.
"""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from warmside.physics.conduction import Body, Field, Space, solve_field

FAR = 9.0
MM = 1e-3


@pytest.fixture(scope="module")
def column() -> Field:
    """Case 1: half of a square column, 1 m wide and 2 m high; hot top, cold sides."""
    spaces = [
        Space(-FAR, 0, 0, 1, 0, 2, "cold", 0.0),
        Space(0, 1, 0, 1, -FAR, 0, "cold", 0.0),
        Space(0, 1, 0, 1, 2, FAR, "hot", 0.0),
    ]
    lines = ((0.25, 0.5, 0.75), (), tuple(0.25 * n for n in range(1, 8)))
    return solve_field([Body(0, 1, 0, 1, 0, 2, 1.0)], spaces, cells=12_000, lines=lines)


def _column_points(field: Field) -> np.ndarray:
    theta = {"hot": 20.0, "cold": 0.0}
    columns, rows = (0.25, 0.5, 0.75, 1.0), [2.0 - 0.25 * n for n in range(1, 8)]
    return np.array([[field.temperature_at(x, 0.5, z, theta) for x in columns] for z in rows])


def test_case_1_table(column: Field):
    table = [
        [9.7, 13.4, 14.7, 15.1],
        [5.3, 8.6, 10.3, 10.8],
        [3.2, 5.6, 7.0, 7.5],
        [2.0, 3.6, 4.7, 5.0],
        [1.3, 2.3, 3.0, 3.2],
        [0.7, 1.4, 1.8, 1.9],
        [0.3, 0.6, 0.8, 0.9],
    ]  # ISO 10211 case 1, from memory
    assert_allclose(_column_points(column), table, rtol=0, atol=0.1)


def test_case_1_fourier_series(column: Field):
    # exact: sum over odd n of 80/(n pi) sin(n pi x/2) sinh(n pi z/2)/sinh(n pi)
    n = np.arange(1, 200, 2)[:, None, None]
    x, z = np.array([0.25, 0.5, 0.75, 1.0]), 2.0 - 0.25 * np.arange(1, 8)[:, None]
    up = np.exp(n * np.pi * (z - 2) / 2) * (1 - np.exp(-n * np.pi * z))
    terms = 80 / (n * np.pi) * np.sin(n * np.pi * x / 2) * up / (1 - np.exp(-2 * n * np.pi))
    assert_allclose(_column_points(column), terms.sum(axis=0), rtol=0, atol=1e-3)


def test_case_2_roof_with_aluminium():
    bodies = [
        Body(0, 500 * MM, 0, 1, 41.5 * MM, 47.5 * MM, 1.15, "concrete"),
        Body(0, 15 * MM, 0, 1, 36.5 * MM, 41.5 * MM, 0.12, "wood"),
        Body(15 * MM, 500 * MM, 0, 1, 36.5 * MM, 41.5 * MM, 0.029, "insulation"),
        Body(15 * MM, 500 * MM, 0, 1, 1.5 * MM, 36.5 * MM, 0.029, "insulation"),
        Body(1.5 * MM, 15 * MM, 0, 1, 1.5 * MM, 35 * MM, 0.029, "insulation"),
        Body(0, 500 * MM, 0, 1, 0, 1.5 * MM, 230.0, "aluminium"),
        Body(0, 1.5 * MM, 0, 1, 1.5 * MM, 36.5 * MM, 230.0, "aluminium"),
        Body(1.5 * MM, 15 * MM, 0, 1, 35 * MM, 36.5 * MM, 230.0, "aluminium"),
    ]
    spaces = [
        Space(0, FAR, 0, 1, 47.5 * MM, FAR, "outside", 0.06),
        Space(0, FAR, 0, 1, -FAR, 0, "inside", 0.11),
    ]
    theta = {"outside": 0.0, "inside": 20.0}
    field = solve_field(bodies, spaces, cells=20_000)
    points = {
        "A": (0, 47.5, 7.1),
        "B": (500, 47.5, 0.8),
        "C": (0, 41.5, 7.9),
        "D": (15, 41.5, 6.3),
        "E": (500, 41.5, 0.8),
        "F": (0, 36.5, 16.4),
        "G": (15, 36.5, 16.3),
        "H": (0, 0, 16.8),
        "I": (500, 0, 18.3),
    }  # ISO 10211 case 2
    got = [field.temperature_at(x * MM, 0.5, z * MM, theta) for x, z, _ in points.values()]
    assert_allclose(got, [t for _, _, t in points.values()], rtol=0, atol=0.1)
    assert_allclose(field.flows(theta)["inside"], 9.5, rtol=0, atol=0.1)  # W/m, same case


@pytest.fixture(scope="module")
def corner() -> Field:
    """Case 3: wall corner with a slab that passes out through one wall as a balcony."""
    end, bodies = 1.2, []
    for z0, z1 in ((0.0, 1.0), (1.15, 2.15)):
        bodies += [
            Body(-0.1, 0, -0.1, end, z0, z1, 1.0, "outer leaf"),
            Body(0, end, -0.1, 0, z0, z1, 1.0, "outer leaf"),
            Body(0, 0.05, 0, end, z0, z1, 0.04, "insulation"),
            Body(0.05, end, 0, 0.05, z0, z1, 0.04, "insulation"),
            Body(0.05, 0.2, 0.05, end, z0, z1, 0.7, "inner leaf"),
            Body(0.2, end, 0.05, 0.2, z0, z1, 0.7, "inner leaf"),
        ]
    bodies += [
        Body(-0.1, 0, -0.1, end, 1.0, 1.15, 1.0, "outer leaf"),
        Body(0, 0.05, -0.1, 0, 1.0, 1.15, 1.0, "outer leaf"),
        Body(0, 0.05, 0, end, 1.0, 1.15, 0.04, "insulation"),
        Body(0.05, end, -0.7, end, 1.0, 1.15, 2.5, "slab"),
        Body(0.2, end, 0.2, end, 1.15, 1.2, 1.0, "floor finish"),
    ]
    spaces = [
        Space(-FAR, -0.1, -FAR, end, 0, 2.15, "outside", 0.05),
        Space(-0.1, end, -FAR, -0.1, 0, 2.15, "outside", 0.05),
        Space(0.2, end, 0.2, end, 0, 1.0, "below", 0.2),
        Space(0.2, end, 0.2, end, 1.2, 2.15, "above", 0.2),
    ]
    return solve_field(bodies, spaces, cells=100_000)


def test_case_3_heat_flows(corner: Field):
    flows = corner.flows({"outside": 0.0, "below": 20.0, "above": 15.0})
    for name, watts in (("below", 46.09), ("above", 13.89), ("outside", -59.98)):
        assert_allclose(flows[name], watts, rtol=0.01, atol=0)  # ISO 10211 case 3


def test_case_3_lowest_surface_temperatures(corner: Field):
    theta = {"outside": 0.0, "below": 20.0, "above": 15.0}
    below, above = corner.coldest("below", theta), corner.coldest("above", theta)
    assert_allclose([below.temperature, above.temperature], [11.32, 11.11], rtol=0, atol=0.1)
    # temperature weighting factors: a general field solver's published comparison
    assert_allclose(
        [below.factors[n] for n in ("outside", "below", "above")],
        [0.378, 0.399, 0.223],
        rtol=0,
        atol=5e-3,
    )
    assert_allclose(
        [above.factors[n] for n in ("outside", "below", "above")],
        [0.331, 0.214, 0.455],
        rtol=0,
        atol=5e-3,
    )


def test_case_3_coupling(corner: Field):
    # from memory; 1.781 * 20 + 2.094 * 5 = 46.09 and 1.624 * 15 - 2.094 * 5 = 13.89 agree
    i, j, k = (corner.environments.index(n) for n in ("outside", "below", "above"))
    got = [corner.coupling[i, j], corner.coupling[i, k], corner.coupling[j, k]]
    assert_allclose(got, [1.781, 1.624, 2.094], rtol=0.01, atol=0)
    assert_allclose(corner.coupling, corner.coupling.T, rtol=1e-5, atol=0)  # reciprocity
    assert corner.closure <= 1e-8
