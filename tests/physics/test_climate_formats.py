"""Readers of open hourly formats, and how gaps are found, filled or refused."""

from __future__ import annotations

import csv
import io
from datetime import datetime, timedelta
from pathlib import Path

import numpy as np
import pvlib
import pytest
from numpy.testing import assert_allclose

from warmside.errors import InputError
from warmside.physics.climate import (
    Station,
    read_columns,
    read_eccc,
    read_isd_lite,
    read_nsrdb,
    read_pvgis,
    read_tmy3,
    read_wy3,
)

DATA = Path(pvlib.__file__).parent / "data"
HERE = Station(45.3, -75.7, -5.0, 114.0, "Here")


def hours(count, start=datetime(2021, 1, 1)):
    return [start + timedelta(hours=k) for k in range(count)]


def wave(count):
    return -5.0 + 8.0 * np.sin(np.arange(count) * 2 * np.pi / 24)


def table(header, rows):
    out = io.StringIO()
    csv.writer(out, lineterminator="\n").writerows([header, *rows])
    return out.getvalue()


@pytest.mark.parametrize(
    ("name", "mean", "least", "most"),
    # published data: statistics of the files, computed on their own
    [("703165TY.csv", 4.4, -10.6, 19.4), ("723170TYA.CSV", 14.4, -16.7, 35.6)],
)
def test_tmy3_of_the_library(name, mean, least, most):
    year = read_tmy3((DATA / name).read_bytes())
    assert year.hours == 8760
    assert_allclose(year.temperature.mean(), mean, atol=0.06)
    assert (year.temperature.min(), year.temperature.max()) == (least, most)
    # reference library: another reader of the same file
    frame, about = pvlib.iotools.read_tmy3(DATA / name, map_variables=True)
    assert_allclose(year.ghi, frame["ghi"].to_numpy(), atol=1e-9)
    assert_allclose(year.temperature, frame["temp_air"].to_numpy(), atol=1e-9)
    assert year.latitude == about["latitude"]
    assert year.utc_offset == about["TZ"]


def test_sun_closes_at_the_hour_of_the_file():
    """Direct and diffuse sun at mid-hours add up to the global of the file."""
    year = read_tmy3((DATA / "723170TYA.CSV").read_bytes())
    from warmside.physics.climate._sun import _positions

    _, zenith, _, _ = _positions(year.time0, 8760, year.latitude, year.longitude, year.utc_offset)
    high = zenith < 70.0
    found = year.dni * np.cos(np.radians(zenith)) + year.dhi
    # exact by definition of the three; the file's own rounding and hourly means leave 2 %
    assert_allclose(found[high].sum(), year.ghi[high].sum(), rtol=0.02)


def eccc(count, skip=range(0)):
    header = [
        "Longitude (x)", "Latitude (y)", "Station Name", "Climate ID", "Date/Time (LST)", "Year",
        "Month", "Day", "Time (LST)", "Temp (°C)", "Temp Flag", "Dew Point Temp (°C)",
        "Dew Point Temp Flag", "Rel Hum (%)", "Rel Hum Flag", "Precip. Amount (mm)",
        "Precip. Amount Flag", "Wind Dir (10s deg)", "Wind Dir Flag", "Wind Spd (km/h)",
        "Wind Spd Flag", "Visibility (km)", "Visibility Flag", "Stn Press (kPa)", "Stn Press Flag",
    ]  # fmt: skip
    rows = []
    temperatures = wave(count)
    for k, when in enumerate(hours(count)):
        t = "" if k in skip else f"{temperatures[k]:.1f}"
        rows.append(
            ["-75.7", "45.3", "A STATION", "0", f"{when:%Y-%m-%d %H:%M}", "", "", "", "", t,
             "M" if k in skip else "", "-8.0", "", "70", "", "0.4", "", "27", "", "36", "", "16",
             "", "100.20", ""]
        )  # fmt: skip
    return table(header, rows)


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "cp1252"])
def test_eccc_units(encoding):
    year = read_eccc(eccc(240).encode(encoding), -5.0)
    assert_allclose(year.temperature, wave(240), atol=0.051)
    # exact: units of the format's header
    assert_allclose(year.wind_speed, 10.0, rtol=1e-12)
    assert_allclose(year.wind_direction, 270.0)
    assert_allclose(year.pressure, 100_200.0)
    assert_allclose(year.humidity, 0.70)
    assert (year.rain[year.temperature < 0] == 0.0).all()
    assert any("sun: estimated" in note for note in year.notes)
    assert year.ghi.max() > 50.0


def test_eccc_short_gap_is_filled():
    year = read_eccc(eccc(240, range(100, 104)), -5.0)
    straight = np.interp(np.arange(100, 104), [99, 104], wave(240)[[99, 104]])
    assert_allclose(year.temperature[100:104], straight, atol=0.06)
    assert any("4 missing hours" in note for note in year.notes)


