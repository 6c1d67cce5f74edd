"""Stations: spot values, years, degree-days, and the rule for humidity."""

from __future__ import annotations

import math

import pytest

from warmside.catalog import load

CATALOG = load()
DAYS = (31, 28.25, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)

# Yearly values printed beside the monthly ones: mean, daily maximum, daily minimum (ECCC climate
# normals 1971-2000; Montréal 1991-2020 by an encyclopedia's copy).
YEARS = {
    "winnipeg": (2.6, 8.3, -3.1),
    "saskatoon": (2.2, 8.2, -3.8),
    "edmonton": (2.4, 8.5, -3.8),
    "north-bay": (3.8, 8.6, -1.1),
    "quebec": (4.0, 9.0, -0.9),
    "ottawa": (6.0, 10.9, 1.1),
    "montreal": (6.2, 11.1, 1.4),
    "montreal-1991-2020": (7.0, 11.7, 2.3),
    "toronto": (9.2, 12.7, 5.6),
    "halifax": (6.3, 11.0, 1.6),
}


def test_at_least_ten_stations():
    assert set(CATALOG.climates) == set(YEARS)


@pytest.mark.parametrize("id", YEARS)
def test_the_months_give_the_printed_year(id):
    row = CATALOG.climate(id)
    for months, year in zip((row.mean, row.daily_max, row.daily_min), YEARS[id], strict=True):
        weighted = sum(t * n for t, n in zip(months, DAYS, strict=True)) / sum(DAYS)
        # both rounded to 0.1, and the print may be the plain mean of the months
        assert weighted == pytest.approx(year, abs=0.15)


# ECCC climate normals 1971-2000
@pytest.mark.parametrize(
    ("id", "column", "month", "value"),
    [
        ("winnipeg", "mean", 1, -17.8),
        ("winnipeg", "daily_min", 2, -18.7),
        ("saskatoon", "daily_max", 7, 24.9),
        ("north-bay", "mean", 12, -9.1),
        ("quebec", "daily_min", 1, -17.6),
        ("ottawa", "mean", 7, 20.9),
        ("montreal", "mean", 1, -10.2),
        ("montreal-1991-2020", "mean", 1, -9.2),
        ("toronto", "daily_max", 10, 13.8),
        ("halifax", "mean", 8, 18.4),
    ],
)
def test_spot_values(id, column, month, value):
    assert getattr(CATALOG.climate(id), column)[month - 1] == value


# NBC 2020 Table C-2: January 2.5 %, January 1 %, degree-days below 18 degC
@pytest.mark.parametrize(
    ("id", "design", "design_1", "degree_days"),
    [
        ("winnipeg", -33, -35, 5670),
        ("saskatoon", -35, -37, 5700),
        ("edmonton", -30, -33, 5120),
        ("north-bay", -28, -30, 5150),
        ("quebec", -25, -28, 5080),
        ("ottawa", -25, -27, 4440),
        ("montreal", -23, -26, 4200),
        ("toronto", -18, -20, 3520),
        ("halifax", -16, -18, 4000),
    ],
)
def test_design_values_of_the_code(id, design, design_1, degree_days):
    row = CATALOG.climate(id)
    assert (row.design, row.design_1, row.degree_days) == (design, design_1, degree_days)


def degree_days(means: tuple[float, ...], base: float = 18.0) -> float:
    """Degree-days from monthly means (Schoenau and Kehrig; ASHRAE Fundamentals 2021 ch. 14).

    HDD = N s (Z F(Z) + f(Z)), Z = (base - T) / s, with a daily standard deviation s that runs as
    a cosine from 6.5 K in January to 2.8 K in July (assumed).
    """
    total = 0.0
    for month, (mean, days) in enumerate(zip(means, DAYS, strict=True)):
        s = 4.65 + 1.85 * math.cos(2 * math.pi * month / 12)
        z = (base - mean) / s
        below = 0.5 * (1 + math.erf(z / math.sqrt(2)))
        total += days * s * (z * below + math.exp(-z * z / 2) / math.sqrt(2 * math.pi))
    return total


def test_the_degree_day_formula_on_its_published_example():
    # Atlanta, October: 17.5 degC, s = 3.93 K gives 19.4 K d below 15 degC
    # (ASHRAE Fundamentals 2021 ch. 14)
    z = (15 - 17.5) / 3.93
    below = 0.5 * (1 + math.erf(z / math.sqrt(2)))
    got = 31 * 3.93 * (z * below + math.exp(-z * z / 2) / math.sqrt(2 * math.pi))
    assert got == pytest.approx(19.4, abs=0.05)


@pytest.mark.parametrize("id", sorted(set(YEARS) - {"edmonton", "halifax"}))
def test_degree_days_from_the_months_against_the_code(id):
    # Two periods and two places in one city: within 7 %.
    row = CATALOG.climate(id)
    assert degree_days(row.mean) == pytest.approx(row.degree_days, rel=0.07)


@pytest.mark.parametrize("id", ["edmonton", "halifax"])
def test_airports_colder_than_their_city_say_so(id):
    row = CATALOG.climate(id)
    own = degree_days(row.mean)
    assert own == pytest.approx(row.degree_days * 1.1, rel=0.02)
    assert f"about {round(own, -1):.0f}" in row.note or f"about {round(own, -2):.0f}" in row.note


# --- humidity ---------------------------------------------------------------------------------


def over_water(t: float) -> float:
    """Saturation pressure over liquid water [Pa] (ISO 13788 form, used below 0 degC as well)."""
    return 610.5 * math.exp(17.269 * t / (237.3 + t))


def by_rule(mean: float, low: float) -> float:
    dew_point = max(low, mean - 4.2) if mean < 0 else low
    return over_water(dew_point) / over_water(mean)


@pytest.mark.parametrize("id", sorted(set(YEARS) - {"toronto"}))
def test_humidity_follows_the_stated_rule(id):
    row = CATALOG.climate(id)
    assert row.source_humidity.tag == "computed"
    expected = [by_rule(m, n) for m, n in zip(row.mean, row.daily_min, strict=True)]
    assert row.humidity == pytest.approx(expected, abs=0.01)


def test_the_rule_against_the_one_station_whose_humidity_is_known():
    # Toronto, morning and afternoon humidity by month (secondary copy of the station's normals).
    # The rule is too humid all year, most in spring; that is the cautious side for drying.
    row = CATALOG.climate("toronto")
    assert row.humidity[:3] == pytest.approx((0.74, 0.725, 0.69), abs=1e-9)
    excess = [
        by_rule(m, n) - h for m, n, h in zip(row.mean, row.daily_min, row.humidity, strict=True)
    ]
    assert max(excess) == pytest.approx(0.12, abs=0.01)
    assert min(excess) == pytest.approx(0.045, abs=0.01)
    assert sum(excess) / 12 == pytest.approx(0.08, abs=0.01)
    assert "0.12" in CATALOG.climate("winnipeg").source_humidity.text
