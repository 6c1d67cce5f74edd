"""The programme against every possibility, and its shadow price against solving again."""

from __future__ import annotations

from dataclasses import replace
from itertools import product

import numpy as np
import pytest

from warmside.errors import InputError
from warmside.stock import Limits, Offer, programme


def random_offers(rng: np.random.Generator, houses: int, options: int) -> list[Offer]:
    return [
        Offer(f"H{h}", f"o{o}", float(rng.integers(5, 30)), float(rng.integers(10, 60)),
              float(rng.integers(1, 40)))
        for h in range(houses)
        for o in range(options)
    ]  # fmt: skip


def best_by_trying(offers: list[Offer], limits: Limits) -> float:
    """Other method: every house left out or done by any option in any year."""
    years = len(limits.budget)
    by_house: dict[str, list[Offer]] = {}
    for one in offers:
        by_house.setdefault(one.house, []).append(one)
    choices = [[None, *((o, t) for o in some for t in range(years))] for some in by_house.values()]
    best = 0.0
    for picked in product(*choices):
        cost, crew, value = [0.0] * years, [0.0] * years, 0.0
        for pick in filter(None, picked):
            one, year = pick
            cost[year] += one.cost
            crew[year] += one.crew
            value += one.value * (1.0 - limits.discount) ** year
        if all(c <= b for c, b in zip(cost, limits.budget, strict=True)) and all(
            c <= b for c, b in zip(crew, limits.crew, strict=True)
        ):
            best = max(best, value)
    return best


@pytest.mark.parametrize("seed", range(12))
def test_equals_the_best_of_every_possibility(seed: int):
    """Other method, exact: five houses, two options, two years, all 3125 programmes tried."""
    rng = np.random.default_rng(seed)
    offers = random_offers(rng, 5, 2)
    limits = Limits((30.0, 25.0), (70.0, 80.0), 0.05)
    found = programme(offers, limits)
    assert found.value == pytest.approx(best_by_trying(offers, limits), rel=1e-6)
    for plan, budget, crew in zip(found.years, limits.budget, limits.crew, strict=True):
        assert plan.cost <= budget
        assert plan.crew <= crew
    assert len({p.offer.house for p in found.places}) == len(found.places)
    assert found.left == 5 - len(found.places)


def test_the_shadow_price_is_what_more_money_brings():
    """Other method: the linear program solved again with a hundredth more, many small houses."""
    rng = np.random.default_rng(3)
    offers = [
        Offer(f"H{h}", "foam", float(rng.uniform(1, 2)), 1.0, float(rng.uniform(1, 3)))
        for h in range(400)
    ]
    limits = Limits((150.0,), (1e9,))
    first = programme(offers, limits)
    more = programme(offers, replace(limits, budget=(165.0,)))
    gained = (more.value - first.value) / 15.0
    # value for money falls along the margin: the first unit is worth most
    assert gained == pytest.approx(first.years[0].shadow, rel=0.06)
    assert first.years[0].crew_shadow == pytest.approx(0.0, abs=1e-9)


def test_crews_bind_as_money_does():
    """Exact: ten equal houses of 10 h, 35 h of crews in each of two years: three a year."""
    offers = [Offer(f"H{h}", "foam", 1.0, 10.0, 5.0) for h in range(10)]
    found = programme(offers, Limits((100.0, 100.0), (35.0, 35.0)))
    assert [plan.houses for plan in found.years] == [3, 3]
    assert found.left == 4
    # a linear relaxation gives 5 / 10 h
    assert found.years[0].crew_shadow == pytest.approx(0.5)


def test_nothing_worth_doing_gives_an_empty_programme():
    """Exact: no value, or no year that can pay."""
    offers = [Offer("A", "foam", 10.0, 1.0, 0.0), Offer("B", "foam", 1e6, 1.0, 9.0)]
    found = programme(offers, Limits((100.0,), (10.0,)))
    assert (found.places, found.value, found.left) == ((), 0.0, 2)


@pytest.mark.parametrize(
    ("limits", "match"),
    [
        (((), (), 0.0), "1 to 40 years"),
        (((1.0,), (1.0, 2.0), 0.0), "one of each"),
        (((-1.0,), (1.0,), 0.0), "0 or more"),
        (((float("nan"),), (1.0,), 0.0), "0 or more"),
        (((1.0,), (1.0,), 1.5), "0 to below 1"),
    ],
)
def test_limits_that_make_no_sense_are_told(limits, match):
    with pytest.raises(InputError, match=match):
        Limits(*limits)
