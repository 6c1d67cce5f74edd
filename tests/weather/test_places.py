"""Places of North America: looked up, what they lack said, their years against other figures.

Expected figures are of sources that the years were not made of: the degree days are normals of the
US weather service computed there from daily values (NOAA, Comparative Climatic Data 2018), while
the years are moved to, or made of, monthly mean temperatures.
"""

from __future__ import annotations

import json
import subprocess
import sys
from collections import Counter, defaultdict
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import zipcodes
from click.testing import CliRunner
from numpy.testing import assert_allclose

from test_cli import SMALL
from warmside.catalog import currency_of, load, region_of
from warmside.catalog._places import _prefixes
from warmside.cli import main
from warmside.errors import UnknownRowError
from warmside.physics.climate import driven_rain
from warmside.physics.climate._sun import extraterrestrial
from warmside.physics.energy import degree_days
from warmside.weather import made_year, severe_year, supports, usual_year

CATALOG = load()
# Degree days below 65 degF [K d], normals 1981-2010 of the US weather service
TEN = {
    "anchorage-ak": 5662, "seattle-wa": 2608, "san-diego-ca": 683, "phoenix-az": 520,
    "denver-co": 3364, "fargo-nd": 4891, "minneapolis-st-paul-mn": 4212, "miami-fl": 71,
    "boston-ma": 3157, "caribou-me": 5196,
}  # fmt: skip
EACH = pytest.mark.parametrize("key", TEN)


def daily(year):
    return year.temperature.reshape(365, 24).mean(axis=1)


@EACH
def test_degree_days_of_the_year_agree_with_the_published_normals(key):
    """2 % and 35 K d: a month's mean says nothing of a mild day within it."""
    year = usual_year(CATALOG.climate(key))
    assert_allclose(degree_days(year, 18.333), TEN[key], rtol=0.02, atol=35.0)


@EACH
def test_made_year_has_the_statistics_of_the_recorded_one(key):
    """Against the typical year recorded there, of which only wind, rain and sun sums went in."""
    row = CATALOG.climate(key)
    made, recorded = made_year(row), usual_year(row)
    assert_allclose(made.monthly_mean(made.temperature), row.mean, atol=0.01)
    assert_allclose(degree_days(made, 18.333), TEN[key], rtol=0.03, atol=160.0)
    january = made.month.reshape(365, 24)[:, 0] == 1
    spread = daily(made)[january].std() / daily(recorded)[january].std()
    assert 0.7 < spread < 1.75
    assert_allclose(made.temperature.max(), recorded.temperature.max(), atol=5.5)
    assert_allclose(made.temperature.min(), recorded.temperature.min(), atol=8.0)
    assert_allclose(made.humidity.mean(), recorded.humidity.mean(), atol=0.03)
    assert_allclose(made.ghi.mean(), recorded.ghi.mean(), rtol=0.01)
    assert_allclose(made.wind_speed.mean(), recorded.wind_speed.mean(), rtol=0.25)
    # hours with rain: a tenth in the made year, 1 to 7 % recorded in hours above freezing
    assert (made.rain > 0.0).mean() < 0.105
    # air of the coldest and warmest tenth of hours: a dry plateau's cold snaps are damper than made
    for cut, least, most in ((0.1, -0.17, 0.15), (0.9, -0.06, 0.11)):
        tenth = [
            year.humidity[(year.temperature <= np.quantile(year.temperature, cut)) == (cut < 0.5)]
            for year in (made, recorded)
        ]
        assert least < tenth[0].mean() - tenth[1].mean() < most
    assert 0.65 < made.humidity.std() / recorded.humidity.std() < 1.1


