"""Answers never contradict the findings: their numbers are the findings' own, on any house."""

from __future__ import annotations

import re

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from warmside.demo import survey_text
from warmside.errors import InputError
from warmside.promises import texts
from warmside.study import Weights, answers, study, with_choices
from warmside.survey import AsFound, Box, FoundLayer, Hazard, House, Reading, Survey, Wall, read
from warmside.wording import PAPER

# something is done to every wall, whether it pays or not
WARMEST = Weights(warm=1.0, cost=0.0)
KINDS = ("batt and poly", "closed-cell", "open-cell", "foam and batt", "from outside")


@pytest.fixture(scope="module")
def house():
    survey = read(survey_text())
    return study(
        survey.model_copy(update={"walls": survey.walls[5:7]}), fields=False, weights=WARMEST
    )


def contradictions(house, wall, found):
    """Numbers of an answer that are none of its figures; figures that no finding holds."""
    place = house.wall(wall)
    rest = str(found.text)
    for part in sorted((*found.words, *map(PAPER.figure, found.figures)), key=len, reverse=True):
        rest = rest.replace(part, "")
    yield from re.findall(r"\S*\d\S*", rest)
    for figure in found.figures:
        if not figure.finding:
            continue
        near = place.option(figure.option).findings if figure.option else house.findings
        values = [v for f in near if f.key == figure.finding for v in (f.figure, f.limit)]
        if figure.value not in values:
            yield figure
    for option, key in found.findings:
        near = place.option(option).findings if option else house.findings
        if key not in {f.key for f in near}:
            yield option, key


def test_at_least_the_25_usual_questions_are_answered(house):
    """Common practice: the questions that owners, officials and crews ask in public."""
    for wall in house.walls:
        found = answers(house, wall.wall.name)
        assert len({a.key for a in found}) == len(found) >= 25
        assert all(a.question.endswith("?") and (a.text or a.measure) for a in found)


def test_numbers_are_those_of_the_findings(house):
    for wall in house.walls:
        for found in answers(house, wall.wall.name):
            assert list(contradictions(house, wall.wall.name, found)) == [], found.key


@st.composite
def surveys(draw):
    finish = draw(st.sampled_from(["gypsum-board", "plaster-on-wood-lath"]))
    sheathing = draw(st.sampled_from([(), ("board-sheathing",)]))
    kinds = draw(st.lists(st.sampled_from(KINDS), unique=True, max_size=2))
    frame = draw(st.sampled_from(["platform", "balloon"]))
    wall = Wall(
        name="w",
        faces=draw(st.floats(0, 359)),
        frame=frame,
        length=draw(st.floats(1.5, 4.0)),
        height=5.4 if frame == "balloon" else 2.44,
        floor_line=2.7 if frame == "balloon" else None,
        found=AsFound(
            finish=(FoundLayer(material=finish),),
            sheathing=tuple(FoundLayer(material=m) for m in sheathing),
            cladding=FoundLayer(material="wood-bevel-siding"),
        ),
        boxes=(Box(x=0.7, z=0.4),) if draw(st.booleans()) else (),
        readings=draw(
            st.lists(
                st.builds(Reading, where=st.just("sill"), moisture=st.floats(0.06, 0.4)),
                max_size=2,
            )
        ),
    )
    hazards = draw(
        st.sampled_from(
            [(), (Hazard(kind="knob-and-tube wiring", where="bay", state="found", wall="w"),)]
        )
    )
    place = House(
        name="h",
        climate=draw(st.sampled_from(["ottawa", "winnipeg", "halifax"])),
        year_built=draw(st.integers(1900, 1979)),
        volume=draw(st.floats(150.0, 600.0)),
        indoor_humidity=draw(st.floats(0.15, 0.6)),
    )
    wanted = [{"kind": kind} for kind in kinds]
    return Survey(house=place, walls=(wall,), hazards=hazards, options=wanted)


@settings(max_examples=10, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(surveys())
def test_no_answer_contradicts_a_finding_on_any_house(survey):
    house = study(survey, fields=False)
    for found in answers(house, "w"):
        assert list(contradictions(house, "w", found)) == [], found.key


def test_time_to_sleep_is_never_a_constant(house):
    """Published: EPA gives no hours for all foams; the listing of the product does."""
    wall = house.walls[0]
    foam = next(o for o in wall.options if o.option.foam and o.build_up.can_be_built)
    sprayed = with_choices(house, {wall.wall.name: foam.option.id})
    found = next(a for a in answers(sprayed, wall.wall.name) if a.key == "sleep")
    assert "listing" in found.measure
    assert not any(f.kind == "time" for f in found.figures)


def test_foam_is_no_bracing_and_what_is_known_is_told_second_hand(house):
    found = next(a for a in answers(house, house.walls[0].wall.name) if a.key == "brace")
    assert "No code gives foam a value as bracing" in found.text
    assert [f.source.tag for f in found.figures[:2]] == ["second-hand"] * 2


def test_what_was_not_studied_is_asked_for(house):
    survey = house.survey.model_copy(update={"walls": house.survey.walls[:1], "options": ()})
    walls = tuple(w.model_copy(update={"readings": ()}) for w in survey.walls)
    options = [{"kind": "closed-cell", "thickness": 0.05, "only": True}]
    wanted = Survey(house=survey.house, walls=walls, options=options)
    found = {a.key: a for a in answers(study(wanted, fields=False, weights=WARMEST), walls[0].name)}
    for key in ("sandwich", "flash", "from_outside", "why_not_three", "rain"):
        assert found[key].measure == texts().get(f"answer.{key}.measure")


def test_french_answers_have_the_same_figures(house):
    name = house.walls[0].wall.name
    for one, other in zip(answers(house, name), answers(house, name, "fr"), strict=True):
        assert one.figures == other.figures
        assert (one == other) != texts("fr").speaks(f"answer.{one.key}")
    assert texts("fr").speaks("answer.how_thick")
    assert not texts("fr").speaks("answer.mice")


def test_unknown_wall_is_told(house):
    with pytest.raises(InputError, match="nowhere"):
        answers(house, "nowhere")


def test_a_wall_that_is_left_is_told_as_it_is_and_what_was_studied_is_named():
    """Common practice: nobody is told that fire blocks go into a wall on which nothing is done,
    nor that fibre was not studied where it was."""
    wall = Wall(
        name="w", faces=0.0, frame="balloon", length=3.6, height=5.4, floor_line=2.7,
        fire_blocks="missing",
        found=AsFound(
            finish=(FoundLayer(material="plaster-on-wood-lath"),),
            sheathing=(FoundLayer(material="board-sheathing"),),
            cladding=FoundLayer(material="wood-bevel-siding"),
        ),
    )  # fmt: skip
    house = House(name="h", climate="winnipeg", year_built=1926, volume=400.0)
    whole = study(Survey(house=house, walls=(wall,)), fields=False)
    fibre = next(o for o in whole.walls[0].options if o.option.id.startswith("dense"))
    for chosen, worked in (("leave", False), (fibre.option.id, True)):
        told = {a.key: str(a.text) for a in answers(with_choices(whole, {"w": chosen}), "w")}
        assert ("put in or made good" in told["balloon"]) == worked
        assert ("Nothing is changed on this wall" in told["studs"]) != worked
        assert "neither was studied" not in told["injected"]
        assert fibre.option.name in told["injected"]
        assert "proven before the wall is closed" not in told["trap"]
