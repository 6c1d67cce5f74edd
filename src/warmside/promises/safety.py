"""Safe: what stops the work until a person clears it, and what the work itself asks for."""

from __future__ import annotations

from warmside.catalog import Catalog, Foam, HazardRow, SiteFigure, Source
from warmside.options import BuildUp
from warmside.promises.finding import Finding
from warmside.promises.gates import gates
from warmside.promises.never import by_person
from warmside.survey import Hazard, House, Wall
from warmside.units import HOUR
from warmside.wording import Figure, lowered, plain, say

WORK_AIR = 0.3  # [1/h] air changes of the house while foam is sprayed and until occupancy
COVER = Figure(0.0127, "length")  # half-inch gypsum board over foam
_OF_OPEN_BAYS = frozenset({"missing fire blocks"})  # hazards of bays that run past a floor alone


def _stands_in(kind: str, wall: Wall) -> bool:
    """Whether a wall of its frame, with the blocks that were seen in it, can hold such a hazard."""
    return wall.open_through or kind not in _OF_OPEN_BAYS


def safe(
    hazards: tuple[Hazard, ...],
    wall: Wall,
    build_up: BuildUp,
    foam: Foam | None,
    catalog: Catalog,
    house: House | None = None,
) -> tuple[Finding, ...]:
    """What must be cleared before this option may be built on this wall, and covered after.

    Parameters
    ----------
    hazards : tuple of Hazard
        All hazards of the survey; those of other walls are left out.
    wall : Wall
        The wall as surveyed.
    build_up : BuildUp
        The option applied to it.
    foam : Foam or None
        The foam it uses.
    catalog : Catalog
        Who clears a hazard, and how dry wood must be.
    house : House, optional
        For its year and volume; without it, gates that follow from them are left out.

    Returns
    -------
    tuple of Finding
        Hazards that stop work first.
    """
    if not build_up.option.kind.worked:
        return ()
    mine = [h for h in hazards if h.wall in (None, wall.name) and _stands_in(h.kind, wall)]
    findings = [_hazard(h, catalog.hazard(h.kind)) for h in mine] + _wet_wood(
        wall, catalog.site_figure("wood-moisture")
    )
    if house is not None:
        findings += gates(tuple(mine), wall, build_up, house, catalog)
    if foam is not None:
        findings += [_cover(build_up), _occupancy(foam), _isocyanate()]
        if house is not None:
            findings.append(_work_air(house))
    if house is None:
        return tuple(findings)
    return by_person(findings, hazards, catalog, house, wall.name)


def _hazard(hazard: Hazard, row: HazardRow) -> Finding:
    settled, undated = hazard.recorded, not hazard.open and not hazard.date
    reason = (
        say(
            "{what} ({where}): {state} by {who}{day}{how}.",
            what=row.title,
            where=hazard.where,
            state=hazard.state,
            who=hazard.cleared_by,
            day=", on a day that is not written down" if undated else f" on {hazard.date}",
            how=f": {hazard.how}" if hazard.how else "",
        )
        if not hazard.open
        else say(
            "{what} {state}: {where}. {asks}It stops: {stops} Cleared by {who}.",
            what=row.title,
            state=hazard.state,
            where=hazard.where,
            asks=f"{hazard.notes} " if hazard.state == "presumed" else "",
            stops=lowered(row.stops),
            who=row.clears,
        )
    )
    return Finding(
        promise="safe",
        key=f"hazard_{hazard.kind.replace(' ', '_').replace('-', '_')}",
        name=row.title,
        figure=None,
        unit="",
        limit=None,
        limit_is="none",
        verdict="holds" if settled else "needs a person",
        reason=reason,
        change=plain("" if settled else "Write down the day." if undated else row.do),
        source=row.source,
    )


def _wet_wood(wall: Wall, limit: SiteFigure) -> list[Finding]:
    findings = []
    for reading in wall.readings:
        dry = reading.moisture <= limit.most
        findings.append(
            Finding(
                promise="safe",
                key="wood_moisture_kg_kg",
                name=f"Wood moisture, {reading.where}",
                figure=reading.moisture,
                unit="kg/kg",
                limit=limit.most,
                limit_is="most",
                verdict="holds" if dry else "falls short",
                reason=say(
                    "The meter read {moisture} at {where}; wood is covered at {limit} or less.",
                    moisture=Figure(reading.moisture, "share"),
                    where=reading.where,
                    limit=Figure(limit.most, "share"),
                ),
                change=say("" if dry else "Find the water, mend it, dry the wood and read again."),
                source=limit.source,
            )
        )
    return findings


