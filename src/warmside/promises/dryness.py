"""Dry: water that gathers in the wall, month by month in every path; hours are added to it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

from warmside.catalog import Source
from warmside.options import BuildUp
from warmside.physics.assembly import Layer, Stack
from warmside.physics.moisture import (
    CONDENSATE_LIMIT,
    CONDENSATE_LIMIT_NON_ABSORBING,
    MONTHS,
    MonthlyBalance,
    MonthlyConditions,
    monthly_balance,
)
from warmside.promises.dryness_hourly import DryYears
from warmside.promises.finding import Finding
from warmside.promises.inward import inward
from warmside.promises.room import Outside, Room
from warmside.promises.thin_foam import foam_under_batts
from warmside.survey import Hazard, Wall
from warmside.wood import DRY_WOOD
from warmside.wording import Figure, Sentence, joined, say

_LIMIT = Source(
    "DIN 4108-3: at most 1.0 kg/m2, 0.5 kg/m2 where neither face takes up water; 5 % of the mass "
    "of wood beside it, 3 % of wood-based board",
    "from memory",
)
_PLAIN = (CONDENSATE_LIMIT, CONDENSATE_LIMIT_NON_ABSORBING)
_DRIES = Source("EN ISO 13788: what gathers in winter must leave within the year", "from memory")
_READ = Source("Wood is dry at 19 %", "common practice")
TRACE = 1e-3  # [kg/m2] a gram on a square metre is no water


@dataclass(frozen=True)
class Dry:
    """The yearly moisture balance of every path of one option on one wall."""

    balances: tuple[MonthlyBalance, ...]  # one per stack
    worst: MonthlyBalance
    findings: tuple[Finding, ...]
    hourly: DryYears | None = None  # paths run hour by hour, where they were

    def with_hours(self, hourly: DryYears) -> Dry:
        """The same with paths run hour by hour, their findings after the monthly ones."""
        monthly = self.without_hours().findings
        return replace(self, findings=(*monthly, *hourly.findings), hourly=hourly)

    def without_hours(self) -> Dry:
        """The monthly balances alone."""
        if self.hourly is None:
            return self
        count = len(self.findings) - len(self.hourly.findings)
        return replace(self, findings=self.findings[:count], hourly=None)


WET_HAZARDS = ("rot", "bulk water")


@dataclass(frozen=True)
class FoundWet:
    """Water that someone saw or read in a wall: it overrules what is reckoned."""

    where: str
    moisture: float | None  # [kg/kg] that the meter showed; None for what was seen
    what: str = "wet wood"
    state: str = "found"
    named: bool = True  # of this very wall; False: of the house

    @property
    def key(self) -> str:
        """What its finding is called."""
        return f"{self.what.replace(' ', '_')}_found"


def found_wet(
    wall: Wall, hazards: Iterable[Hazard] = (), limit: float = DRY_WOOD
) -> tuple[FoundWet, ...]:
    """Wet wood, wet fill, rot and water noted in a wall and not cleared: the only place that says.

    Parameters
    ----------
    wall : Wall
        As surveyed, with its readings.
    hazards : iterable of Hazard
        Of the house; those of other walls are passed over, and those of no wall count where they
        were found.
    limit : float
        Moisture of dry wood [kg/kg].
    """
    read = [FoundWet(one.where, one.moisture) for one in wall.readings if one.moisture > limit]
    seen = [
        FoundWet(one.where, None, one.kind, one.state, named=one.wall is not None)
        for one in hazards
        if one.kind in WET_HAZARDS
        and one.noted
        and (one.wall == wall.name or (one.wall is None and one.state == "found"))
    ]
    state = wall.found.fill_state
    fill = [FoundWet("the bays", None, f"{state} fill")] if wall.found.wet_fill else []
    return (*read, *seen, *fill)


def dry(build_up: BuildUp, room: Room, outside: Outside, wet: Sequence[FoundWet] = ()) -> Dry:
    """Judge the moisture of one option on one wall, month by month.

    Parameters
    ----------
    build_up : BuildUp
        The option applied to the wall.
    room : Room
        Room air of the state that the work leaves.
    outside : Outside
        Climate.
    wet : sequence of FoundWet
        What was read or seen in the wall.

    Returns
    -------
    Dry
        Balances [kg/m2] and findings.
    """
    air = room.monthly(outside.climate)
    balances = tuple(
        replace(_balance(s.sheets, air), kind=s.kind, area=s.area) for s in build_up.stacks
    )
    reached = [b for b in balances if b.kind != "pocket"] or list(balances)
    pockets = [b for b in balances if b.kind == "pocket" and b.peak > TRACE]
    worst = max(reached, key=lambda balance: balance.used)
    findings = [_gathers(worst), _leaves(balances), *inward(build_up, room, outside)]
    if pockets and build_up.option.kind.worked:
        findings.append(_pockets(max(pockets, key=lambda balance: balance.used)))
    findings.extend(foam_under_batts(build_up, room, outside))
    if wet and build_up.option.kind.opened.bays:
        findings.append(_found(wet))
    return Dry(balances, worst, tuple(findings))


@lru_cache(maxsize=1024)
def _balance(sheets: tuple[Layer, ...], air: MonthlyConditions) -> MonthlyBalance:
    """One path's year; studs, plates and posts of solid wood are one and the same path."""
    return monthly_balance(Stack("bay", 1.0, sheets), air)


