"""What is reported to the client: what is wrong, what we advise, what it costs, what both do.

No cost, margin or hours. Every sentence is short and plain; a figure is no finer than it is known.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from math import ceil

from warmside.estimate import Contractor, coin, parts_of
from warmside.options import Option
from warmside.promises import Warm, banded
from warmside.study.house import Study
from warmside.study.parts import OptionStudy, WallStudy
from warmside.study.plan import AIMS, DRY_ID, Net, drier_air, is_stopped, must_change
from warmside.study.report.plan import PlanReport, plan_reports
from warmside.wording import OPEN, Figure, Sentence, joined, parted, plain, say

_MOST_CHOICES = 4  # of a wall, for a client to choose from
_MARGIN = 0.6  # [m] clear before a wall that is worked on; common practice
_NO_WARMER = 1.05  # times the resistance found: less than that is not felt; our own choice
_WALL = "outside wall"


@dataclass(frozen=True)
class ScopeRow:
    """What is done on one wall."""

    wall: str
    rooms: str  # behind it
    area: Figure
    work: Sentence
    side: Sentence  # what is opened and put back
    resistance: Figure  # of the whole wall after the work


@dataclass(frozen=True)
class MendRow:
    """Who must clear something before the work, and what."""

    who: str
    what: Sentence


@dataclass(frozen=True)
class StageRow:
    """A payment, and when it is due."""

    when: str
    amount: Figure


@dataclass(frozen=True)
class Choice:
    """One way to do a wall, for the client to tick."""

    name: Sentence
    ours: bool
    price: Figure | None
    saving: Figure | None  # a year
    resistance: Figure
    coldest: Figure
    misses: Sentence  # what it does not keep


@dataclass(frozen=True)
class Decision:
    """A wall on which the client has something to decide."""

    wall: str
    rooms: str  # behind it
    advice: Sentence
    choices: tuple[Choice, ...]


@dataclass(frozen=True)
class OfferReport:
    """The client's pages."""

    summary: tuple[Sentence, ...]  # what is wrong, what we advise, what it brings
    pictured: str  # the wall whose picture tells it; "" where none was computed
    plans: tuple[PlanReport, ...]  # our advice, and what differs from it
    after: tuple[Sentence, ...]  # what stands beside the plans
    mend_first: tuple[MendRow, ...]
    look: tuple[Sentence, ...]  # what a house of this age may hide
    open: tuple[Sentence, ...]  # what is not promised yet
    scope: tuple[ScopeRow, ...]
    left: tuple[Sentence, ...]
    included: tuple[Sentence, ...]  # what is done beside the walls' own work
    duties: tuple[Sentence, ...]  # what the family does
    safety: tuple[Sentence, ...]  # what keeps it from harm; with the English beside
    excluded: tuple[Sentence, ...]
    schedule: tuple[Sentence, ...]
    sums: tuple[tuple[str, Figure], ...]  # before tax, each tax, total; none: nothing to sign
    stages: tuple[StageRow, ...]
    conditions: tuple[Sentence, ...]  # changes, holdback, warranty, cancelling
    valid_until: date
    contractor: Contractor
    decisions: tuple[Decision, ...]


def offer_report(study: Study, today: date) -> OfferReport:
    """Everything that an offer shows.

    Parameters
    ----------
    study : Study
        The house studied.
    today : date
        Date of the offer.
    """
    terms = study.prices.terms
    return OfferReport(
        summary=(_wrong(study), _advice(study), _gain(study)),
        pictured=_pictured(study),
        plans=_plans(study),
        after=tuple(_beside_plans(study)),
        mend_first=tuple(mend_first(study)),
        look=tuple(_look(study)),
        open=tuple(_open(study)),
        scope=scope_rows(study),
        left=tuple(_left(study)),
        included=tuple(_included(study)),
        duties=tuple(_duties(study)),
        safety=tuple(_safety(study)),
        excluded=tuple(_excluded(study)),
        schedule=tuple(_schedule(study)),
        sums=tuple(_sums(study)),
        stages=tuple(_stages(study)),
        conditions=tuple(_conditions(study)),
        valid_until=today + timedelta(days=terms.valid_days),
        contractor=study.prices.contractor,
        decisions=tuple(d for wall in study.walls if (d := _decision(wall, study))),
    )


