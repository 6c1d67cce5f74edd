"""The hourly weather contract refuses what no solver could use."""

from __future__ import annotations

from datetime import datetime

import numpy as np
import pytest

from warmside.errors import InputError
from warmside.physics.climate import HourlyClimate


def flat_year(hours: int = 8760, **changed: object) -> HourlyClimate:
    columns = {
        "temperature": -5.0,
        "humidity": 0.8,
        "wind_speed": 3.0,
        "wind_direction": 270.0,
        "ghi": 0.0,
        "dni": 0.0,
        "dhi": 0.0,
        "pressure": 101_325.0,
        "sky_temperature": -15.0,
        "rain": 0.0,
    }
    values: dict[str, object] = {key: np.full(hours, value) for key, value in columns.items()}
    values |= {
        "time0": datetime(2021, 1, 1),
        "latitude": 45.0,
        "longitude": -75.0,
        "utc_offset": -5.0,
    } | changed
    return HourlyClimate(**values)  # type: ignore[arg-type]


def test_months_of_a_leap_year():
    year = flat_year(8784, time0=datetime(2024, 1, 1))
    # exact: hours in February of a leap year
    assert (year.month == 2).sum() == 29 * 24
    assert year.month[-1] == 12


@pytest.mark.parametrize(("year", "hours", "first"), [(2021, 8760, 273), (2020, 8784, 274)])
def test_a_year_from_autumn_on_begins_with_october(year, hours, first):
    """Exact: 273 days of an ordinary year come before October, 274 of a leap year."""
    counted = flat_year(hours, time0=datetime(year, 1, 1), temperature=np.arange(hours) / 1000.0)
    autumn = counted.from_autumn()
    assert autumn.time0 == datetime(year - 1, 10, 1)
    assert autumn.temperature[0] == pytest.approx(first * 0.024, rel=1e-12)
    assert autumn.temperature[-1] == pytest.approx((first * 24 - 1) / 1000.0, rel=1e-12)
    january = datetime(year, 1, 1) - autumn.time0
    assert autumn.temperature[january.days * 24] == 0.0


def test_part_keeps_the_calendar():
    part = flat_year().part(31 * 24, 24)
    assert part.hours == 24
    assert part.time0 == datetime(2021, 2, 1)


@pytest.mark.parametrize("bad", [np.nan, np.inf, -400.0])
def test_a_value_out_of_range_is_named_with_its_date(bad):
    temperature = np.zeros(8760)
    temperature[31 * 24 + 5] = bad
    with pytest.raises(InputError, match="hourly temperature, 2021-02-01 05:00"):
        flat_year(temperature=temperature)


def test_short_columns_and_wrong_places_are_refused_together():
    with pytest.raises(InputError) as caught:
        flat_year(humidity=np.zeros(3), latitude=95.0)
    assert len(caught.value.faults) == 2


def test_no_hours():
    with pytest.raises(InputError, match="no hours"):
        flat_year(0)
