"""The one door: every open format of the table, its sample, its hours, its bad input."""

from __future__ import annotations

import csv
import io
import lzma
from datetime import datetime, timedelta
from importlib import resources
from pathlib import Path

import numpy as np
import pvlib
import pytest
from numpy.testing import assert_allclose

from warmside.errors import InputError
from warmside.physics.climate import HourlyClimate
from warmside.weather import FORMATS, Format, Station, format_of, read_weather

DATA = Path(pvlib.__file__).parent / "data"
HOUSE = Station(40.5, -75.0, -5.0, 100.0, "House")  # beside the place of the samples
EACH = pytest.mark.parametrize("one", FORMATS, ids=lambda one: one.id)


def sample(one: Format) -> str:
    packed = (resources.files("warmside.weather") / "samples" / one.sample).read_bytes()
    return lzma.decompress(packed).decode("utf-8")


def hours(count, start=datetime(2021, 1, 1)):
    return [start + timedelta(hours=k) for k in range(count)]


def wave(count):
    return -5.0 + 8.0 * np.sin(np.arange(count) * 2 * np.pi / 24)


def table(header, rows):
    out = io.StringIO()
    csv.writer(out, lineterminator="\n").writerows([header, *rows])
    return out.getvalue()


# Every row of the table


def test_every_format_has_its_own_sample_and_no_sample_is_left_over():
    folder = resources.files("warmside.weather") / "samples"
    there = sorted(entry.name for entry in folder.iterdir())
    assert sorted(one.sample for one in FORMATS) == there
    assert len({one.id for one in FORMATS}) == len(FORMATS)


@EACH
def test_sample_is_small_and_recognised_as_its_own_format_only(one):
    text = sample(one)
    packed = (resources.files("warmside.weather") / "samples" / one.sample).read_bytes()
    assert len(packed) < 20_000
    assert format_of(text) is one
    head = text[:8000].lower().replace("\r\n", "\n")
    assert [other.id for other in FORMATS if other.is_it(head)] == [one.id]
    assert "universal" in one.hours or "standard" in one.hours or "zone" in one.hours


