"""Hourly pressures and infiltration, ventilation, humidity, and water carried by leaks."""

from __future__ import annotations

from datetime import datetime

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from warmside.catalog import load
from warmside.errors import InputError, UnknownRowError
from warmside.physics import humid_air
from warmside.physics.airflow import (
    Band,
    HouseLeakage,
    PowerLaw,
    Site,
    air_density,
    face_coefficient,
    fan_test,
    hourly_infiltration,
    house_pressures,
    indoor_humidity,
    infiltration_credit,
    leak_water,
    leakage_by_age,
    leakage_from_age,
    leakage_from_test,
    moisture_release,
    outside_surface,
    room_ventilation,
    single_point,
    ventilation_need,
)
from warmside.physics.climate import HourlyClimate

LAW = PowerLaw(0.1, 0.65)
SITE = Site(5.0, 2.0)


def weather(temperature: np.ndarray, wind: float = 0.0, direction: float = 0.0) -> HourlyClimate:
    n = temperature.size
    zero = np.zeros(n)
    return HourlyClimate(
        datetime(2021, 1, 1), temperature, np.full(n, 0.7), np.full(n, wind),
        np.full(n, direction), zero, zero, zero, np.full(n, 101325.0), temperature - 10.0, zero,
        46.0, -79.0, -5.0,
    )  # fmt: skip


COLD = weather(np.array([-20.0, -10.0, 0.0, 10.0, 21.0]))


def test_density_takes_arrays_and_floats_alike():
    """Computed in the reference notes: dry air 1.2041 kg/m3 at 20 degC."""
    many = air_density(np.array([20.0, -20.0]))
    np.testing.assert_allclose(many[0], 1.2041, rtol=1e-4)
    assert many[1] == pytest.approx(air_density(-20.0), rel=1e-15)
    assert isinstance(air_density(20.0), float)


def test_evenly_leaky_house_is_neutral_at_half_height():
    """Exact by symmetry: as much leakage in the floor as in the ceiling, walls even, no wind."""
    planes = house_pressures(LAW, COLD, 21.0, SITE).neutral_plane()
    np.testing.assert_allclose(planes[:4], 2.5, rtol=1e-6)


def test_flue_lifts_the_neutral_plane():
    """Published: houses with chimneys lie above mid-height (ASHRAE Fundamentals 2021 ch. 16)."""
    with_flue = Site(5.0, 2.0, flue=0.14, flue_height=7.0)
    planes = house_pressures(LAW, COLD, 21.0, with_flue).neutral_plane()
    assert 2.6 < planes[0] < 5.0


def test_pressure_of_one_hour_against_a_root_finder():
    """Reference library: scipy.optimize.brentq on the balance written out anew."""
    hour = weather(np.array([-12.0]), wind=5.0, direction=30.0)
    found = house_pressures(LAW, hour, 21.0, SITE, exhaust=0.02)
    rho = 101325.0 / (287.055 * 261.15)
    gradient = (rho - 101325.0 / (287.055 * 294.15)) * 9.80665
    eaves = 5.0 * (270 / 10) ** 0.14 * (5.0 / 370) ** 0.22 * 0.7
    push = rho * eaves**2 / 2
    mean = np.mean([face_coefficient(a) for a in range(360)])

    def balance(base: float) -> float:
        leaks = [(1 / 6, -mean * push), (1 / 6, gradient * 5.0 - mean * push)]
        for face in (0, 90, 180, 270):
            cp = float(face_coefficient(30 - face))
            leaks += [(2 / 3 / 16, gradient * h - cp * push) for h in (0.625, 1.875, 3.125, 4.375)]
        return 0.1 * sum(w * np.sign(base + d) * abs(base + d) ** 0.65 for w, d in leaks) + 0.02

    assert found.base[0] == pytest.approx(brentq(balance, -50.0, 50.0, xtol=1e-12), rel=1e-8)


def test_exhaust_alone_gives_the_closed_form():
    """Exact: no wind, no warmth: dP = (Q / c)^(1 / n) everywhere, inwards."""
    still = weather(np.array([21.0]))
    found = house_pressures(LAW, still, 21.0, SITE, exhaust=0.05)
    assert found.at(3.0, 90.0)[0] == pytest.approx(-((0.05 / 0.1) ** (1 / 0.65)), rel=1e-6)


@pytest.mark.parametrize(("angle", "published"), [(0, 0.6), (180, -0.3), (90, -0.65), (270, -0.65)])
def test_face_coefficient_at_the_four_sides(angle, published):
    """Published: ASHRAE Fundamentals 2021 ch. 16: 0.6 windward, -0.3 leeward, -0.65 sides."""
    assert float(face_coefficient(angle)) == pytest.approx(published, abs=1e-6)