def _plans(study: Study) -> tuple[PlanReport, ...]:
    return tuple(plan for plan in plan_reports(study) if plan.id in AIMS)


def _worked(wall: WallStudy) -> bool:
    return wall.chosen.option.kind.worked


def _stopped(study: Study) -> list[WallStudy]:
    """Walls that water stops."""
    return [wall for wall in study.walls if is_stopped(wall)]


def names(walls: Sequence[str]) -> Sentence:
    """``a``, ``a and b``, ``a, b and c``, in the reader's language; ``a, b; c`` where a name has a
    comma of its own.
    """
    if len(walls) < 2:
        return plain(walls[0] if walls else "")
    if any("," in wall for wall in walls):
        return plain(parted(walls))
    return say("{first} and {last}", first=", ".join(walls[:-1]), last=walls[-1])


def _named(walls: Sequence[WallStudy]) -> Sentence:
    return names([wall.wall.name for wall in walls])


def _money(value: float | Decimal, study: Study) -> Figure:
    return Figure(float(value), "money", currency=study.prices.currency)


def _cents(value: Decimal, study: Study) -> Figure:
    return Figure(float(value), "cents", currency=study.prices.currency)


def _count(count: int, noun: str) -> Figure:
    return Figure(count, "count", noun=noun)


def _mean(walls: Sequence[OptionStudy]) -> Figure:
    """R of all walls together, by area."""
    area = sum(o.build_up.frame.net_area for o in walls)
    loss = sum(o.build_up.frame.net_area / o.warm.resistance for o in walls)
    return Figure(area / loss, "resistance")


# --- page 1


def _wrong(study: Study) -> Sentence:
    now = _mean([wall.as_found for wall in study.walls])
    wet = _stopped(study)
    if len(study.walls) == 1:
        one = (
            "Your outside wall lets heat out: it holds only {r}, and we found water in it."
            if wet
            else "Your outside wall lets heat out: it holds only {r}."
        )
        return say(one, r=now)
    walls = _count(len(study.walls), _WALL)
    if not wet:
        return say(
            "Your {walls} let heat out: they hold only {r} on average.",
            walls=walls,
            r=now,
        )
    return say(
        "Your {walls} let heat out: they hold only {r} on average, and we found water in {wet}.",
        walls=walls,
        r=now,
        wet=_named(wet),
    )


def _advice(study: Study) -> Sentence:
    done = study.worked
    if not done:
        return _no_work(study)
    titles = list(dict.fromkeys(wall.chosen.option.kind.brief for wall in done))
    if not study.follows_plan:
        parts = [say("{wall}: {work}", wall=w.wall.name, work=w.chosen.option.title) for w in done]
        if len(parts) <= 3:
            return say("You chose this: {list}.", list=joined(parts, "; "))
        return say("You chose work on {walls}; it is listed further on.", walls=_named(done))
    if len(titles) == 1:
        return say("We advise this for {walls}: {work}.", walls=_named(done), work=titles[0])
    if len(done) <= 3:
        parts = [
            say("{wall}: {work}", wall=w.wall.name, work=w.chosen.option.kind.brief) for w in done
        ]
        return say("We advise this: {list}.", list=joined(parts, "; "))
    return say("We advise work on {walls}; it is listed further on.", walls=_named(done))


def _no_work(study: Study) -> Sentence:
    """Why no wall is worked on now: water first, or nothing pays."""
    wet = _stopped(study)
    if not wet:
        return say("We advise no work on the walls now: none of it would pay for itself.")
    first = say("First the water must be found and stopped, and the wood must dry.")
    if len(wet) == len(study.walls):
        return first
    rest = say("We advise no work on the other walls now: none of it would pay for itself.")
    return joined([first, rest])


def _gain(study: Study) -> Sentence:
    """What the work brings; where none is advised, what leaving it costs nobody."""
    coldest = [
        min(o.warm.coldest.surface for o in options)
        for options in ([w.as_found for w in study.walls], [w.chosen for w in study.walls])
    ]
    now, then = (Figure(t, "temperature") for t in coldest)
    money = study.worth.money
    if not study.worked:
        return say("On the coldest night the coldest corner indoors stays near {now}.", now=now)
    if money is None:
        return say("On the coldest night the coldest corner goes from {now} to {then}.", now=now,
                   then=then)  # fmt: skip
    saving = banded(money, "money", study.prices.currency)
    if round(now.value) == round(then.value):
        last = min(study.walls, key=lambda w: w.chosen.warm.coldest.surface)
        return say(
            "That saves about {saving} a year. On the coldest night the coldest corner indoors "
            "stays near {now}."
            if _worked(last)
            else "That saves about {saving} a year. On the coldest night the coldest corner "
            "indoors stays near {now}: it is on a wall that we leave.",
            saving=saving,
            now=now,
        )
    return say(
        "That saves about {saving} a year. On the coldest night the coldest corner indoors goes "
        "from {now} to {then}.",
        saving=saving,
        now=now,
        then=then,
    )


