"""Synthesised years equal their normals; sun, sky, rain and indoor air against outside figures."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from physics.test_climate_hourly import flat_year
from warmside.catalog import load
from warmside.errors import InputError
from warmside.physics.climate import (
    Facade,
    Normals,
    clear_sky_emissivity,
    cold_year,
    daily_shape,
    driven_rain,
    facade_weather,
    indoor_balance,
    indoor_class,
    indoor_en15026,
    indoor_fixed,
    sun_on_wall,
    synthesise,
)
from warmside.weather import normals_of

OTTAWA = normals_of(load().climates["ottawa"])


@pytest.mark.parametrize("place", sorted(load().climates))
def test_monthly_means_and_design_temperature_equal_the_normals(place):
    row = load().climates[place]
    year = synthesise(normals_of(row), seed=3)
    # published normals (catalog rows with their source)
    assert_allclose(year.monthly_mean(year.temperature), row.mean, atol=0.01)
    assert_allclose(year.monthly_mean(year.humidity), row.humidity, atol=0.005)
    january = year.temperature[year.month == 1]
    assert_allclose(np.quantile(january, 0.025), row.design, atol=0.05)
    days = year.temperature.reshape(-1, 24).mean(axis=1)
    # NBC degree-days: another period and station than the normals, hence the width
    assert_allclose(np.maximum(18.0 - days, 0.0).sum(), row.degree_days, rtol=0.13)


def test_day_to_day_statistics_lie_where_recorded_years_do():
    year = synthesise(OTTAWA, seed=5)
    days = year.temperature.reshape(-1, 24)
    winter = np.isin(year.month[::24], (12, 1, 2))
    mean = days.mean(axis=1)
    for m in range(1, 13):
        mean[year.month[::24] == m] -= mean[year.month[::24] == m].mean()
    lag = np.corrcoef(mean[:-1], mean[1:])[0, 1]
    # data: lag-1 0.66 to 0.83 over recorded hourly years
    assert_allclose(lag, 0.745, atol=0.15)
    # data: daily s.d. 3 to 6.5 K in cold-winter records
    assert_allclose(mean[winter].std(), 5.5, atol=2.0)
    # published normals: daily range 9.2 K in January, 11.1 K in July (range of means is smaller)
    assert_allclose(np.ptp(days, axis=1)[year.month[::24] == 1].mean(), 9.2, atol=3.0)


def test_same_seed_same_year_and_bad_seeds():
    a, b, c = synthesise(OTTAWA, 1), synthesise(OTTAWA, 1), synthesise(OTTAWA, 2)
    assert (a.temperature == b.temperature).all()
    assert abs(a.temperature - c.temperature).max() > 1.0
    for bad in (-1, 1.5, "x"):
        with pytest.raises(InputError, match="seed"):
            synthesise(OTTAWA, bad)


def test_clearness_of_the_month_is_kept():
    from dataclasses import replace

    from warmside.physics.climate._sun import extraterrestrial

    year = synthesise(replace(OTTAWA, clearness=(0.45,) * 12))
    above = extraterrestrial(year.time0, 8760, year.latitude, year.longitude, year.utc_offset)
    for m in (1, 6, 12):
        here = year.month == m
        assert_allclose(year.ghi[here].sum() / above[here].sum(), 0.45, rtol=1e-6)


def test_daily_shape():
    hours = np.arange(1.0, 25.0)
    shape = daily_shape(hours)
    # computed from the published harmonics: sums to zero, greatest at 15, least at 6
    assert_allclose(shape.sum(), 0.0, atol=1e-12)
    assert hours[shape.argmax()] == 15
    assert hours[shape.argmin()] == 6
    assert_allclose(np.ptp(shape), 1.0, atol=0.01)


@pytest.mark.parametrize(
    ("name", "values"),
    [
        ("mean", (1.0,) * 11),
        ("humidity", (1.2,) * 12),
        ("daily_min", (50.0,) * 12),
        ("mean", (np.nan,) * 12),
    ],
)
def test_bad_normals(name, values):
    from dataclasses import replace

    with pytest.raises(InputError, match="normals"):
        replace(OTTAWA, **{name: values})


def test_sun_on_walls_of_a_northern_place():
    year = synthesise(OTTAWA)
    got = {azimuth: sun_on_wall(year, azimuth).sum() / 1000 for azimuth in (0, 90, 180, 270)}
    # common practice, no source: south most, north least, east and west alike within a tenth or so
    assert got[180] > got[90] > got[0]
    assert_allclose(got[90], got[270], rtol=0.15)
    # exact: a horizontal plane sees what the horizontal got (low sun left out)
    assert_allclose(sun_on_wall(year, 180.0, tilt=0.0).sum(), year.ghi.sum(), rtol=0.03)


def test_clear_sky_emissivity():
    # Berdahl and Martin 1984, by hand: 0.711 + 0.056 + 0.0073
    assert_allclose(clear_sky_emissivity(np.array([10.0])), 0.7743, atol=1e-12)


def test_driven_rain_by_hand():
    year = flat_year(
        24, rain=np.full(24, 5.0), wind_speed=np.full(24, 4.0), temperature=np.full(24, 8.0)
    )
    # R_D = 0.2 v R = 4 kg/(m2 h) square on, half of it at 60 degrees, none on the lee side
    assert_allclose(driven_rain(year, 270.0), 4.0)
    assert_allclose(driven_rain(year, 330.0), 2.0)
    assert_allclose(driven_rain(year, 90.0), 0.0)


def test_a_clear_night_cools_the_wall():
    face = facade_weather(flat_year(24), Facade(0.0))
    # by hand: 0.5 * 0.9 * sigma * (258.15^4 - 268.15^4)
    assert_allclose(face.absorbed, 0.45 * 5.670374e-8 * (258.15**4 - 268.15**4), rtol=1e-9)
    assert (face.absorbed < 0).all()


@pytest.mark.parametrize(
    ("outside", "normal", "high", "warm"),
    # EN 15026:2007 annex C, from memory
    [(-20.0, 0.30, 0.40, 20.0), (-10.0, 0.30, 0.40, 20.0), (5.0, 0.45, 0.55, 20.0),
     (20.0, 0.60, 0.70, 25.0), (30.0, 0.60, 0.70, 25.0)],
)  # fmt: skip
def test_indoor_curve(outside, normal, high, warm):
    year = flat_year(72, temperature=np.full(72, outside))
    air = indoor_en15026(year)
    assert_allclose(air.humidity, normal)
    assert_allclose(air.temperature, warm)
    assert_allclose(indoor_en15026(year, "high").humidity, high)


@pytest.mark.parametrize(
    ("litres", "rate", "expected"),
    # computed: steady balance at -15 C 80 %, 21 C inside, G = 10 kg/day at 15, 30, 60, 120 L/s
    [(10, 15, 47), (10, 30, 26), (10, 60, 16), (10, 120, 11), (14, 15, 64), (5, 15, 26)],
)
def test_indoor_balance(litres, rate, expected):
    year = flat_year(72, temperature=np.full(72, -15.0))
    air = indoor_balance(year, litres / 86_400, rate / 1000)
    # the reference takes saturation over water below freezing: 2 points less vapour outdoors here
    assert_allclose(100 * air.humidity, expected, atol=2.0)


@pytest.mark.parametrize(
    ("humidity_class", "excess"), [(1, 270.6), (2, 541.2), (3, 811.7), (4, 1082.3)]
)
def test_humidity_classes(humidity_class, excess):
    year = flat_year(72, temperature=np.full(72, 0.0), humidity=np.full(72, 0.2))
    air = indoor_class(year, humidity_class)
    outside = 0.2 * 610.5
    # ISO 13788:2012 annex A, from memory, in pascals at 20 degC
    assert_allclose(air.vapour_pressure - outside, excess, rtol=1e-3)


def test_the_cold_year_of_ten():
    years = tuple(flat_year(48, temperature=np.full(48, -float(k))) for k in range(10))
    # stated rule: the second coldest of ten
    assert cold_year(years).temperature[0] == -8.0


def test_bad_indoor_air():
    year = flat_year(24)
    for call in (
        lambda: indoor_fixed(year, 200.0, 0.4),
        lambda: indoor_fixed(year, 20.0, 0.0),
        lambda: indoor_class(year, 7),
        lambda: indoor_balance(year, np.nan, 0.03),
        lambda: Facade(400.0),
        lambda: Normals(
            (0.0,) * 12, (1.0,) * 12, (-1.0,) * 12, (0.7,) * 12, 45.0, -75.0, -5.0, design=5.0
        ),
    ):
        with pytest.raises(InputError):
            call()
