"""Between two quarter inches of foam nothing is solved: what is mixed there is within 0.1 K.

Each depth half way between is solved by itself and held against the mean of its neighbours, on the
whole map and at the coldest place, at 60 K between the room and outside.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

from warmside.estimate import price, takeoff
from warmside.options import apply, thickness_options
from warmside.study import Study, study
from warmside.study import depths as module
from warmside.study.depths import QUARTER_INCH, Depth, advised, built, depths
from warmside.study.memory import Kept
from warmside.survey import read, template

RISE, WITHIN = 60.0, 0.1  # [K]


@pytest.fixture(scope="module")
def studied() -> Study:
    found = read(template())
    return study(
        found.model_copy(update={"walls": found.walls[:1], "options": ()}), fields=False, years=0
    )


@pytest.fixture(scope="module")
def solved(studied: Study) -> list[Depth]:
    return list(depths(studied, 0, built(studied, 0)))


def test_every_quarter_inch_from_as_found_to_the_full_depth(
    studied: Study, solved: list[Depth]
) -> None:
    found, *foam = solved
    assert found.thickness == 0.0
    assert found.saving is None
    assert foam[-1].thickness == pytest.approx(studied.walls[0].frame.depth, abs=1e-9)
    steps = [thick.thickness - thin.thickness for thin, thick in pairwise(foam)]
    assert steps == pytest.approx([QUARTER_INCH] * len(steps), abs=1e-9)
    for thin, thick in pairwise(solved):
        assert thick.resistance > thin.resistance
        assert thin.price is None or (thick.price or 0.0) > thin.price
    # the full depth is an option of the usual list, priced there
    curve = thickness_options(studied.walls[0].wall, studied.survey.house, studied.catalog)
    full = [option for beyond, option in curve if not beyond][-1]
    wall = studied.walls[0]
    built = apply(full, wall.wall, wall.frame, studied.catalog, studied.survey.hazards)
    lines = takeoff(built, wall.wall, studied.catalog, studied.prices)
    assert foam[-1].price == float(price(lines, studied.prices).total)


def test_half_way_between_two_depths_the_mean_is_right(
    studied: Study, solved: list[Depth], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(module, "QUARTER_INCH", QUARTER_INCH / 2.0)
    finer = {round(one.thickness, 6): one for one in depths(studied, 0, built(studied, 0))}
    compared = 0
    for thin, thick in pairwise(solved[1:]):
        between = finer[round((thin.thickness + thick.thickness) / 2.0, 6)]
        mean = (thin.coldest + thick.coldest) / 2.0
        assert abs(mean - between.coldest) * RISE <= WITHIN
        error = np.abs((thin.factor + thick.factor) / 2.0 - between.factor)[between.seen] * RISE
        assert error.max() <= WITHIN
        compared += 1
    assert compared == len(solved) - 2


def test_what_is_looked_at_comes_first_and_is_solved_once(
    studied: Study, solved: list[Depth], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Then its neighbours outwards; another order begins where this one was left."""
    thin_to_thick = [b.option.thickness for b in built(studied, 0)]
    assert thin_to_thick == sorted(thin_to_thick)
    first = thin_to_thick[4]
    order = [b.option.thickness for b in built(studied, 0, first)]
    assert order[0] == first
    away = [abs(one - first) for one in order]
    assert away == sorted(away)
    assert sorted(order) == thin_to_thick
    kept, calls = Kept(), []
    solve = module.solved
    monkeypatch.setattr(module, "solved", lambda *a: calls.append(a) or solve(*a))
    some = depths(studied, 0, built(studied, 0, first), kept)
    begun = [next(some) for _ in range(4)]  # as found, the first, its neighbours
    count = len(calls)
    again = depths(studied, 0, built(studied, 0, begun[3].thickness), kept)
    found = [next(again) for _ in range(2)]
    assert len(calls) == count + 1  # the wall as found alone is asked for again
    assert found[1] is begun[3]
    cells = {one.factor.shape for one in begun[1:]}
    assert len(cells) == 1
    # another order has other cells: no more than the middle between two depths may be off
    alike = next(one for one in solved if one.thickness == begun[1].thickness)
    assert abs(begun[1].coldest - alike.coldest) * RISE <= WITHIN
    chosen = studied.walls[0].chosen.option
    assert advised(studied, 0) == (chosen.thickness if chosen.foam else pytest.approx(2 * 0.0254))