def _pictured(study: Study) -> str:
    """The wall whose picture tells it: the one that gains most, else the largest solved."""
    solved = [w for w in study.walls if w.as_found.warm.field is not None]
    if not solved:
        return ""

    def gained(wall: WallStudy) -> float:
        return wall.frame.net_area * (
            1.0 / wall.as_found.warm.resistance - 1.0 / wall.chosen.warm.resistance
        )

    worked = [w for w in solved if _worked(w) and w.chosen.warm.field is not None]
    best = max(worked, key=gained) if worked else max(solved, key=lambda w: w.frame.net_area)
    return best.wall.name


def _beside_plans(study: Study) -> Iterator[Sentence]:
    """What becomes possible once wet walls are dry; that the offer is another choice."""
    if not study.follows_plan:
        yield say(
            "You chose for yourself: this offer is for {total}, tax included.",
            total=_money(study.price.total, study),
        )
    if any(plan.quotes for plan in study.plans.plans):
        yield say("Other trades make their own offer for their part. It is no part of this one.")
    dry = next((plan for plan in study.plans.plans if plan.id == DRY_ID), None)
    if dry is not None and (more := float(dry.whole.price.total - study.price.total)) > 0.0:
        yield say(
            "Once the wet walls are dry we would work there too, for about {more} more.",
            more=_money(more, study),
        )


def mend_first(study: Study) -> Iterator[MendRow]:
    """Everything that somebody must clear before, by who clears it."""
    known = study.catalog
    for who, kinds in _by_clearer(study).items():
        what = [
            say("{what} ({where})", what=known.hazard(kind).title, where=names(where))
            for kind, where in kinds.items()
        ]
        yield MendRow(who, joined(what, "; "))
    wet = [
        wall.wall.name
        for wall in _stopped(study)
        if not any(h.wall == wall.wall.name and h.open and h.noted for h in study.survey.hazards)
    ]
    if wet:
        dried = say("find the water, stop it, dry the wood ({where})", where=names(wet))
        yield MendRow("the trade that mends the water", dried)


def _by_clearer(study: Study) -> dict[str, dict[str, list[str]]]:
    """Kinds of hazard seen or suspected, with their places, by who clears them."""
    found: dict[str, dict[str, list[str]]] = {}
    for hazard in study.survey.hazards:
        if hazard.open and hazard.noted:
            who = clearer(study.catalog.hazard(hazard.kind).clears)
            places = found.setdefault(who, {}).setdefault(hazard.kind, [])
            where = hazard.wall or "the whole house"
            if where not in places:
                places.append(where)
    return found


def clearer(clears: str) -> str:
    """Who clears a hazard, without how: "a licensed electrician"."""
    return re.split(r", (?!or )|:", re.sub(r" \(.*?\)", "", clears))[0]


def _look(study: Study) -> Iterator[Sentence]:
    """What a house of this age may hide, in one sentence; where nothing is opened, nothing."""
    if not study.worked and not _stopped(study):
        return
    presumed = {h.kind for h in study.survey.hazards if h.state == "presumed"}
    house = study.survey.house
    if {house.heating.venting, *(one.venting for one in house.appliances)} - {"sealed", "none"}:
        presumed.discard("combustion appliance")  # seen, not hidden: its test stands by itself
    if presumed:
        titles = [plain(study.catalog.hazard(kind).title) for kind in sorted(presumed)]
        found = any(h.open and h.noted for h in study.survey.hazards) or _stopped(study)
        text = (
            "A house of this age may also hide these, so we look before we start: {what}."
            if found
            else "A house of this age may hide these, so we look before we start: {what}."
        )
        yield say(text, what=joined(titles, "; "))


