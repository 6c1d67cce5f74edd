"""One whole year out of what a file holds."""

from __future__ import annotations

from datetime import datetime

import numpy as np
import pytest
from numpy.testing import assert_allclose

from warmside.catalog import load
from warmside.errors import InputError
from warmside.physics.climate import HourlyClimate
from warmside.weather import made_year, normals_of, station_of, whole_year


def ramp(begun: datetime, count: int, level: float = 0.0) -> HourlyClimate:
    zero = np.zeros(count)
    t = level + np.arange(count) / 1000.0
    return HourlyClimate(begun, t, zero + 0.5, zero, zero, zero, zero, zero, zero + 1e5, zero,
                         zero, 45.0, -75.0, -5.0)  # fmt: skip


def test_a_year_of_observations_begins_an_hour_early():
    """Exact: the reading of 0:00 on 1 January ends the last hour of the year before."""
    year = whole_year(ramp(datetime(2020, 12, 31, 23), 8760))
    assert year.time0 == datetime(2021, 1, 1)
    assert_allclose(year.temperature[:3], [0.001, 0.002, 0.003], rtol=1e-12)
    assert year.temperature[-1] == 0.0


def test_of_several_years_the_cold_one():
    cold, warm = ramp(datetime(2021, 1, 1), 8760, -10.0), ramp(datetime(2022, 1, 1), 8760, 5.0)
    both = HourlyClimate(
        cold.time0,
        *(np.concatenate([getattr(cold, n), getattr(warm, n)]) for n in (
            "temperature", "humidity", "wind_speed", "wind_direction", "ghi", "dni", "dhi",
            "pressure", "sky_temperature", "rain")),
        45.0, -75.0, -5.0,
    )  # fmt: skip
    year = whole_year(both)
    assert year.time0 == datetime(2021, 1, 1)
    assert any("2021" in note for note in year.notes)


def test_a_year_from_july_is_put_in_the_order_of_the_calendar():
    year = whole_year(ramp(datetime(2021, 7, 1), 8760))
    assert year.time0 == datetime(2022, 1, 1)
    assert year.hours == 8760
    first = (datetime(2022, 1, 1) - datetime(2021, 7, 1)).days * 24
    assert_allclose(year.temperature[0], first / 1000.0, rtol=1e-12)


@pytest.mark.parametrize("count", [24, 8759])
def test_less_than_a_year_is_refused(count):
    with pytest.raises(InputError, match="a whole year"):
        whole_year(ramp(datetime(2021, 1, 1), count))


def test_made_year_is_shared_and_stands_at_its_station():
    row = load().climate("winnipeg")
    assert made_year(row) is made_year(row)
    assert made_year(row).latitude == row.latitude == station_of(row).latitude
    assert_allclose(made_year(row).monthly_mean(made_year(row).temperature), row.mean, atol=0.01)
    assert normals_of(row, -3.5).utc_offset == -3.5
