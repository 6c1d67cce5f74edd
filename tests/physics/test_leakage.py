"""Leakage of walls and houses: shares, ages, and water carried by leaking air."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from warmside.errors import InputError
from warmside.physics.airflow import (
    Band,
    Leak,
    PowerLaw,
    carried_water,
    leakage_from_test,
    removed_by,
    surface_leakage,
    wall_band,
)


def leak(area: float) -> Leak:
    """A joint of which sealing leaves between a twentieth and a half, best a fifth."""
    return Leak(Band(0.5 * area, area, 2.0 * area), Band(0.05 * area, 0.2 * area, 0.5 * area))


@given(st.lists(st.floats(1e-5, 1e-2), min_size=2, max_size=9), st.floats(0.1, 1.0))
def test_walls_hold_their_share_of_the_house(areas, covered):
    """Published: ASHRAE Fundamentals 2021 ch. 16, walls hold 35 % of a house's leakage, 18-50 %."""
    house = leakage_from_test(PowerLaw(0.05, 0.65))
    whole = sum(areas)
    walls = [wall_band([leak(area)], whole, house, covered) for area in areas]
    opened = sum(opened.best for opened, _ in walls)
    assert opened == pytest.approx(0.35 * covered * house.area.best, rel=1e-9)
    for opened, sealed in walls:
        assert sealed.best == pytest.approx(0.2 * opened.best, rel=1e-9)


def test_share_removed_by_hand():
    """Exact: one of two equal walls sealed takes 0.18 x 0.25, 0.35 x 0.4, 0.5 x 0.475."""
    removed = removed_by([leak(1e-3)], 2e-3)
    assert removed.low == pytest.approx(0.18 * 0.5 * 0.5, rel=1e-12)
    assert removed.best == pytest.approx(0.35 * 0.5 * 0.8, rel=1e-12)
    assert removed.high == pytest.approx(0.50 * 0.5 * 0.95, rel=1e-12)
    assert removed_by([], 0.0) == Band(0.0, 0.0, 0.0)


def test_old_house_without_a_fan_test():
    """Published: ASHRAE Fundamentals 2021 ch. 17 table 3, very leaky 10.4, leaky 5.6 cm2/m2."""
    assert surface_leakage(1931, 100.0).best == pytest.approx(0.104, rel=1e-12)
    assert surface_leakage(1964, 100.0).best == pytest.approx(0.056, rel=1e-12)


@pytest.mark.parametrize(
    ("humidity", "outdoor", "per_day"),
    [(0.30, -10, 0.310), (0.40, -20, 0.568), (0.50, -5, 0.538)],
)
def test_water_left_by_one_litre_a_second(humidity, outdoor, per_day):
    """Computed in the reference notes with Hyland-Wexler saturation: kg/day per L/s, room 21 degC.

    Reference library here: psychrolib; flow at indoor state.
    """
    import psychrolib

    psychrolib.SetUnitSystem(psychrolib.SI)
    inside = psychrolib.GetHumRatioFromRelHum(21.0, humidity, 101325.0)
    face = psychrolib.GetHumRatioFromRelHum(float(outdoor), 1.0, 101325.0)
    water = carried_water(1e-3, inside, face, density=1.19)
    assert water * 86400 == pytest.approx(per_day, rel=0.02)


def test_dry_air_leaves_nothing():
    assert carried_water(1e-3, 0.002, 0.004) == pytest.approx(0.0, abs=0)


def test_bands_stay_in_order():
    with pytest.raises(InputError, match="0 <= low <= best <= high"):
        Band(2.0, 1.0, 3.0)
    with pytest.raises(InputError, match="0 to 1 of the house's walls"):
        removed_by([], 1.0, 1.2)
