"""A studied house by other prices: what is known of its walls stays, money alone is reckoned anew.

Prices choose the plan, and the plan makes the room that walls are judged in. So where another plan
follows, whose room is not the same, the house is studied anew.
"""

from __future__ import annotations

from dataclasses import replace

from warmside.catalog import Catalog, currency_of, region_of
from warmside.estimate import (
    PriceList,
    default_prices,
    price,
    takeoff,
)
from warmside.promises import HeatingCase, worth
from warmside.study.house import Study
from warmside.study.house_totals import heating_of
from warmside.study.memory import digest
from warmside.study.parts import OptionStudy, WallStudy
from warmside.study.plan import Ground, make_plans
from warmside.study.settling import agrees
from warmside.study.summing import summed
from warmside.study.whole_house import put_forward
from warmside.survey import Wall


def usual_prices(study: Study) -> PriceList:
    """The invented prices of the house's country and place."""
    climate = study.outside.climate
    return default_prices(currency_of(climate), region_of(climate))


def by_prices(study: Study, prices: PriceList) -> Study:
    """Every option and what is put forward by other prices; which that is, stays.

    Parameters
    ----------
    study : Study
        The house studied.
    prices : PriceList
        The contractor's, as they are by now.
    """
    return summed(_repriced(study, prices))


def _repriced(study: Study, prices: PriceList) -> Study:
    """Every option by other prices; nothing of the house is summed yet."""
    present = sum(w.as_found.warm.heat_loss(w.frame.net_area) for w in study.walls)
    heating = heating_of(
        study.survey.house, study.air, prices, study.catalog, study.outside, present
    )
    walls = tuple(_wall(wall, study, prices, heating) for wall in study.walls)
    dried = tuple(_wall(wall, study, prices, heating) for wall in study.dried)
    return replace(study, prices=prices, heating=heating, walls=walls, dried=dried)


def with_prices(study: Study, prices: PriceList) -> Study | None:
    """The house planned anew by other prices; None where that changes more than money.

    Parameters
    ----------
    study : Study
        The house studied, with what its own plan puts forward.
    prices : PriceList
        The contractor's, as they are by now.

    Returns
    -------
    Study or None
        What ``study`` would find by these prices. None where another plan makes another room, or
        puts forward what was not judged by the hours.

    Raises
    ------
    NoPlanError
        As ``make_plans``.
    """
    if digest(study.prices) == digest(prices):
        return study
    if not study.settling.settled:
        return None
    anew = _repriced(study, prices)
    house = anew.survey.house
    ground = Ground(house, anew.air, prices, anew.heating, anew.catalog)
    plans = make_plans(anew.walls, ground, {wall.wall.name: wall for wall in anew.dried})
    walls = tuple(put_forward(wall, plans, anew.weights) for wall in anew.walls)
    run = study.hours.years == 0 or all(_run(wall) for wall in walls)
    if not run or not agrees(walls, anew.air, anew.catalog):
        return None
    return summed(replace(anew, walls=walls, plans=plans))


def _run(wall: WallStudy) -> bool:
    """Whether the hours of what is put forward were run, as far as they ever are."""
    chosen = wall.chosen
    return chosen.dry.hourly is not None or not any(o.dry.hourly for o in wall.options)


def _wall(wall: WallStudy, study: Study, prices: PriceList, heating: HeatingCase) -> WallStudy:
    options = tuple(_option(one, wall, study, prices, heating) for one in wall.options)
    return replace(wall, options=options)


def _option(
    option: OptionStudy, wall: WallStudy, study: Study, prices: PriceList, heating: HeatingCase
) -> OptionStudy:
    option = priced(option, wall.wall, study.catalog, study.prices, prices)
    cost = option.price
    value = worth(option.change, heating, cost.known if cost else None)
    return replace(option, worth=value)


def priced(
    option: OptionStudy, wall: Wall, catalog: Catalog, before: PriceList, prices: PriceList
) -> OptionStudy:
    """An option by other prices than ``before``; what it takes stays where they count alike."""
    if option.price is None:
        return option
    lines = option.quantities
    if before.counted_by != prices.counted_by:
        lines = takeoff(option.build_up, wall, catalog, prices, items=option.works)
    return replace(option, quantities=lines, price=price(lines, prices))