def _cover(build_up: BuildUp) -> Finding:
    """Foam must lie behind an inside finish in every path that holds foam."""
    bare = [s.kind for s in build_up.stacks if _foam_is_bare(s.layers)]
    return Finding(
        promise="safe",
        key="fire_cover",
        name="Fire cover of the foam",
        figure=None,
        unit="",
        limit=None,
        limit_is="none",
        verdict="falls short" if bare else "holds",
        reason=say(
            "Foam is left open to the room."
            if bare
            else "Foam lies behind the inside finish; no bare foam is left in a room."
        ),
        change=say("Cover it with {board} gypsum board or what the code pack allows.", board=COVER)
        if bare
        else say(""),
        source=Source("IRC R316.4; NBC 9.10.17.10 (public reproductions)", "second-hand"),
    )


def _foam_is_bare(layers: tuple[object, ...]) -> bool:
    for layer in layers:
        role = getattr(layer, "role", "")
        if role in ("finish", "wood"):
            return False
        if role == "foam":
            return True
    return False


def _occupancy(foam: Foam) -> Finding:
    wait = foam.occupancy_wait
    return Finding(
        promise="safe",
        key="occupancy_wait_s",
        name="When the house may be lived in again",
        figure=wait,
        unit="s",
        limit=None,
        limit_is="none",
        verdict="needs a person",
        reason=say(
            "No single waiting time is right for every foam. Use the one in the product's listing "
            "and label."
        )
        if wait is None
        else say(
            "The product row gives {wait}; the label, the listing and a clearance reading go "
            "before it.",
            wait=Figure(wait, "time"),
        ),
        change=say(
            "Write the listing's time before occupancy into the foam row and post it at the door; "
            "everyone else is out while spraying and until then."
        ),
        source=foam.source_use,
    )


def _isocyanate() -> Finding:
    return Finding(
        promise="safe",
        key="isocyanate",
        name="Isocyanate while spraying",
        figure=None,  # nobody measured it here
        unit="kg/m3",
        limit=0.2e-6,
        limit_is="most",
        verdict="needs a person",
        reason=say(
            "The ceiling for MDI in air is {ceiling} (0.02 ppm), the advised mean of a shift "
            "{mean}; spraying indoors can exceed both even with strong exhaust, so supplied air is "
            "the usual rule.",
            ceiling=Figure(0.2e-6, "concentration"),
            mean=Figure(0.05e-6, "concentration"),
        ),
        change=say(
            "Respirators, skin protection and exhaust by the safety data sheet, the law and a "
            "trained person; people with asthma or sensitised to isocyanates stay away."
        ),
        source=Source("OSHA ceiling 0.02 ppm (0.2 mg/m3), NIOSH mean 0.005 ppm (0.05 mg/m3), as "
                      "quoted by a weatherization body", "second-hand"),
    )  # fmt: skip


def _work_air(house: House) -> Finding:
    """Outdoor air drawn through the house while foam is sprayed and until it is lived in again."""
    flow = WORK_AIR * house.volume / HOUR
    return Finding(
        promise="safe",
        key="work_air_m3_s",
        name="Air drawn through the house while foam is sprayed and cures",
        figure=flow,
        unit="m3/s",
        limit=None,
        limit_is="none",
        verdict="needs a person",
        reason=say(
            "{rate} air changes an hour of {volume} are {flow}, from the start of spraying until "
            "the product's time before occupancy; in a trial 10.4 changes an hour did not keep "
            "isocyanate below its limits.",
            rate=Figure(WORK_AIR, "air change"),
            volume=Figure(house.volume, "volume"),
            flow=Figure(flow, "flow"),
        ),
        change=say(
            "Close the work area off and keep it under negative pressure: heating ducts sealed, "
            "exhaust to outdoors away from people and intakes; read the air before people return."
        ),
        source=Source(
            "CAN/ULC-S705.2-05 as a listing of 2009 gives it: 0.3 air changes, understood an "
            "hour; US EPA, ventilation guidance for spray foam; trial: Sprayfoam Professional 2013",
            "second-hand",
        ),
    )