def test_a_day_is_filled_from_the_days_beside():
    year = read_eccc(eccc(240, range(100, 124)), -5.0)
    assert_allclose(year.temperature[100:124], wave(240)[100:124], atol=0.06)


def test_thirty_missing_days_are_refused_with_dates():
    text = eccc(8760, range(1000, 1720))
    with pytest.raises(InputError, match=r"2021-02-11 16:00 to 2021-03-13 15:00.*720 hours"):
        read_eccc(text, -5.0)


def test_missing_records_count_as_a_gap():
    lines = eccc(240).splitlines(keepends=True)
    with pytest.raises(InputError, match="100 hours missing"):
        read_eccc("".join(lines[:61] + lines[161:]), -5.0)


def test_leap_year_keeps_its_day():
    rows = [[f"{w:%Y-%m-%dT%H:%M}", "1.0", "0.5"] for w in hours(8784, datetime(2024, 1, 1))]
    year = read_columns(
        table(["t", "a", "b"], rows), HERE, "t", {"temperature": "a", "humidity": "b"}
    )
    assert year.hours == 8784
    assert (year.month == 2).sum() == 696


def test_columns_with_factors():
    rows = [[f"{w:%Y-%m-%d %H:%M}", "50", "40"] for w in hours(48)]
    year = read_columns(
        table(["when", "F", "RH"], rows), HERE, "when", {"temperature": "F", "humidity": "RH"},
        {"temperature": 5 / 9, "humidity": 0.01}, {"temperature": -160 / 9},
    )  # fmt: skip
    assert_allclose(year.temperature, 10.0, atol=1e-12)  # exact: 50 F


def test_isd_lite_is_in_universal_time():
    lines = [
        f"{w:%Y %m %d %H} {-50 + w.hour:5d}   -90 10132   270    51     8     3 -9999"
        for w in hours(72)
    ]
    year = read_isd_lite("\n".join(lines), HERE)
    assert year.time0 == datetime(2020, 12, 31, 19)
    assert_allclose(year.temperature[0], -5.0)
    assert_allclose(year.wind_speed, 5.1)


def test_wy3_columns():
    lines = ["CWEEDS2011,SOMEWHERE,ON,CAN,0,50.11,-91.91,-6.00,383.1"]
    for w in hours(48):
        record = [" "] * 120
        for first, text in (
            (1, "0000000B"), (9, f"{w:%Y%m%d}{w.hour + 1:02d}"), (23, " 360"), (29, " 720"),
            (35, " 180"), (88, " 9750"), (94, " -52"), (99, " -85"), (104, "270"), (108, "  41"),
            (113, "10"),
        ):  # fmt: skip
            record[first - 1 : first - 1 + len(text)] = text
        lines.append("".join(record))
    year = read_wy3("\n".join(lines))
    assert year.hours == 48
    assert_allclose(year.ghi, 100.0)  # exact: 360 kJ over an hour
    assert_allclose(year.temperature, -5.2)
    assert_allclose(year.pressure, 97_500.0)
    assert_allclose(year.wind_speed, 4.1)


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
    year = read_nsrdb(nsrdb("-7"))
    assert year.hours == 48
    assert_allclose(year.temperature, -3.0)
    assert_allclose(year.pressure, 79_000.0)


def test_nsrdb_hours_are_told_in_the_zone_of_the_place():
    """Exact: a zone one hour further east reads the same moment an hour later."""
    here, east = read_nsrdb(nsrdb("-7")), read_nsrdb(nsrdb("-6"))
    assert east.time0 - here.time0 == timedelta(hours=1)
    assert (here.utc_offset, east.utc_offset) == (-7.0, -6.0)
    assert_allclose(east.temperature, here.temperature, rtol=1e-12)


def test_pvgis_long_wave_gives_the_sky():
    lines = [
        "Latitude (decimal degrees): 45.0",
        "Longitude (decimal degrees): 8.0",
        "Elevation (m): 250",
    ]
    lines += ["time(UTC),T2m,RH,G(h),Gb(n),Gd(h),IR(h),WS10m,WD10m,SP"]
    lines += [f"{w:%Y%m%d:%H}00,3.0,80,0,0,0,280.0,1.5,90,98000" for w in hours(48)]
    year = read_pvgis("\n".join(lines), 1.0)
    assert_allclose(year.sky_temperature, (280.0 / 5.670374e-8) ** 0.25 - 273.15)
    assert year.longitude == 8.0


@pytest.mark.parametrize("text", ["", "a", "\x00\x00", "a,b\n1,2", "x" * 1000, "\n" * 50])
@pytest.mark.parametrize("reader", [read_tmy3, read_nsrdb, read_wy3])
def test_junk_is_refused_in_words(reader, text):
    with pytest.raises(InputError):
        reader(text)


@pytest.mark.parametrize("text", ["", "1 2 3", "a b c d", "2021 01 01"])
def test_junk_isd(text):
    with pytest.raises(InputError):
        read_isd_lite(text, HERE)
