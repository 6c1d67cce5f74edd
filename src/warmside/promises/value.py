"""Worth it: heat, fuel, money and carbon saved in a year, each with its band."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from math import inf

import numpy as np
from numpy.typing import NDArray

from warmside.catalog import Fuel, Source
from warmside.physics.airflow import Band
from warmside.physics.climate import COOLED_HUMIDITY, COOLED_TO
from warmside.physics.energy import (
    AIR_HEAT,
    HOUR,
    Season,
    Thermostat,
    design_loss,
    fuel_amount,
    heat_over,
    heated_difference,
    season,
)
from warmside.physics.humid_air import enthalpy, humidity_ratio, saturation_pressure
from warmside.promises.air import HouseAir
from warmside.promises.bills import Billed, billed
from warmside.promises.finding import Finding, banded
from warmside.promises.money import (
    Three,
    conserved_energy_cost,
    present_value_factor,
    simple_payback,
)
from warmside.promises.realised import FinishedJob, Realised, realised_share
from warmside.survey import House
from warmside.units import KWH
from warmside.wording import Figure, Sentence, Verdict, joined, say

Floats = NDArray[np.float64]
Years = tuple[float | None, float | None, float | None]  # best case first; None: never
# Outdoor temperature from which gains heat an old house by day; common practice, no source.
BALANCE_POINTS = (15.0, 17.0, 18.0)  # [degC] for a room at 21 degC
USUAL_ROOM = 21.0  # [degC]
PERSON_HEAT = 60.0  # [W] a person, averaged over the day; common practice, no source
APPLIANCE_HEAT = 350.0  # [W] a household; common practice, no source
COOLED_FROM = 25.0  # [degC] rooms are cooled above it, where they are; common practice
COOLING_YIELD = (4.0, 3.0, 2.5)  # [-] heat taken out per electricity: best machine first; the same
AIR_DENSITY = 1.2  # [kg/m3]
_BILLED = {"therm": "therms", "cord": "cords", "gal": "gallons"}  # many of them, in a sentence
_CHANGES: dict[Verdict, str] = {
    "holds": "",
    "needs a person": "What is saved is not known well enough to tell: whoever pays decides. Fuel "
                      "bills and a fan test narrow it.",
    "falls short": "It would pay with thinner foam or higher fuel prices. Some owners do it for "
                   "comfort.",
}  # fmt: skip
_BALANCE = Source("Hours below a balance point of 15, 17 and 18 °C for a room at 21 °C",
                  "common practice")  # fmt: skip
_COOLING = Source(
    "Hours above 25 °C, room at 24 °C and 50 %, heat and damp of the air; 2.5 to 4 units of heat "
    "per unit of electricity",
    "common practice",
)
_WHOLE = Source("Hourly balance of the whole house as described in the survey", "computed")


@dataclass(frozen=True)
class EnergyTerms:
    """What a unit of fuel costs, and how money is reckoned over years; the user's own figures."""

    currency: str
    price: float  # per unit of fuel
    rise: float  # [-] a year
    discount: float | None  # [-] a year; None: no present value
    years: int
    source: Source
    finished: tuple[FinishedJob, ...] = ()  # the contractor's own, to learn from
    cooling_price: float | None = None  # per J of electricity; None where it has no price
    sold: tuple[str, float] | None = None  # unit of the bill, and how much fuel one of it holds

    @property
    def words(self) -> str:
        """The assumptions in one sentence part."""
        interest = "" if self.discount is None else f", discounted at {self.discount:.1%}"
        return f"{self.years} years{interest}, fuel rising {self.rise:.1%} a year"


