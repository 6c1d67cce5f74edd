"""Studies by content: what has not changed is not computed again, and nothing differs for it."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from warmside.catalog import load
from warmside.demo import survey_text
from warmside.physics.climate import synthesise
from warmside.study import Kept, json_text, study, whole_house
from warmside.study.memory import digest
from warmside.survey import Survey, Wanted, read
from warmside.weather import normals_of

WHOLE = read(survey_text())
NEWCOMER = Path(__file__).parents[2] / "benchmarks" / "newcomer.toml"
SURVEY = WHOLE.model_copy(update={"walls": WHOLE.walls[5:8]})


@pytest.fixture
def computed(monkeypatch):
    """Options that were really computed."""
    done, real = [], whole_house.study_option

    def counted(option, wall, *shared):
        done.append((wall.name, option.id))
        return real(option, wall, *shared)

    monkeypatch.setattr(whole_house, "study_option", counted)
    return done


def test_a_changed_thickness_is_all_that_is_computed(computed):
    kept = Kept()
    study(SURVEY, fields=False, kept=kept)
    name = SURVEY.walls[0].name
    computed.clear()
    wanted = (Wanted(kind="closed-cell", thickness=0.07, walls=(name,)),)
    changed = SURVEY.model_copy(update={"options": wanted})
    again = study(changed, fields=False, kept=kept)
    assert computed == [(name, "cc-70")]
    assert json_text(again) == json_text(study(changed, fields=False))


def test_a_changed_wall_gives_what_a_fresh_study_gives(computed):
    """Exact: the other walls keep their heat and moisture, and get the house's new air."""
    kept = Kept()
    study(SURVEY, fields=False, kept=kept)
    computed.clear()
    deeper = SURVEY.walls[0].model_copy(update={"stud_depth": 0.1})
    changed = SURVEY.model_copy(update={"walls": (deeper, *SURVEY.walls[1:])})
    again = study(changed, fields=False, kept=kept)
    assert {wall for wall, _ in computed} == {deeper.name}
    assert json_text(again) == json_text(study(changed, fields=False))


def moved(survey: Survey, wall: int, by: float) -> Survey:
    """The survey with the first opening of a wall moved along it [m]."""
    walls = [*survey.walls]
    first, *others = walls[wall].openings
    there = first.model_copy(update={"left": first.left + by})
    walls[wall] = walls[wall].model_copy(update={"openings": (there, *others)})
    return survey.model_copy(update={"walls": tuple(walls)})


def test_a_house_under_the_hand_is_the_fresh_one_to_the_last_bit():
    """Exact, fields and hours too: a bungalow typed in by a newcomer, a window moved to and fro."""
    bungalow, kept = read(NEWCOMER.read_text(encoding="utf-8")), Kept()
    study(bungalow, kept=kept)
    for by in (-0.13, -0.31):
        edited = moved(bungalow, 0, by)
        again = study(edited, kept=kept)
    fresh = study(edited)
    assert json_text(again) == json_text(fresh)
    hourly = [o.dry.hourly for w in fresh.walls for o in w.options if o.build_up.can_be_built]
    assert len(hourly) > 10
    assert all(hourly)


@pytest.mark.parametrize(
    "change", [{"indoor_humidity": 0.5}, {"year_built": 1950}, {"climate": "winnipeg"}]
)
def test_a_changed_house_is_computed_anew(computed, change):
    survey = SURVEY.model_copy(update={"walls": SURVEY.walls[:1]})
    kept = Kept()
    count = len(study(survey, fields=False, kept=kept).walls[0].options)
    computed.clear()
    house = survey.house.model_copy(update=change)
    study(survey.model_copy(update={"house": house}), fields=False, kept=kept)
    assert len(computed) == count


def test_the_bound_holds_and_the_oldest_go_first():
    kept = Kept(most=3)
    for k in range(3):
        kept.put(str(k), k)
    assert kept.get("0") == 0  # used again: "1" is the oldest now
    kept.put("3", 3)
    assert len(kept) == 3
    assert kept.get("1") is None
    assert kept.get("0") == 0


def test_small_stores_give_the_same_study():
    survey = SURVEY.model_copy(update={"walls": SURVEY.walls[:1]})
    fresh = json_text(study(survey, fields=False))
    kept = Kept(most=1)
    for _ in range(2):
        assert json_text(study(survey, fields=False, kept=kept)) == fresh


def test_content_is_told_apart_to_the_last_hour_of_weather():
    year = synthesise(normals_of(load().climate("ottawa")))
    other = year.temperature.copy()
    other[5000] += 1e-9
    assert digest(year) == digest(replace(year))
    assert digest(year) != digest(replace(year, temperature=other))


VALUES = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False) | st.text(),
    lambda inner: st.lists(inner, max_size=3).map(tuple),
    max_leaves=6,
)


@settings(max_examples=50, deadline=None)
@given(VALUES, VALUES)
def test_equal_content_equal_name(one, other):
    """Exact: a name is equal when type and value are (1 and 1.0 and True are not one content)."""
    assert (digest(one) == digest(other)) == (repr(one) == repr(other))


def test_unknown_content_is_refused():
    with pytest.raises(TypeError, match="content of object"):
        digest(object())
    assert digest(np.arange(3)) != digest(np.arange(3.0))
