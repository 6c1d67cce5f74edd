"""Options side by side: ranked by weights, the least that keeps every promise, the next step."""

from __future__ import annotations

from dataclasses import fields
from itertools import pairwise

import pytest

from warmside.demo import survey_text
from warmside.errors import InputError
from warmside.study import Weights, compare, study
from warmside.survey import read
from warmside.wording import PAPER, Figure


@pytest.fixture(scope="module")
def house():
    """Two small walls of the demonstration house."""
    survey = read(survey_text())
    return study(survey.model_copy(update={"walls": survey.walls[7:9]}), fields=False)


def test_leave_stands_first_and_every_option_once(house):
    """Exact: a ranking is an arrangement of the options."""
    for wall, compared in zip(house.walls, compare(house).walls, strict=True):
        assert compared.rows[0].id == "leave"
        assert [row.rank for row in compared.rows] == list(range(len(wall.options)))
        assert {row.id for row in compared.rows} == {o.option.id for o in wall.options}


def test_by_default_the_plan_is_put_forward_and_the_least_costly_stands_first_in_the_row(house):
    for wall, compared in zip(house.walls, compare(house).walls, strict=True):
        keeping = [o for o in wall.options if o.price and o.keeps_its_promises]
        least = min(keeping, key=lambda o: o.price.total).option.id
        assert compared.least == compared.rows[1].id == least
        assert wall.chosen_id == house.plans.best.options[wall.wall.name]


def test_weights_change_what_is_put_forward_but_no_broken_promise_goes_first(house):
    """By warmth alone the warmest wins; whatever the weights, those that fall short come after."""
    for field in fields(Weights):
        weights = Weights(**{"cost": 0.0, field.name: 1.0})
        for wall, compared in zip(house.walls, compare(house, weights).walls, strict=True):
            kept = [row.keeps for row in compared.rows[1:]]
            assert kept == sorted(kept, reverse=True)
            if field.name == "warm":
                keeping = [o for o in wall.options if o.price and o.keeps_its_promises]
                warmest = max(keeping, key=lambda o: o.warm.resistance)
                assert compared.rows[1].id == warmest.option.id


def test_study_chooses_by_the_weights(house):
    survey = house.survey.model_copy(update={"walls": house.survey.walls[:1]})
    by_warmth = study(survey, fields=False, weights=Weights(warm=1.0, cost=0.0))
    assert by_warmth.walls[0].chosen_id == compare(house, by_warmth.weights).walls[0].rows[1].id
    assert "warm alone" in str(by_warmth.walls[0].why_chosen)


def test_each_step_is_dearer_and_warmer_and_its_figures_are_differences(house):
    """Exact: differences of the two options' own figures."""
    for wall, compared in zip(house.walls, compare(house).walls, strict=True):
        assert compared.steps
        for step in compared.steps:
            less, more = wall.option(step.beyond), wall.option(step.id)
            rise = more.warm.resistance - less.warm.resistance
            assert step.further_resistance == pytest.approx(rise, rel=1e-12)
            assert step.further_cost == pytest.approx(float(more.price.total - less.price.total))
            assert step.further_resistance > 0.0
            assert step.further_cost >= 0.0
            money = Figure(step.further_cost, "money", currency="CAD")
            assert f"{PAPER.figure(money)} more" in str(step.sentence)
        for one, other in pairwise(compared.steps):
            assert one.id == other.beyond


def test_house_rows_are_found_own_and_one_kind_across_all_walls(house):
    """Exact: one row of the walls' own options costs what the study's price says."""
    assert "leaves every wall" in str(compare(house).sentence)  # the plan does nothing on them
    assert compare(house).rows[1].cost is None
    house = study(house.survey, fields=False, years=0, weights=Weights(warm=1.0, cost=0.0))
    rows = compare(house).rows
    assert [row.id for row in rows[:2]] == ["leave", "per wall"]
    assert rows[1].cost == float(house.price.total)
    assert rows[1].saving == house.worth.money
    area = sum(w.frame.net_area for w in house.walls)
    loss = sum(w.frame.net_area / w.chosen.warm.resistance for w in house.walls)
    assert rows[1].resistance == pytest.approx(area / loss, rel=1e-12)
    alike = [row for row in rows[2:] if row.walls == row.of_walls and row.keeps]
    assert alike
    assert rows[1].resistance >= max(row.resistance for row in alike) - 1e-9


@pytest.mark.parametrize("weight", [-1.0, float("nan"), 1e9, "3", True])
def test_faulty_weights_are_told(weight):
    with pytest.raises(InputError, match="weight of dry"):
        Weights(dry=weight)
    with pytest.raises(InputError, match="all 0"):
        Weights(cost=0.0)
