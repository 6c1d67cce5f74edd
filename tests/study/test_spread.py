"""Chances over known spreads: deterministic, agreeing with the verdicts where nothing is spread."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.stats import norm, triang

from warmside.demo import survey_text
from warmside.errors import InputError
from warmside.physics.airflow import Band
from warmside.study import Weights, chances, spread, study, to_json
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


@pytest.mark.parametrize("draws", [0, 9, 2001, 12.0, True, "40"])
def test_draws_out_of_range_are_told(house, draws):
    with pytest.raises(InputError, match="10 to 2000"):
        spread(house, draws)


def test_chances_stand_in_the_json(house):
    found = to_json(house, spread(house, 10))["chances"]
    assert [wall["wall"] for wall in found["walls"]] == [w.wall.name for w in house.walls]
    assert to_json(house)["chances"] is None