@EACH
def test_a_day_warmest_at_14_comes_out_at_14(one):
    """Every sample is written so that 14:00 local standard time (UTC-5) is the warmest hour."""
    year = read_weather(sample(one), HOUSE)
    assert isinstance(year, HourlyClimate)
    assert year.utc_offset == -5.0
    for day in range(1, year.hours // 24 - 1):
        of_day = slice(24 * day, 24 * day + 24)
        first = year.temperature[of_day]
        assert str(year.ends[of_day][np.argmax(first)])[-2:] == "14"
    # exact: 2 + 6 cos((h - 14) 2 pi / 24) rounded to 0.1 in every sample
    hour = year.ends.astype("datetime64[h]").astype(int) % 24
    expected = 2.0 + 6.0 * np.cos((hour - 14) * 2 * np.pi / 24)
    assert_allclose(year.temperature, expected, atol=0.051)


@EACH
def test_units_of_the_sample(one):
    """Exact: 4.0 m/s from the west, and 60 % or a dew point of -6 degC, in every sample."""
    year = read_weather(sample(one), HOUSE)
    assert_allclose(year.wind_speed, 4.0, atol=0.12)  # 14 km/h in one
    assert_allclose(year.wind_direction, 270.0, atol=1e-9)
    if one.id not in ("isd-lite", "wy3"):
        assert_allclose(year.humidity, 0.60, atol=1e-9)
    assert_allclose(year.latitude, 40.5, atol=1e-9)
    assert_allclose(year.longitude, -75.0, atol=1e-9)
    if one.id != "isd-lite":  # at sea level there; the house is at 100 m
        assert_allclose(year.pressure, 100_500.0, rtol=0.01)


@EACH
def test_sun_of_the_sample_stands_at_noon(one):
    """Every sample has as much sun before 12:00 as after; 2 % for whole watts and looks."""
    year = read_weather(sample(one), HOUSE)
    if any("sun: estimated" in note for note in year.notes):
        assert one.id in ("eccc", "isd-lite")
        return
    end = year.ends.astype("datetime64[h]").astype(int) % 24
    before, after = year.ghi[(end > 0) & (end <= 12)].sum(), year.ghi[(end > 12) | (end == 0)].sum()
    assert before > 0.0
    assert_allclose(before, after, rtol=0.02)


@EACH
def test_what_is_missing_is_said(one):
    """A column that no sample of a format has is named in the notes, never quietly made up."""
    year = read_weather(sample(one), HOUSE)
    said = " ".join(year.notes)
    lacks_rain = one.id in ("nsrdb", "pvgis-csv", "pvgis-json", "wy3")
    assert ("rain: 0 throughout" in said) == lacks_rain
    assert (year.rain.sum() == 0.0) == lacks_rain


@EACH
def test_a_word_among_numbers_is_refused_with_its_line(one):
    lines = sample(one).splitlines()
    broken = None
    for at in range(len(lines) - 30, len(lines)):
        for value in ("2.0", "   20 ", "  20"):
            if one.id != "pvgis-json" and value in lines[at]:
                broken = at
                lines[at] = lines[at].replace(value, "abc".center(len(value)), 1)
                break
        if broken is not None:
            break
    if broken is None:
        text = sample(one).replace('"T2m": 2.0', '"T2m": "abc"', 1)
        with pytest.raises(InputError, match="abc"):
            read_weather(text, HOUSE)
        return
    with pytest.raises(InputError, match=rf"line {broken + 1}\b.*abc|abc.*line {broken + 1}\b"):
        read_weather("\n".join(lines), HOUSE)


@EACH
@pytest.mark.parametrize("cut", [0.02, 0.3, 0.501, 0.97])
def test_a_half_written_file_is_read_or_refused_in_words(one, cut):
    text = sample(one)
    part = text[: int(len(text) * cut)]
    try:
        year = read_weather(part, HOUSE)
    except InputError as error:
        assert error.faults  # noqa: PT017
    else:
        assert np.isfinite(year.temperature).all()


@EACH
@pytest.mark.parametrize("junk", ["\x01", "nan", "1e999", "-", "9" * 400, "=1+1", "\u202e"])
def test_hostile_cells(one, junk):
    text = sample(one).replace("2.0", junk).replace(" 20 ", f" {junk} ")
    try:
        year = read_weather(text, HOUSE)
    except InputError as error:
        assert len(str(error)) < 5000  # noqa: PT017
    else:
        assert np.isfinite(year.temperature).all()


@pytest.mark.parametrize(
    "text", ["", "a", "\x00\x00", "a,b\n1,2", "x" * 1000, "\n" * 50, "{}", "[1]", "1 2 3"]
)
def test_junk_is_refused_in_words(text):
    with pytest.raises(InputError):
        read_weather(text, HOUSE)


@pytest.mark.parametrize(
    "text",
    [
        '{"inputs": ' + "[" * 100_000,
        '{"inputs": {"location": 3}, "outputs": {"tmy_hourly": [1, 2]}, "meta": 5}',
        '{"inputs": {}, "outputs": {"months_selected": 1, "tmy_hourly": []}, "meta": {}}',
        "a,b,c,-5,40,-75,1\nDate (MM/DD/YYYY),Time (HH:MM),Dry-bulb (C)\n99/99/2020,25:00,1\n",
        "x,Local Time Zone\n1,zz\nYear,Month,Day,Hour,Minute\n2020,13,45,1,0\n",
        "2020 13 45 99 1 1 1 1 1 1 1 1\n",
        "hour_end,temperature_c,humidity_percent\n9999-12-31T23:00,1,50\n0001-01-01T00:00,1,50\n",
        "hour_end,temperature_c,humidity_percent\n2020-01-01T01:00,1e308,50\n",
        "-BEGIN HEADER-\nNASA/POWER\nlatitude 99 longitude 5\n-END HEADER-\nYEAR,MO,DY,HR\n1,1,1\n",
    ],
    ids=range(9),
)
def test_hostile_files_are_refused_in_words(text):
    with pytest.raises(InputError) as error:
        read_weather(text, HOUSE)
    assert len(str(error.value)) < 5000


def test_too_large_a_file_is_refused():
    with pytest.raises(InputError, match="16 million"):
        read_weather(io.StringIO("1" * 16_000_010))


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "cp1252"])
def test_bytes_of_any_usual_encoding(encoding):
    text = sample(next(one for one in FORMATS if one.id == "eccc"))
    assert read_weather(text.encode(encoding), HOUSE).hours == 72


