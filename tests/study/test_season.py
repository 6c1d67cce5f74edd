"""The season in the study: weather from normals, and tight and worth of the whole house."""

from __future__ import annotations

import json
from importlib.resources import files

import numpy as np
import pytest

from warmside.catalog import load
from warmside.demo import survey_text
from warmside.physics.energy import degree_days
from warmside.study import Weights, json_text, study
from warmside.survey import Survey, read
from warmside.weather import read_weather


@pytest.fixture(scope="module")
def demo():
    return study(read(survey_text()), fields=False, weights=Weights(cost=2.0))


def test_year_is_made_from_the_normals_of_the_station(demo):
    """Published: ECCC normals 1971-2000 and degree-days of NBC 2020 table C-2, within 6 %."""
    climate = load().climate("north-bay")
    assert demo.weather.temperature.mean() == pytest.approx(np.mean(climate.mean), abs=0.2)
    assert degree_days(demo.weather) == pytest.approx(climate.degree_days, rel=0.06)


def test_house_is_the_sum_of_its_chosen_walls(demo):
    """Exact: shares removed add; heat adds where the rest of the house is not described."""
    chosen = [wall.chosen for wall in demo.walls]
    removed = sum(o.change.removed.best for o in chosen)
    before, after = demo.tight.air_change_before.best, demo.tight.air_change_after.best
    assert after == pytest.approx(before * (1.0 - removed), rel=1e-9)
    # other method: the fresh air that the work makes fans bring takes its heat back
    outside = demo.weather.temperature
    warmth = (21.0 - outside)[outside < 17.0].sum() * 3600
    fresh = 1206.0 * demo.tight.fresh.increase * warmth
    heat = sum(o.worth.computed.best for o in chosen)
    assert demo.worth.computed.best == pytest.approx(heat - fresh, rel=1e-9)


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
    """The demonstration has a natural-draft furnace and three fans: they may pull its fumes in."""
    keys = {f.key: f for f in demo.findings}
    assert {"ventilation_m3_s", "depressurisation_pa", "radon_bq_m3"} <= set(keys)
    assert keys["depressurisation_pa"].verdict == "falls short"
    assert "licensed" in keys["depressurisation_pa"].change


def test_json_holds_the_season_with_units(demo):
    data = json.loads(json_text(demo))
    assert data["house_tight"]["air_change_50_before_per_h"]["best"] == pytest.approx(
        demo.tight.air_change_before.best
    )
    option = data["walls"][0]["options"][1]
    assert option["worth"]["fuel_unit"] == "L"
    assert data["walls"][0]["joints"][0]["length_m"] > 0.0
    assert set(option["verdicts"]) == {"warm", "dry", "tight", "legal", "safe", "worth it"}


# --- real hours through the whole chain


@pytest.fixture(scope="module")
def sand_point():
    """TMY3 of Sand Point, Alaska, as a general-purpose library carries it (a government work)."""
    return read_weather((files("pvlib") / "data" / "703165TY.csv").read_bytes())


def test_real_hours_have_the_degree_days_known_of_them(sand_point):
    """Measured on the file in the reference notes: 4956 K d below 18 degC, mean 4.4 degC."""
    assert degree_days(sand_point) == pytest.approx(4956, rel=0.01)
    assert sand_point.temperature.mean() == pytest.approx(4.4, abs=0.1)


def test_real_hours_through_the_whole_chain(sand_point):
    """One wall of the demonstration in a real, maritime, windy year."""
    survey = read(survey_text())
    walls = tuple(wall for wall in survey.walls if wall.name == "east side")
    lived_in = survey.house.model_copy(
        update={"indoor_humidity": None, "moisture_production": 12.0 / 86400.0}
    )
    house = study(
        Survey(house=lived_in, walls=walls),
        weather=sand_point,
        fields=False,
        weights=Weights(cost=2.0),
    )
    best = house.walls[0].chosen
    # other method: transmission by degree-hours to the room in hours below the balance point
    cold = sand_point.temperature < 17.0
    heat = ((21.0 - sand_point.temperature)[cold]).sum() * 3600
    transmitted = (best.change.before - best.change.after) * heat
    assert transmitted < best.worth.computed.best < best.worth.present
    assert best.tight.water_before > 0.0
    # natural air change by the rule ACH50 / 20 (Sherman 1987), right within a half in a windy place
    rule = house.tight.air_change_before.best / 20.0
    mean = house.air.infiltration(house.air.leakage.flow_50.best).mean() * 3600
    assert mean / survey.house.volume == pytest.approx(rule, rel=0.5)
