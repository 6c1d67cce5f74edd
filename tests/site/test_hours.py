"""Workable hours: the surface, the dew point and the wind, hour by hour."""

from __future__ import annotations

from datetime import date, datetime, timedelta

import pytest
from CoolProp.HumidAirProp import HAPropsSI

from site_walls import planned
from warmside.catalog import load
from warmside.errors import InputError
from warmside.physics.climate import synthesise
from warmside.site import (
    Hour,
    WorkRules,
    climate_hours,
    hours_from,
    read_forecast,
    surface_share,
    warmest_need,
    windows,
    work_hours,
)
from warmside.weather import normals_of
from warmside.wording import PAPER, Style

CATALOG = load()

CSV = "time,temperature_c,humidity_percent,wind_m_s\n"
EIGHT = datetime(2026, 11, 25, 8)


def day(temperature: float, humidity: float = 0.7, wind: float | None = 2.0) -> tuple[Hour, ...]:
    start = datetime(2026, 11, 25)
    return tuple(Hour(start + timedelta(hours=k), temperature, humidity, wind) for k in range(24))


def test_surface_of_a_cold_wall(plan):
    """Steady heat through sheathing and cladding, films of ISO 6946: by hand from the layers."""
    stack = next(s for s in plan.build_up.stacks if s.kind == "bay")
    resistance = sum(
        layer.thickness / layer.conductivity
        for layer in stack.layers
        if layer.role in ("sheathing", "paper", "cladding")
        and layer.conductivity
        and not layer.vented
    )
    share = surface_share(plan.build_up)
    assert share == pytest.approx((resistance + 0.04) / (resistance + 0.17), rel=1e-12)
    rules = WorkRules("closed-cell", room=20.0, surface_share=share)
    judged = work_hours((Hour(EIGHT, -20.0, 0.8),), rules, CATALOG)[0]
    # heat in = heat out at the surface: (room - surface) / 0.13 = (surface - outdoors) / behind
    assert (20.0 - judged.surface) / 0.13 == pytest.approx(
        (judged.surface + 20.0) / (resistance + 0.04), rel=1e-9
    )


def test_a_frosty_day_needs_a_warmer_room():
    """-20 degC outside: 55 F at the surface is not met at 20 degC, and is at what is told."""
    rules = WorkRules("closed-cell", room=20.0, surface_share=0.7)
    assert windows(work_hours(day(-20.0), rules, CATALOG)) == ()
    need = warmest_need(day(-20.0), rules, CATALOG)
    assert need == pytest.approx((12.8 + 0.3 * 20) / 0.7)  # by hand
    warm = WorkRules("closed-cell", room=need + 1e-6, surface_share=0.7)
    assert windows(work_hours(day(-20.0), warm, CATALOG))[0].hours == 11  # 7 to 18 h


def told(hour) -> str:
    return "; ".join(map(PAPER.sentence, hour.reasons))


def test_a_surface_a_hair_too_cold_reads_below_its_limit():
    """By hand: 0.7 of the way from 3 °C to 16.7 °C are 12.59 °C, the limit 12.8 °C (55 °F)."""
    rules = WorkRules("closed-cell", room=16.7, surface_share=0.7)
    noon = work_hours(day(3.0, 0.3), rules, CATALOG)[12]
    assert told(noon) == "surface too cold: 12.6 °C, 12.8 °C at least"
    fahrenheit = Style(temperature="°F")
    assert [fahrenheit.sentence(one) for one in noon.reasons] == [
        "surface too cold: 55 °F, 55 °F at least"
    ]


def test_moist_warm_air_stops_work():
    """30 degC and 90 % outdoors: the humidity of the work area is that outdoors (common practice:
    85 % at most)."""
    judged = work_hours(day(30.0, 0.9), WorkRules("closed-cell", surface_share=0.7), CATALOG)
    assert windows(judged) == ()
    assert all(
        "too humid: 90 %, 85 % at most" in told(h) for h in judged if 7 <= h.hour.at.hour < 18
    )


@pytest.mark.parametrize(("outdoors", "humidity"), [(5.0, 0.9), (12.0, 0.6), (20.0, 0.75)])
def test_outdoor_air_warmed_against_a_reference_library(outdoors, humidity):
    """CoolProp: the same share of water at the room's temperature; 1 % of its humidity."""
    share = HAPropsSI("Y", "T", outdoors + 273.15, "R", humidity, "P", 101_325)
    expected = HAPropsSI("R", "T", 295.15, "Y", share, "P", 101_325)
    rules = WorkRules("closed-cell", room=22.0)
    found = work_hours((Hour(EIGHT, outdoors, humidity),), rules, CATALOG)[0]
    assert found.humidity == pytest.approx(expected, rel=0.01)
    dew = HAPropsSI("D", "T", 295.15, "Y", share, "P", 101_325) - 273.15
    assert found.spread == pytest.approx(found.surface - dew, abs=0.15)


