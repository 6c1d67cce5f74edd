"""The 3-D field: the calculation cases of ISO 10211:2017, annex C, through the public function.

Geometry, conductivities and reference values of cases 2 and 3 as given in a general finite-element
library's public test data. Temperature within 0.1 K and heat flow within 0.1 W/m or 1 %.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache

import numpy as np
from numpy.typing import NDArray

from warmside.physics.conduction import Body, Field, Space, solve_field
from warmside.verify.case import Case, Check, table

_FAR = 9.0
_MM = 1e-3
_THETA = {"outside": 0.0, "below": 20.0, "above": 15.0}
_TABLE_1 = (
    (9.7, 13.4, 14.7, 15.1), (5.3, 8.6, 10.3, 10.8), (3.2, 5.6, 7.0, 7.5), (2.0, 3.6, 4.7, 5.0),
    (1.3, 2.3, 3.0, 3.2), (0.7, 1.4, 1.8, 1.9), (0.3, 0.6, 0.8, 0.9),
)  # fmt: skip
_COLUMNS = (0.25, 0.5, 0.75, 1.0)
_ROWS = tuple(2.0 - 0.25 * n for n in range(1, 8))
_POINTS_2 = {  # x, z [mm], temperature
    "A": (0, 47.5, 7.1), "B": (500, 47.5, 0.8), "C": (0, 41.5, 7.9), "D": (15, 41.5, 6.3),
    "E": (500, 41.5, 0.8), "F": (0, 36.5, 16.4), "G": (15, 36.5, 16.3), "H": (0, 0, 16.8),
    "I": (500, 0, 18.3),
}  # fmt: skip


@cache
def column() -> NDArray[np.float64]:
    """Case 1, half of a square column 1 m wide and 2 m high; hot top, cold sides [degC]."""
    spaces = [
        Space(-_FAR, 0, 0, 1, 0, 2, "cold", 0.0),
        Space(0, 1, 0, 1, -_FAR, 0, "cold", 0.0),
        Space(0, 1, 0, 1, 2, _FAR, "hot", 0.0),
    ]
    lines = ((0.25, 0.5, 0.75), (), tuple(0.25 * n for n in range(1, 8)))
    field = solve_field([Body(0, 1, 0, 1, 0, 2, 1.0)], spaces, cells=16_000, lines=lines)
    theta = {"hot": 20.0, "cold": 0.0}
    return np.array([[field.temperature_at(x, 0.5, z, theta) for x in _COLUMNS] for z in _ROWS])


def _names() -> list[str]:
    return [f"x {x:g}, z {z:g} m" for z in _ROWS for x in _COLUMNS]


def _case_1() -> list[Check]:
    return table(_names(), np.ravel(_TABLE_1), column().ravel(), 0.1)


def _series() -> list[Check]:
    # sum over odd n of 80/(n pi) sin(n pi x/2) sinh(n pi z/2)/sinh(n pi)
    n = np.arange(1, 200, 2)[:, None, None]
    x, z = np.array(_COLUMNS), np.array(_ROWS)[:, None]
    up = np.exp(n * np.pi * (z - 2) / 2) * (1 - np.exp(-n * np.pi * z))
    terms = 80 / (n * np.pi) * np.sin(n * np.pi * x / 2) * up / (1 - np.exp(-2 * n * np.pi))
    return table(_names(), terms.sum(axis=0).ravel(), column().ravel(), 1e-3)


def roof() -> Field:
    """Case 2, a roof with aluminium in it."""
    bodies = [
        Body(0, 500 * _MM, 0, 1, 41.5 * _MM, 47.5 * _MM, 1.15, "concrete"),
        Body(0, 15 * _MM, 0, 1, 36.5 * _MM, 41.5 * _MM, 0.12, "wood"),
        Body(15 * _MM, 500 * _MM, 0, 1, 36.5 * _MM, 41.5 * _MM, 0.029, "insulation"),
        Body(15 * _MM, 500 * _MM, 0, 1, 1.5 * _MM, 36.5 * _MM, 0.029, "insulation"),
        Body(1.5 * _MM, 15 * _MM, 0, 1, 1.5 * _MM, 35 * _MM, 0.029, "insulation"),
        Body(0, 500 * _MM, 0, 1, 0, 1.5 * _MM, 230.0, "aluminium"),
        Body(0, 1.5 * _MM, 0, 1, 1.5 * _MM, 36.5 * _MM, 230.0, "aluminium"),
        Body(1.5 * _MM, 15 * _MM, 0, 1, 35 * _MM, 36.5 * _MM, 230.0, "aluminium"),
    ]
    spaces = [
        Space(0, _FAR, 0, 1, 47.5 * _MM, _FAR, "outside", 0.06),
        Space(0, _FAR, 0, 1, -_FAR, 0, "inside", 0.11),
    ]
    return solve_field(bodies, spaces, cells=20_000)


def _case_2() -> Iterator[Check]:
    field, theta = roof(), {"outside": 0.0, "inside": 20.0}
    for name, (x, z, printed) in _POINTS_2.items():
        found = field.temperature_at(x * _MM, 0.5, z * _MM, theta)
        yield Check(f"{name} [°C]", printed, found, 0.1)
    yield Check("heat flow [W/m]", 9.5, field.flows(theta)["inside"], 0.1)


@cache
def corner() -> Field:
    """Case 3, a wall corner with a slab that passes out through one wall as a balcony."""
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
        Space(-_FAR, -0.1, -_FAR, end, 0, 2.15, "outside", 0.05),
        Space(-0.1, end, -_FAR, -0.1, 0, 2.15, "outside", 0.05),
        Space(0.2, end, 0.2, end, 0, 1.0, "below", 0.2),
        Space(0.2, end, 0.2, end, 1.2, 2.15, "above", 0.2),
    ]
    return solve_field(bodies, spaces, cells=100_000)


def _flows() -> list[Check]:
    printed = {"below": 46.09, "above": 13.89, "outside": -59.98}
    found = corner().flows(_THETA)
    return table(list(printed), printed.values(), (found[n] for n in printed), 0.0, 0.01)


def _surfaces() -> Iterator[Check]:
    for room, printed in (("below", 11.32), ("above", 11.11)):
        found = corner().coldest(room, _THETA).temperature
        yield Check(f"lowest, room {room}", printed, found, 0.1)


def _factors() -> Iterator[Check]:
    for room, printed in (("below", (0.378, 0.399, 0.223)), ("above", (0.331, 0.214, 0.455))):
        factors = corner().coldest(room, _THETA).factors
        for name, value in zip(("outside", "below", "above"), printed, strict=True):
            yield Check(f"{name}, at the lowest of room {room}", value, factors[name], 5e-3)


def _coupling() -> Iterator[Check]:
    # 1.781 x 20 + 2.094 x 5 = 46.09 and 1.624 x 15 - 2.094 x 5 = 13.89 agree with the flows
    field = corner()
    place = {name: field.environments.index(name) for name in ("outside", "below", "above")}
    for a, b, printed in (
        ("outside", "below", 1.781), ("outside", "above", 1.624), ("below", "above", 2.094),
    ):  # fmt: skip
        yield Check(f"{a} to {b}", printed, float(field.coupling[place[a], place[b]]), 0.0, 0.01)


_THREE = "ISO 10211:2017 annex C, case 3"
CASES = (
    Case("iso-10211-1", "field", "Column with one hot face: 28 temperatures",
         "ISO 10211:2017 annex C, case 1", "from memory", "°C", _case_1),
    Case("iso-10211-1-series", "field", "The same column against its Fourier series",
         "sum of 80/(n pi) sin sinh / sinh", "exact", "°C", _series),
    Case("iso-10211-2", "field", "Roof with aluminium: nine temperatures and the heat flow",
         "ISO 10211:2017 annex C, case 2", "second-hand", "°C, W/m", _case_2),
    Case("iso-10211-3-flows", "field", "Corner with a balcony: heat flows", _THREE, "second-hand",
         "W", _flows),
    Case("iso-10211-3-surfaces", "field", "Corner with a balcony: coldest surfaces", _THREE,
         "second-hand", "°C", _surfaces),
    Case("iso-10211-3-factors", "field", "Corner with a balcony: weighting factors",
         "a general field solver's published comparison of that case", "second-hand", "-",
         _factors),
    Case("iso-10211-3-coupling", "field", "Corner with a balcony: coupling coefficients", _THREE,
         "from memory", "W/K", _coupling),
)  # fmt: skip
