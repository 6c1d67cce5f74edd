"""Safe: what stops the work until a person clears it, and what the work itself asks for."""

from __future__ import annotations

from warmside.catalog import Foam, Source
from warmside.catalog._hazards import hazard_rows
from warmside.options import BuildUp
from warmside.promises.finding import Finding
from warmside.promises.gates import gates
from warmside.survey import Hazard, House, Wall

WORK_AIR = 0.3  # [1/h] air changes of the house while foam is sprayed and until occupancy
HOUR = 3600.0  # [s]
DRY_WOOD = 0.19  # [kg/kg] meter reading above which wood is not covered
_DRY_SOURCE = Source(
    "Assuring a quality spray foam application (trade): wood below 19 %; ASTM C1848 asks the maker",
    "second-hand",
)


def safe(
    hazards: tuple[Hazard, ...],
    wall: Wall,
    build_up: BuildUp,
    foam: Foam | None,
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
    house : House, optional
        For its year and volume; without it, gates that follow from them are left out.

    Returns
    -------
    tuple of Finding
        Hazards that stop work first.
    """
    if build_up.option.kind == "leave":
        return ()
    mine = [h for h in hazards if h.wall in (None, wall.name)]
    findings = [_hazard(h) for h in mine] + _wet_wood(wall)
    if house is not None:
        findings += gates(tuple(mine), wall, build_up, house)
    if foam is not None:
        findings += [_cover(build_up), _occupancy(foam), _isocyanate()]
        if house is not None:
            findings.append(_work_air(house))
    return tuple(findings)


def _hazard(hazard: Hazard) -> Finding:
    row = hazard_rows()[hazard.kind]
    cleared = hazard.state == "cleared"
    reason = (
        f"{row.title} ({hazard.where}): cleared by {hazard.cleared_by}."
        if cleared
        else f"{row.title} {hazard.state}: {hazard.where}. It stops: {row.stops[0].lower()}"
        f"{row.stops[1:]} Cleared by {row.clears}."
    )
    return Finding(
        promise="safe",
        key=f"hazard_{hazard.kind.replace(' ', '_').replace('-', '_')}",
        name=row.title,
        figure=None,
        unit="",
        limit=None,
        limit_is="none",
        verdict="holds" if cleared else "needs a person",
        reason=reason,
        change="" if cleared else row.do,
        source=row.source,
    )


def _wet_wood(wall: Wall) -> list[Finding]:
    findings = []
    for reading in wall.readings:
        dry = reading.moisture <= DRY_WOOD
        percent = f"{reading.moisture:.0%}"
        findings.append(
            Finding(
                promise="safe",
                key="wood_moisture_kg_kg",
                name=f"Wood moisture, {reading.where}",
                figure=reading.moisture,
                unit="kg/kg",
                limit=DRY_WOOD,
                limit_is="most",
                verdict="holds" if dry else "needs a person",
                reason=f"The meter read {percent} at {reading.where}; wood is covered at 19 % or "
                "less.",
                change="" if dry else "Find the water, mend it, dry the wood and read again.",
                source=_DRY_SOURCE,
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
        reason="Foam is left open to the room."
        if bare
        else "Foam lies behind the inside finish; no bare foam is left in a room.",
        change="Cover it with 12.7 mm gypsum board or what the code pack allows." if bare else "",
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
        reason="The product's listing and label set the time; a fixed number of hours for every "
        "foam has no footing."
        if wait is None
        else f"The product row gives {wait / 86400:g} days; the label, the listing and a clearance "
        "reading go before it.",
        change="Write the listing's time before occupancy into the foam row and post it at the "
        "door; everyone else is out while spraying and until then.",
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
        reason="The ceiling for MDI in air is 0.2 mg/m3 (0.02 ppm), the advised mean of a shift "
        "0.05 mg/m3; spraying indoors can exceed both even with strong exhaust, so supplied air is "
        "the usual rule.",
        change="Respirators, skin protection and exhaust by the safety data sheet, the law and a "
        "trained person; people with asthma or sensitised to isocyanates stay away.",
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
        reason=f"{WORK_AIR:g} air changes an hour of {house.volume:.0f} m3 are "
        f"{flow * 1e3:.0f} L/s, from the start of spraying until the product's time before "
        "occupancy; in a trial 10.4 changes an hour did not keep isocyanate below its limits.",
        change="Close the work area off and keep it under negative pressure: heating ducts sealed, "
        "exhaust to outdoors away from people and intakes; read the air before people return.",
        source=Source(
            "CAN/ULC-S705.2-05 as a listing (CCMC, 2009) gives it: 0.3 air changes, understood an "
            "hour; US EPA, ventilation guidance for spray foam; trial: Sprayfoam Professional 2013",
            "second-hand",
        ),
    )