# Typical years: TMY3


@pytest.mark.parametrize(
    ("name", "mean", "least", "most"),
    # published data: statistics of the files, computed on their own
    [("703165TY.csv", 4.4, -10.6, 19.4), ("723170TYA.CSV", 14.4, -16.7, 35.6)],
)
def test_tmy3_of_the_library(name, mean, least, most):
    year = read_weather((DATA / name).read_bytes())
    assert year.hours == 8760
    assert_allclose(year.temperature.mean(), mean, atol=0.06)
    assert (year.temperature.min(), year.temperature.max()) == (least, most)
    # reference library: another reader of the same file; every hour there, leap year or not
    frame, about = pvlib.iotools.read_tmy3(DATA / name, map_variables=True)
    assert_allclose(year.ghi, frame["ghi"].to_numpy(), atol=1e-9)
    assert_allclose(year.temperature, frame["temp_air"].to_numpy(), atol=1e-9)
    assert year.utc_offset == about["TZ"]
    assert not any("missing hour" in note for note in year.notes)


def test_rain_of_tmy3_is_in_tenths_whatever_the_header_says():
    """Greensboro: NOAA normals 1981-2010, 1,072 mm a year (from memory); one typical year of the
    hours above freezing has 0.5 to 1.1 of it, not ten times as much."""
    year = read_weather((DATA / "723170TYA.CSV").read_bytes())
    assert 0.5 * 1072 < year.rain.sum() < 1.1 * 1072
    assert any("tenths of a millimetre" in note for note in year.notes)


def test_rain_of_tmy3_with_fractions_is_in_millimetres():
    text = sample(next(one for one in FORMATS if one.id == "tmy3"))
    lines = [line.replace(",3,1", ",0.3,1") for line in text.splitlines()]
    year = read_weather("\n".join(lines))
    assert_allclose(year.rain.reshape(3, 24)[:, [11, 12, 13]], [[0.3, 5.0, 8.0]] * 3, rtol=1e-12)
    assert not any("tenths" in note for note in year.notes)


def test_sun_closes_at_the_hour_of_the_file():
    """Direct and diffuse sun at mid-hours add up to the global of the file."""
    year = read_weather((DATA / "723170TYA.CSV").read_bytes())
    from warmside.physics.climate._sun import _positions

    _, zenith, _, _ = _positions(year.time0, 8760, year.latitude, year.longitude, year.utc_offset)
    high = zenith < 70.0
    found = year.dni * np.cos(np.radians(zenith)) + year.dhi
    # exact by definition of the three; the file's own rounding and hourly means leave 2 %
    assert_allclose(found[high].sum(), year.ghi[high].sum(), rtol=0.02)


# Observations of Canada