def _open(study: Study) -> Iterator[Sentence]:
    """One plain sentence for each promise that nobody can give yet, the worst first."""
    found: dict[str, list[str]] = {}
    for wall in study.walls:
        for finding in wall.chosen.findings:
            if finding.verdict in OPEN:
                found.setdefault(finding.promise, []).append(wall.wall.name)
    for finding in study.findings:
        if finding.verdict in OPEN:
            found.setdefault(finding.promise, [])
    done, stopped = ({w.wall.name for w in walls} for walls in (study.worked, _stopped(study)))
    unpromised = _UNPROMISED if study.worked else _UNPROMISED_AS_IT_IS
    for promise, sentence in unpromised.items():
        if promise not in found:
            continue
        walls = list(dict.fromkeys(found[promise]))
        if "{where}" not in sentence:
            yield say(sentence)
        elif promise == "dry":
            worked = [wall for wall in walls if wall in done]
            wet = [wall for wall in walls if wall not in done and wall in stopped]
            left = [wall for wall in walls if wall not in {*done, *wet}]
            if worked or not walls:
                yield say(sentence, where=_where(worked, study))
            if wet:
                yield say(_FOUND_WET, where=_where(wet, study))
            if left:
                yield say(_LEFT_DAMP, where=_where(left, study))
        else:
            yield say(sentence, where=_where(walls, study))
    if study.worked and not study.survey.house.spill_free:
        yield say("How well each flame in the house draws: a licensed person tests it before and "
                  "after.")  # fmt: skip


def _where(walls: Sequence[str], study: Study) -> Sentence:
    """The walls by name, or all of them."""
    return plain("all walls") if len(walls) in (0, len(study.walls)) else names(walls)


_UNPROMISED = {
    "safe": "That the house is safe to work in: what this page names is cleared or looked for "
    "first.",
    "dry": "That the wood stays dry ({where}): we measure it before we close the wall.",
    "warm": "That no spot gets too cold on the coldest night ({where}).",
    "tight": "How much air still leaks: a fan test after the work shows it.",
    "legal": "That the work meets the code: the local official decides.",
    "worth it": "That all of it pays for itself: fuel prices and people differ.",
}
# of a wall on which nothing is done
_LEFT_DAMP = "That the wood stays dry ({where}): we leave this as it is, so have the wood read."
_FOUND_WET = "That the wood stays dry ({where}): the water must be found and stopped first."
# where nothing is done
_UNPROMISED_AS_IT_IS = {promise: _UNPROMISED[promise] for promise in ("dry", "warm")}


# --- page 2


def scope_rows(study: Study) -> tuple[ScopeRow, ...]:
    """What is done on each wall that is worked on."""
    return tuple(_scope(wall) for wall in study.worked)


def _scope(wall: WallStudy) -> ScopeRow:
    chosen = wall.chosen
    return ScopeRow(
        wall=wall.wall.name,
        rooms=wall.wall.rooms,
        area=Figure(wall.frame.net_area, "area"),
        work=chosen.option.title,
        side=side_of(chosen.option),
        resistance=_resistance(chosen.warm),
    )


def side_of(option: Option) -> Sentence:
    """What comes off and goes back."""
    opened = option.kind.opened
    if opened.room and opened.cladding:
        return say("The inside finish is taken off and replaced; the siding comes off and goes "
                   "back.")  # fmt: skip
    if opened.room:
        return say("Done from the room: the old finish is taken off, a new one is put on and "
                   "painted.")  # fmt: skip
    if opened.cladding:
        return say("Done from outside: the siding comes off and goes back. Rooms stay closed.")
    if option.fill:
        return say("Through small holes that we close again. The wall stays closed.")
    return say("The wall stays closed.")


def _left(study: Study) -> Iterator[Sentence]:
    """Walls on which nothing is done in this offer, and why."""
    wet = _stopped(study)
    if wet:
        yield say("{walls}: no work before the water is mended and the wood is dry.",
                  walls=_named(wet))  # fmt: skip
    rest = [w for w in study.walls if not _worked(w) and w not in wet]
    if rest:
        text = (
            "{walls}: left as it is. Nothing we could do there is worth its price."
            if len(rest) == 1
            else "{walls}: left as they are. Nothing we could do there is worth its price."
        )
        yield say(text, walls=_named(rest))
    damp = [w for w in rest if any(f.verdict == "falls short" for f in w.chosen.dry.findings)]
    if damp:
        yield say(
            "By our figures wood may get damp in {walls}. Have it read in late winter and again in "
            "early autumn. If it is above {dry}, find the water first.",
            walls=_named(damp),
            dry=Figure(study.catalog.site_figure("wood-moisture").most, "share"),
        )


