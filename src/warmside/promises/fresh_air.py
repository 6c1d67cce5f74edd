"""Safe and tight, for the whole house: fresh air, flames, soil gas and humidity once it is done."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from warmside.catalog import Catalog, Source, VentingRow
from warmside.physics import humid_air
from warmside.physics.airflow import (
    Band,
    HouseLeakage,
    depressurisation,
    indoor_humidity,
    infiltration_credit,
    moisture_release,
    room_ventilation,
    ventilation_need,
)
from warmside.promises.air import HouseAir
from warmside.promises.finding import Finding, spread
from warmside.survey import House
from warmside.wording import Figure, Verdict, joined, say

LITRE = 1e-3  # [m3]
OTHER_ROOMS = 4  # kitchen, living room, dining room, bathroom; an assumption
DAMP = 0.5  # [-] room humidity in winter above which cold places are at risk; common practice
_SPILLAGE = (
    "A licensed heating person must test for spillage and draft, with every exhaust fan "
    "running, before and after the work; keep carbon monoxide alarms."
)
_BALANCE = Source("Steady moisture balance, p = p_e + G Rv T / Q; storage left out", "computed")


@dataclass(frozen=True)
class HouseTight:
    """The whole house with all chosen work done."""

    before: HouseLeakage
    after: HouseLeakage
    air_change_before: Band  # [1/h] at 50 Pa
    air_change_after: Band  # [1/h]
    need: float  # [m3/s] whole-house ventilation, ASHRAE 62.2
    need_by_rooms: float  # [m3/s] CSA F326
    credit: float  # [m3/s] infiltration that counts, after
    to_add: float  # [m3/s] fans to add
    fans: float  # [m3/s] that run already
    exhaust: float  # [m3/s] of all exhaust fans together, assumed
    depressurisation: Band  # [Pa] by them, after
    depressurisation_limit: float  # [Pa]
    humidity_before: float  # [-] in the coldest month
    humidity_after: float  # [-] with no fan added
    humidity_ventilated: float  # [-] with the fan added
    findings: tuple[Finding, ...]


def house_tight(
    house: House, air: HouseAir, removed: Iterable[Band], catalog: Catalog
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

    Returns
    -------
    HouseTight
        Figures, and findings of the promises tight and safe.
    """
    total = Band(0.0, 0.0, 0.0)
    for share in removed:
        total = total + share
    after = air.leakage.without(total)
    floor = house.floor_area or house.volume / 2.6
    need = ventilation_need(
        floor,
        house.bedrooms,
        catalog.air_figure("need-area").value,
        catalog.air_figure("need-person").value,
    )
    credit = infiltration_credit(
        after.flow_50.best,
        house.storeys,
        catalog.air_figure("weather-factor").value,
        catalog.air_figure("credit").value,
    )
    to_add = max(need - credit - air.fans, 0.0)
    exhaust = air.fans + sum(
        catalog.air_figure(id).value for id in ("kitchen-hood", "bath-fan", "dryer")
    )
    humid = _humidities(air, after, to_add)
    found = HouseTight(
        before=air.leakage,
        after=after,
        air_change_before=air.leakage.air_change_50(house.volume),
        air_change_after=after.air_change_50(house.volume),
        need=need,
        need_by_rooms=room_ventilation(house.bedrooms, OTHER_ROOMS, True),
        credit=credit,
        to_add=to_add,
        fans=air.fans,
        exhaust=exhaust,
        depressurisation=_drop(exhaust, after),
        depressurisation_limit=catalog.vent(house.heating.venting).limit,
        humidity_before=humid[0],
        humidity_after=humid[1],
        humidity_ventilated=humid[2],
        findings=(),
    )
    if total.high == 0.0:
        return found
    findings = (
        _air_change(found),
        _ventilation(found, catalog.air_figure("need-area").source),
        _flames(found, catalog.vent(house.heating.venting)),
        _radon(total, catalog),
        _humidity(found),
    )
    return replace(found, findings=findings)


def _drop(exhaust: float, after: HouseLeakage) -> Band:
    """Pressure that the fans make, the leakiest house first [Pa]."""
    flow = after.flow_50
    return Band(
        *(depressurisation(exhaust, after.law_of(q)) for q in (flow.high, flow.best, flow.low))
    )


