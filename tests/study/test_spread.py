"""Chances over known spreads: deterministic, agreeing with the verdicts where nothing is spread."""

from __future__ import annotations

import json
from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.stats import norm, triang

from warmside.demo import survey_text
from warmside.errors import InputError
from warmside.physics.airflow import Band
from warmside.study import Weights, chances, json_text, spread, study
from warmside.study.chances_hourly import DrawnWall, governing, strains
from warmside.survey import read

# something is done to every wall, whether it pays or not
LEAST_COST = Weights(cost=2.0)


@pytest.fixture(scope="module")
def house():
    survey = read(survey_text())
    return study(
        survey.model_copy(update={"walls": survey.walls[5:7]}), fields=False, weights=LEAST_COST
    )


def test_the_same_seed_gives_the_same_chances(house):
    assert spread(house, 20, seed=3) == spread(house, 20, seed=3)
    assert spread(house, 20, seed=3) != spread(house, 20, seed=4)


def test_without_spread_every_draw_is_the_study_itself(house, monkeypatch):
    """Exact: the study's own figures and verdicts come back."""
    for name in ("THICKNESS", "CONDUCTIVITY", "SEASON", "COLDEST", "WARMEST"):
        monkeypatch.setattr(chances, name, 0.0)
    for name in ("READING", "RELEASE", "MORE_PEOPLE"):
        monkeypatch.setattr(chances, name, 0.0)
    monkeypatch.setattr(chances, "BUILT", 1.0)
    monkeypatch.setattr(chances, "_in_band", lambda band, u: np.full(u.size, band.best))
    for found, wall in zip(spread(house, 10).walls, house.walls, strict=True):
        own = wall.chosen
        assert_allclose(found.resistance, [own.warm.resistance] * 3, rtol=1e-12)
        assert_allclose(found.surface, [own.warm.coldest.surface] * 3, rtol=0, atol=1e-9)
        assert_allclose(found.condensate, [own.dry.worst.peak] * 3, rtol=1e-9, atol=1e-9)
        assert_allclose(found.heat, [own.worth.heat.best] * 3, rtol=1e-9)
        for chance in found.chances:
            assert chance.holds in (0, 10)
            verdict = own.verdict(chance.promise)
            if chance.promise in ("warm", "dry", "worth it"):
                assert (chance.holds == 10) == (verdict != "falls short")


def test_draws_follow_their_distributions(house):
    """Reference library: quantiles of a Latin hypercube are those of its marginals."""
    drawn = chances._drawn(house, 400, 1)
    share = [0.1, 0.25, 0.5, 0.75, 0.9]
    assert_allclose(np.quantile(drawn.year, share), norm.ppf(share), rtol=0, atol=0.02)
    thickness = norm.ppf(share, scale=chances.THICKNESS)
    assert_allclose(np.quantile(drawn.thicker, share), thickness, rtol=0, atol=1e-4)
    assert_allclose(np.quantile(drawn.open, share), share, rtol=0, atol=0.005)


def test_bands_are_triangles():
    """Reference library: scipy's triangular distribution."""
    band, u = Band(1.0, 2.0, 6.0), np.linspace(0.01, 0.99, 9)
    expected = triang.ppf(u, 0.2, loc=1.0, scale=5.0)
    assert_allclose(chances._in_band(band, u), expected, rtol=1e-12)


def test_chances_are_shares_of_the_draws_and_said_so(house):
    for wall in spread(house, 25).walls:
        assert {c.promise for c in wall.chances} == {"warm", "dry", "tight", "worth it"}
        for chance in wall.chances:
            assert 0 <= chance.holds <= chance.draws == 25
            assert chance.sentence == f"Holds in {chance.holds} of 25 draws."
        for three in (wall.resistance, wall.surface, wall.condensate, wall.heat):
            assert list(three) == sorted(three)


def test_more_humid_rooms_hold_less_often(house):
    """Fact of the physics: mould is judged against the room's humidity."""
    humid = house.survey.house.model_copy(
        update={"indoor_humidity": 0.40, "moisture_reason": "humidifier"}
    )
    wet = study(house.survey.model_copy(update={"house": humid}), fields=False, weights=LEAST_COST)
    for dry_wall, wet_wall in zip(spread(house, 40).walls, spread(wet, 40).walls, strict=True):
        before, after = dry_wall.chances[0].holds, wet_wall.chances[0].holds
        assert after < before


def test_dry_is_the_study_itself_where_nothing_is_drawn(house):
    """Exact: the governing path of the study comes back, by whatever number of processes."""
    walls = [
        w for w in house.walls
        if governing(w.chosen) is not None and not (w.wall.readings or w.wall.found.wet_fill)
    ]  # fmt: skip
    assert walls
    drawn = [
        DrawnWall(w, [w.chosen.build_up.stacks], [w.chosen.room], np.ones(1)) for w in walls
    ]  # fmt: skip
    found = strains(house, drawn, [(0.0,) * 12], 1)
    own = [governing(wall.chosen).strain for wall in walls]
    assert_allclose(np.array(found)[:, 0], own, rtol=1e-9)
    holds = [governing(wall.chosen).holds for wall in walls]
    assert holds == [strain < 1.0 for strain in own]
    for wall in spread(house, 10).walls:
        (dry,) = (c for c in wall.chances if c.promise == "dry")
        assert "hour by hour" in dry.what


def test_colder_years_strain_a_wall_more(house):
    """Fact of the physics: room air leaves more water in a colder wall."""
    wall = house.walls[0]
    damp = replace(wall.chosen.room, excess=tuple(2.0 * e for e in wall.chosen.room.excess))
    drawn = DrawnWall(wall, [wall.chosen.build_up.stacks] * 2, [damp] * 2, np.ones(2))
    (found,) = strains(house, [drawn], [(0.0,) * 12, (-4.0,) * 12], 1)
    assert found[1] > found[0]


def test_the_inputs_told_are_those_that_decide():
    """Exact: a margin that rises with one input and a little with another names them in order."""
    one, two, none = np.random.default_rng(1).random((3, 200))
    inputs = {"none": none, "two": two, "one": one}
    assert chances._most(inputs, one**3 + 0.4 * two) == ("one", "two")
    assert chances._most(inputs, np.full(200, 3.0)) == ()
    beyond = np.where(one < 0.1, -np.inf, one)  # what was not solved counts as worst
    assert chances._most(inputs, beyond)[0] == "one"


@pytest.mark.parametrize("draws", [0, 9, 2001, 12.0, True, "40"])
def test_draws_out_of_range_are_told(house, draws):
    with pytest.raises(InputError, match="10 to 2000"):
        spread(house, draws)


def test_chances_stand_in_the_json(house):
    found = json.loads(json_text(house, spread(house, 10)))["chances"]
    assert [wall["wall"] for wall in found["walls"]] == [w.wall.name for w in house.walls]
    assert json.loads(json_text(house))["chances"] is None
