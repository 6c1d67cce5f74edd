"""The thickness curve of a real wall."""

from __future__ import annotations

from itertools import pairwise

import pytest

from warmside.demo import survey_text
from warmside.errors import InputError
from warmside.promises import present_value_factor
from warmside.study import study, thickness_curve
from warmside.study.fields import solved
from warmside.survey import Survey, Wanted, read


@pytest.fixture(scope="module")
def house():
    survey = read(survey_text())
    walls = tuple(wall for wall in survey.walls if wall.name in ("east side", "kitchen south"))
    return study(Survey(house=survey.house, walls=walls), fields=False)


@pytest.fixture(scope="module")
def curve(house):
    return thickness_curve(house, "east side")


def test_from_an_inch_by_half_inches_to_the_full_depth(curve, house):
    inside = [step.foam for step in curve.steps if not step.beyond]
    assert inside[0] == pytest.approx(0.0254)
    assert inside[-1] == pytest.approx(house.wall("east side").frame.depth)
    gaps = [b - a for a, b in pairwise(inside[:-1])]
    assert gaps == pytest.approx([0.0127] * len(gaps))
    assert {step.beyond for step in curve.steps} == {"", "furring", "board"}


def test_each_further_half_inch_adds_less_where_the_wood_stays(curve):
    """Physics: the studs go on conducting beside the foam, and foam of R = t / k gives falling
    returns in 1 / R."""
    inside = [step for step in curve.steps if not step.beyond]
    added = [step.further_resistance / step.added for step in inside[1:]]
    assert all(a > 0.0 for a in added)
    assert added == sorted(added, reverse=True)
    heat = [step.further_heat / step.added for step in inside[1:]]
    assert heat == sorted(heat, reverse=True)


def test_steps_add_up_to_the_whole(curve):
    """Exact: sums of what each step adds."""
    inside = [step for step in curve.steps if not step.beyond]
    assert sum(s.further_cost for s in inside) == pytest.approx(inside[-1].cost, rel=1e-9)
    assert sum(s.further_heat for s in inside) == pytest.approx(inside[-1].worth.heat.best)
    factor = present_value_factor(0.04, 30, 0.02)
    third = inside[2]
    assert third.further_value == pytest.approx([m * factor for m in third.further_money], rel=1e-9)
    more = [third.worth.money, inside[1].worth.money]
    ends = [(m.low, m.best, m.high) for m in more]
    assert third.further_money == pytest.approx(
        sorted(a - b for a, b in zip(*ends, strict=True)), rel=1e-12
    )


def test_curve_agrees_with_the_options_of_the_study(curve, house):
    """Other way: the same option, studied with the wall."""
    wall = house.wall("east side")
    for step in curve.steps:
        for option in wall.options:
            if option.option == step.option:
                assert step.resistance == pytest.approx(option.warm.resistance, rel=1e-12)
                assert step.cost == pytest.approx(float(option.price.total), rel=1e-12)


def test_best_is_where_the_next_step_costs_more_than_it_saves(curve):
    inside = [step for step in curve.steps if not step.beyond]
    at = inside.index(curve.best)
    assert all(step.pays for step in inside[1 : at + 1])
    assert at + 1 == len(inside) or not inside[at + 1].pays
    assert any(said in curve.sentence for said in ("pays best", "comes nearest", "whole depth"))
    assert "invented" in curve.sentence


def test_thick_foam_needs_passes_and_trimming(curve):
    by_foam = {step.option.id: step for step in curve.steps}
    assert by_foam["cc-25"].passes == 1
    assert by_foam["cc-76"].passes == 2
    assert by_foam["cc-full"].trimming
    assert not by_foam["cc-51"].trimming
    assert by_foam["furring-25-cc-full"].into_room > 0.0


def test_curve_follows_the_fields_where_they_are_solved():
    """Other way: the field of one step, solved anew; thicker foam never resists less."""
    survey = read(survey_text())
    wanted = (Wanted(kind="closed-cell", thickness=0.0508),)
    walls = tuple(wall for wall in survey.walls if wall.name == "east gable")
    small = study(Survey(house=survey.house, walls=walls, options=wanted))
    curve = thickness_curve(small, "east gable")
    step = next(s for s in curve.steps if s.option.id == "cc-51")
    place = small.wall("east gable")
    again = solved(place.option("cc-51").build_up, ())
    assert step.resistance == pytest.approx(again.resistance, rel=1e-9)
    inside = [s.resistance for s in curve.steps if not s.beyond]
    assert inside == sorted(inside)


def test_bad_input_is_named(house):
    with pytest.raises(InputError, match="no such"):
        thickness_curve(house, "no such wall")
    open_cell = next(f.id for f in house.catalog.foams.values() if f.family == "open-cell")
    with pytest.raises(InputError, match="closed-cell foam"):
        thickness_curve(house, "east side", open_cell)
