"""Safe and tight, for the whole house: fresh air, flames, soil gas and humidity once it is done."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from warmside.catalog import Catalog, Clause, Source, VentingRow, country_of
from warmside.physics import humid_air
from warmside.physics.airflow import (
    Band,
    HouseLeakage,
    depressurisation,
    infiltration_credit,
    room_ventilation,
    ventilation_need,
)
from warmside.promises.air import HouseAir
from warmside.promises.finding import Finding, banded
from warmside.promises.room import Room
from warmside.promises.rules import Judgement, flame_facts, judge
from warmside.survey import House
from warmside.units import DAY
from warmside.wording import Figure, Sentence, Verdict, joined, listed, say

OTHER_ROOMS = 4  # kitchen, living room, dining room, bathroom; an assumption
BY_BEDROOMS = 5  # NBC's table of principal fans ends there
DAMP = 0.5  # [-] room humidity in winter above which cold places are at risk; common practice
PANE = 0.6  # [-] temperature factor of a double pane in its frame; own figure
_SPILLAGE = (
    "A licensed heating person must test for spillage and draft, with every exhaust fan "
    "running, before and after the work; keep carbon monoxide alarms."
)
_BALANCE = Source(
    "Steady balance of water by month, p = p_e + G Rv T / Q; its limit keeps a double pane (factor "
    "0.6, own figure) above the dew point on the design night, as EN ISO 13788 asks of panes "
    "(from memory), and is 50 % at most",
    "computed",
)


@dataclass(frozen=True)
class FreshAir:
    """Fresh air by the standard of the country, and the part of its need that the work causes."""

    standard: str  # which judges, in words
    source: Source
    need: float  # [m3/s] whole-house ventilation
    need_by_rooms: float  # [m3/s] CSA F326
    fans: float  # [m3/s] that run all the time, and those planned with the work
    credit: float  # [m3/s] infiltration that the standard counts beside them
    leaks: tuple[float, float]  # [m3/s] what leaks bring over a year, before and after
    increase: float  # [m3/s] by which the work raises what fans owe: it is built with the work

    @property
    def to_add(self) -> float:
        """Fans that the standard still asks for [m3/s]."""
        return max(self.need - self.credit - self.fans, 0.0)

    @property
    def owed_before(self) -> float:
        """The part of it that was owed before the work [m3/s]."""
        return max(self.to_add - self.increase, 0.0)


def fresh_air(
    house: House, air: HouseAir, removed: float, catalog: Catalog, tested: bool = False
) -> FreshAir:
    """Fresh air with a share of the leakage removed.

    Canada (NBC 9.32.3): the principal fan by bedrooms up to five, CSA F326 above; no leak counts.
    Elsewhere ASHRAE 62.2, where leaks count only by a fan test after the work. What the work causes
    is by how much less the leaks bring of the need, however the standard counts.

    Parameters
    ----------
    house : House
        As surveyed.
    air : HouseAir
        Its air before.
    removed : float
        Share of its leakage that the work removes [-].
    catalog : Catalog
        Rates.
    tested : bool
        Whether a fan test after the work says so.

    Returns
    -------
    FreshAir
        Flows [m3/s].
    """
    floor = house.floor
    area, person = catalog.air_figure("need-area"), catalog.air_figure("need-person")
    rooms = room_ventilation(house.bedrooms, OTHER_ROOMS, True)
    country = country_of(catalog.climate(house.climate))
    canada = country is not None and country.name == "Canada"
    if not canada:
        standard, source = "ASHRAE 62.2", area.source
        need = ventilation_need(floor, house.bedrooms, area.value, person.value)
    elif house.bedrooms <= BY_BEDROOMS:
        row = catalog.air_figure(f"principal-fan-{max(house.bedrooms, 1)}")
        standard, source, need = "NBC 9.32.3 by bedrooms", row.source, row.value
    else:
        standard, need = "CSA F326 by rooms", rooms
        source = catalog.air_figure("room").source
    leaks = tuple(
        infiltration_credit(
            air.leakage.flow_50.best * left,
            house.storeys,
            catalog.air_figure("weather-factor").value,
            catalog.air_figure("credit").value,
        )
        for left in (1.0, 1.0 - removed)
    )
    planned = house.planned_ventilation or 0.0
    short = [max(need - brought - air.fans, 0.0) for brought in leaks]
    return FreshAir(
        standard=standard,
        source=source,
        need=need,
        need_by_rooms=rooms,
        fans=air.fans + planned,
        credit=leaks[1] if tested and not canada else 0.0,
        leaks=(leaks[0], leaks[1]),
        increase=short[1] - short[0],
    )


def built_with_work(house: House, fresh: FreshAir) -> float:
    """Balanced ventilation that the work brings [m3/s]: what is planned, at least its increase."""
    return max(house.planned_ventilation or 0.0, fresh.increase)


def room_after(house: House, air: HouseAir, removed: float, catalog: Catalog) -> Room:
    """The room of a plan that removes a share of the leakage, its ventilation built."""
    if removed <= 0.0:
        return air.room
    fresh = fresh_air(house, air, removed, catalog)
    return air.room_with(removed, built_with_work(house, fresh))


@dataclass(frozen=True)
class HouseTight:
    """The whole house with all chosen work done."""

    before: HouseLeakage
    after: HouseLeakage
    air_change_before: Band  # [1/h] at 50 Pa
    air_change_after: Band  # [1/h]
    fresh: FreshAir
    built: float  # [m3/s] balanced ventilation that the work brings
    exhaust: float  # [m3/s] of all exhaust fans together
    assumed: tuple[str, ...]  # fans whose flow the survey does not name
    depressurisation: Band  # [Pa] by them, after
    depressurisation_limit: float  # [Pa] of the most endangered appliance
    release: Band  # [kg/s] water given off indoors, before as after
    humidity_before: float  # [-] in the coldest month
    humidity_after: float  # [-] with the ventilation that the work brings
    humidity_unbuilt: float  # [-] without it
    humidity_ventilated: float  # [-] with all that the standard asks for
    humidity_limit: float  # [-]
    findings: tuple[Finding, ...]

    @property
    def need(self) -> float:
        """Whole-house ventilation by the country's standard [m3/s]."""
        return self.fresh.need

    @property
    def to_add(self) -> float:
        """Fans that the standard still asks for [m3/s]."""
        return self.fresh.to_add


