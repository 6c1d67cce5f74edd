"""Humid air against reference libraries and printed tables."""

from __future__ import annotations

import numpy as np
import psychrolib
import pytest
from CoolProp.HumidAirProp import HAPropsSI
from hypothesis import given
from hypothesis import strategies as st

from warmside.errors import InputError
from warmside.physics import humid_air

psychrolib.SetUnitSystem(psychrolib.SI)


@pytest.mark.parametrize(
    ("humidity", "expected"),
    [(0.30, 2.78), (0.35, 4.97), (0.40, 6.90), (0.50, 10.19)],  # at 21 degC, psychrolib
)
def test_dew_point_of_room_air(humidity, expected):
    assert humid_air.dew_point(21.0, humidity) == pytest.approx(expected, abs=0.02)


@pytest.mark.parametrize("temperature", [-5.0, 5.0, 21.0, 35.0])
@pytest.mark.parametrize("humidity", [0.2, 0.5, 0.9])
def test_dew_point_and_humidity_ratio_agree_with_two_libraries(temperature, humidity):
    ours = humid_air.dew_point(temperature, humidity)
    assert ours == pytest.approx(psychrolib.GetTDewPointFromRelHum(temperature, humidity), abs=0.06)
    state = ("T", temperature + 273.15, "R", humidity, "P", 101_325.0)
    assert ours + 273.15 == pytest.approx(HAPropsSI("D", *state), abs=0.06)
    ratio = humid_air.humidity_ratio(humid_air.vapour_pressure(temperature, humidity))
    # CoolProp's air is a real gas (enhancement factor 1.004); psychrolib's is not
    assert ratio == pytest.approx(
        psychrolib.GetHumRatioFromRelHum(temperature, humidity, 101_325.0), rel=5e-3
    )
    assert ratio == pytest.approx(HAPropsSI("W", *state), rel=1e-2)


def test_kelvin_equation():
    # by hand: 1e8 / (1000 * 461.5 * 293.15) = 0.739161; exp(-0.739161) = 0.477514
    assert humid_air.pore_humidity(1e8, 20.0) == pytest.approx(0.477514, rel=1e-5)
    assert humid_air.pore_suction(0.477514, 20.0) == pytest.approx(1e8, rel=1e-5)


@given(st.floats(-90, 99))
def test_saturation_and_its_inverse(t):
    assert humid_air.saturation_temperature(humid_air.saturation_pressure(t)) == pytest.approx(
        t, abs=1e-9
    )


def test_a_float_gives_a_float_and_an_array_an_array():
    assert isinstance(humid_air.saturation_pressure(20.0), float)
    assert humid_air.vapour_pressure(np.full((2, 3), 20.0), np.full((2, 3), 0.5)).shape == (2, 3)


@pytest.mark.parametrize(
    ("call", "match"),
    [
        (lambda: humid_air.saturation_pressure(float("nan")), "temperature: read nan"),
        (lambda: humid_air.saturation_pressure(np.array([0.0, 1e9])), "temperature: read 1e"),
        (lambda: humid_air.saturation_pressure("warm"), "temperature: read 'warm'"),
        (lambda: humid_air.dew_point(20.0, 0.0), "vapour pressure: read 0"),
        (lambda: humid_air.vapour_pressure(20.0, 40.0), "relative humidity: read 40"),
        (lambda: humid_air.vapour_pressure(20.0, 1.05), "relative humidity: read 1.05"),
        (lambda: humid_air.pore_suction(0.0, 20.0), "relative humidity: read 0"),
    ],
)
def test_bad_input_is_refused_with_its_place(call, match):
    with pytest.raises(InputError, match=match):
        call()