@dataclass(frozen=True)
class HeatingCase:
    """What every option of every wall shares: weather, room, fuel, and how it is judged."""

    air: HouseAir
    thermostat: Thermostat
    balance_points: Three  # [degC]
    differences: tuple[Floats, Floats, Floats]  # [K] over heated hours
    fuel: Fuel
    efficiency: float
    terms: EnergyTerms | None
    walls: float  # [W/K] surveyed walls as found
    other: float | None  # [W/K] the rest of the house, where it is described
    gains: float  # [W]
    billed: Billed | None  # what the bills say
    calibrated: float  # [-] share of the computed heat that the bills bear out
    realised: Realised  # share of a computed saving that is counted on
    design: float  # [degC] design temperature outdoors

    @property
    def bill(self) -> float:
        """Useful heat [J] that the bills of a year hold; infinite without bills."""
        return inf if self.billed is None else self.billed.heat

    @cached_property
    def coldest_hours(self) -> NDArray[np.intp]:
        """Which hours are the coldest hundredth of the year."""
        weather = self.air.weather
        return np.argsort(weather.temperature)[: max(weather.hours // 100, 1)]

    @property
    def by_bills(self) -> bool:
        """Whether bills calibrate the house, and are not only the most that can be saved."""
        return self.billed is not None and self.billed.fit is not None

    @property
    def basis(self) -> Sentence:
        """What the saving rests on, one sentence."""
        if self.by_bills:
            return say("The whole house as its bills show it, hour by hour, would save it.")
        if self.other is not None:
            return say("The whole house as described, hour by hour, would save it.")
        low, best, high = (Figure(point, "temperature") for point in self.balance_points)
        return say(
            "That is the most that it could save: only hours below {best} ({low} to {high}) count, "
            "and the rest of the house was not described.",
            best=best,
            low=low,
            high=high,
        )


@dataclass(frozen=True)
class Change:
    """What the work changes: transmission [W/K] before and after, share of leakage removed [-]."""

    before: float
    after: float
    removed: Band


@dataclass(frozen=True)
class Worth:
    """A year's saving and what it is worth; every figure least, best and most."""

    heat: Band  # [J] useful heat saved a year, as measured houses realise it
    computed: Band  # [J] the same as computed; an upper bound where the house is not described
    present: float  # [J] present use of the parts concerned, or of the house where described
    fuel_unit: str  # by which the bill counts it, where the price file says
    fuel: Band  # in that unit, a year
    co2: Band  # [kg] a year
    cooling: float  # [J] heat through the walls in hours above 25 degC that is kept out
    cooled: Band | None  # [J] electricity that cooled rooms save, damp of the air too; else None
    design: tuple[float, float]  # [W] design heat loss of the same parts, before and after
    money: Band | None  # a year at today's price, cooling and all
    cost: float | None
    payback: Years | None  # [years]
    net_present_value: Three | None
    conserved_cost: tuple[float | None, float | None, float | None] | None  # per kWh, best first
    findings: tuple[Finding, ...]


def heating_case(
    house: House,
    air: HouseAir,
    fuel: Fuel,
    walls: float,
    terms: EnergyTerms | None,
    design: float,
) -> HeatingCase:
    """What all options of a house are judged by.

    Parameters
    ----------
    house : House
        As surveyed.
    air : HouseAir
        Its air.
    fuel : Fuel
        Its fuel.
    walls : float
        Transmission of the surveyed walls as found [W/K].
    terms : EnergyTerms or None
        Price of the fuel and rates; None where the price file has none.
    design : float
        Design temperature outdoors [degC].

    Returns
    -------
    HeatingCase
        Shared by `worth`.
    """
    heating = house.heating
    held = Thermostat(house.indoor_temperature, heating.night_temperature)
    shift = house.indoor_temperature - USUAL_ROOM
    low, best, high = (point + shift for point in BALANCE_POINTS)
    gains = house.gains
    if gains is None:
        gains = house.people * PERSON_HEAT + APPLIANCE_HEAT
    found = billed(house, fuel, air.weather)
    case = HeatingCase(
        air=air,
        thermostat=held,
        balance_points=(low, best, high),
        differences=(
            heated_difference(air.weather, held, low),
            heated_difference(air.weather, held, best),
            heated_difference(air.weather, held, high),
        ),
        fuel=fuel,
        efficiency=heating.efficiency,
        terms=terms,
        walls=walls,
        other=house.other_parts,
        gains=gains,
        billed=found,
        calibrated=1.0,
        realised=realised_share(
            by_bills=found is not None, finished=terms.finished if terms else ()
        ),
        design=design,
    )
    return _calibrated(case)


def _calibrated(case: HeatingCase) -> HeatingCase:
    """The house as its bills show it, where they do.

    What the bills lose beyond walls and leaks is the rest of the house; gains are what keeps it
    warm down to the balance point. Where the survey's sum alone comes to more than the bills, all
    of it counts less.
    """
    found = case.billed
    if found is None or found.fit is None or found.loss is None:
        return case
    flow = case.air.infiltration(case.air.leakage.flow_50.best)
    lasting = float(case.differences[1].sum())
    air = AIR_HEAT * float((case.differences[1] * flow).sum()) / lasting if lasting else 0.0
    other = max(found.loss - case.walls - air, 0.0)
    room = float(case.thermostat.hourly(case.air.weather).mean())
    lift = max(room - found.fit.balance_point, 0.0)
    case = replace(case, other=other, gains=(case.walls + other + air) * lift)
    now = season_of(case, case.walls, flow).heating
    return replace(case, calibrated=min(found.heat / now, 1.0) if now > 0.0 else 1.0)


def worth(change: Change, case: HeatingCase, cost: float | None, fresh_air: float = 0.0) -> Worth:
    """Judge what the work is worth.

    Transmission and air over the hours that are heated; for the whole house, with gains, where its
    other parts are described, else for the parts concerned below the balance point. No saving
    exceeds the bills where they are known. Of what is computed the share counts that measured
    houses have saved. Least: leaky joints stay leaky, a low balance point;
    most: the reverse.

    Parameters
    ----------
    change : Change
        What the work changes.
    case : HeatingCase
        House, weather, fuel, prices.
    cost : float or None
        Price of the work; None where it is not priced.
    fresh_air : float
        Ventilation that the tighter house needs added, heated without recovery [m3/s].

    Returns
    -------
    Worth
        Figures with bands, and findings; none where nothing changes.
    """
    computed, present = _saved(change, case, fresh_air)
    saved = tuple(
        figure * share for figure, share in zip(computed, case.realised.share, strict=True)
    )
    heat = Band(*saved)
    burnt = [fuel_amount(figure, case.fuel.heat_content, case.efficiency) for figure in saved]
    fuel = Band(*burnt)
    factors = case.fuel.co2_low, case.fuel.co2, case.fuel.co2_high
    co2 = Band(*(amount * factor for amount, factor in zip(burnt, factors, strict=True)))
    unit, holds = (case.terms and case.terms.sold) or (case.fuel.unit, 1.0)
    warm = np.maximum(case.air.weather.temperature - COOLED_FROM, 0.0)
    terms = case.terms
    cooled = _cooled(change, case, fresh_air) if case.air.room.cooled else None
    money = fuel.times(terms.price) if terms else None
    if money and cooled and terms and terms.cooling_price is not None:
        money = money + cooled.times(terms.cooling_price)
    result = Worth(
        heat=heat,
        computed=Band(*computed),
        present=present,
        fuel_unit=unit,
        fuel=fuel.times(1.0 / holds),
        co2=co2,
        cooling=heat_over(warm, max(change.before - change.after, 0.0)),
        cooled=cooled,
        design=_design(change, case),
        money=money,
        cost=cost,
        payback=None
        if money is None or cost is None
        else (
            simple_payback(cost, money.high),
            simple_payback(cost, money.best),
            simple_payback(cost, money.low),
        ),
        net_present_value=_present_value(money, cost, terms),
        conserved_cost=_conserved(heat, cost, terms),
        findings=(),
    )
    unchanged = change.before == change.after and change.removed.high == 0.0
    return result if unchanged else _with_findings(result, case)


def heat_taken(less: float, removed: float, case: HeatingCase, fresh_air: float = 0.0) -> float:
    """Useful heat that a year's heating is spared [J], at best; below 0 where it costs some.

    Unlike `worth` it is not cut off at 0, and so jointly concave in both of its arguments: the
    demand left is a sum over hours of ``max(L dT - gains, 0)``, convex in the loss L, and L is
    convex in what is taken away.

    Parameters
    ----------
    less : float
        Transmission taken away [W/K].
    removed : float
        Share of the house's leakage taken away [-].
    case : HeatingCase
        House, weather, fuel.
    fresh_air : float
        Ventilation that comes with it, heated without recovery [m3/s].
    """
    flow = case.air.leakage.flow_50.best
    before = case.air.infiltration(flow)
    after = case.air.infiltration(flow * (1.0 - removed)) + fresh_air
    if case.other is None:
        saved = heat_over(case.differences[1], less, before - after)
    else:
        now = season_of(case, case.walls, before).heating
        saved = now - season_of(case, case.walls - less, after).heating
    return min(saved * case.calibrated, case.bill)


def further_money(after: Worth, before: Worth | None) -> Three | None:
    """What one work saves beyond another [currency] a year: least, best, most.

    Both are taken at the same leakage and the same balance point, so that what they share cancels.

    Parameters
    ----------
    after, before : Worth
        Of the two works; without ``before`` the whole saving of ``after``.

    Returns
    -------
    tuple of float or None
        None where a price is not known.
    """
    if after.money is None or (before is not None and before.money is None):
        return None
    more = (after.money.low, after.money.best, after.money.high)
    base = before.money if before is not None else None
    less = (base.low, base.best, base.high) if base is not None else (0.0, 0.0, 0.0)
    low, best, high = sorted(a - b for a, b in zip(more, less, strict=True))
    return low, best, high


def _saved(change: Change, case: HeatingCase, fresh_air: float) -> tuple[Three, float]:
    """Useful heat saved [J] least, best, most, and present use [J] of what it is part of."""
    leakage, removed = case.air.leakage.flow_50, change.removed
    flows = (leakage.low, leakage.best, leakage.high)
    shares = (removed.low, removed.best, removed.high)
    saved, present = [], []
    for k in range(3):
        before = case.air.infiltration(flows[k])
        after = case.air.infiltration(flows[k] * (1.0 - shares[k])) + fresh_air
        if case.other is None:
            less = heat_over(case.differences[k], change.before - change.after, before - after)
            saved.append(max(less, 0.0))
            present.append(heat_over(case.differences[k], change.before, before))
        else:
            now = season_of(case, case.walls, before).heating
            then = season_of(case, case.walls - change.before + change.after, after).heating
            saved.append(max(now - then, 0.0))
            present.append(now)
    low, best, high = sorted(min(figure * case.calibrated, case.bill) for figure in saved)
    return (low, best, high), min(present[1] * case.calibrated, case.bill)


def cooling_taken(less: float, removed: float, case: HeatingCase, fresh_air: float = 0.0) -> float:
    """Electricity of cooling that a year is spared [J], at best; below 0 where it costs some.

    As `heat_taken`, not cut off at 0, and so jointly concave; 0 where rooms are not cooled.

    Parameters
    ----------
    less, removed, case, fresh_air
        As in `heat_taken`.
    """
    if not case.air.room.cooled:
        return 0.0
    flow = case.air.leakage.flow_50.best
    return _kept_out(less, flow, removed, fresh_air, case) / COOLING_YIELD[1]


def _cooled(change: Change, case: HeatingCase, fresh_air: float) -> Band:
    """Electricity of cooling that is saved [J]: through the walls, and air with its damp."""
    less, flows = max(change.before - change.after, 0.0), case.air.leakage.flow_50
    cases = zip((flows.low, flows.best, flows.high),
                (change.removed.low, change.removed.best, change.removed.high),
                COOLING_YIELD, case.realised.share, strict=True)  # fmt: skip
    saved = [
        max(_kept_out(less, flow, removed, fresh_air, case), 0.0) * share / times
        for flow, removed, times, share in cases
    ]
    return Band(*sorted(saved))


def _kept_out(
    less: float, flow: float, removed: float, fresh_air: float, case: HeatingCase
) -> float:
    """Heat and damp kept out of cooled rooms in a year [J].

    ``(dH max(To - 25, 0) + rho dQ max(h_o - h_i, 0))`` over hours above 25 degC, the room at
    24 degC and 50 %; sun on the walls is left out.
    """
    weather, air = case.air.weather, case.air
    warm = weather.temperature > COOLED_FROM
    moist = humidity_ratio(weather.humidity * saturation_pressure(weather.temperature))
    indoor = float(humidity_ratio(COOLED_HUMIDITY * float(saturation_pressure(COOLED_TO))))
    excess = enthalpy(weather.temperature, moist) - float(enthalpy(COOLED_TO, indoor))
    through = heat_over(np.maximum(weather.temperature - COOLED_FROM, 0.0), less)
    brought = air.infiltration(flow) - air.infiltration(flow * (1.0 - removed)) - fresh_air
    damp = (AIR_DENSITY * brought * np.maximum(excess, 0.0))[warm].sum() * HOUR
    return through + float(damp)


def _design(change: Change, case: HeatingCase) -> tuple[float, float]:
    """Design loss before and after [W], no gains; air of the coldest hundredth of the hours."""
    air = case.air
    coldest = case.coldest_hours
    rest = 0.0 if case.other is None else case.walls - change.before + case.other
    losses = [
        design_loss(
            conductance + rest,
            float(air.infiltration(air.leakage.flow_50.best * (1.0 - removed))[coldest].mean()),
            case.thermostat.heating,
            case.design,
        )
        for conductance, removed in ((change.before, 0.0), (change.after, change.removed.best))
    ]
    return losses[0], losses[1]


def season_of(case: HeatingCase, walls: float, flow: Floats) -> Season:
    """The whole house's season with ``walls`` [W/K] and ``flow`` [m3/s] of outdoor air."""
    whole = walls + (case.other or 0.0)
    return season(case.air.weather, max(whole, 0.0), flow, case.gains, case.thermostat)


def _present_value(
    money: Band | None, cost: float | None, terms: EnergyTerms | None
) -> Three | None:
    if money is None or cost is None or terms is None or terms.discount is None:
        return None
    factor = present_value_factor(terms.discount, terms.years, terms.rise)
    return money.low * factor - cost, money.best * factor - cost, money.high * factor - cost


def _conserved(
    heat: Band, cost: float | None, terms: EnergyTerms | None
) -> tuple[float | None, float | None, float | None] | None:
    if cost is None or terms is None or terms.discount is None:
        return None
    rate, years = terms.discount, terms.years
    return (
        conserved_energy_cost(cost, heat.high / KWH, rate, years),
        conserved_energy_cost(cost, heat.best / KWH, rate, years),
        conserved_energy_cost(cost, heat.low / KWH, rate, years),
    )


def _with_findings(found: Worth, case: HeatingCase) -> Worth:
    findings = [_saving(found, case), _carbon(found, case)]
    if found.cooled is not None:
        findings.append(_cooling(found.cooled, case))
    if case.terms is None:
        findings.append(_no_price(case))
    elif found.payback is not None and found.money is not None:
        findings.append(_payback(found, found.money, found.payback, case.terms))
        if found.net_present_value is not None:
            findings.append(_value(found.net_present_value, case.terms))
    return replace(found, findings=tuple(findings))


def _saving(found: Worth, case: HeatingCase) -> Finding:
    heat, fuel, share = found.heat, found.fuel, case.realised.share
    holds = heat.best > 0.0
    return Finding(
        promise="worth it",
        key="heat_saved_j_per_year",
        name="Heat saved in a year",
        figure=heat.best,
        unit="J",
        limit=0.0,
        limit_is="least",
        verdict="holds" if holds else "falls short",
        reason=say(
            "{saved} of {fuel} a year, {heat} of heat: {share} of the {computed} computed, as "
            "measured houses have saved. {basis}",
            share=Figure(share[1], "share", low=share[0], high=share[2]),
            computed=banded(found.computed, "heat"),
            saved=replace(
                banded(fuel, "number"), unit=_BILLED.get(found.fuel_unit, found.fuel_unit)
            ),
            fuel=case.fuel.name,
            heat=banded(heat, "heat"),
            basis=case.basis,
        ),
        change=say("" if holds else "An option that insulates or seals."),
        source=case.realised.source,
    )


def _carbon(found: Worth, case: HeatingCase) -> Finding:
    co2 = found.co2
    return Finding(
        promise="worth it",
        key="co2_saved_kg_per_year",
        name="Carbon dioxide saved in a year",
        figure=co2.best,
        unit="kg",
        limit=None,
        limit_is="none",
        verdict="holds",
        reason=say(
            "{co2} a year, by the factors of {year}.",
            co2=banded(co2, "mass"),
            year=str(case.fuel.year),
        ),
        change=say(""),
        source=case.fuel.source,
    )


def _cooling(cooled: Band, case: HeatingCase) -> Finding:
    price = case.terms.cooling_price if case.terms else None
    currency = case.terms.currency if case.terms else ""
    money = banded(cooled.times(price or 0.0), "money", currency)
    worth = say(", {money}, counted in what the work saves", money=money) if price else say(
        "; the price file has no price of electricity"
    )  # fmt: skip
    return Finding(
        promise="worth it",
        key="cooling_saved_j_per_year",
        name="Cooling saved in a year",
        figure=cooled.best,
        unit="J",
        limit=None,
        limit_is="none",
        verdict="holds",
        reason=say(
            "{kwh} of electricity less in summer{worth}. Sun on the walls is not counted.",
            kwh=replace(banded(cooled.times(1.0 / KWH), "number"), unit="kWh"),
            worth=worth,
        ),
        change=say(""),
        source=_COOLING,
    )


def _payback(found: Worth, money: Band, payback: Years, terms: EnergyTerms) -> Finding:
    early, best, late = payback
    verdict = _by_both_ends(_ever(late) <= terms.years, _ever(early) <= terms.years)
    saving = banded(money, "money", terms.currency)
    cost = Figure(found.cost or 0.0, "money", currency=terms.currency)
    if best is None:
        reason = say(
            "{saving} a year at today's price never pays back {cost}.", saving=saving, cost=cost
        )
    else:
        reason = say(
            "{saving} a year at today's price pay {cost} back in {years}.",
            saving=saving,
            cost=cost,
            years=Figure(best, "years", low=_ever(early), high=_ever(late)),
        )
    return Finding(
        promise="worth it",
        key="simple_payback_years",
        name="Simple payback",
        figure=best,
        unit="years",
        limit=float(terms.years),
        limit_is="most",
        verdict=verdict,
        reason=joined([reason, _warning(terms)]),
        change=say(_CHANGES[verdict]),
        source=terms.source,
    )


def _value(value: Three, terms: EnergyTerms) -> Finding:
    least, best, most = value
    verdict = _by_both_ends(least >= 0.0, most >= 0.0)
    return Finding(
        promise="worth it",
        key="net_present_value",
        name="Worth today of the savings less the cost",
        figure=best,
        unit=terms.currency,
        limit=0.0,
        limit_is="least",
        verdict=verdict,
        reason=joined(
            [
                say(
                    "{worth} over {terms}.",
                    worth=Figure(best, "money", currency=terms.currency, low=least, high=most),
                    terms=terms.words,
                ),
                _warning(terms),
            ]
        ),
        change=say(_CHANGES[verdict]),
        source=terms.source,
    )


def _no_price(case: HeatingCase) -> Finding:
    return Finding(
        promise="worth it",
        key="fuel_price",
        name="Price of the fuel",
        figure=None,
        unit="",
        limit=None,
        limit_is="none",
        verdict="needs a person",
        reason=say(
            "The price file has no price of {fuel} by {unit}.",
            fuel=case.fuel.name,
            unit=case.fuel.unit,
        ),
        change=say(
            "Add {fuel} to [energy] in the price file, from the client's bill.", fuel=case.fuel.id
        ),
        source=Source("price file", "own figure"),
    )


def _by_both_ends(surely: bool, perhaps: bool) -> Verdict:
    """By the least and the most that is saved: a tick that only the middle bears, nobody signs."""
    return "holds" if surely else "needs a person" if perhaps else "falls short"


def _ever(years: float | None) -> float:
    return inf if years is None else years


def _warning(terms: EnergyTerms) -> str:
    return "The prices are invented." if terms.source.tag == "invented" else ""