def _found(wet: Sequence[FoundWet]) -> Finding:
    """No sum calls a wall dry in which water was found: work waits for it.

    What is found in a wall that stays closed is told beside it (`wet_evidence`).
    """
    read = max((one.moisture for one in wet if one.moisture is not None), default=None)
    told = [
        say("{what} at {where}", what=one.what, where=one.where)
        if one.moisture is None
        else say("{read} at {where}", read=Figure(one.moisture, "share"), where=one.where)
        for one in wet
    ]
    return Finding(
        promise="dry",
        key="found_wet",
        name="Water found in the wall",
        figure=read,
        unit="kg/kg",
        limit=DRY_WOOD,
        limit_is="most",
        verdict="needs a person",
        reason=say("Found: {told}. A reading overrules what is reckoned.", told=joined(told, ", ")),
        change=say("Find where it comes from and mend that; let the wood dry and read it again."),
        source=_READ,
    )


def _gathers(worst: MonthlyBalance) -> Finding:
    held, limit, where = _tightest(worst)
    holds = worst.within_limit
    reason: Sentence = say("No water gathers in any path of the wall in any month.")
    if worst.peak >= TRACE:
        reason = say(
            "By the end of {month} {water} have gathered in the {path}, {where}; the limit there "
            "is {limit}{wood}.",
            month=MONTHS[(worst.worst_month or 1) - 1],
            water=Figure(held, "water"),
            path=worst.kind,
            where=where,
            limit=Figure(limit, "water"),
            wood=", by the mass of the wood" if limit not in _PLAIN else "",
        )
    return Finding(
        promise="dry",
        key="condensate_peak_kg_m2",
        name="Water that gathers by diffusion",
        figure=held,
        unit="kg/m2",
        limit=limit,
        limit_is="most",
        verdict="holds" if holds else "falls short",
        reason=reason,
        change=say(
            "" if holds else "Vapour control on the warm side, foam on the cold side, or drier air."
        ),
        source=_LIMIT,
    )


def _tightest(balance: MonthlyBalance) -> tuple[float, float, str]:
    """Water held and its limit [kg/m2] where most of the limit is used, and where that is."""
    held, limit, where = balance.peak, CONDENSATE_LIMIT, "in all"
    for face in balance.interfaces:
        if face.peak / face.limit >= held / limit:
            held, limit = face.peak, face.limit
            where = f"between {face.between[0]} and {face.between[1]}"
    return held, limit, where


def _leaves(balances: tuple[MonthlyBalance, ...]) -> Finding:
    left = max(balance.residual for balance in balances)
    holds = left < TRACE
    return Finding(
        promise="dry",
        key="condensate_left_kg_m2",
        name="Water left after a year",
        figure=left,
        unit="kg/m2",
        limit=0.0,
        limit_is="most",
        verdict="holds" if holds else "falls short",
        reason=say("Whatever gathers has left within the year.")
        if holds
        else say(
            "{left} are still in the wall after a year: it gets wetter yearly.",
            left=Figure(left, "water"),
        ),
        change=say(
            "" if holds else "A layer outside that lets vapour pass, or vapour control inside."
        ),
        source=_DRIES,
    )


def _pockets(worst: MonthlyBalance) -> Finding:
    """Hollow pockets stay cold behind a new finish: no fault of the option, but work to plan."""
    held, limit, _ = _tightest(worst)
    return Finding(
        promise="dry",
        key="pocket_condensate_kg_m2",
        name="Hollow pockets that foam does not reach",
        figure=held,
        unit="kg/m2",
        limit=limit,
        limit_is="most",
        verdict="holds" if worst.within_limit else "needs a person",
        reason=say(
            "Left hollow, a pocket would gather {water} by diffusion alone in winter.",
            water=Figure(held, "water"),
        ),
        change=say(
            "Open each pocket and fill it, or seal it from the room with a tight layer; empty "
            "sash-weight pockets only with the sash fixed or replaced."
        ),
        source=_LIMIT,
    )