def eccc(count, skip=range(0), start=datetime(2021, 1, 1)):
    header = [
        "Longitude (x)", "Latitude (y)", "Station Name", "Climate ID", "Date/Time (LST)", "Year",
        "Month", "Day", "Time (LST)", "Temp (°C)", "Temp Flag", "Dew Point Temp (°C)",
        "Dew Point Temp Flag", "Rel Hum (%)", "Rel Hum Flag", "Precip. Amount (mm)",
        "Precip. Amount Flag", "Wind Dir (10s deg)", "Wind Dir Flag", "Wind Spd (km/h)",
        "Wind Spd Flag", "Visibility (km)", "Visibility Flag", "Stn Press (kPa)", "Stn Press Flag",
    ]  # fmt: skip
    rows = []
    temperatures = wave(count)
    for k, when in enumerate(hours(count, start)):
        t = "" if k in skip else f"{temperatures[k]:.1f}"
        rows.append(
            ["-75.7", "45.3", "A STATION", "0", f"{when:%Y-%m-%d %H:%M}", "", "", "", "", t,
             "M" if k in skip else "", "-8.0", "", "70", "", "0.4", "", "27", "", "36", "", "16",
             "", "100.20", ""]
        )  # fmt: skip
    return table(header, rows)


def test_eccc_units():
    year = read_weather(eccc(240))
    assert_allclose(year.temperature, wave(240), atol=0.051)
    # exact: units of the format's header
    assert_allclose(year.wind_speed, 10.0, rtol=1e-12)
    assert_allclose(year.wind_direction, 270.0)
    assert_allclose(year.pressure, 100_200.0)
    assert_allclose(year.humidity, 0.70)
    assert (year.rain[year.temperature < 0] == 0.0).all()
    assert any("sun: estimated" in note for note in year.notes)
    assert year.ghi.max() > 50.0


def test_months_after_each_other_are_one_file():
    first, second = eccc(240), eccc(240, start=datetime(2021, 1, 11))
    year = read_weather(first + "\n" + second)
    assert year.hours == 480
    assert_allclose(year.temperature[240:], wave(240), atol=0.051)


def test_short_gap_is_filled():
    year = read_weather(eccc(240, range(100, 104)))
    straight = np.interp(np.arange(100, 104), [99, 104], wave(240)[[99, 104]])
    assert_allclose(year.temperature[100:104], straight, atol=0.06)
    assert any("4 missing hours" in note for note in year.notes)


def test_a_day_is_filled_from_the_days_beside():
    year = read_weather(eccc(240, range(100, 124)))
    assert_allclose(year.temperature[100:124], wave(240)[100:124], atol=0.06)


def test_thirty_missing_days_are_refused_with_dates():
    text = eccc(8760, range(1000, 1720))
    with pytest.raises(InputError, match=r"2021-02-11 15:00 to 2021-03-13 14:00.*720 hours"):
        read_weather(text)


def test_missing_records_count_as_a_gap():
    lines = eccc(240).splitlines(keepends=True)
    with pytest.raises(InputError, match="100 hours missing"):
        read_weather("".join(lines[:61] + lines[161:]))


# A file of one's own


def test_leap_year_keeps_its_day():
    rows = [[f"{w:%Y-%m-%dT%H:%M}", "1.0", "50"] for w in hours(8784, datetime(2024, 1, 1, 1))]
    year = read_weather(table(["hour_end", "temperature_c", "humidity_percent"], rows), HOUSE)
    assert year.hours == 8784
    assert (year.month == 2).sum() == 696


def test_units_of_a_file_of_ones_own():
    rows = [[f"{w:%Y-%m-%d %H:%M}", "50", "40", "10", "0.1"] for w in hours(48)]
    names = ["hour_end", "temperature_f", "humidity_percent", "wind_mph", "rain_in"]
    year = read_weather(table(names, rows), HOUSE)
    assert_allclose(year.temperature, 10.0, atol=1e-12)  # exact: 50 F
    assert_allclose(year.wind_speed, 4.4704, rtol=1e-12)  # exact: 10 mph
    assert_allclose(year.rain, 2.54, rtol=1e-12)  # exact: 0.1 in


def test_a_name_that_is_not_known_is_refused_with_what_is():
    with pytest.raises(InputError, match=r"line 1.*temp.*temperature_c"):
        read_weather("hour_end,temp\n2021-01-01T01:00,1\n", HOUSE)


# Universal time


