"""People in the house, the law, and money."""

from __future__ import annotations

from dataclasses import replace
from math import inf

from warmside.physics.airflow import Band
from warmside.promises import Figure, Finding, coarse
from warmside.study.answers.answer import Asked, computed, price_of, surveyed
from warmside.study.answers.work import foam_volume
from warmside.units import FOOT

_SQUARE = 100.0 * FOOT**2  # [m2] by which a builder tells what a wall costs
_NEAR = 1.0  # [m] from the wall, where warmth is judged


def sleep(asked: Asked) -> None:
    """Time before occupancy by the product's row, never a constant."""
    foam = asked.foam
    if foam is None:
        asked.say("no_foam")
        return
    wait = asked.finding("occupancy_wait_s")
    if wait is not None and wait.figure is not None:
        asked.say("known", wait=asked.figure(wait, "time"))
    else:
        asked.say("unknown")
        asked.ask()
    air = asked.finding("work_air_m3_s")
    if air is not None:
        asked.say("air", flow=asked.figure(air, "flow"))
    limit = asked.finding("isocyanate")
    if limit is not None:
        asked.say("limit", limit=asked.limit(limit, "concentration"))


def bad_foam(asked: Asked) -> None:
    """Sound foam, and who pays for other foam."""
    foam = asked.foam
    if foam is None:
        asked.say("no_foam")
        return
    asked.say("density", density=Figure(foam.density, "density", foam.source_heat))
    asked.say("pays")


def fire(asked: Asked) -> None:
    """Cover over foam."""
    cover = asked.finding("fire_cover")
    if cover is None:
        asked.say("no_foam")
        return
    asked.say("cover", reason=cover.reason)
    asked.rest_on(cover)


def price(asked: Asked) -> None:
    """Cost by area."""
    cost = asked.chosen.price
    if cost is None:
        asked.ask()
        return
    area = asked.wall.frame.net_area
    total = float(cost.total)
    asked.say(
        "cost",
        cost=asked.money(total),
        area=surveyed(area, "area"),
        per_area=asked.money(total / area * _SQUARE),
        square=surveyed(_SQUARE, "area"),
    )
    if asked.foam is not None:
        asked.say("foam", board_feet=foam_volume(asked))
    asked.say("bids")
    if cost.invented:
        asked.say("invented")


def payback(asked: Asked) -> None:
    """Saving with its band, payback, and what is felt."""
    saved, worth = asked.finding("heat_saved_j_per_year"), asked.chosen.worth
    if saved is None:
        asked.say("nothing")
        return
    asked.say(
        "saving" if asked.study.heating.other is None else "house_saving",
        heat=replace(asked.figure(saved, "heat"), low=worth.heat.low, high=worth.heat.high),
        present=computed(coarse(worth.present), "heat"),
    )
    paid = asked.finding("simple_payback_years")
    if worth.money is None:
        asked.ask()
    elif paid is not None:
        _paid_back(asked, paid, worth.money)
    felt = asked.finding("radiant_temperature_c")
    if felt is not None:
        asked.say(
            "felt",
            near=surveyed(_NEAR, "span"),
            radiant_before=asked.limit(felt, "temperature"),
            radiant=asked.figure(felt, "temperature"),
        )


def _paid_back(asked: Asked, paid: Finding, money: Band) -> None:
    """The year's saving in money and the years of payback, both with their bands."""
    saved = asked.money(money.best, money.low, money.high)
    cost = price_of(asked, asked.chosen)
    early, _, late = asked.chosen.worth.payback or (None, None, None)
    if paid.figure is None or early is None:
        asked.say("never", money=saved, cost=cost)
        return
    years = replace(asked.figure(paid, "years"), low=early, high=inf if late is None else late)
    asked.say("money", money=saved, cost=cost, years=years)


def too_tight(asked: Asked) -> None:
    """The whole house with the chosen work."""
    change = asked.house_finding("house_air_change_50_per_h")
    air = asked.house_finding("ventilation_m3_s")
    flames = asked.house_finding("depressurisation_pa")
    if change is None or air is None or flames is None:
        asked.say("nothing")
        return
    asked.say("change", before=change.limit_as("air change"), after=change.figure_as("air change"))
    asked.say("fresh", need=air.limit_as("flow"), have=air.figure_as("flow"))
    to_add = asked.study.tight.to_add
    if to_add > 0.0:
        asked.say("add", add=computed(to_add, "flow"))
    asked.say("flames", drop=flames.figure_as("pressure"), limit=flames.limit_as("pressure"))
    if not asked.study.air.leakage.measured:
        asked.ask()


def permit(asked: Asked) -> None:
    """Clauses by verdict."""
    findings = asked.chosen.legal
    if not findings:
        asked.say("none")
        return
    by = {v: sum(f.verdict == v for f in findings)
          for v in ("holds", "falls short", "needs a person", "does not apply")}  # fmt: skip
    asked.say(
        "clauses",
        count=computed(len(findings), "count"),
        hold=computed(by["holds"], "count"),
        short=computed(by["falls short"], "count"),
        person=computed(by["needs a person"], "count"),
        out=computed(by["does not apply"], "count"),
    )
    asked.say("ask")
    asked.rest_on(*findings)
