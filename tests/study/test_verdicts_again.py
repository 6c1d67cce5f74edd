"""Verdicts recomputed by a script that knows the limits and the figures, and not the program."""

from __future__ import annotations

import copy
import json
import random

import pytest

from verdicts_again import count, dew_point, disagreements
from warmside.demo import survey_text
from warmside.study import json_text, study
from warmside.survey import FanTest, Survey, read

DEMO = read(survey_text())


def handed_out(survey: Survey) -> dict:
    """A study as its JSON comes back from a file."""
    return json.loads(json_text(study(survey, fields=False)))


@pytest.fixture(scope="module")
def demo() -> dict:
    return handed_out(DEMO)


def test_the_demonstration(demo):
    assert list(disagreements(demo)) == []
    assert count(demo) > 3000
    told = [f["verdict"] for w in demo["walls"] for o in w["options"] for f in o["findings"]]
    assert {"holds", "falls short", "needs a person"} <= set(told)


@pytest.mark.parametrize("seed", range(10))
def test_a_random_house(seed):
    draw = random.Random(seed)
    wall = draw.choice(DEMO.walls)
    house = DEMO.house.model_copy(
        update={
            "fan_test": draw.choice([None, FanTest(flow_50=draw.uniform(0.2, 2.0))]),
            "people": draw.randint(0, 7),
            "mechanical_ventilation": draw.uniform(0.0, 0.04),
            "indoor_humidity": None,
            "moisture_production": draw.uniform(2.0, 15.0) / 86400.0,
            "climate": draw.choice(["north-bay", "ottawa", "winnipeg", "halifax", "vancouver"]),
        }
    )
    found = handed_out(Survey(house=house, walls=(wall,)))
    assert list(disagreements(found)) == []
    assert count(found) > 100


@pytest.mark.parametrize(
    ("key", "change"),
    [
        ("surface_factor", 0.9),
        ("coldest_surface_c", 9.0),
        ("mould_index_mid_bay", 9.0),
        ("summer_moisture_stud", 0.5),
        ("net_present_value", 1e7),
        ("simple_payback_years", 1e3),
    ],
)
def test_a_verdict_that_does_not_follow_is_seen(demo, key, change):
    """The script can fail: a limit moved past its figure, the verdict left as it was."""
    wrong = copy.deepcopy(demo)
    findings = [f for w in wrong["walls"] for o in w["options"] for f in o["findings"]]
    one = next(f for f in findings if f["key"] == key and f["verdict"] == "holds")
    one["limit"] += change if one["limit_is"] == "least" else -change
    assert len(list(disagreements(wrong))) >= 1


def test_dew_points_of_a_handbook():
    """Psychrometric tables: 21 degC and 50 % have a dew point of 10.2 degC (from memory)."""
    assert dew_point(21.0, 0.5) == pytest.approx(10.2, abs=0.1)
    assert dew_point(21.0, 1.0) == pytest.approx(21.0, abs=1e-9)
