"""The room by its balance of water: today, and after the work."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from warmside.catalog import load
from warmside.demo import survey_text
from warmside.promises import (
    Room,
    house_air,
    house_tight,
    humidity_limit,
    living_of,
    room_after,
    usual_release,
)
from warmside.promises.room import MonthlyAir
from warmside.study import check
from warmside.survey import FanTest, House, read, template
from warmside.units import DAY
from warmside.weather import made_year

CATALOG = load()
CFM = 4.719474432e-4  # [m3/s], exact from the foot
OTTAWA = CATALOG.climate("ottawa")
YEAR = made_year(OTTAWA)
DEMO = survey_text()


def house(**change: object) -> House:
    usual: dict[str, object] = {
        "name": "test", "climate": "ottawa", "year_built": 1931, "storeys": 2.0,
        "floor_area": 151.4, "volume": 402.0, "fan_test": FanTest(flow_50=1600 * CFM),
    }  # fmt: skip
    return House(**{**usual, **change})  # type: ignore[arg-type]


def air_of(one: House):
    return house_air(one, (), (), CATALOG, YEAR)


def by_hand(release: float, flow, vapour_outdoors, temperature: float = 21.0) -> float:
    """``p_i = p_e + G R_v T / Q``, R_v = 461.5 J/(kg K) (EN ISO 13788, from memory).

    Saturation by another library's formula.
    """
    import psychrolib

    psychrolib.SetUnitSystem(psychrolib.SI)
    inside = vapour_outdoors + release * 461.5 * (temperature + 273.15) / flow
    return float(inside / psychrolib.GetSatVapPres(temperature))


@pytest.mark.parametrize("removed", [0.0, 0.28])
def test_twelve_kilograms_a_day_before_and_after_by_hand(removed):
    """Other method: the means of the coldest month written out, p_e and Q from the hours.

    12 kg a day over Q [m3/s] of outdoor air: G = 1.389e-4 kg/s; with removed leaks Q falls by the
    same share, since no fan runs. Saturation by EN ISO 13788 (from memory), over ice below 0 degC.
    Within 1 %.
    """
    one = house(moisture_production=12.0 / DAY)
    air = air_of(one)
    january = YEAR.month == 1
    temperature, humidity = YEAR.temperature[january], YEAR.humidity[january]
    ice = 610.5 * np.exp(21.875 * temperature / (265.5 + temperature))
    water = 610.5 * np.exp(17.269 * temperature / (237.3 + temperature))
    vapour = humidity * np.where(temperature < 0.0, ice, water)
    flow = air.infiltration(air.leakage.flow_50.best)[january].mean() * (1.0 - removed)
    expected = by_hand(12.0 / DAY, flow, vapour.mean())
    found = air.room_at(1.0 - removed) if removed else air.room
    assert found.humidity == pytest.approx(expected, rel=0.01)


def test_a_reading_is_the_humidity_of_today():
    """Exact: the release that a reading asks for gives the reading back."""
    air = air_of(house(indoor_humidity=0.21))
    assert air.living.by == "reading"
    assert air.room.humidity == pytest.approx(0.21, rel=1e-9)


def test_a_reading_that_no_house_could_hold_is_not_used():
    """Computed by an independent reader: 35 % at 3,350 CFM50 asks for 58 kg a day (usual 8 to 15).

    The usual of four people takes its place: 12 kg a day.
    """
    air = air_of(house(indoor_humidity=0.35, fan_test=FanTest(flow_50=3350 * CFM)))
    assert air.living.by == "people"
    assert "not used" in air.room.assumption
    assert air.living.release.best * DAY == pytest.approx(12.0, rel=1e-9)
    assert air.room.humidity < 0.20


def test_usual_release_of_a_family():
    """Second-hand: 8 to 15 kg a day for a family of four; no house below 0.5 or above 40."""
    four = usual_release(4)
    assert (four.low * DAY, four.high * DAY) == pytest.approx((8.0, 15.0), rel=1e-9)
    assert usual_release(0).high * DAY == pytest.approx(0.5, rel=1e-9)
    assert usual_release(40).best * DAY == pytest.approx(40.0, rel=1e-9)


def test_without_a_reading_people_decide_and_it_is_said():
    room = air_of(house()).room
    assert "not measured" in room.assumption
    assert "4 people" in room.assumption


FLOWS = st.floats(0.002, 0.5)


@given(FLOWS, st.floats(0.2, 0.99), st.floats(0.0, 0.05), st.floats(2.0, 15.0))
@settings(max_examples=60)
def test_tighter_is_never_drier_and_more_air_never_damper(flow, left, fans, water):
    air = air_of(house(moisture_production=water / DAY, fan_test=FanTest(flow_50=flow * 10)))
    tighter = air.room_at(left)
    assert tighter.humidity >= air.room.humidity - 1e-12
    assert air.room_at(left, fans).humidity <= tighter.humidity + 1e-12
    assert 0.0 < tighter.humidity <= 0.95


@given(st.floats(0.0, 0.6), st.floats(0.0, 0.05))
@settings(max_examples=60)
def test_the_room_of_a_plan_is_never_drier_than_the_plan_makes_it(removed, fans):
    """What is left of the leaks is rounded down to a twentieth, the fans to a litre a second."""
    air = air_of(house(indoor_humidity=0.21))
    if removed == 0.0 and fans == 0.0:
        return
    exact, judged = air.room_at(1.0 - removed, fans), air.room_with(removed, fans)
    assert judged.humidity >= exact.humidity - 1e-12
    # a step of 0.05 of what is left, at least 0.4, and a litre a second of some fifty
    outdoors = air.monthly(1.0).vapour[air.monthly(1.0).coldest]
    rise, most = (one.vapour_pressure - outdoors for one in (exact, judged))
    assert most <= rise * (1.0 + 0.05 / 0.35 + 0.001 / 0.015)


def test_every_month_and_every_hour_follow_from_one_balance():
    """Other method: months by hand; in winter the hours' mean is the month's, in summer no excess.

    Windows shut up to 0 degC, open from 20 degC on (ISO 13788 annex A, from memory).
    """
    air = air_of(house(indoor_humidity=0.21))
    room = air.room
    assert room.excess is not None
    months, hours = room.monthly(OTTAWA), room.hourly(YEAR)
    gas = 461.5 * 294.15
    for k in (0, 1, 11):
        outdoors = months.outdoor_vapour_pressure[k]
        assert months.indoor_vapour_pressure[k] - outdoors == pytest.approx(
            room.excess[k] * gas, rel=0.01
        )
    january = YEAR.month == 1
    assert hours.vapour_pressure[january].mean() == pytest.approx(room.vapour_pressure, rel=0.03)
    warm = YEAR.temperature[YEAR.month == 7].mean()
    share = max((20.0 - warm) / 20.0, 0.0)
    july = months.indoor_vapour_pressure[6] - months.outdoor_vapour_pressure[6]
    assert july == pytest.approx(room.excess[6] * gas * share, abs=25.0)
    assert hours.humidity.max() <= 0.95


def test_excess_that_cannot_be_is_refused():
    with pytest.raises(Exception, match="excess of vapour"):
        Room(21.0, 0.3, "", (0.001,) * 11).hourly(YEAR)
    with pytest.raises(Exception, match="excess of vapour"):
        Room(21.0, 0.3, "", (float("nan"),) * 12).hourly(YEAR)


def test_panes_set_the_limit_by_the_cold():
    """Second-hand tables for double panes give 15 to 30 % at -28 degC, 35 to 50 % at -5 degC."""
    assert 0.15 <= humidity_limit(21.0, -28.0) <= 0.30
    assert 0.35 <= humidity_limit(21.0, -5.0) <= 0.50
    assert humidity_limit(21.0, 15.0) == 0.5


def test_the_house_after_agrees_with_the_room_it_is_judged_in():
    one = house(indoor_humidity=0.21)
    air = air_of(one)
    removed = 0.28
    from warmside.physics.airflow import Band

    whole = house_tight(one, air, [Band(removed, removed, removed)], CATALOG)
    judged = room_after(one, air, removed, CATALOG)
    assert whole.humidity_before == pytest.approx(0.21, rel=1e-9)
    assert whole.humidity_after <= judged.humidity <= whole.humidity_after * 1.1
    assert whole.humidity_unbuilt >= whole.humidity_after


def test_what_is_planned_is_built():
    """Exact: planned fans run after the work and dry the room."""
    air = air_of(house(indoor_humidity=0.21))
    bare = room_after(air.house, air, 0.28, CATALOG)
    planned = house(indoor_humidity=0.21, planned_ventilation=0.030)
    aired = room_after(planned, air_of(planned), 0.28, CATALOG)
    assert aired.humidity < bare.humidity - 0.02


def test_living_by_the_month_is_exact():
    """Exact: 10 kg a day through 30 L/s at 132 Pa outdoors is 26 % (reference notes)."""
    month = MonthlyAir((-15.0, *(5.0,) * 11), (132.0, *(800.0,) * 11), (0.030,) * 12)
    lived = living_of(house(moisture_production=10.0 / DAY), month, month, month)
    assert month.humidity(lived.release.best, 21.0) == pytest.approx(0.26, abs=0.006)
    assert_allclose(month.release(month.humidity(1e-4, 21.0) * 2486.6, 21.0), 1e-4, rtol=2e-3)


# --- at the door

BAD = [
    ('"21 %"', '"35 %"', "27 kg of water a day"),
    ("1600 CFM50", "3350 CFM50", "30 kg of water a day"),
    ('"21 %"', '"99 %"', "kg of water a day"),
    ('"21 %"', '"1 %"', "0 kg of water a day"),
    ('"14200 ft3"', '"100000 ft3"', "kg of water a day"),
]


@pytest.mark.parametrize(("written", "instead", "told"), BAD)
def test_an_impossible_reading_is_refused_with_what_is_usual(written, instead, told):
    text = DEMO.replace(written, instead)
    faults = [f for f in check(text).faults if f.path == ("house", "indoor_humidity")]
    assert len(faults) == 1
    assert faults[0].line == text[: text.index("indoor_humidity")].count("\n") + 1
    assert told in faults[0].read
    assert "8 to 15 kg a day for a family of four" in faults[0].allowed


def test_the_reading_that_an_expert_found_impossible():
    """Computed by an independent reader: 57.9 kg a day for this house, 35 % and 3,350 CFM50."""
    text = DEMO.replace('"21 %"', '"35 %"').replace("1600 CFM50", "3350 CFM50")
    text = text.replace("people = 4", 'people = 4\nmoisture_reason = "a greenhouse"')
    (fault,) = check(text).faults
    assert "58 kg of water a day" in fault.read
    assert "0.5 to 40 kg" in fault.allowed


def test_a_reason_lets_a_humid_house_in():
    text = DEMO.replace('"21 %"', '"30 %"')
    assert check(text).faults
    assert not check(
        text.replace("people = 4", 'people = 4\nmoisture_reason = "humidifier"')
    ).faults


@pytest.mark.parametrize(
    ("water", "reason", "fine"),
    [(9, "", True), (15, "", True), (16, "", False), (16, "laundry", True), (41, "laundry", False)],
)
def test_water_given_off_is_bounded(water, reason, fine):
    line = f'moisture_production = "{water} kg/day"\nmoisture_reason = "{reason}"'
    faults = check(DEMO.replace('indoor_humidity = "21 %"', line)).faults
    assert (not faults) == fine


@pytest.mark.parametrize("people", [0, 1, 40])
def test_any_number_of_people_gives_a_room(people):
    text = DEMO.replace("people = 4", f"people = {people}")
    text = text.replace('indoor_humidity = "21 %"\n', "")
    assert not check(text).faults
    room = air_of(house(people=people)).room
    assert 0.0 < room.humidity <= 0.95


def test_the_survey_files_of_the_program_pass_their_own_door():
    for text in (DEMO, template()):
        assert not check(text).faults
        assert read(text).house.indoor_humidity is not None