# Columns of open data that the years were not made of. Mean daily maximum and minimum [degC] of
# January, April, July, October: normals 1981-2010 of the US weather service (the typical year is
# moved to the monthly means alone). Humidity of morning and afternoon in the same months [%] and
# the year's mean share of possible sunshine [%]: its record to 2018 (Comparative Climatic Data).
COLUMNS = {
    "anchorage-ak": ((-4.9, 6.9, 18.6, 4.7), (-11.6, -1.6, 11.2, -1.6), (75, 68, 75, 79),
                     (74, 54, 63, 67), 43.2),
    "seattle-wa": ((8.4, 14.7, 24.3, 15.4), (2.7, 5.7, 13.1, 7.7), (83, 82, 79, 86),
                   (76, 58, 48, 69), 45.7),
    "san-diego-ca": ((18.4, 19.7, 23.7, 22.7), (9.4, 13.3, 18.6, 15.9), (69, 73, 80, 74),
                     (58, 60, 67, 64), 69.0),
    "phoenix-az": ((19.6, 29.6, 41.2, 31.4), (7.6, 15.7, 28.6, 18.2), (60, 39, 42, 46),
                   (33, 16, 21, 23), 85.8),
    "new-orleans-la": ((16.7, 25.7, 32.9, 26.7), (7.1, 15.6, 24.1, 17.0), (84, 87, 90, 87),
                       (65, 59, 65, 59), 58.8),
    "fargo-nd": ((-7.6, 13.2, 28.1, 13.3), (-17.7, 0.4, 15.3, 1.7), (76, 79, 86, 80),
                 (72, 55, 55, 59), 56.6),
    "minneapolis-st-paul-mn": ((-4.6, 14.3, 28.6, 14.4), (-13.6, 2.9, 17.8, 4.3),
                               (77, 74, 81, 80), (68, 51, 54, 58), 57.1),
    "miami-fl": ((24.7, 28.4, 32.7, 30.1), (15.5, 20.2, 25.2, 23.1), (84, 78, 81, 84),
                 (59, 55, 63, 63), 71.5),
    "boston-ma": ((2.1, 13.1, 27.4, 16.3), (-5.4, 4.8, 18.6, 8.1), (69, 67, 72, 76),
                  (58, 55, 56, 57), 58.8),
    "caribou-me": ((-6.9, 8.8, 24.4, 11.1), (-17.3, -1.4, 12.9, 1.4), (76, 74, 81, 85),
                   (66, 55, 58, 62), None),
}  # fmt: skip


@pytest.mark.parametrize("key", COLUMNS)
def test_a_year_agrees_with_columns_that_it_was_not_made_of(key):
    """Coasts, plains, north, south. Bands: a typical month's days swing as one month's do (1.5 K);
    its dew points are those of one month (0.15 once, 0.11 on average); sunshine against radiation
    by 0.25 + 0.50 n/N (FAO Irrigation and Drainage Paper 56), good to some 15 %."""
    high, low, morning, afternoon, sunshine = COLUMNS[key]
    row = CATALOG.climate(key)
    for year, swing, damp, mean in (
        (usual_year(row), 1.5, 0.145, 0.11), (made_year(row), 2.3, 0.20, 0.11),
    ):  # fmt: skip
        months, hour = np.array([1, 4, 7, 10]), np.arange(8760) % 24 + 1
        days, month = year.temperature.reshape(365, 24), year.month.reshape(365, 24)[:, 0]
        assert_allclose([days.max(axis=1)[month == m].mean() for m in months], high, atol=swing)
        assert_allclose([days.min(axis=1)[month == m].mean() for m in months], low, atol=swing)
        for about, read in ((6, morning), (16, afternoon)):
            here = abs(hour - about) <= 1
            found = [year.humidity[here & (year.month == m)].mean() for m in months]
            off = np.array(found) - np.array(read) / 100.0
            assert abs(off).max() < damp
            assert abs(off).mean() < mean
        if sunshine:
            above = extraterrestrial(
                year.time0, 8760, year.latitude, year.longitude, year.utc_offset
            )
            clear = year.ghi.sum() / above.sum()
            assert_allclose(clear, 0.25 + 0.50 * sunshine / 100.0, rtol=0.15)


def test_a_canadian_place_s_derived_humidity_against_its_own_record():
    """Brandon, Manitoba: mean of 6:00 and 15:00, normals 1981-2010 (second-hand); derived by rule.
    The band is that of 2 K of dew point at 4 K below the air: 0.13."""
    read = np.mean([[76.8, 80.8, 90.7, 86.0], [73.7, 48.3, 54.6, 56.1]], axis=0) / 100.0
    row = CATALOG.climate("brandon-mb")
    assert_allclose([row.humidity[m] for m in (0, 3, 6, 9)], read, atol=0.13)


