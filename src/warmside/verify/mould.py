"""Mould, rot and wood against the tables of their models."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from warmside.physics.moisture import (
    MOULD,
    critical_humidity,
    critical_time,
    first_growth_weeks,
    greatest_index,
    mould_index,
    visible_growth_weeks,
    wood_equilibrium,
)
from warmside.verify.case import Case, Check, table

_YEAR = 8760
_CLASSES = {
    "VS": "very sensitive", "S": "sensitive", "MR": "medium resistant", "R": "resistant",
}  # fmt: skip

# degC, %, class, greatest index, index after 30, 90, 365 days
MOULD_TABLE = (
    (20, 85, "VS", 2.62, 0.459, 1.700, 2.616), (20, 90, "VS", 3.99, 1.038, 3.964, 3.995),
    (20, 95, "VS", 5.12, 3.318, 5.123, 5.123), (20, 97, "VS", 5.50, 4.701, 5.504, 5.504),
    (20, 90, "S", 3.04, 0.588, 1.502, 3.041), (20, 95, "S", 4.24, 1.167, 2.820, 4.235),
    (20, 95, "MR", 2.67, 0.155, 0.465, 2.074), (20, 95, "R", 1.56, 0.069, 0.206, 0.797),
    (10, 90, "VS", 3.71, 0.636, 2.766, 3.711), (10, 90, "S", 2.76, 0.367, 1.064, 2.659),
    (10, 95, "S", 4.11, 0.780, 1.893, 4.108), (5, 90, "VS", 2.10, 0.392, 1.284, 2.104),
    (5, 95, "VS", 4.40, 0.842, 3.893, 4.400), (5, 95, "S", 3.46, 0.487, 1.305, 3.397),
)  # fmt: skip
_WEEKS = (  # degC, %, weeks to first and to visible growth, pine
    (20, 85, 9.30, 16.0), (20, 90, 4.20, 7.73), (20, 95, 1.98, 3.89), (20, 97, 1.48, 2.98),
    (20, 100, 0.97, 2.02), (10, 90, 6.73, 12.92), (10, 95, 3.18, 6.49), (10, 100, 1.56, 3.38),
    (5, 90, 10.79, 21.57), (5, 95, 5.09, 10.84), (5, 97, 3.81, 8.32), (5, 100, 2.49, 5.65),
)  # fmt: skip
_ROT = (  # %, degC, days
    (95, 10, 84.6), (95, 20, 42.2), (95, 30, 29.1), (97, 5, 67.3), (97, 10, 43.5), (97, 20, 24.0),
    (99, 10, 26.6), (99, 20, 13.1), (100, 5, 32.1), (100, 10, 21.4), (100, 20, 9.2),
)  # fmt: skip
_HANDBOOK = {  # degC: {% humidity: % moisture}
    21.1: {10: 2.5, 20: 4.5, 30: 6.2, 40: 7.7, 50: 9.2, 60: 11.0, 70: 13.1, 80: 16.0, 85: 17.9,
           90: 20.5, 95: 23.9},
    -1.1: {50: 9.5, 80: 16.5, 90: 21.0, 95: 24.3},
}  # fmt: skip


def _index() -> Iterator[Check]:
    for t, h, kind, most, *after in MOULD_TABLE:
        name = _CLASSES[str(kind)]
        where = f"{t} °C, {h} %, {name}"
        parameters = MOULD[name]  # type: ignore[index]
        greatest = greatest_index(float(t), float(h), parameters)
        yield Check(f"{where}, most", float(most), greatest, 0.006)
        series = np.full(_YEAR, float(t)), np.full(_YEAR, h / 100)
        index = mould_index(*series, name)  # type: ignore[arg-type]
        for days, expected in zip((30, 90, 365), after, strict=True):
            yield Check(f"{where}, {days} d", float(expected), float(index[days * 24 - 1]), 0.006)


def _critical() -> Iterator[Check]:
    for t, expected in ((1, 97.03), (5, 88.02), (10, 82.03), (15, 80.04)):
        yield Check(f"{t} °C", expected, float(critical_humidity(float(t), 80.0)), 0.006)


def _weeks() -> Iterator[Check]:
    for t, h, first, visible in _WEEKS:
        where = f"{t} °C, {h} %"
        yield Check(f"{where}, first", first, float(first_growth_weeks(t, h)), 0.0, 5e-3)
        yield Check(f"{where}, visible", visible, float(visible_growth_weeks(t, h)), 0.0, 5e-3)


def _rot() -> Iterator[Check]:
    for h, t, days in _ROT:
        yield Check(f"{t} °C, {h} %", days, float(critical_time(t, h)) / 24.0, 0.06)


def _wood() -> Iterator[Check]:
    for t, row in _HANDBOOK.items():
        for h, expected in row.items():
            found = 100.0 * float(wood_equilibrium(t, h / 100))
            yield Check(f"{t} °C, {h} %", expected, found, 0.11)


def _simpson() -> Iterator[Check]:
    h = np.array([10, 20, 30, 40, 50, 60, 70, 80, 85, 90, 95, 97])
    for t, row in (
        (-1.1, [2.60, 4.61, 6.31, 7.89, 9.51, 11.33, 13.55, 16.53, 18.52, 21.02, 24.33, 25.98]),
        (4.4, [2.59, 4.62, 6.33, 7.91, 9.52, 11.32, 13.52, 16.49, 18.48, 21.00, 24.35, 26.02]),
        (10.0, [2.57, 4.60, 6.31, 7.87, 9.47, 11.24, 13.43, 16.38, 18.36, 20.89, 24.27, 25.97]),
        (21.1, [2.48, 4.49, 6.17, 7.70, 9.24, 10.97, 13.09, 15.99, 17.95, 20.48, 23.89, 25.62]),
        (32.2, [2.35, 4.30, 5.93, 7.41, 8.89, 10.55, 12.60, 15.42, 17.35, 19.85, 23.27, 25.02]),
    ):
        found = 100 * wood_equilibrium(t, h / 100)
        yield from table([f"{t} °C, {x} %" for x in h], row, found, 0.02)


_MODEL = "improved mould model, class table of Laukkarinen's script; indices by its equations"
CASES = (
    Case("mould-index", "moisture", "Mould index at constant exposure, four classes", _MODEL,
         "other method", "-", _index),
    Case("mould-critical-humidity", "moisture", "Humidity from which mould grows",
         "Hukka and Viitanen 1999", "other method", "%", _critical),
    Case("mould-weeks", "moisture", "Weeks to first and to visible growth on pine",
         "Hukka and Viitanen 1999 (visible growth from memory)", "from memory", "weeks", _weeks),
    Case("rot-start", "moisture", "Days until rot starts", "Viitanen's decay model, by its formula",
         "from memory", "days", _rot),
    Case("wood-handbook", "moisture", "Equilibrium moisture content of wood",
         "Wood Handbook, table 4-2", "from memory", "%", _wood),
    Case("wood-simpson", "moisture", "The same by its published regression",
         "Simpson 1998, computed", "other method", "%", _simpson),
)  # fmt: skip