def house_tight(
    house: House,
    air: HouseAir,
    removed: Iterable[Band],
    catalog: Catalog,
    tested: bool = False,
) -> HouseTight:
    """Judge the whole house after the chosen work.

    Parameters
    ----------
    house : House
        As surveyed.
    air : HouseAir
        Its air before.
    removed : iterable of Band
        Share of the house's leakage that each wall's work removes [-].
    catalog : Catalog
        Rates of fresh air, limits for flames, the guideline for radon.
    tested : bool
        Whether a fan test after the work says how much is removed.

    Returns
    -------
    HouseTight
        Figures, and findings of the promises tight and safe.
    """
    total = Band(0.0, 0.0, 0.0)
    for share in removed:
        total = total + share
    after = air.leakage.without(total)
    fresh = fresh_air(house, air, total.best, catalog, tested)
    built = built_with_work(house, fresh) if total.high > 0.0 else 0.0
    exhaust, assumed = _exhaust(house, air, catalog)
    vent = _most_endangered(house, catalog)
    design = house.design_temperature
    if design is None:
        design = catalog.climate(house.climate).design
    drop = _drop(exhaust, after)
    by_code = _flame_clause(house, drop, catalog)
    left = 1.0 - total.best
    further = max(built, fresh.to_add)
    humid = [air.room_at(left, flow).humidity for flow in (built, 0.0, further)]
    if total.high == 0.0:
        humid = [air.room.humidity, air.room.humidity, air.room_at(1.0, fresh.to_add).humidity]
    found = HouseTight(
        before=air.leakage,
        after=after,
        air_change_before=air.leakage.air_change_50(house.volume),
        air_change_after=after.air_change_50(house.volume),
        fresh=fresh,
        built=built,
        exhaust=exhaust,
        assumed=assumed,
        depressurisation=drop,
        depressurisation_limit=vent.limit if by_code is None else by_code[1].limit or vent.limit,
        release=air.living.release,
        humidity_before=air.room.humidity,
        humidity_after=humid[0],
        humidity_unbuilt=humid[1],
        humidity_ventilated=humid[2],
        humidity_limit=humidity_limit(air.room.temperature, design),
        findings=(),
    )
    if total.high == 0.0:
        return found
    findings = (
        _air_change(found),
        _ventilation(found),
        _flames(found, vent, by_code),
        _radon(total, catalog),
        _humidity(found),
    )
    return replace(found, findings=findings)