def test_the_oldest_rows_take_rain_and_wind_of_the_places_beside_them():
    """Rain of the same airports, normals 1971-2000 (Environment and Climate Change Canada): a year
    at Halifax has three times that of Saskatoon; Toronto's rose is that of its airport."""
    rain = {
        key: made_year(CATALOG.climate(key)).rain.sum()
        for key in ("halifax", "saskatoon", "winnipeg")
    }
    assert_allclose(rain["halifax"], 1227.0, rtol=0.02)
    assert_allclose(rain["saskatoon"], 265.0, rtol=0.02)
    assert_allclose(rain["winnipeg"], 418.0, rtol=0.02)  # 1981-2010, from memory
    said = " | ".join(made_year(CATALOG.climate("toronto")).notes)
    assert "Toronto Pearson, 19 km off" in said


@EACH
def test_driven_rain_by_orientation_follows_the_index(key):
    """Index of ISO 15927-3 (2/9 sum v r^(8/9) cos) of the same station, computed apart; the made
    year's walls compare as it does, the recorded year's by another power of the rain."""
    row = CATALOG.climate(key)
    index = np.array(row.driven_rain) / sum(row.driven_rain)
    for year, most in ((made_year(row), 0.03), (usual_year(row), 0.03)):
        found = np.array([driven_rain(year, azimuth).sum() for azimuth in range(0, 360, 45)])
        assert_allclose(found / found.sum(), index, atol=most)
        assert_allclose(year.rain.sum(), sum(row.rain), rtol=0.01)


def wall(year, azimuth):
    return float(driven_rain(year, azimuth).sum())


def test_east_and_west_walls_differ_as_their_winds_do():
    """Common knowledge of both coasts: New England's rain comes with the north-easter, the
    Pacific North-west's from the south."""
    boston, seattle = (usual_year(CATALOG.climate(k)) for k in ("boston", "seattle"))
    assert wall(boston, 45) > 2.0 * wall(boston, 270)
    assert wall(seattle, 180) > 4.0 * wall(seattle, 0)


def test_an_atlantic_wall_is_wetter_than_a_prairie_one_by_its_rain():
    """Both by the usual wind of 4 m/s and its usual rose: the rain alone tells them apart."""
    east, prairie = CATALOG.climate("halifax-ns"), CATALOG.climate("saskatoon-sk")
    rain = sum(east.rain) / sum(prairie.rain)
    assert rain > 3.0
    walls = [
        sum(wall(made_year(row), azimuth) for azimuth in range(0, 360, 45))
        for row in (east, prairie)
    ]
    assert_allclose(walls[0] / walls[1], rain, rtol=0.15)
    plains, coast = (usual_year(CATALOG.climate(key)) for key in ("fargo", "seattle"))
    assert wall(coast, 180) > 3.0 * wall(plains, 180)


def test_severe_year_is_colder_at_the_same_humidity():
    mean = usual_year(CATALOG.climate("boston"))
    severe = severe_year(mean)
    assert_allclose(mean.temperature - severe.temperature, 2.0, rtol=1e-9)  # EN 15026, from memory
    assert_allclose(severe.humidity, mean.humidity)
    assert degree_days(severe) > degree_days(mean)
    assert "EN 15026" in severe.notes[-1]


# Looked up


@pytest.mark.parametrize(
    ("key", "id"),
    [
        ("minneapolis-st-paul-mn", "minneapolis-st-paul-mn"),
        ("Minneapolis", "minneapolis-st-paul-mn"),
        ("Duluth, MN", "duluth-mn"), ("duluth", "duluth-mn"), ("Dulth MN", "duluth-mn"),
        ("St. John's", "st-johns-nl"), ("winnipeg", "winnipeg"), ("winipeg", "winnipeg"),
        ("wimnipeg", "winnipeg"), ("55802", "duluth-mn"), ("558", "duluth-mn"),
        ("04736", "caribou-me"), ("02108-1234", "boston-ma"), ("46.8, -92.1", "duluth-mn"),
        ("46.8 -92.1", "duluth-mn"), ("Portland, OR", "portland-or"),
    ],
)  # fmt: skip
def test_a_place_is_found_in_any_usual_way(key, id):
    row = CATALOG.climate(key)
    assert row.id == id
    exact = key.lower() in (id, "minneapolis", "duluth, mn", "duluth", "st. john's", "portland, or")
    assert any(note.startswith("place:") for note in row.said) != exact


