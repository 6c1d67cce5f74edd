"""A house in the stock against the same house studied alone."""

from __future__ import annotations

import numpy as np
import pytest

from stock.small import archetypes, houses
from warmside.catalog import load
from warmside.estimate import default_prices
from warmside.stock import Ground, Known, Settings, judge, realise
from warmside.stock.judgement import LEAVE, ONE_OPTION, PER_WALL, _shares, close_study, quick_study
from warmside.stock.screen import Workbench, screen
from warmside.study import compare, study, together
from warmside.survey import Wanted

CATALOG, PRICES = load(), default_prices()


def ground(**settings: object) -> Ground:
    return Ground(CATALOG, PRICES, archetypes(), Settings(**{"draws": 3} | settings))  # type: ignore[arg-type]


def test_the_screening_is_the_study_without_fields_and_hours():
    """Exact to the last digit, for draws that change room, leakage and wall alike."""
    house = realise(houses(1)[0], archetypes(), CATALOG)
    bench = Workbench(CATALOG, PRICES)
    for values in ([1.4, 0.35, ""], [1.1, 0.6, "cellulose-loose"], [1.4, 0.6, ""]):
        survey = house.with_values(values)
        screened = {one.option: one for one in screen(survey, bench)}
        alone = study(survey, fields=False, years=0)
        rows = {row.id: row for row in compare(alone).rows if row.id != PER_WALL}
        assert screened.keys() == rows.keys()
        for id, row in rows.items():
            one = screened[id]
            assert one.resistance == row.resistance
            verdicts = dict(row.verdicts)
            option = alone.walls[0].option(id)
            cold = any(f.verdict == "falls short" for f in option.warm.findings)
            if id == LEAVE:
                verdicts = {p: alone.walls[0].as_found.verdict(p) for p in ("warm", "dry")}
            else:
                assert row.saving is not None
                assert (one.money, one.cost) == (row.saving.best, row.cost)
                house_ = alone.survey.house
                done = together([option], house_, alone.air, alone.prices, alone.heating, CATALOG)
                assert (one.heat, one.carbon) == (done.worth.heat.best, done.worth.co2.best)
            assert one.cold == cold
            assert one.wet == (verdicts["dry"] == "falls short")


def test_a_house_of_the_stock_is_the_house_studied_alone():
    """Exact to the last digit: the likeliest house's row against its study."""
    known, shared = houses(1)[0], ground(sample=0.0, near_factor=0.0, near_surface=0.0)
    judged = judge(known, shared)
    survey = realise(known, archetypes(), CATALOG).survey
    rows = {row.id: row for row in compare(study(survey, fields=False, years=0)).rows}
    assert not judged.refused
    assert {row["option"] for row in judged.rows} == rows.keys() - {PER_WALL}
    for row in judged.rows:
        alone = rows[row["option"]]
        assert (row["rsi_m2k_w"], row["cost"]) == (alone.resistance, alone.cost or 0.0)
        assert row["keeps"] == alone.keeps
        if row["option"] != LEAVE:
            assert row["money"] == alone.saving.best  # type: ignore[union-attr]
            assert row["legal"] == dict(alone.verdicts)["legal"]
        assert len(row["money_draws"]) == 3
    assert [len(draw["values"]) for draw in judged.draws] == [3, 3, 3]


def test_what_is_looked_at_closely_is_the_full_study():
    """Exact to the last digit: fields solved, hours run, one option asked for."""
    known, shared = houses(1)[0], ground(sample=1.0, draws=1)
    judged = judge(known, shared)
    [row] = [row for row in judged.rows if row["why_close"] == "sample"]
    survey = realise(known, archetypes(), CATALOG).survey
    wanted = next(
        w for w in (Wanted(kind="closed-cell", thickness=0.0508, only=True),
                   Wanted(kind="foam and batt", only=True))
        if (w.kind == "closed-cell") == (row["option"] == "cc-51")
    )  # fmt: skip
    alone = study(
        survey.model_copy(update={"options": (wanted,)}), fields=True, years=1, weights=ONE_OPTION
    )
    full = next(r for r in compare(alone).rows if r.id == row["option"])
    assert row["close_rsi_m2k_w"] == full.resistance
    assert row["close_money"] == full.saving.best  # type: ignore[union-attr]
    assert row["close_warm"] == dict(full.verdicts)["warm"]
    assert row["close_dry"] == dict(full.verdicts)["dry"]
    assert row["missed"] is ("falls short" in (row["close_warm"], row["close_dry"]))
    assert row["close_rsi_m2k_w"] != row["rsi_m2k_w"]


def test_the_close_study_asks_for_the_option_it_is_told():
    """Every option of the archetype comes back with its own id, and alone."""
    survey = realise(houses(1)[0], archetypes(), CATALOG).survey
    shared = ground()
    quick = quick_study(survey, shared)
    quickly = Ground(CATALOG, PRICES, archetypes(), Settings(years=1))
    for id in ("cc-51", "cc-51-batt"):
        full = close_study(survey, id, quick, quickly)
        assert [o.option.id for o in full.walls[0].options] == [LEAVE, id]


def test_the_key_names_the_content():
    """Anything that could change a figure changes the key; the row and the chunk do not."""
    one, two = houses(2)
    usual = ground()
    assert usual.key_of(one) == ground().key_of(one)
    assert usual.key_of(one) == ground(chunk=3).key_of(one)
    assert usual.key_of(one) == usual.key_of(Known(99, one.id, one.archetype, one.values))
    others = [
        usual.key_of(two),
        usual.key_of(Known(2, one.id, one.archetype, ())),
        ground(seed=2).key_of(one),
        ground(draws=4).key_of(one),
    ]
    assert usual.key_of(one) not in others
    assert len(set(others)) == len(others)


def test_a_house_that_cannot_be_studied_is_refused_with_its_row():
    wrong = Known(12, "A", "shed", (("house.indoor_temperature", 5.0),
                                    ("house.design_temperature", 8.0)))  # fmt: skip
    judged = judge(wrong, ground())
    assert judged.rows == ()
    assert str(judged.refused[0]).startswith("row 12, ")


@pytest.mark.parametrize(("name", "value"), [("draws", 0), ("sample", 1.5), ("seed", True)])
def test_settings_out_of_bounds_are_told(name, value):
    from warmside.errors import InputError

    with pytest.raises(InputError, match=name):
        Settings(**{name: value})


def test_every_unknown_is_evenly_spread():
    """Definition of the hypercube: one draw in each stretch; two in each for what is of walls."""
    house = realise(houses(1)[0], archetypes(), CATALOG)
    u = _shares(house, "1" * 32, Settings(draws=8))
    assert u.shape == (8, 3)
    for column, unknown in zip(u.T, house.unknowns, strict=True):
        stretches = 4 if unknown.field.startswith("wall.") else 8
        counts = np.bincount((column * stretches).astype(int), minlength=stretches)
        assert counts.tolist() == [8 // stretches] * stretches
    assert np.array_equal(u, _shares(house, "1" * 32, Settings(draws=8)))
    assert not np.array_equal(u, _shares(house, "2" * 32, Settings(draws=8)))
