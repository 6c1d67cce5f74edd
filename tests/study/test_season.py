"""The season in the study: weather from normals, and tight and worth of the whole house."""

from __future__ import annotations

import numpy as np
import pytest

from warmside.catalog import load
from warmside.demo import survey_text
from warmside.physics.energy import degree_days
from warmside.study import study, to_json
from warmside.study._weather import MEAN_WIND, weather_of
from warmside.survey import read


@pytest.fixture(scope="module")
def demo():
    return study(read(survey_text()))


@pytest.mark.parametrize("place", ["winnipeg", "toronto", "north-bay", "ottawa", "halifax"])
def test_year_of_hours_keeps_the_published_means(place):
    """Published: ECCC normals 1971-2000, monthly means; straight lines between months clip the
    coldest and warmest by up to 0.8 K."""
    climate = load().climate(place)
    year = weather_of(climate)
    np.testing.assert_allclose(year.monthly_mean(year.temperature), climate.mean, atol=1.2)
    assert year.temperature.mean() == pytest.approx(np.mean(climate.mean), abs=0.2)
    assert year.wind_speed.mean() == pytest.approx(MEAN_WIND, rel=1e-9)


@pytest.mark.parametrize("place", ["winnipeg", "ottawa", "north-bay", "toronto"])
def test_year_of_hours_has_the_degree_days_of_the_code(place):
    """Published: degree-days below 18 degC of NBC 2020 table C-2, within 6 % (other years)."""
    climate = load().climate(place)
    assert degree_days(weather_of(climate)) == pytest.approx(climate.degree_days, rel=0.06)


def test_same_normals_give_the_same_year():
    climate = load().climate("ottawa")
    first, second = weather_of(climate), weather_of(climate)
    np.testing.assert_array_equal(first.temperature, second.temperature)


def test_house_is_the_sum_of_its_chosen_walls(demo):
    """Exact: shares removed add; heat adds where the rest of the house is not described."""
    chosen = [wall.chosen for wall in demo.walls]
    removed = sum(o.change.removed.best for o in chosen)
    before, after = demo.tight.air_change_before.best, demo.tight.air_change_after.best
    assert after == pytest.approx(before * (1.0 - removed), rel=1e-9)
    heat = sum(o.worth.heat.best for o in chosen)
    assert demo.worth.heat.best == pytest.approx(heat, rel=1e-9)


def test_as_found_promises_nothing(demo):
    for wall in demo.walls:
        found = wall.as_found
        assert found.worth.heat.high == 0.0
        assert found.tight.findings == found.worth.findings == found.comfort.findings == ()


def test_saving_never_exceeds_present_use(demo):
    for wall in demo.walls:
        for option in wall.options:
            assert option.worth.heat.best <= option.worth.present
    assert demo.worth.heat.best <= demo.worth.present


def test_house_is_told_what_tightening_asks_for(demo):
    """The demonstration has a natural-draft furnace: a licensed person must test."""
    keys = {f.key: f for f in demo.findings}
    assert {"ventilation_m3_s", "depressurisation_pa", "radon_bq_m3"} <= set(keys)
    assert keys["depressurisation_pa"].verdict == "needs a person"
    assert "licensed" in keys["depressurisation_pa"].change


def test_json_holds_the_season_with_units(demo):
    data = to_json(demo)
    assert data["house_tight"]["air_change_50_before_per_h"]["best"] == pytest.approx(
        demo.tight.air_change_before.best
    )
    option = data["walls"][0]["options"][1]
    assert option["worth"]["fuel_unit"] == "m3"
    assert option["tight"]["joints"][0]["length_m"] > 0.0
    assert set(option["verdicts"]) == {"warm", "dry", "tight", "legal", "safe", "worth it"}