def _humidities(
    air: HouseAir, after: HouseLeakage, to_add: float
) -> tuple[float, float, float]:  # fmt: skip
    """Room humidity in the coldest month: today, after, and after with the fan added [-]."""
    months = air.weather.month
    coldest = min(set(months.tolist()), key=lambda m: air.weather.temperature[months == m].mean())
    hours = months == coldest
    outside = humid_air.vapour_pressure(
        air.weather.temperature[hours], air.weather.humidity[hours]
    ).mean()
    now = float(air.infiltration(air.leakage.flow_50.best)[hours].mean())
    then = float(air.infiltration(after.flow_50.best)[hours].mean())
    release = moisture_release(air.room.vapour_pressure, outside, now, air.room.temperature)
    flows = (now, then, then + to_add)
    low, mid, high = (
        indoor_humidity(release, outside, max(flow, 1e-4), air.room.temperature) for flow in flows
    )
    return low, mid, high


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
            before=spread(before, "air change"),
            after=spread(after, "air change"),
            basis=found.before.basis,
        ),
        change=say(
            "A fan test after the work shows it."
            if measured
            else "A fan test before the work, and one after."
        ),
        source=Source("Joint rows of the catalog and the share of walls", "from memory"),
    )


def _ventilation(found: HouseTight, source: Source) -> Finding:
    enough = found.to_add == 0.0
    return Finding(
        promise="safe",
        key="ventilation_m3_s",
        name="Fresh air for people",
        figure=found.credit + found.fans,
        unit="m3/s",
        limit=found.need,
        limit_is="least",
        verdict="holds" if enough else "needs a person",
        reason=say(
            "{need} are needed (by rooms, CSA F326, {rooms}). After the work the house leaks in "
            "about {leaks} by itself; fans that run all the time bring {fans}.",
            need=Figure(found.need, "flow"),
            rooms=Figure(found.need_by_rooms, "flow"),
            leaks=Figure(found.credit, "flow"),
            fans=Figure(found.fans, "flow"),
        ),
        change=say("")
        if enough
        else say(
            "Add {flow} or more, balanced in and out, designed by a ventilation person; local code "
            "decides.",
            flow=Figure(found.to_add, "flow"),
        ),
        source=source,
    )


def _flames(found: HouseTight, row: VentingRow) -> Finding:
    drop, limit = found.depressurisation, found.depressurisation_limit
    vented = row.kind in ("natural draft", "induced draft")
    verdict: Verdict = "needs a person" if vented or drop.high > limit else "holds"
    if drop.best > limit:
        verdict = "falls short"
    return Finding(
        promise="safe",
        key="depressurisation_pa",
        name=f"Flue gas pulled indoors by fans: {row.name}",
        figure=drop.best,
        unit="Pa",
        limit=limit,
        limit_is="most",
        verdict=verdict,
        reason=say(
            "Kitchen hood, bath fan and dryer together ({exhaust}, assumed) lower the pressure "
            "indoors by {drop} after the work; limit {limit}, the strictest in use {strictest}.",
            exhaust=Figure(found.exhaust, "flow"),
            drop=spread(drop, "pressure"),
            limit=Figure(limit, "pressure"),
            strictest=Figure(row.low, "pressure"),
        ),
        change=joined(
            [
                _SPILLAGE if vented else "",
                "Air for the fans, or a sealed appliance." if drop.high > row.low else "",
            ]
        ),
        source=row.source,
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
    damp = found.humidity_after > DAMP
    return Finding(
        promise="safe",
        key="humidity_after_share",
        name="Room humidity in the coldest month after the work",
        figure=found.humidity_after,
        unit="-",
        limit=DAMP,
        limit_is="most",
        verdict="needs a person" if damp else "holds",
        reason=say(
            "With the same living, {before} becomes {after} in the tighter house, {ventilated} "
            "with the fresh air that is needed.",
            before=Figure(found.humidity_before, "share"),
            after=Figure(found.humidity_after, "share"),
            ventilated=Figure(found.humidity_ventilated, "share"),
        ),
        change=say("Ventilate before the wall is judged dry at today's humidity." if damp else ""),
        source=_BALANCE,
    )