def humidity_limit(indoor: float, design: float) -> float:
    """Most humidity of a room [-] whose panes stay dry on the design night [degC], at most 50 %.

    ``phi = p_sat(T_e + f (T_i - T_e)) / p_sat(T_i)`` with f = 0.6 of a double pane in its frame.
    """
    pane = design + PANE * (indoor - design)
    dry = float(humid_air.saturation_pressure(pane) / humid_air.saturation_pressure(indoor))
    return min(dry, DAMP)


def _exhaust(house: House, air: HouseAir, catalog: Catalog) -> tuple[float, tuple[str, ...]]:
    """All exhaust fans together [m3/s], and which of them were taken by the catalog's row."""
    fans = house.exhaust
    flow, assumed = air.fans + fans.other, []
    for surveyed, row, name in (
        (fans.hood, "kitchen-hood", "kitchen hood"),
        (fans.bath, "bath-fan", "bath fan"),
        (fans.dryer, "dryer", "dryer"),
    ):
        if surveyed is None:
            assumed.append(name)
        flow += catalog.air_figure(row).value if surveyed is None else surveyed
    return flow, tuple(assumed)


def _most_endangered(house: House, catalog: Catalog) -> VentingRow:
    """Of all appliances surveyed, the one that the least pressure makes spill."""
    kinds = [house.heating.venting, *(one.venting for one in house.appliances)]
    return min((catalog.vent(kind) for kind in kinds), key=lambda row: (row.limit, row.low))


def _flame_clause(house: House, drop: Band, catalog: Catalog) -> tuple[Clause, Judgement] | None:
    """What the country's own rule says of its flames; None where no country is known.

    Judged where the house may be tightest: there fans pull most.
    """
    country = country_of(catalog.climate(house.climate))
    facts = flame_facts(house, drop.high)
    judged = [
        (clause, judge(clause, facts))
        for pack in catalog.packs.values()
        if country is not None and pack.country == country.name
        for clause in pack.of_the_house
    ]
    return next((one for one in judged if one[1].verdict != "does not apply"), None)


def _drop(exhaust: float, after: HouseLeakage) -> Band:
    """Pressure that the fans make, the leakiest house first [Pa]."""
    flow = after.flow_50
    return Band(
        *(depressurisation(exhaust, after.law_of(q)) for q in (flow.high, flow.best, flow.low))
    )


def _air_change(found: HouseTight) -> Finding:
    before, after = found.air_change_before, found.air_change_after
    measured = found.before.measured
    return Finding(
        promise="tight",
        key="house_air_change_50_per_h",
        name="Air change of the house at 50 Pa, all chosen work done",
        figure=after.best,
        unit="1/h",
        limit=before.best,
        limit_is="most",
        verdict="holds" if measured else "needs a person",
        reason=say(
            "{before} before, {after} after. {basis}",
            before=banded(before, "air change"),
            after=banded(after, "air change"),
            basis=found.before.basis,
        ),
        change=say(
            "A fan test after the work shows it."
            if measured
            else "A fan test before the work, and one after."
        ),
        source=Source("Joint rows of the catalog and the share of walls", "from memory"),
    )


def _ventilation(found: HouseTight) -> Finding:
    fresh = found.fresh
    enough = fresh.to_add <= 0.0
    counted = (
        say("Leaks count for {credit} of it, by the fan test.", credit=Figure(fresh.credit, "flow"))
        if fresh.credit > 0.0
        else say("Leaks do not count, though they bring some.")
    )
    return Finding(
        promise="safe",
        key="ventilation_m3_s",
        name="Fresh air for people",
        figure=fresh.credit + fresh.fans,
        unit="m3/s",
        limit=fresh.need,
        limit_is="least",
        verdict="holds" if enough else "needs a person",
        reason=joined(
            [
                say(
                    "{standard} asks for {need}; fans that run all the time bring {fans}.",
                    standard=fresh.standard,
                    need=Figure(fresh.need, "flow"),
                    fans=Figure(fresh.fans, "flow"),
                ),
                counted,
                _owed(fresh),
            ]
        ),
        change=say("")
        if enough
        else say(
            "Add {flow} or more, balanced in and out, designed by a ventilation person; local code "
            "decides.",
            flow=Figure(fresh.to_add, "flow"),
        ),
        source=fresh.source,
    )