def _included(study: Study) -> Iterator[Sentence]:
    """What the price pays for beside the walls' own work, by the lines that it counts."""
    priced = {line.quantity.key.partition(":")[0] for line in study.price.lines}
    priced |= {line.quantity.key for line in study.price.lines}
    for keys, sentence in _INCLUDED:
        if priced & set(keys):
            yield sentence


# groups or keys of priced lines, and what the client gets of them
_INCLUDED: tuple[tuple[tuple[str, ...], Sentence], ...] = (
    (
        ("labour:clear_electrician",),
        say("A licensed electrician looks at wires and lights first. Repairs are not included."),
    ),
    (
        ("labour:clear_plumber",),
        say("A licensed trade looks at flues, ducts and gas pipes first. Repairs are not "
            "included."),
    ),
    (("sample",), say("Samples of old materials go to a laboratory before we touch them.")),
    (
        ("lead_sheet", "labour:lead_clean"),
        say("Old paint may hold lead: we sheet off the work, clean it, and check the cleaning."),
    ),
    (("labour:furniture",), say("We move heavy furniture away and back.")),
    (("protection", "labour:protect"), say("We cover floors, doors and registers.")),
    (
        ("fire_block", "labour:fire_block", "sill_stop_lumber", "labour:sill_stop"),
        say("Blocks of wood that stop fire, and that hold the fill, where they are missing."),
    ),
    (
        ("pocket_fill", "labour:pocket", "labour:weight_pocket"),
        say("Hollow spaces that we can reach are opened and filled."),
    ),
    (
        ("trim_piece", "labour:trim_put"),
        say("Trim comes off and goes back. Where it splits we match it."),
    ),
    (("cladding",), say("Siding that breaks is replaced to match.")),
    (("primer", "paint", "labour:paint"), say("New walls inside are primed and painted.")),
    (("bin", "labour:load", "labour:clean_up"), say("We clean up and take all waste away.")),
    (
        ("fixed:fan_test",),
        say("A fan test before and after the work, and papers that show what was done."),
    ),
)  # fmt: skip


def _sprayed(study: Study) -> list[Option]:
    return [wall.chosen.option for wall in study.worked if wall.chosen.option.foam]


def _duties(study: Study) -> Iterator[Sentence]:
    """What the family does, and how long it is out of the house."""
    done = study.worked
    if not done:
        return
    opened = [wall for wall in done if wall.chosen.option.kind.opened.room]
    if opened:
        moved = any(line.quantity.key == "labour:furniture" for line in study.price.lines)
        text = (
            "Clear curtains, pictures and small things {gap} back from these walls: {walls}."
            if moved
            else "Clear furniture, curtains and pictures {gap} back from these walls: {walls}."
        )
        yield say(
            text,
            gap=Figure(_MARGIN, "span"),
            walls=names([_with_rooms(wall) for wall in opened]),
        )
    if not _sprayed(study):
        yield say("You can stay in the house. Keep out of the rooms we work in.")
    yield say("Give us power, water and a place to park. Keep children and pets away.")
    yield say("Tell us about anything behind the walls that we may not know.")


def _with_rooms(wall: WallStudy) -> str:
    """``east side (parlour)``: a wall and what is behind it."""
    rooms = wall.wall.rooms
    return f"{wall.wall.name} ({rooms})" if rooms else wall.wall.name


def _safety(study: Study) -> Iterator[Sentence]:
    """What nobody may misread where foam is sprayed."""
    if foams := _sprayed(study):
        yield _out(study, foams)
        yield say("Anyone with asthma or a reaction to foam asks a doctor before coming back.")


def _out(study: Study, foams: Sequence[Option]) -> Sentence:
    """How long nobody may be in the house."""
    waits = [study.catalog.foam(option.foam or "").occupancy_wait for option in foams]
    days = _days_of(study, "labour:spray")
    if waits and all(wait is not None for wait in waits):
        longest = max(wait for wait in waits if wait is not None)
        return say(
            "Everyone is out of the house while we spray ({days}) and for {wait} after the last "
            "spraying, or longer if the product's listing says so.",
            days=days,
            wait=Figure(longest, "time"),
        )
    return say(
        "Everyone is out of the house while we spray ({days}) and until the time in the product's "
        "listing has passed. We give you that time in writing before we start.",
        days=days,
    )


