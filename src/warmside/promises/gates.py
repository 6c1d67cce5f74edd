"""What the survey itself shows that a person must clear before the wall is closed: gates."""

from __future__ import annotations

from collections.abc import Iterator

from warmside.catalog import Catalog, HazardRow, Source
from warmside.options import BuildUp
from warmside.promises.finding import Finding
from warmside.survey import Hazard, House, Wall
from warmside.wording import Figure, Sentence, capital, counted, lowered, plain, say

FOOT2 = 0.09290304  # [m2] exact
# Area of painted surface disturbed above which the renovation rule applies, by the room inside
# and by the house outside.
LEAD_INSIDE, LEAD_OUTSIDE = 6.0 * FOOT2, 20.0 * FOOT2  # [m2]
# Share of US houses with lead paint, by year built before.
LEAD_SHARES = ((1940, 0.87), (1960, 0.69), (1978, 0.24))
LEAD_ENDS = 1991  # houses built from this year hold little
_LEAD = Source(
    "40 CFR 745 (US, houses before 1978), 6 and 20 ft2; shares as the EPA's figures are quoted; "
    "Health Canada: before 1960 likely, 1960 to 1990 outside and some inside",
    "second-hand",
)
_ACCESS = Source(
    "Standard Work Specifications detail 4.0201.1 (NREL/DOE): boxes and appliances stay accessible",
    "published",
)
_POCKETS = Source("common practice of the trade", "common practice")
# What a box or pipe of the survey is, as a hazard of the catalog.
_AS_HAZARD = {"recessed light": "recessed light", "duct": "duct in the wall", "vent": "chimney"}
_LICENSED = {
    "gas": ("a gas pipe", "a licensed gas fitter", "Have it tested, and keep its joints in reach."),
    "panel": ("an electrical panel", "a licensed electrician", "Keep it in reach and uncovered."),
}


def gates(
    hazards: tuple[Hazard, ...], wall: Wall, build_up: BuildUp, house: House, catalog: Catalog
) -> Iterator[Finding]:
    """Gates that follow from the wall's boxes, pipes, pockets and year, hazards named or not.

    Parameters
    ----------
    hazards : tuple of Hazard
        Those of this wall; what they name is not told twice.
    wall : Wall
        As surveyed.
    build_up : BuildUp
        The option applied.
    house : House
        For its year.
    catalog : Catalog
        Who clears a hazard, and what it stops.

    Yields
    ------
    Finding
        Each names who clears it.
    """
    named = {hazard.kind for hazard in hazards if hazard.state != "presumed"}
    kinds = dict.fromkeys([*(b.kind for b in wall.boxes), *(p.kind for p in wall.pipes)])
    for kind in kinds:
        hazard = _AS_HAZARD.get(kind)
        if hazard is not None and hazard not in named:
            yield _as_hazard(kind, catalog.hazard(hazard))
        elif kind in _LICENSED:
            yield _licensed(kind)
    if build_up.frame.pockets and build_up.option.kind.opened.bays:
        yield _pockets(build_up)
    if (wall.year_built or house.year_built) < LEAD_ENDS:
        yield _lead(hazards, wall.year_built or house.year_built, build_up)


def _gate(key: str, name: str, reason: Sentence, change: str, source: Source) -> Finding:
    return Finding("safe", f"gate_{key}", name, None, "", None, "none", "needs a person", reason,
                   plain(change), source)  # fmt: skip


def _as_hazard(kind: str, row: HazardRow) -> Finding:
    reason = say(
        "The survey shows a {kind} in this wall. Until it is looked at, it stops: {stops} Cleared "
        "by {who}.",
        kind=kind,
        stops=lowered(row.stops),
        who=row.clears,
    )
    return _gate(kind.replace(" ", "_"), row.title, reason, row.do, row.source)


def _licensed(kind: str) -> Finding:
    what, who, change = _LICENSED[kind]
    reason = say("The survey shows {what} in this wall. Cleared by {who}.", what=what, who=who)
    return _gate(kind, capital(f"{what} in the wall"), reason, change, _ACCESS)


def _pockets(build_up: BuildUp) -> Finding:
    pockets = build_up.frame.pockets
    why = dict.fromkeys(pocket.why.rstrip(".") for pocket in pockets)
    told = "; ".join(list(why)[:3])
    return Finding(
        promise="safe",
        key="gate_hollow_pockets",
        name="Hollow spaces that spray does not reach",
        figure=float(len(pockets)),
        unit="-",
        limit=0.0,
        limit_is="most",
        verdict="needs a person",
        reason=say(
            "{count} behind the work ({why}). Cleared by the contractor, who opens and looks into "
            "each before the wall is closed.",
            count=counted(len(pockets), "hollow space stays", "hollow spaces stay"),
            why=told,
        ),
        change=say(
            "Open, look for wires and water, fill or close each; write down what stays hollow."
        ),
        source=_POCKETS,
    )


def _lead(hazards: tuple[Hazard, ...], year: int, build_up: BuildUp) -> Finding:
    area, inside = build_up.option.kind.disturbs(build_up)
    limit = LEAD_INSIDE if inside else LEAD_OUTSIDE
    where = "a room inside" if inside else "outside"
    share = next((share for before, share in LEAD_SHARES if year < before), None)
    cleared = any(h.kind == "lead paint" and h.recorded for h in hazards)
    # where the country's rule presumes none, somebody has to have seen it
    asked = year < 1978 or any(h.kind == "lead paint" and h.open for h in hazards)
    likely = (
        say("Houses of these years may hold some.")
        if share is None
        else say("{share} of US houses of its years hold some.", share=Figure(share, "share"))
    )
    rule = say(
        "the US rule for houses before 1978 begins at {limit} {where}"
        if year < 1978
        else "after 1977 the US rule ({limit} {where}) does not apply, care does",
        limit=Figure(limit, "area"),
        where=where,
    )
    return Finding(
        promise="safe",
        key="gate_lead_area_m2",
        name="Old paint that the work disturbs",
        figure=area,
        unit="m2",
        limit=limit,
        limit_is="most",
        # taking plaster or boards down is demolition: its area is no excuse
        verdict="holds"
        if cleared or not asked or (area <= limit and not build_up.option.kind.opened.room)
        else "needs a person",
        reason=say(
            "Built {year}: lead paint. {likely} The work disturbs up to {area}; {rule}. Cleared by "
            "a certified renovator or by a test that finds none.",
            year=str(year),
            likely=likely,
            area=Figure(area, "area"),
            rule=rule,
        ),
        change=say("Test it, or assume lead: contain the dust, wet methods, HEPA vacuum, records."),
        source=_LEAD,
    )
