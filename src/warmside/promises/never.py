"""What no computation may tick: only a dated record of the person named."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from warmside.catalog import Catalog, NeverAlone
from warmside.promises.finding import Finding
from warmside.survey import Hazard, House
from warmside.wording import plain, say

_SPILLS = ("natural draft", "induced draft")
# Room humidity advised at most, by outdoor temperature [degC]: from, below, share.
# From memory of Canadian advice to home owners; common practice.
_SAFE_HUMIDITY = (
    (-99.0, -28.0, 0.15), (-28.0, -23.0, 0.20), (-23.0, -18.0, 0.25), (-18.0, -12.0, 0.30),
    (-12.0, -6.0, 0.35), (-6.0, 99.0, 0.40),
)  # fmt: skip


def by_person(
    findings: Iterable[Finding],
    hazards: Iterable[Hazard],
    catalog: Catalog,
    house: House,
    wall: str | None = None,
) -> tuple[Finding, ...]:
    """The findings, those that only a person settles held back until a dated record stands.

    Parameters
    ----------
    findings : iterable of Finding
        As computed.
    hazards : iterable of Hazard
        Of the survey: a record is one that is cleared or ruled out, by a named person, on a day.
    catalog : Catalog
        Which findings those are, and which hazard's clearance settles each.
    house : House
        For its appliance and its place.
    wall : str, optional
        The wall that they are of; None for the house.

    Returns
    -------
    tuple of Finding
        In the same order. A record settles what needs a person; it never mends what falls short.
    """
    rows = {key: row for row in catalog.never.values() for key in row.findings}
    records = {h.kind: h for h in hazards if h.recorded and h.wall in (None, wall)}

    def settled(finding: Finding) -> Finding:
        row = rows.get(finding.key)
        if row is None or not _meant(row, finding, catalog, house):
            return finding
        return _held_back(finding, row, records.get(row.hazard), catalog)

    return tuple(map(settled, findings))


def _held_back(
    finding: Finding, row: NeverAlone, record: Hazard | None, catalog: Catalog
) -> Finding:
    if record is not None and finding.verdict == "needs a person":
        reason = say(
            "{computed} Settled by {who} on {day}{how}.",
            computed=finding.reason,
            who=record.cleared_by,
            day=record.date,
            how=f": {record.how}" if record.how else "",
        )
        return replace(finding, verdict="holds", reason=reason, change=plain(""))
    if record is None and finding.verdict == "holds":
        hazard = catalog.hazard(row.hazard)
        reason = say(
            "{computed} No computation settles this: only a dated record of {who}.",
            computed=finding.reason,
            who=hazard.clears,
        )
        return replace(finding, verdict="needs a person", reason=reason, change=plain(hazard.do))
    return finding


def _meant(row: NeverAlone, finding: Finding, catalog: Catalog, house: House) -> bool:
    """Whether the matter is for a person in this case."""
    figure = finding.figure
    if row.only == "spill-prone appliances":
        return house.heating.venting in _SPILLS
    if row.only == "above its limit":
        return figure is not None and finding.limit is not None and figure > finding.limit
    if row.only == "above the climate's safe share":
        return figure is None or figure > safe_humidity(catalog.climate(house.climate).design)
    return True


def safe_humidity(outside: float) -> float:
    """Room humidity [-] that is usually advised at most at an outdoor temperature [degC]."""
    return next(share for low, high, share in _SAFE_HUMIDITY if low <= outside < high)
