"""Season's heat against degree-days, published examples and exact integrals."""

from __future__ import annotations

from datetime import datetime

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from warmside.catalog import Fuel, Source
from warmside.errors import InputError
from warmside.physics.climate import HourlyClimate
from warmside.physics.energy import (
    Thermostat,
    degree_seconds,
    design_loss,
    fuel_amount,
    season,
    seat,
)

GAS = Fuel(
    "gas", "natural gas", "m3", 37.93e6, 1.966, 1.9, 2.0, 2022,
    Source("SOR/2018-261 Sch. 2", "published"),
)  # fmt: skip


def weather(temperature: np.ndarray) -> HourlyClimate:
    n = temperature.size
    zero, calm = np.zeros(n), np.full(n, 3.0)
    return HourlyClimate(
        datetime(2021, 1, 1), temperature, np.full(n, 0.7), calm, zero, zero, zero, zero,
        np.full(n, 101325.0), temperature - 10.0, zero, 46.0, -79.0, -5.0,
    )  # fmt: skip


COLD_YEAR = weather(4.0 - 15.0 * np.cos(np.arange(8760) / 8760 * 2 * np.pi))


def test_constant_cold_is_arithmetic():
    """Exact: 100 W/K and 0.05 m3/s at 20 K for 24 h."""
    result = season(weather(np.full(24, 1.0)), 100.0, 0.05)
    assert result.heating == pytest.approx((100 + 1206 * 0.05) * 20 * 86400, rel=1e-12)
    assert result.peak_heating == pytest.approx(3206.0, rel=1e-12)
    assert result.heating_hours == 24


def test_balance_point_shifts_the_degree_days():
    """Other method: gains of g W lower the base by g / H; exact for hourly values."""
    result = season(COLD_YEAR, 200.0, gains=600.0, thermostat=Thermostat(heating=21.0))
    assert result.balance_point == pytest.approx(18.0, rel=1e-12)
    assert result.heating == pytest.approx(200.0 * degree_seconds(COLD_YEAR, 18.0), rel=1e-12)


def test_a_part_of_a_house_balances_as_the_whole_does():
    """Exact: conductance and gains of a thousandth have the same quotient."""
    part = season(COLD_YEAR, 0.2, gains=0.6, thermostat=Thermostat(heating=21.0))
    assert part.balance_point == pytest.approx(18.0, rel=1e-12)


def test_night_setback_saves_the_share_of_the_night():
    """Exact: seven hours 4 K lower at constant 0 degC."""
    day = weather(np.zeros(24))
    full = season(day, 100.0, thermostat=Thermostat(20.0)).heating
    night = season(day, 100.0, thermostat=Thermostat(20.0, night=16.0)).heating
    assert full - night == pytest.approx(100.0 * 4.0 * 7 * 3600, rel=1e-12)


def test_cooling_counts_only_above_its_set_point():
    """Exact: 30 degC outside, cooled to 25 degC with 100 W gains."""
    result = season(weather(np.full(10, 30.0)), 50.0, gains=100.0,
                    thermostat=Thermostat(21.0, cooling=25.0))  # fmt: skip
    assert result.heating == pytest.approx(0.0, abs=1e-9)
    assert result.cooling == pytest.approx((50 * 5 + 100) * 36000, rel=1e-12)


@given(st.floats(1, 500), st.floats(0, 0.2), st.floats(0, 3000))
def test_saving_never_exceeds_the_present_use(conductance, flow, gains):
    now = season(COLD_YEAR, conductance, flow, gains)
    after = season(COLD_YEAR, conductance * 0.6, flow * 0.7, gains)
    assert 0.0 <= after.heating <= now.heating


def test_design_loss_is_arithmetic():
    """Exact; 1.206 kJ/(m3 K)."""
    assert design_loss(100.0, 0.1, 21.0, -29.0) == pytest.approx(50 * (100 + 120.6), rel=1e-12)


def test_warm_wall_makes_no_draught():
    assert seat(21.0, 21.0, 4.0, 2.4).draught_speed == pytest.approx(0.0, abs=1e-12)
    cold = seat(21.0, 12.0, 4.0, 2.4)
    assert cold.draught_speed == pytest.approx(0.095 * (9 * 2.4) ** 0.5 / 2.32, rel=1e-12)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: season(COLD_YEAR, -1.0), "conductance"),
        (lambda: season(COLD_YEAR, 1.0, float("nan")), "air flow"),
        (lambda: season(COLD_YEAR, 1.0, np.zeros(7)), "shape"),
        (lambda: fuel_amount(1.0, 36.4e6, 0.0), "efficiency"),
        (lambda: fuel_amount(1.0, 0.0, 0.9), "heat content"),
        (lambda: seat(21.0, 10.0, 0.0, 2.4), "sizes above zero"),
    ],
)
def test_bad_input_is_named(call, message):
    with pytest.raises(InputError, match=message):
        call()