def test_isd_lite_is_in_universal_time():
    lines = [
        f"{w:%Y %m %d %H} {-50 + w.hour:5d}   -90 10132   270    51     8     3 -9999"
        for w in hours(72)
    ]
    year = read_weather("\n".join(lines), HOUSE)
    # 00:00 UTC is 19:00 of the day before at UTC-5, the end of its hour
    assert year.ends[0] == np.datetime64("2020-12-31T19")
    assert_allclose(year.temperature[0], -5.0)
    assert_allclose(year.wind_speed, 5.1)
    with pytest.raises(InputError, match="place"):
        read_weather("\n".join(lines))


def test_zone_of_the_house_is_taken_only_where_the_file_is_near_it():
    text = sample(next(one for one in FORMATS if one.id == "pvgis-csv"))
    far = Station(52.0, -106.0, -6.0)
    assert read_weather(text, HOUSE).utc_offset == -5.0
    assert read_weather(text, far).utc_offset == -5.0  # by its own longitude of -75
    odd = Station(40.0, -75.5, -4.0)  # a house that keeps another zone than its longitude
    assert read_weather(text, odd).utc_offset == -4.0


def test_power_by_universal_time_is_set_to_the_zone():
    """Exact: 14:00 by universal time is 9:00 at UTC-5; solar time at 75 W is that of the zone."""
    text = sample(next(one for one in FORMATS if one.id == "power"))
    year = read_weather(text.replace("in LST", "in UTC"), HOUSE)
    assert str(year.ends[24 + np.argmax(year.temperature[24:48])])[-2:] == "09"
    gone = read_weather(text.replace(",60.0,", ",-999,", 3), HOUSE)
    assert any("humidity: 3 missing hours" in note for note in gone.notes)


def test_long_wave_gives_the_sky():
    year = read_weather(sample(next(one for one in FORMATS if one.id == "pvgis-csv")), HOUSE)
    assert_allclose(year.sky_temperature, (280.0 / 5.670374e-8) ** 0.25 - 273.15)


def nsrdb(local: str, temperatures: tuple[str, str] = ("-4", "-2")) -> str:
    """Two days of half hours, told in the zone -7, of a place whose own zone is ``local``."""
    rows = [["Source", "Latitude", "Longitude", "Time Zone", "Elevation", "Local Time Zone"],
            ["NSRDB", "40.5", "-108.5", "-7", "2168", local],
            ["Year", "Month", "Day", "Hour", "Minute", "Temperature", "Dew Point", "GHI", "DNI",
             "DHI", "Relative Humidity", "Pressure", "Wind Direction", "Wind Speed"]]  # fmt: skip
    rows += [
        [w.year, w.month, w.day, w.hour, minute, t, "-8", "10", "0", "10", "60", "790", "200", "2"]
        for w in hours(48)
        for minute, t in zip((0, 30), temperatures, strict=True)
    ]
    return table(rows[0], rows[1:])


def test_nsrdb_half_hours_are_averaged():
    year = read_weather(nsrdb("-7"))
    assert year.hours == 48
    assert_allclose(year.temperature, -3.0)
    assert_allclose(year.pressure, 79_000.0)


def test_nsrdb_hours_are_told_in_the_zone_of_the_place():
    """Exact: a zone one hour further east reads the same moment an hour later."""
    here, east = read_weather(nsrdb("-7")), read_weather(nsrdb("-6"))
    assert east.time0 - here.time0 == timedelta(hours=1)
    assert (here.utc_offset, east.utc_offset) == (-7.0, -6.0)
    assert_allclose(east.temperature, here.temperature, rtol=1e-12)


def test_wy3_columns():
    year = read_weather(sample(next(one for one in FORMATS if one.id == "wy3")))
    # exact: kJ over an hour
    assert_allclose(year.ghi.max(), 500 * np.cos(0.5 / 24 * 2 * np.pi), atol=1.0)
    assert_allclose(year.pressure, 100_500.0)