def test_outside_work_takes_the_weather_as_it_is():
    rules = WorkRules("closed-cell", outside=True)
    assert windows(work_hours(day(18.0, 0.5, 2.0), rules, CATALOG))
    assert not windows(work_hours(day(18.0, 0.5, 5.0), rules, CATALOG))  # over 10 mph
    assert not windows(
        work_hours(day(18.0, 0.5, None), rules, CATALOG)
    )  # the forecast says nothing of it
    assert not windows(work_hours(day(8.0, 0.5, 2.0), rules, CATALOG))
    assert warmest_need(day(8.0), rules, CATALOG) is None


def test_windows_join_hours_that_follow_each_other():
    hours = list(day(15.0, 0.5))
    hours[11] = Hour(hours[11].at, -30.0, 0.5)
    found = windows(work_hours(tuple(hours), WorkRules("closed-cell", surface_share=0.7), CATALOG))
    assert [(w.start.hour, w.end.hour) for w in found] == [(7, 11), (12, 18)]


def test_a_forecast_is_read_by_its_headers():
    text = "\ufeffTime,Temperature_C,sky,humidity_percent\n2026-11-25T07:00,-3.5,snow,81\n"
    (hour,) = read_forecast(text)
    assert (hour.temperature, hour.humidity, hour.wind) == (-3.5, pytest.approx(0.81), None)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "headers"),
        ("a,b\n1,2\n", "headers"),
        (CSV, "no hours"),
        (CSV + "yesterday,1,2,3\n", "line 2.*time"),
        (CSV + "2026-11-25T07:00,hot,50,1\n", "temperature_c"),
        (CSV + "2026-11-25T07:00,nan,50,1\n", "temperature_c"),
        (CSV + "2026-11-25T07:00,5,180,1\n", "humidity_percent"),
        (CSV + "2026-11-25T07:00,5,50,1\n2026-11-25T06:00,5,50,1\n", "line 3.*later"),
        (CSV + "2026-11-25T07:00\n", "temperature_c"),
        ("x" * 2_000_001, "characters"),
        (CSV + "2026-11-25T07:00,1e400,50,1\n", "temperature_c"),
    ],
)
def test_a_bad_forecast_is_told_by_its_line(text, said):
    with pytest.raises(InputError, match=said):
        read_forecast(text)


def test_open_formats_stand_for_the_coming_days():
    """The hourly files of Environment and Climate Change Canada, by their own header."""
    head = '"Date/Time (LST)","Temp (°C)","Dew Point Temp (°C)","Rel Hum (%)","Wind Spd (km/h)"'
    place = '"Longitude (x)","Latitude (y)","Station Name",'
    rows = [
        f'"-75.6","45.3","Y","2025-11-{25 + k // 24:02} {k % 24:02}:00","{k / 10}","-1","70","9"'
        for k in range(72)
    ]
    hours = hours_from("\n".join([place + head, *rows]), date(2026, 11, 25), 2)
    assert len(hours) == 48
    assert hours[3].temperature == pytest.approx(0.4)  # read at 4:00, the end of the hour from 3
    assert hours[3].wind == pytest.approx(2.5)  # 9 km/h
    with pytest.raises(InputError):
        hours_from("x,y", date(2026, 11, 25))


def test_a_climate_gives_the_same_days_of_its_year(catalog):
    year = synthesise(normals_of(catalog.climate("ottawa")))
    hours = climate_hours(year, date(2027, 1, 10), 3)
    assert len(hours) == 72
    assert hours[0].at == datetime(2027, 1, 10)
    skip = (datetime(year.time0.year, 1, 10) - year.time0).days % 365 * 24
    assert hours[5].temperature == pytest.approx(float(year.temperature[skip + 5]))
    summer = climate_hours(year, date(2028, 2, 29), 1)
    assert summer[0].at == datetime(2028, 2, 29)


def test_sprayed_from_outside(survey, catalog):
    plan = planned(survey, catalog, "kitchen north", "outside-cc-full")
    assert plan.outside