def test_upper_leaks_lose_air_and_lower_gain_it_in_winter():
    pressures = house_pressures(LAW, COLD, 21.0, SITE)
    gradient = np.array([1.90, 1.38, 0.90])  # published form 3456 (1/To - 1/Ti) [Pa/m]
    np.testing.assert_allclose(pressures.at(4.5)[:3], 2.0 * gradient, rtol=0.03)
    np.testing.assert_allclose(pressures.at(0.5)[:3], -2.0 * gradient, rtol=0.03)


@given(st.floats(-40, 40), st.floats(0, 25), st.floats(0, 360), st.floats(0.5, 0.9))
def test_flows_balance_in_any_weather(outdoor, wind, direction, n):
    hour = weather(np.array([outdoor]), wind, direction)
    assert house_pressures(PowerLaw(0.08, n), hour, 21.0, SITE).imbalance < 1e-6


def test_no_wind_and_no_warmth_gives_no_air():
    still = weather(np.full(3, 21.0))
    np.testing.assert_allclose(hourly_infiltration(LAW, still, 21.0, SITE), 0.0, atol=1e-15)
    assert house_pressures(LAW, still, 21.0, SITE).at(4.0) == pytest.approx(0.0, abs=1e-6)


def test_network_of_leaks_agrees_with_the_enhanced_model():
    """Other method: the air that enters through all leaks of the pressure balance, stack only.

    The enhanced model claims 10 % (ASHRAE Fundamentals 2021 ch. 16); leaks here stand in four
    heights.
    """
    pressures = house_pressures(LAW, COLD, 21.0, SITE)
    shares = SITE.shares
    leaks = [(shares.floor, 0.0), (shares.ceiling, 5.0)]
    leaks += [(shares.walls / 4, h) for h in (0.625, 1.875, 3.125, 4.375)]
    entering = sum(w * 0.1 * np.maximum(-pressures.at(h), 0.0) ** 0.65 for w, h in leaks)
    model = hourly_infiltration(LAW, COLD, 21.0, SITE)
    np.testing.assert_allclose(entering[:4], model[:4], rtol=0.10)


def test_terrain_and_shelter_slow_the_wind():
    windy = weather(np.full(1, 21.0), wind=6.0)
    flows = [
        float(hourly_infiltration(LAW, windy, 21.0, Site(5.0, 2.0, 3, terrain))[0])
        for terrain in ("open", "suburb or woods", "city centre")
    ]
    assert flows == sorted(flows, reverse=True)
    # exact: wind flow goes with (s U)^(2n)
    bare, sheltered = (
        float(hourly_infiltration(LAW, windy, 21.0, Site(5.0, 2.0, k))[0]) for k in (1, 5)
    )
    assert sheltered / bare == pytest.approx(0.3**1.3, rel=1e-9)


def test_water_of_a_square_inch_through_a_winter():
    """Computed in the reference notes: 1 in2, Cd 0.6, 4 Pa is 1.00 L/s; 150 days at 21 degC, 40 %
    against a face at -5 degC leave 57 kg (upper bound).
    """
    hours = 150 * 24
    found = leak_water(
        6.4516e-4 * 0.6, np.full(hours, 4.0), np.full(hours, -5.0),
        float(humid_air.vapour_pressure(21.0, 0.40)),
    )  # fmt: skip
    assert found.air / (hours * 3600) == pytest.approx(1.00e-3, rel=0.01)
    assert found.water == pytest.approx(57.0, rel=0.03)
    assert found.hours == hours


def test_leak_that_only_draws_in_leaves_no_water():
    found = leak_water(1e-3, np.full(5, -3.0), np.full(5, -20.0), 900.0)
    assert (found.air, found.water, found.hours) == (0.0, 0.0, 0)


@pytest.mark.parametrize(("area", "rooms", "litres"), [(100.0, 3, 29.0), (151.4, 3, 36.71)])
def test_ventilation_need(area, rooms, litres):
    """Published: ASHRAE 62.2 in ASHRAE Fundamentals 2021 ch. 16 table 3: 0.15 A + 3.5 (N + 1)."""
    assert ventilation_need(area, rooms) * 1000 == pytest.approx(litres, rel=1e-9)


def test_ventilation_need_is_the_trade_rule_in_feet():
    """From memory: 0.03 A + 7.5 (N + 1) cfm; the two forms agree within 2 %."""
    cfm = 0.03 * 1630 + 7.5 * 4
    need = ventilation_need(1630 * 0.3048**2, 3) / 4.719474e-4
    assert need == pytest.approx(cfm, rel=0.02)