def _excluded(study: Study) -> Iterator[Sentence]:
    if any(h.open and h.noted for h in study.survey.hazards) or _stopped(study):
        yield say("All that must be mended first. Those trades give their own price.")
    if study.price.missing:
        called = {quantity.key: quantity.name for quantity in study.takeoff}
        keys = dict.fromkeys(text.rpartition(": ")[0] for text in study.price.missing)
        lines = joined([plain(called.get(key, key)) for key in keys], "; ")
        yield say("Not priced yet: {lines}.", lines=lines)
    yield say("Attic, basement, windows, doors and heating. Ask us: an attic often comes first.")
    if not study.price.total:
        return
    yield say("Hidden damage. If we find rot, water or wiring we stop, show you, and agree in "
              "writing.")  # fmt: skip


def _days_of(study: Study, kind: str) -> Figure:
    """Working days that the tasks of a kind take the whole crew."""
    terms = study.prices.terms
    hours = sum(
        line.quantity.amount for line in study.price.lines if line.quantity.key.startswith(kind)
    )
    return _count(max(1, ceil(hours / (terms.crew * terms.hours_a_day))), "day")


def _schedule(study: Study) -> Iterator[Sentence]:
    if not study.worked:
        return
    terms = study.prices.terms
    yield say(
        "We start within {weeks} of your signature, once what must be mended first is cleared.",
        weeks=_count(terms.start_weeks, "week"),
    )
    yield say("The work takes about {days}.", days=_days_of(study, "labour"))


def _sums(study: Study) -> Iterator[tuple[str, Figure]]:
    price = study.price
    if not price.total:
        return
    yield "Price before tax", _cents(price.before_tax, study)
    for name, amount in price.taxes:
        yield name, _cents(amount, study)
    yield "Total", _cents(price.total, study)


def _stages(study: Study) -> Iterator[StageRow]:
    total, stages = study.price.total, study.prices.terms.stages
    if not total:
        return
    amounts = parts_of(total, [s.share for s in stages], coin(study.prices.currency))
    for stage, amount in zip(stages, amounts, strict=True):
        yield StageRow(stage.name, _cents(amount, study))


def _conditions(study: Study) -> Iterator[Sentence]:
    terms = study.prices.terms
    yield say("Changes are agreed in writing, with their price, before they are done.")
    if terms.holdback:
        text = (
            "You may keep back {share} of every payment until {days} after the work is done."
            if terms.holdback_days
            else "You may keep back {share} of every payment, as local law has it."
        )
        parts = {"share": Figure(float(terms.holdback), "share")}
        if terms.holdback_days:
            parts["days"] = _count(terms.holdback_days, "day")
        yield say(text, **parts)
    if terms.warranty_years:
        yield say(
            "We stand behind our work for {years}. Makers stand behind their materials.",
            years=_count(terms.warranty_years, "year"),
        )
    else:
        yield say("Warranty: to be agreed in the contract.")
    if terms.cancel_days:
        yield say(
            "You may cancel within {days} of signing. Local law may give you more.",
            days=_count(terms.cancel_days, "day"),
        )
    yield say("Savings are an estimate. Weather, people and prices change them.")


# --- one page a wall, where there is something to decide


def _decision(wall: WallStudy, study: Study) -> Decision | None:
    """None where one way alone can be advised, nothing is to be done, or water comes first."""
    if is_stopped(wall):
        return None
    if not _worked(wall) and not wall.wall.comfort:
        return None
    able = [
        o
        for o in wall.options
        if o.option.kind.worked and o.build_up.can_be_built and o.price and not o.price.missing
    ]
    others = sorted((o for o in able if o is not wall.chosen), key=_rank)
    chosen = [wall.chosen] if wall.chosen in able else []
    shown = [wall.as_found, *chosen, *others][: _MOST_CHOICES + 1]
    if len(shown) < 3:
        return None
    return Decision(
        wall=wall.wall.name,
        rooms=wall.wall.rooms,
        advice=_reason(wall, study),
        choices=tuple(choice_of(o, wall, study) for o in shown),
    )