@pytest.mark.parametrize(
    "key", ["Portland", "Columbus", "zzzz", "", "000", "99", "0, 0", "55 N", "\x00", "9" * 500]
)
def test_what_cannot_be_told_is_refused_with_the_nearest(key):
    with pytest.raises(UnknownRowError) as error:
        CATALOG.climate(key)
    if key == "Portland":
        assert set(error.value.near) == {"portland-me", "portland-or"}


@pytest.mark.parametrize(
    ("zip", "latitude", "longitude"),
    # positions of well-known cities, from memory
    [("100", 40.7, -74.0), ("606", 41.9, -87.6), ("941", 37.8, -122.4), ("802", 39.7, -105.0),
     ("331", 25.8, -80.2), ("981", 47.6, -122.3), ("585", 46.8, -100.8), ("872", 35.1, -106.6),
     ("704", 30.4, -90.5), ("995", 61.2, -149.9)],
)  # fmt: skip
def test_a_zip_area_lies_where_the_city_lies(zip, latitude, longitude):
    if zip == "872":
        with pytest.raises(UnknownRowError):
            CATALOG.climate(zip)  # no such prefix in the table: not guessed
        return
    row = CATALOG.climate(zip)
    far = np.hypot(
        (row.latitude - latitude) * 111.0,
        (row.longitude - longitude) * 111.0 * np.cos(np.radians(latitude)),
    )
    assert far < 110.0


@pytest.mark.parametrize("zip", ["044", "046", "129", "136", "567", "588", "982"])
def test_a_zip_code_is_of_the_united_states(zip):
    """Common practice, no source: the mail areas along the border, where the nearest weather
    station may stand in Canada; a house there is paid and judged by its own country all the same.
    """
    row = CATALOG.climate(zip)
    assert (row.country, currency_of(row)) == ("US", "USD")


# What a place lacks


def test_table_has_the_places_that_may_be_shipped():
    from warmside.catalog import places

    us = [p for p in places() if p.cells["country"] == "US"]
    towns = {p.id.split("-19")[0].split("-20")[0] for p in places() if p.cells["country"] == "CA"}
    assert len(us) >= 240
    assert len(towns) >= 60
    codes = {p.cells["temperature_source"].split(" ")[0] for p in places()}
    assert codes == {"ccd", "eccc-page", "eccc-weathercan", "eccc-xml", "eccc-daily", "eccc-hourly"}
    for place in places():
        row = CATALOG.climate(place.id)
        assert row.source.text
        assert "{" not in row.source.text
        assert row.said
        assert supports(row)


@pytest.mark.parametrize(
    ("key", "words"),
    [
        ("halifax-ns", ("humidity: none recorded", "wind: none recorded", "sun: none recorded")),
        ("windsor-on", ("as at Detroit, 14 km off", "wind: none recorded; that of Detroit")),
        ("calgary-ab", ("design nights: derived", "wind direction: none recorded")),
        ("boston-ma", ("one typical year, milder than a code's",)),
    ],
)
def test_what_is_borrowed_or_derived_is_said(key, words):
    row = CATALOG.climate(key)
    said = " | ".join((*row.said, *usual_year(row).notes))
    for word in words:
        assert word in said


def test_a_row_of_the_catalog_without_rain_or_wind_says_what_stands_in():
    far = replace(CATALOG.climate("ottawa"), latitude=64.1, longitude=-21.9)  # Reykjavik
    notes = " | ".join(usual_year(far).notes)
    for word in ("rain: none", "70 mm", "wind: none", "4 m/s", "mostly westerly", "sun: none"):
        assert word in notes


def test_rules_for_what_is_missing_hold_where_it_is_known():
    """Dew point at the daily minimum, and design nights below it: at US stations that have both,
    within the bands that are said."""
    from warmside.catalog import places

    us = [p for p in places() if p.cells["dew_c"] and p.cells["min_c"] and p.latitude > 40]
    off = np.array([np.subtract(p.months("min_c"), p.months("dew_c")) for p in us])
    assert len(us) > 90
    assert abs(off.mean()) < 1.0
    assert off.std() < 2.6
    cold = [p for p in us if p.months("mean_c")[0] < 0]
    nights = np.array([float(p.cells["design_c"]) - p.months("min_c")[0] for p in cold])
    assert_allclose(nights.mean(), -9.2, atol=1.0)
    assert nights.std() < 4.5