@pytest.mark.parametrize(
    ("storeys", "s"), [(1, 1.00), (1.5, 1.18), (2, 1.32), (2.5, 1.44), (3, 1.55), (4, 1.55)]
)
def test_infiltration_credit(storeys, s):
    """Second-hand: 0.052 wsf S Q50, Standard Work Specifications (archived 2016)."""
    assert infiltration_credit(1.0, storeys, 0.6) == pytest.approx(0.052 * 0.6 * s, rel=1e-12)


def test_rooms():
    """Second-hand: CSA F326-M91, 5 L/s a room, 10 the main bedroom, 10 the basement."""
    assert room_ventilation(3, 4, True) == pytest.approx(0.050, rel=1e-12)
    assert room_ventilation(0, 2, False) == pytest.approx(0.010, rel=1e-12)


@pytest.mark.parametrize(
    ("litres", "percent"), [(15, 47), (30, 26), (60, 16), (120, 11)]
)  # fmt: skip
def test_humidity_of_a_room_by_its_air(litres, percent):
    """Computed in the reference notes: -15 degC 80 % (132 Pa), 21 degC, 10 kg a day."""
    humidity = indoor_humidity(10.0 / 86400, 132.0, litres / 1000, 21.0)
    assert humidity * 100 == pytest.approx(percent, abs=0.6)


@given(st.floats(0.005, 0.3), st.floats(200, 1200), st.floats(0, 190))
def test_release_and_humidity_are_inverse(flow, inside, outside):
    release = moisture_release(inside, outside, flow, 21.0)
    expected = inside / float(humid_air.saturation_pressure(21.0))
    assert indoor_humidity(release, outside, flow, 21.0) == pytest.approx(expected, rel=1e-9)


def test_house_by_its_test_and_by_its_age():
    """A test at one point is held within 15 % (AIVC abstract)."""
    tested = leakage_from_test(single_point(50.0, 1.5))
    assert (tested.flow_50.low, tested.flow_50.high) == pytest.approx((1.275, 1.725), rel=1e-9)
    points = [10.0, 20.0, 30.0, 40.0, 50.0, 60.0]
    many = leakage_from_test(fan_test([-p for p in points], [0.1 * p**0.65 for p in points]))
    assert many.flow_50.low <= many.flow_50.best <= many.flow_50.high
    aged = leakage_from_age(1931, 150.0, 5.0)
    assert aged.area.best == pytest.approx(leakage_by_age(1931, 150.0, 5.0).best, rel=1e-9)
    assert not aged.measured


def test_size_of_a_house_from_floor_and_volume():
    """Exact for a plan of 6 x 9 m (1.5 to 1), two storeys of 2.5 m: 30 m round, 5 m high."""
    walls, ceiling = outside_surface(54.0 * 5.0, 2.0, 108.0)
    assert (walls, ceiling) == pytest.approx((150.0, 54.0), rel=1e-12)


def test_removed_share_keeps_the_band_in_order():
    house = HouseLeakage(Band(0.9, 1.0, 1.1), 0.65, True, "")
    left = house.without(Band(0.1, 0.3, 0.5))
    assert (left.flow_50.low, left.flow_50.best, left.flow_50.high) == pytest.approx(
        (0.45, 0.7, 0.99), rel=1e-12
    )
    with pytest.raises(InputError, match="0 to 1 of the house"):
        house.without(Band(0.1, 0.3, 1.5))


def test_rows_of_venting_and_figures():
    """Second-hand: 5 Pa for naturally vented appliances; published: radon 200 Bq/m3 (Canada)."""
    assert load().venting["natural draft"].limit == 5.0
    assert set(load().venting) == {"natural draft", "induced draft", "sealed", "none"}
    assert load().air_figure("radon-guideline").value == 200.0
    with pytest.raises(UnknownRowError, match="air figure"):
        load().air_figure("nothing")


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: Site(0.0), "site, height"),
        (lambda: Site(5.0, terrain="moor"), "site, terrain"),
        (lambda: Site(5.0, shelter_class=0), "shelter class"),
        (lambda: Site(5.0, flue=0.9), "flue share"),
        (lambda: ventilation_need(float("nan"), 3), "ventilation need"),
        (lambda: indoor_humidity(1e-4, 100.0, 0.0, 21.0), "indoor humidity"),
        (lambda: leak_water(-1.0, np.zeros(2), np.zeros(2), 900.0), "leak, area"),
        (lambda: leak_water(1.0, np.zeros(2), np.zeros(3), 900.0), "leak, hours"),
    ],
)
def test_bad_input_is_named(call, message):
    with pytest.raises(InputError, match=message):
        call()
