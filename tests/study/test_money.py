"""Other prices on a studied house: to the cent what a whole study by them finds, or nothing."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from warmside.demo import survey_text
from warmside.estimate import default_text, read_prices
from warmside.study import Study, json_text, study, with_prices
from warmside.study import money as module
from warmside.survey import read, template

TEXT = default_text("CAD")


@pytest.fixture(scope="module", params=["template", "demo"])
def house(request: pytest.FixtureRequest) -> Study:
    text = {"template": template, "demo": survey_text}[request.param]()
    return study(read(text), fields=False, years=0)


def changed(pattern: str, value: str) -> str:
    found = re.sub(rf"(?m)^{pattern} = .*$", f"{pattern} = {value}", TEXT, count=1)
    assert found != TEXT
    return found


@pytest.mark.parametrize("line", [("mark_up", "0.31"), ("years", "22"), ("discount_rate", "0.02")])
def test_money_moves_as_a_whole_study_would_move_it(house: Study, line: tuple[str, str]) -> None:
    prices = read_prices(changed(*line))
    anew = study(house.survey, prices=prices, fields=False, years=0)
    found = with_prices(house, prices)
    plan = [(w.wall.name, w.chosen_id) for w in anew.walls]
    if found is None:  # another plan, with a room of its own
        assert plan != [(w.wall.name, w.chosen_id) for w in house.walls]
        return
    assert [(w.wall.name, w.chosen_id) for w in found.walls] == plan
    assert json_text(found) == json_text(anew)  # every figure and sentence of it
    assert found.price.total == anew.price.total


def test_the_same_prices_change_nothing(house: Study) -> None:
    assert with_prices(house, house.prices) is house
    assert module.usual_prices(house) == house.prices


@pytest.mark.parametrize("house", ["demo"], indirect=True)
def test_where_another_plan_makes_another_room_the_house_is_studied_anew(house: Study) -> None:
    """With fuel at eight times its price walls are done that were left."""
    dear = read_prices(
        re.sub(
            r"price = ([\d.]+)(, unit = .*rise)", lambda m: f"price = {8 * float(m[1])}{m[2]}", TEXT
        )
    )
    anew = study(house.survey, prices=dear, fields=False, years=0)
    before = [w.chosen.change.removed.best for w in house.walls]
    assert [w.chosen.change.removed.best for w in anew.walls] != before
    found = with_prices(house, dear)
    assert found is None or json_text(found) == json_text(anew)
    unsettled = replace(house, settling=replace(house.settling, settled=False))
    assert with_prices(unsettled, read_prices(changed("mark_up", "0.31"))) is None
