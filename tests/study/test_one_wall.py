"""A wall while it is edited: the figures of a whole study, no more computed than is touched.

The whole study of the house, edited and studied anew from its text, is the independent way.
"""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest

from warmside.study import Study, money, study
from warmside.study import one_wall as module
from warmside.study.one_wall import Ground, Seen, follow, state_of
from warmside.survey import Survey, read, template

RTOL = 1e-9  # the same sums in another order


@pytest.fixture(scope="module")
def house() -> Survey:
    found = read(template())
    return found.model_copy(update={"walls": found.walls[:2], "options": ()})


@pytest.fixture(scope="module")
def studied(house: Survey) -> Study:
    return study(house, fields=False, years=0)


def widened(house: Survey, by: float) -> Survey:
    """The first wall longer by some centimetres."""
    wall = house.walls[0]
    longer = wall.model_copy(update={"length": wall.length + by})
    return house.model_copy(update={"walls": (longer, *house.walls[1:])})


def complete(ground: Ground, survey: Survey, **more: object) -> Seen:
    """All options as they are known at once."""
    prices = more.pop("prices", ground.study.prices)
    steps = follow(ground, survey, 0, prices, **more)  # type: ignore[arg-type]
    return next(seen for seen in steps if seen is not None and seen.complete)


def test_an_edited_wall_comes_to_what_a_study_of_the_edited_house_says(
    house: Survey, studied: Study
) -> None:
    edited = widened(house, 0.30)
    whole = study(edited, fields=False, years=0).walls[0]
    seen = complete(Ground(studied), edited)
    assert [o.option.id for o in seen.options] == [o.option.id for o in whole.options]
    for quick, anew in zip(seen.options, whole.options, strict=True):
        assert quick.warm.resistance == pytest.approx(anew.warm.resistance, rel=RTOL)
        assert quick.warm.coldest.factor == pytest.approx(anew.warm.coldest.factor, rel=RTOL)
        assert quick.change.before == pytest.approx(anew.change.before, rel=RTOL)
        assert quick.change.after == pytest.approx(anew.change.after, rel=RTOL)
        assert quick.change.removed.best == pytest.approx(anew.change.removed.best, rel=RTOL)
        assert (quick.price and quick.price.total) == (anew.price and anew.price.total)
        if quick.worth.money and anew.worth.money:
            assert quick.worth.money.best == pytest.approx(anew.worth.money.best, rel=RTOL)
        # the room may be that of another plan: the verdicts that it does not touch are the same
        for promise in ("legal", "safe"):
            assert quick.verdict(promise) == anew.verdict(promise)


def test_the_house_as_it_was_studied_is_told_as_it_was_studied(
    house: Survey, studied: Study
) -> None:
    seen = complete(Ground(studied), house)
    assert seen.options == studied.walls[0].options
    assert seen.put_forward == studied.walls[0].chosen_id
    assert seen.house is not None
    assert seen.house.price.total == studied.price.total


def test_what_is_looked_at_comes_first_then_all_then_fields_then_hours(
    house: Survey, studied: Study
) -> None:
    shown = next(o.option.id for o in studied.walls[0].options[2:] if o.build_up.can_be_built)
    steps = follow(Ground(studied), widened(house, 0.1), 0, studied.prices, shown)
    first, every = next(steps), next(steps)
    assert first
    assert every
    assert [o.option.id for o in first.options] == [shown]
    assert every.complete
    assert not first.complete
    assert every.options[0].option.id == "leave"
    fields = [next(steps) for _ in range(2)]
    assert [seen and seen.options[0].option.id for seen in fields] == ["leave", shown]
    assert all(seen and state_of(seen.options[0]) == "3-D" for seen in fields)
    by_field = fields[1] and fields[1].options[0].warm
    assert by_field
    assert by_field.field
    # ISO 6946: the truth lies between the two limits that the quick figure is the mean of
    heat = by_field.heat
    assert heat.lower * 0.98 <= by_field.resistance <= heat.upper * 1.02


def test_a_note_computes_nothing(
    house: Survey, studied: Study, monkeypatch: pytest.MonkeyPatch
) -> None:
    ground = Ground(studied)
    noted = house.walls[0].model_copy(update={"notes": "the cat sleeps here"})
    edited = house.model_copy(
        update={
            "walls": (noted, *house.walls[1:]),
            "house": house.house.model_copy(update={"notes": "call first"}),
        }
    )
    assert ground.holds(edited)
    for name in ("study_option", "found_wall", "warm", "solved", "wall_leakage"):
        monkeypatch.setattr(module, name, _refused)
    monkeypatch.setattr(money, "takeoff", _refused)
    assert complete(ground, edited).options == studied.walls[0].options


def test_another_price_computes_money_alone(
    house: Survey, studied: Study, monkeypatch: pytest.MonkeyPatch
) -> None:
    ground, dearer = Ground(studied), replace(studied.prices, mark_up=studied.prices.mark_up * 2)
    for name in ("study_option", "found_wall", "warm", "solved", "wall_leakage"):
        monkeypatch.setattr(module, name, _refused)
    monkeypatch.setattr(money, "takeoff", _refused)  # a mark-up changes no amount
    seen = complete(ground, house, prices=dearer)
    for now, was in zip(seen.options, studied.walls[0].options, strict=True):
        assert replace(now, price=None, quantities=(), worth=was.worth) == replace(
            was, price=None, quantities=()
        )
        if now.price and was.price:
            # twice the mark-up is twice the margin on the same cost, each line to the cent
            assert now.quantities == was.quantities
            assert now.price.cost == was.price.cost > Decimal(0)
            lines = Decimal("0.01") * len(now.quantities)
            assert abs(now.price.margin - 2 * was.price.margin) <= lines
    again = complete(ground, house, prices=studied.prices)
    assert again.options == studied.walls[0].options


def test_a_slower_crew_counts_its_hours_anew(house: Survey, studied: Study) -> None:
    """Hours are amounts times hours per unit: with twice these, twice the hours; goods stay."""
    rows = tuple(
        replace(row, price=row.price * 2) if row.kind == "rate" else row
        for row in studied.prices.rows
    )
    slower = replace(studied.prices, rows=rows)
    ground, bought = Ground(studied), 0
    for now, was in zip(
        complete(ground, house, prices=slower).options, studied.walls[0].options, strict=True
    ):
        before = {line.key: line for line in was.quantities}
        for line in now.quantities:
            if line.key == "labour:waiting":  # what spraying fills of the waits; it fills more
                continue
            times = 2.0 if line.key.startswith("labour:") else 1.0
            assert line.amount == pytest.approx(times * before[line.key].amount, rel=1e-12)
            bought += times == 1.0
    assert bought
    back = complete(ground, house, prices=studied.prices)
    assert back.options == studied.walls[0].options


def test_another_house_is_not_held(house: Survey, studied: Study) -> None:
    ground = Ground(studied)
    assert ground.holds(widened(house, 1.0))
    colder = house.house.model_copy(update={"indoor_temperature": 18.0})
    assert not ground.holds(house.model_copy(update={"house": colder}))


def _refused(*_: object, **__: object) -> None:
    raise AssertionError("computed again")
