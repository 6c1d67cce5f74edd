"""What is reported of the house: what a client reads first, conditions, findings, sums."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass

from warmside.catalog import Source
from warmside.study.comparison import compare
from warmside.study.house import Study
from warmside.study.report.parts import Line, Statement, Sum, sums, takeoff_lines
from warmside.study.report.plan import PlanReport, order, plan_reports, plan_statements, reasons
from warmside.study.report.wall import FindingReport, WallReport, finding_report, wall_report
from warmside.survey import Accepted
from warmside.wording import (
    PAPER,
    PROMISES,
    Figure,
    Sentence,
    Standing,
    counted,
    joined,
    parted,
    plain,
    say,
)

FILMS = Source("EN ISO 13788: surface film 0.25 m2 K/W where humidity is judged", "from memory")
_METHODS = Source(
    "ISO 6946: mean of the parallel-path and layer-by-layer limits; surface films 0.13 and 0.04",
    "from memory",
)
FIELD = Source(
    "3-D field of the framed wall: finite volumes, ISO 10211 boundary conditions", "computed"
)


@dataclass(frozen=True)
class HouseReport:
    """The whole study."""

    currency: str
    price_list: str
    prices_invented: bool
    room: float  # [degC]
    outside: float  # [degC]
    headline: tuple[Statement, ...]
    conditions: Sentence
    comparison: Sentence
    totals: tuple[Sum, ...]
    whole: tuple[FindingReport, ...]  # the house with all the work done
    assumptions: tuple[Statement, ...]
    takeoff: tuple[Line, ...]
    walls: tuple[WallReport, ...]
    plans: tuple[PlanReport, ...]
    advice: tuple[Statement, ...]  # wall by wall
    order: tuple[Statement, ...]  # of what is done to the whole house

    @property
    def verdicts(self) -> dict[str, dict[str, Standing]]:
        """Verdicts of what is recommended, by wall and promise."""
        return {wall.name: wall.verdicts for wall in self.walls}


def report(study: Study, told: Collection[str] = PROMISES) -> HouseReport:
    """Everything that is shown of a study, each figure typed and none rounded.

    Parameters
    ----------
    study : Study
        The house studied.
    told : collection of str
        Promises whose findings of the walls' options are told, beside verdicts and figures.
    """
    prices = study.prices
    return HouseReport(
        currency=prices.currency,
        price_list=prices.title,
        prices_invented=prices.invented,
        room=study.room.temperature,
        outside=study.outside.design,
        headline=_headline(study),
        conditions=conditions(study),
        comparison=compare(study).sentence,
        totals=sums(study.price, study.price.top_up),
        whole=tuple(finding_report(finding) for finding in study.findings),
        assumptions=_assumptions(study),
        takeoff=takeoff_lines(study.takeoff),
        walls=tuple(wall_report(wall, prices.currency, told) for wall in study.walls),
        plans=plan_reports(study),
        advice=tuple(reasons(study)),
        order=tuple(order(study)),
    )


def effective_sources(study: Study) -> tuple[Source, ...]:
    """What the R of the whole framed wall rests on."""
    solved = any(wall.chosen.warm.field for wall in study.walls)
    return (_METHODS, FIELD) if solved else (_METHODS,)


def _gates(study: Study) -> Iterator[Sentence]:
    """Hazards that were seen, and what a house of its age may hide: what is not in the price."""
    gates = [hazard for hazard in study.survey.hazards if hazard.open]
    seen = sum(hazard.noted for hazard in gates)
    presumed = len({hazard.kind for hazard in gates if not hazard.noted})
    if seen:
        what = counted(seen, "hazard must be cleared", "hazards must be cleared")
        yield say("{what} before work starts; that is not in this price.", what=what)
    if presumed:
        yield say(
            "{what} looked for first; clearing what is found is not in this price.",
            what=counted(presumed, "possible hazard is", "possible hazards are"),
        )
    if gates:
        yield say("See Before any work starts.")


def _headline(study: Study) -> tuple[Statement, ...]:
    """What a client reads first: what it costs, what it does, what comes before, what is open."""
    price = say(
        "Price of the work we recommend, taxes included: {currency} {total}.",
        currency=study.price.currency,
        total=f"{study.price.total:,.2f}",
    )
    if study.price.missing:
        missing = say("Not priced: {lines}.", lines="; ".join(_unpriced(study)))
        price = joined([price, missing])
    if not study.worked:
        noted = sum(hazard.noted for hazard in study.survey.hazards)
        seen = say(
            "{what} on site {are} looked at all the same: see Before any work starts.",
            what=counted(noted, "hazard seen", "hazards seen"),
            are="is" if noted == 1 else "are",
        )
        price = joined([say("There is nothing to pay for."), seen if noted else ""])
    else:
        price = joined([price, *_gates(study)])
    notes = [
        *plan_statements(study),
        Statement(price),
        *(() if study.follows_plan else (Statement(compare(study).sentence),)),
        *(_gains(study) if study.worked else ()),
    ]
    notes += [
        Statement(f.reason, (f.source,))
        for f in study.worth.findings
        if f.key == "simple_payback_years"
    ]
    return tuple(notes)


def _gains(study: Study) -> list[Statement]:
    """Heat and surfaces of all walls, before and after."""
    walls = study.walls
    area = sum(w.frame.net_area for w in walls)
    now = area / sum(w.frame.net_area / w.as_found.warm.resistance for w in walls)
    after = area / sum(w.frame.net_area / w.chosen.warm.resistance for w in walls)
    cold = [
        min((o.warm.coldest for o in options), key=lambda c: c.surface)
        for options in ([w.as_found for w in walls], [w.chosen for w in walls])
    ]
    where = ", then ".join(dict.fromkeys(place.where for place in cold))
    seats = [w.chosen.comfort for w in walls]
    return [
        Statement(
            say(
                "The {walls} will lose {share} of the heat that {they} now: R of the whole framed "
                "wall goes from {now} to {after}.",
                walls=counted(len(walls), "outside wall") if len(walls) > 1 else "outside wall",
                they="they lose" if len(walls) > 1 else "it loses",
                share=Figure(now / after, "share"),
                now=Figure(now, "resistance"),
                after=Figure(after, "resistance"),
            ),
            effective_sources(study),
        ),
        Statement(
            say(
                "At {outside} outside the coldest place on the room side ({where}) {course}. What "
                "is felt {seat} from the coldest wall {felt}.",
                outside=Figure(study.outside.design, "temperature"),
                course=_course(cold[0].surface, cold[1].surface),
                where=where,
                seat=Figure(1.0, "span"),
                felt=_course(
                    min(s.before.radiant_temperature for s in seats),
                    min(s.after.radiant_temperature for s in seats),
                ),
            ),
            (FILMS,),
        ),
    ]


def _course(now: float, after: float) -> Sentence:
    """What becomes of a temperature [degC], as far as it is printed."""
    first, last = Figure(now, "temperature"), Figure(after, "temperature")
    if PAPER.figure(first) == PAPER.figure(last):
        return say("stays at {t}", t=first)
    verb = "warms" if after > now else "cools"
    return say("{verb} from {now} to {after}", verb=verb, now=first, after=last)


def _unpriced(study: Study) -> list[str]:
    """Takeoff lines without a price, by their names."""
    names = {q.key: q.name for q in study.takeoff}
    told = []
    for text in study.price.missing:
        key, _, why = text.rpartition(": ")
        told.append(f"{names.get(key, key)} ({why})" if key else text)
    return told


def conditions(study: Study) -> Sentence:
    """The state that the figures hold for."""
    room, outside = study.room_after, study.outside
    return say(
        "Room {room}, in the coldest month {today} today and {humidity} with the work (dew point "
        "{dew}), in which the walls are judged; outside {design} on the design night, "
        "climate of {station} ({days} degree-days below {base}).",
        room=Figure(room.temperature, "temperature"),
        today=Figure(study.room.humidity, "share"),
        humidity=Figure(room.humidity, "share"),
        dew=Figure(room.dew_point, "temperature"),
        design=Figure(outside.design, "temperature"),
        station=outside.climate.name,
        days=Figure(outside.climate.degree_days, "degree days"),
        base=Figure(18.0, "temperature"),
    )


def _looked_at(one: Accepted) -> Sentence:
    """An unusual figure that was kept, and why."""
    return say(
        "Unusual, looked at again and kept ({warning}): {read}. {reason}{by}{day}.",
        warning=one.warning,
        read=one.read,
        reason=one.reason.rstrip("."),
        by=f", {one.by}" if one.by else "",
        day=f", {one.date}" if one.date else "",
    )


def _assumptions(study: Study) -> tuple[Statement, ...]:
    """Weather and room, then what holds for walls, each text once with the walls it holds for."""
    climate = study.outside.climate
    design = Figure(study.outside.design, "temperature")
    notes = [
        Statement(say("Temperatures: {station}.", station=climate.name), (climate.source,)),
        Statement(say("Outdoor humidity by month."), (climate.source_humidity,)),
        Statement(say("Design night {design}.", design=design), (climate.source_design,)),
        *(Statement(plain(text)) for text in study.weather.notes),
    ]
    notes += [Statement(_looked_at(one)) for one in study.survey.accepted]
    if study.room.assumption:
        notes.append(Statement(study.room.assumption))
    if not study.settling.settled:
        notes.append(Statement(plain(study.settling.words)))
    # hazards stand before any work starts, on their own page
    hazards = tuple(f"{h.kind.capitalize()}, {h.state} ({h.where})" for h in study.survey.hazards)
    held: dict[str | Sentence, list[str]] = {}
    for wall in study.walls:
        for text in (*wall.frame.assumptions, *wall.chosen.build_up.cautions):
            if not str(text).startswith(hazards):
                held.setdefault(text, []).append(wall.wall.name)
    for text, names in held.items():
        where = "All walls" if len(names) == len(study.walls) else parted(names)
        notes.append(Statement(say("{text} {where}.", text=text, where=where)))
    return tuple(notes)