def advice_of(wall: WallStudy, study: Study) -> Sentence:
    """What the client is told of one wall: what we advise there and why, or why it is left."""
    if is_stopped(wall):
        return say("No work before the water is mended and the wood is dry.")
    if not _worked(wall):
        nothing = say("Nothing we could do here is worth its price.")
        return joined([say("We advise to leave this wall as it is."), nothing])
    return _reason(wall, study)


def _reason(wall: WallStudy, study: Study) -> Sentence:
    """What is advised here, what it costs, and what it brings beyond that."""
    chosen, advice = wall.chosen, study.plans.advice_for(wall.wall.name)
    if chosen.price is None:
        return say("We advise to leave this wall as it is.")
    own = float(chosen.price.total)
    cost = say("{work}: {cost}.", work=chosen.option.title, cost=_money(own, study))
    if advice.recommended != wall.chosen_id:
        return joined([cost, say("This is what you chose.")])
    parts = [cost]
    once = round((advice.cost or own) - own, -1)
    if once > 0.0:  # what it is held against, where no other wall bears that
        parts.append(say("{once} is charged once for the house.", once=_money(once, study)))
    drier = None
    if wall.wall.comfort:
        parts.append(say("You asked for warmth here."))
    elif must_change(wall) is not None:  # the reason stands first
        cold = "A spot here gets too cold today: damp air can leave water or mould there."
        parts.insert(0, say(cold))
        drier = drier_air(wall)
    if advice.net is not None:
        years = _count(study.heating.terms.years if study.heating.terms else 0, "year")
        parts.append(_beyond(advice.net, years, study))
    if drier is not None and advice.net is not None and advice.net.best < 0.0:
        most = Figure(drier, "share")
        parts.append(
            say("Drier air may do it for less: {most} humidity or less in winter.", most=most)
        )
    return joined(parts)


def _beyond(net: Net, years: Figure, study: Study) -> Sentence:
    """What is saved beyond the price; no single sum where it is not known that it pays."""
    if net.unsure:
        less, more = (_money(end, study) for end in net.ends)
        return say(
            "It is not sure to pay for itself: over {years} it may save {less} less than it costs, "
            "or {more} more.",
            years=years, less=less, more=more,
        )  # fmt: skip
    text = (
        "Over {years} it saves {net} more than it costs."
        if net.best >= 0.0
        else "Over {years} it costs {net} more than it saves."
    )
    return say(text, years=years, net=net.amount(study.prices.currency))


def _rank(option: OptionStudy) -> tuple[bool, float]:
    """What keeps its promises first, then by price."""
    return (not option.keeps_its_promises, float(option.price.total) if option.price else 0.0)


def choice_of(option: OptionStudy, wall: WallStudy, study: Study) -> Choice:
    """One way to do a wall as the client reads it."""
    money = option.worth.money if option.price else None
    saving = banded(money, "money", study.prices.currency) if money else None
    missed = [p for p in ("warm", "dry", "tight", "legal", "safe")
              if option.verdict(p) == "falls short"]  # fmt: skip
    said = [_MISSED[p] for p in missed]
    if option.warm.resistance < wall.as_found.warm.resistance * _NO_WARMER:
        said.append(say("no warmer than now"))
    return Choice(
        name=option.option.title,
        ours=option is wall.chosen,
        price=_money(option.price.total, study) if option.price else None,
        saving=saving,
        resistance=_resistance(option.warm),
        coldest=_coldest(option.warm),
        misses=joined(said, ", "),
    )


def _resistance(warm: Warm) -> Figure:
    """R of the whole wall, with its band where the field was solved."""
    give = warm.field.resistance_error if warm.field else None
    if give is None:
        return Figure(warm.resistance, "resistance")
    low, high = warm.resistance - give, warm.resistance + give
    return Figure(warm.resistance, "resistance", low=low, high=high)


def _coldest(warm: Warm) -> Figure:
    """The coldest spot of the room side on the design night, with its band."""
    low, high = warm.coldest.band
    if low == high:
        return Figure(warm.coldest.surface, "temperature")
    return Figure(warm.coldest.surface, "temperature", low=low, high=high)


_MISSED = {
    "warm": say("a spot gets too cold"),
    "dry": say("may stay damp"),
    "tight": say("may leak moist air"),
    "legal": say("below code"),
    "safe": say("not safe as it stands"),
}