def _owed(fresh: FreshAir) -> Sentence:
    """Whose the need is: the work's, or the house's before it."""
    if fresh.to_add <= 0.0:
        return say("")
    if fresh.increase <= 0.0:
        return say("The house owed this before the work, which takes no air that was needed.")
    return say(
        "The work causes {increase} of it, which is taken as built with it; {before} was owed "
        "before.",
        increase=Figure(fresh.increase, "flow"),
        before=Figure(fresh.owed_before, "flow"),
    )


def _flames(
    found: HouseTight, row: VentingRow, by_code: tuple[Clause, Judgement] | None
) -> Finding:
    """By the country's own clause; without one, the limit of the most endangered appliance."""
    drop, limit = found.depressurisation, found.depressurisation_limit
    vented = row.kind in ("natural draft", "induced draft")
    verdict: Verdict = "needs a person"
    asked, source = say(""), row.source
    if by_code is not None:
        clause, said = by_code
        verdict, source = said.verdict, clause.source
        asked = say(" {reason}", reason=said.reason) if said.limit is None else say("")
    elif drop.high > limit:
        verdict = "falls short"
    which = listed(found.assumed)
    told = f"the flow of {which} is assumed" if which else "as surveyed"
    return Finding(
        promise="safe",
        key="depressurisation_pa",
        name=f"Flue gas pulled indoors by fans: {row.name}",
        figure=drop.high,
        unit="Pa",
        limit=limit,
        limit_is="most",
        verdict=verdict,
        reason=say(
            "All exhaust fans together ({exhaust}, {said}) lower the pressure indoors by {drop} "
            "after the work, and the most of it counts; limit {limit}{by}, the strictest in use "
            "{strictest}.{asked}",
            exhaust=Figure(found.exhaust, "flow"),
            said=told,
            drop=banded(drop, "pressure"),
            limit=Figure(limit, "pressure"),
            by=f" ({by_code[0].number})" if by_code else "",
            strictest=Figure(row.low, "pressure"),
            asked=asked,
        ),
        change=joined(
            [
                _SPILLAGE if vented or verdict == "needs a person" else "",
                "Air for the fans, or a sealed appliance." if drop.high > row.low else "",
            ]
        ),
        source=source,
    )


def _radon(removed: Band, catalog: Catalog) -> Finding:
    limit, rise = catalog.air_figure("radon-guideline"), catalog.air_figure("radon-rise")
    return Finding(
        promise="safe",
        key="radon_bq_m3",
        name="Radon from the ground",
        figure=None,
        unit="Bq/m3",
        limit=limit.value,
        limit_is="most",
        verdict="needs a person",
        reason=say(
            "The house loses {removed} of its leaks; studies found radon up by 22 to {rise} after "
            "energy retrofits.",
            removed=Figure(removed.best, "share"),
            rise=Figure(rise.value, "share"),
        ),
        change=say(
            "Measure radon for three winter months after the work; above the guideline a certified "
            "radon person mends it."
        ),
        source=limit.source,
    )


def _humidity(found: HouseTight) -> Finding:
    limit = found.humidity_limit
    damp = found.humidity_after > limit
    return Finding(
        promise="safe",
        key="humidity_after_share",
        name="Room humidity in the coldest month after the work",
        figure=found.humidity_after,
        unit="-",
        limit=limit,
        limit_is="most",
        verdict="needs a person" if damp else "holds",
        reason=say(
            "With the same living ({release} of water a day), {before} becomes {after} in the "
            "tighter house; {ventilated} with all the fresh air that the standard asks for. Above "
            "{limit} panes run with water on the design night.",
            release=Figure(found.release.best * DAY, "mass"),
            before=Figure(found.humidity_before, "share"),
            after=Figure(found.humidity_after, "share"),
            ventilated=Figure(found.humidity_ventilated, "share"),
            limit=Figure(limit, "share"),
        ),
        change=say("Ventilate more, or give off less water." if damp else ""),
        source=_BALANCE,
    )
