"""What closed gates teach the next price: sums by hand over three walls of the demonstration."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from scipy import stats

from warmside.catalog import load
from warmside.demo import survey_text
from warmside.errors import InputError
from warmside.estimate import default_prices, default_text, read_prices, table_of, takeoff, text_of
from warmside.site import (
    hours_of_tasks,
    own_prices,
    plan_house,
    read_log,
    sealant_of_joints,
)
from warmside.survey import read

SURVEY = read(survey_text())
CATALOG = load().at(SURVEY.house.climate)
DONE = {"kitchen north": "cc-76", "kitchen west": "cc-76", "kitchen south": "cc-51"}


@dataclass(frozen=True)
class Kept:
    """A record as the store gives it back."""

    id: str
    wall: str
    data: dict[str, Any]
    at: datetime
    kind: str = "gate"
    replaces: str = ""
    who: str = "kim"


@pytest.fixture(scope="module")
def plans():
    return plan_house(SURVEY, CATALOG, DONE)


def gates(plans, share: dict[str, float], sealed: float = 1.0, passed: bool = True):
    """Every gate of every wall signed; the strip took a share of what was planned for it."""
    when = datetime(2026, 1, 15, 12, tzinfo=UTC)
    records = []
    for number, plan in enumerate(plans):
        for place, step in enumerate(plan.steps):
            at = when + timedelta(days=90 * number, minutes=place)
            data: dict[str, Any] = {"at": at.isoformat(), "gate": step.id, "name": "Kim",
                                    "passed": passed, "checks": []}  # fmt: skip
            if step.id == "strip":
                data["hours"] = plan.time.by_step["strip"] * share[plan.wall]
            if step.id == "seal-joints":
                data["cartridges"] = plan.cartridges * sealed
            records.append(Kept(f"{number}-{place}", plan.wall, data, at))
    return read_log(records)


def test_hours_of_three_walls_by_hand(plans) -> None:
    share = dict(zip(DONE, (1.2, 1.5, 0.9), strict=True))
    learnt = {one.task: one for one in hours_of_tasks([(plans, gates(plans, share))])}
    planned = [plan.time.by_step["strip"] for plan in plans]
    spent = [p * share[plan.wall] for p, plan in zip(planned, plans, strict=True)]
    strip = learnt["strip"]
    # a ratio of sums: the large wall weighs more
    ratio = sum(spent) / sum(planned)
    assert strip.whole.share == pytest.approx(ratio, rel=1e-12)
    assert strip.whole.walls == 3
    # its band by the variance of a ratio estimate (Cochran, from memory), t of SciPy
    mean = sum(planned) / 3
    s = (sum((y - ratio * x) ** 2 for y, x in zip(spent, planned, strict=True)) / 2) ** 0.5 / mean
    half = stats.t.ppf(0.95, 2) * s / 3**0.5
    assert strip.whole.low == pytest.approx(ratio - half, rel=1e-9)
    assert strip.whole.high == pytest.approx(ratio + half, rel=1e-9)
    # 15 January, 15 April and 14 July
    assert [(one.name, one.walls) for one in strip.by_season] == [
        ("spring", 1), ("summer", 1), ("winter", 1),
    ]  # fmt: skip
    assert sum(one.walls for one in strip.by_surface) == 3
    assert strip.enough
    # rubble is loaded in the same step and learns with it; no other task was noted
    assert set(learnt) == set(plans[0].tasks_of("strip"))
    assert "strip" in learnt


def test_the_next_price_uses_them_and_says_so(plans) -> None:
    jobs = [(plans, gates(plans, dict.fromkeys(DONE, 1.5), sealed=1.25))]
    rows = table_of(default_text())
    text = text_of(own_prices(rows, hours_of_tasks(jobs), sealant_of_joints(jobs)))
    prices, usual = read_prices(text), default_prices()
    before, after = usual.rate("strip"), prices.rate("strip")
    assert before is not None
    assert after is not None
    assert float(after.price) == pytest.approx(1.5 * float(before.price), rel=1e-2)
    assert after.own
    assert prices.rate("paint") == usual.rate("paint")
    # 25 % more than a plan that added 12 % to geometry: 1.12 x 1.25 = 1.40
    assert float(prices.rough) == pytest.approx(0.40, abs=5e-4)
    plan, wall = plans[0], next(w for w in SURVEY.walls if w.name == plans[0].wall)
    old, new = (
        {line.key: line for line in takeoff(plan.build_up, wall, CATALOG, list_)}
        for list_ in (usual, prices)
    )
    assert new["labour:strip"].amount == pytest.approx(1.5 * old["labour:strip"].amount, rel=1e-2)
    assert "own records: 3 walls" in str(new["labour:strip"].how)
    grown = new["sealant_300ml"].amount / old["sealant_300ml"].amount
    assert grown == pytest.approx(1.25, rel=1e-3)
    assert "own figure" in str(new["sealant_300ml"].how)
    assert "own" not in str(old["sealant_300ml"].how)
    # and learnt once more by the new list nothing is left to learn
    again = plan_house(SURVEY, CATALOG, DONE, prices)
    log = gates(plans, dict.fromkeys(DONE, 1.5), sealed=1.25)
    (strip,) = (one for one in hours_of_tasks([(again, log)]) if one.task == "strip")
    assert strip.whole.share == pytest.approx(1.0, rel=1e-2)


@pytest.mark.parametrize(
    ("walls", "share", "passed"), [(2, 1.5, True), (3, 9.0, True), (3, 0.01, True), (3, 1.5, False)]
)
def test_too_few_walls_and_what_cannot_be_teach_nothing(plans, walls, share, passed) -> None:
    some = plans[:walls]
    jobs = [(some, gates(some, dict.fromkeys(DONE, share), sealed=40.0, passed=passed))]
    assert not any(one.enough for one in hours_of_tasks(jobs))
    with pytest.raises(InputError, match="3 walls"):
        own_prices(table_of(default_text()), hours_of_tasks(jobs), sealant_of_joints(jobs))


@pytest.mark.parametrize("bad", ["-0.1", "6", '"much"', "nan"])
def test_a_share_of_sealant_that_cannot_be_is_refused(bad: str) -> None:
    with pytest.raises(InputError, match="rough_wood"):
        read_prices(default_text().replace("rough_wood = 0.12", f"rough_wood = {bad}"))