@pytest.mark.parametrize("key", ["winnipeg", "saskatoon", "edmonton", "ottawa", "montreal"])
def test_derived_design_night_is_near_the_code_s(key):
    """Against the code's January 2.5 % (NBC, from memory) of the row of the same place."""
    row = CATALOG.climates[key]
    assert_allclose(row.daily_min[0] - 9.2, row.design, atol=4.0)


def test_code_packs_follow_the_country():
    assert {p.country for p in CATALOG.packs_for(CATALOG.climate("duluth"))} == {"United States"}
    assert {p.country for p in CATALOG.packs_for(CATALOG.climate("halifax-ns"))} == {"Canada"}


def test_places_are_not_read_at_the_start():
    code = (
        "import warmside.cli; from warmside.catalog import load; load(); load().climate('ottawa');"
        "from warmside.catalog import places; raise SystemExit(places.cache_info().currsize)"
    )
    source = {"PYTHONPATH": str(Path(__file__).parents[2] / "src"), "PATH": ""}
    done = subprocess.run([sys.executable, "-c", code], check=False, env=source)
    assert done.returncode == 0


def test_hours_fit_into_the_wheel():
    from importlib import resources

    folder = Path(str(resources.files("warmside.weather") / "hours"))
    assert sum(path.stat().st_size for path in folder.iterdir()) < 12e6
    from warmside.catalog import places

    named = {p.cells["hours"] for p in places()} - {""}
    assert {path.stem for path in folder.iterdir()} == named


def test_every_mail_area_lies_in_its_state_and_near_its_codes():
    # reference library: zipcodes, every code of the postal service with its state and position
    states: dict[int, Counter[str]] = defaultdict(Counter)
    at: dict[int, list[tuple[float, float]]] = defaultdict(list)
    for code in zipcodes.list_all():
        prefix = int(code["zip_code"][:3])
        states[prefix][code["state"]] += 1
        if code["lat"] and float(code["lat"]):
            at[prefix].append((float(code["lat"]), float(code["long"])))
    checked = 0
    for first, last, state, latitude, longitude in _prefixes():
        for prefix in range(first, last + 1):
            if prefix not in at:  # no code in use
                continue
            assert states[prefix].most_common(1)[0][0] == state, prefix
            y, x = np.median(np.array(at[prefix]), axis=0)
            far = np.hypot(y - latitude, (x - longitude) * np.cos(np.radians(y))) * 111.0
            assert far < 60.0, (prefix, y, x)
            checked += 1
    assert checked > 850  # of 900 prefixes in use


@pytest.mark.parametrize(("zip", "station", "state"), [("548", "MN", "WI"), ("561", "SD", "MN")])
def test_code_and_taxes_are_those_of_the_state_of_a_zip_code(zip, station, state):
    # common practice, no source: the state of the lot is the law of the lot, whoever's airport the
    # weather is read at; Superior, WI lies beside Duluth, Worthington, MN nearest to Sioux Falls
    row = CATALOG.climate(zip)
    assert (row.region, row.jurisdiction, region_of(row)) == (station, state, state)
    assert f"money and code are those of {state}" in " ".join(row.said)


def test_a_house_by_its_zip_code_goes_through(tmp_path):
    house = tmp_path / "house.toml"
    house.write_text(SMALL.replace('climate = "ottawa"', 'climate = "55802"'), encoding="utf-8")
    result = CliRunner().invoke(main, ["study", str(house), "--json", "--severe"])
    assert result.exit_code == 0, result.output
    found = json.loads(result.stdout)
    assert found["outside"]["station"] == "Duluth"
    notes = " ".join(found["weather"]["notes"])
    assert "km from ZIP 558" in notes
    assert "severe year" in notes
    assert [pack["id"] for pack in found["code_packs"]] == ["us-irc-2021"]
    listed = CliRunner().invoke(main, ["place", "list", "dulu"])
    assert listed.output.split()[0] == "duluth-mn"
    assert len(listed.output.splitlines()) == 1
    shown = CliRunner().invoke(main, ["place", "show", "55802"])
    assert "a recorded typical year" in shown.output
