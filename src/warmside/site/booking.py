"""When it is done: a calendar of steps in which none stands before its gate or its trade."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from types import MappingProxyType

from warmside.errors import Fault, InputError
from warmside.options import Step, Trade
from warmside.site.plan import WallPlan
from warmside.works import RE_ENTRY, HouseWork, house_works

OWN: Trade = "own crew"
_LEAST = 0.25  # [h] of a step that a person clears by looking
_DAYS_LOOKED = 1000  # days that a calendar may reach
# what must dry or cool before the next step [h]: common practice, no source
_DRYING = MappingProxyType({"cover": 24.0, "close": 24.0})
# working days from the call to the first visit: common practice, no source
_CALLED = MappingProxyType({
    "electrician": 3, "plumber": 3, "abatement": 5, "carpenter": 0, "drywaller": 0, "painter": 0,
})  # fmt: skip
# working days until an answer that lets the work go on, by the task that asks for it: common
# practice, no source
_ANSWERED = MappingProxyType({"sample": 5, "drawing": 10})
_ANSWERS = {"sample": "the laboratory's result", "drawing": "the engineer's or official's answer"}
_SPRAYED = ("spray", "more-passes")


@dataclass(frozen=True)
class Terms:
    """From when, by how many, in which hours; ``calls``: working days until a trade's first visit.

    ``answers``: working days until a laboratory or an official has answered, by the task that asks.
    ``rig_from`` is the first day on which the rig is free; ``closed`` are days on which nobody
    works; ``re_entry`` the hours of the product's listing, None where nobody has read it.
    """

    first: date
    people: int = 2
    start: int = 7  # [h] of the day
    end: int = 15
    rig_from: date | None = None
    closed: frozenset[date] = frozenset()
    calls: Mapping[str, int] = field(default_factory=lambda: _CALLED)
    answers: Mapping[str, int] = field(default_factory=lambda: _ANSWERED)
    re_entry: float | None = None  # [h]
    lots: tuple[str, ...] = ()  # of the drums

    def __post_init__(self) -> None:
        faults = []
        if not 1 <= self.people <= 20:
            faults.append(Fault("calendar, people", f"{self.people!r}"[:20], "1 to 20"))
        if not 0 <= self.start < self.end <= 24:
            read = f"{self.start!r} to {self.end!r}"[:40]
            faults.append(Fault("calendar, hours", read, "from an hour to a later one of a day"))
        for name, told in (("calls", self.calls), ("answers", self.answers)):
            if any(not 0 <= days <= 250 for days in told.values()):
                faults.append(Fault(f"calendar, {name}", repr(dict(told))[:80], "0 to 250 days"))
        if self.re_entry is not None and not 0 <= self.re_entry <= 2000:
            faults.append(Fault("calendar, re-entry", f"{self.re_entry!r}"[:20], "0 to 2000 h"))
        if faults:
            raise InputError(faults)


@dataclass(frozen=True)
class Booking:
    """One step of a wall, or of the house where ``wall`` is empty, by one trade."""

    wall: str
    step: Step
    trade: Trade
    start: datetime  # local
    end: datetime
    hours: float  # [h] added over the people
    uid: str
    after: str  # uid of what it waits for, empty for a first one
    waits: str  # why it does not start earlier than that, empty where it follows at once

    @property
    def sure(self) -> bool:
        """Whether only the order decides, and no trade's call or listing."""
        return not self.waits


def book(plans: Sequence[WallPlan], terms: Terms, flames: bool = True) -> tuple[Booking, ...]:
    """Every step of every wall in working hours, wall after wall.

    A step starts when the step before it on its wall has ended and dried, when a laboratory or an
    official who was asked in it has answered, when its trade is free, when the trade that is called
    can come, and when the rig is there. Trades do one thing at a
    time; the own crew does one wall at a time where it can, and begins another while one waits.

    Parameters
    ----------
    plans : sequence of WallPlan
        Walls in the order in which they are wanted.
    terms : Terms
        From when and by whom.
    flames : bool
        Whether a flame of the house may spill, and is tested.

    Returns
    -------
    tuple of Booking
        By when they start.

    Raises
    ------
    InputError
        Work that does not end within `_DAYS_LOOKED` days.
    """
    diary = _Diary(terms)
    foams = any(plan.family for plan in plans)
    once = house_works(foams, flames)
    first = [work for work in once if not work.last]
    begun = _house_steps(diary, first, after=_opening(terms), before="")
    made = list(begun)
    start = begun[-1].end if begun else _opening(terms)
    ends, last_uids, sprayed = [start], [begun[-1].uid if begun else ""], start
    for plan in plans:
        steps = tuple(_wall_steps(diary, plan, start, begun[-1].uid if begun else ""))
        made += steps
        if steps:
            ends.append(steps[-1].end)
            last_uids.append(steps[-1].uid)
            sprayed = max([sprayed, *(b.end for b in steps if b.step.id in _SPRAYED)])
    latest = max(range(len(ends)), key=lambda n: ends[n])
    wait = timedelta(hours=terms.re_entry or 0.0) if foams else timedelta()
    free = max(ends[latest], sprayed + wait)
    why = "" if not foams else (
        "the time before re-entry of the product's listing" if terms.re_entry is not None
        else "a time before re-entry that nobody has read yet: the listing and the label say it"
    )  # fmt: skip
    last = [work for work in once if work.last]
    made += _house_steps(diary, last, after=free, before=last_uids[latest], why=why)
    return tuple(sorted(made, key=lambda b: (b.start, b.end)))


def _opening(terms: Terms) -> datetime:
    return datetime.combine(terms.first, time(terms.start))


def _wall_steps(diary: _Diary, plan: WallPlan, start: datetime, before: str) -> Iterator[Booking]:
    shares: dict[str, dict[Trade, float]] = {}
    for id, trade, hours in plan.time.parts:
        of = shares.setdefault(id, {})
        of[trade] = of.get(trade, 0.0) + hours
    free, uid, dries = start, before, ""
    for step in plan.steps:
        for trade, hours in (shares.get(step.id) or {OWN: 0.0}).items():
            rig = step.id in _SPRAYED or step.id == "heat-and-air"
            found = diary.book(plan.wall, step, trade, hours, free, uid, rig, dries)
            yield found
            free, uid, dries = found.end, found.uid, ""
        if step.id in _DRYING:
            free += timedelta(hours=_DRYING[step.id])
            dries = "what was put on has to dry"
        for task in plan.tasks_of(step.id):
            answered = diary.days_on(free.date(), diary.terms.answers.get(task, 0))
            if task in _ANSWERS and answered > free:
                free, dries = answered, _ANSWERS[task]


def _house_steps(
    diary: _Diary, works: Iterable[HouseWork], after: datetime, before: str, why: str = ""
) -> tuple[Booking, ...]:
    made: list[Booking] = []
    for work in works:
        waits = why if work.key == RE_ENTRY else ""
        end, uid = (made[-1].end, made[-1].uid) if made else (after, before)
        made.append(diary.book("", work.step, work.trade, 1.0, end, uid, False, waits))
    return tuple(made)


class _Diary:
    """Until when each trade is taken; working hours are the same for all."""

    def __init__(self, terms: Terms) -> None:
        self.terms = terms
        self.free: dict[str, datetime] = {}

    def book(
        self, wall: str, step: Step, trade: Trade, hours: float, after: datetime, before: str,
        rig: bool, waits: str,
    ) -> Booking:  # fmt: skip
        """The next time at which it can be done."""
        can = after
        if trade != OWN and trade not in self.free:
            called = self.days_on(self.terms.first, self.terms.calls.get(trade, 0))
            if called > can:
                can, waits = called, f"the {trade}, called on the first day"
        if rig and self.terms.rig_from is not None:
            there = datetime.combine(self.terms.rig_from, time(self.terms.start))
            if there > can:
                can, waits = there, "the rig"
        can = max(can, self.free.get(trade, can))
        people = self.terms.people if trade == OWN else 1
        start, end = self.worked(can, max(hours / people, _LEAST))
        self.free[trade] = end
        uid = hashlib.sha256(f"{wall}|{step.id}|{trade}".encode()).hexdigest()[:24]
        return Booking(wall, step, trade, start, end, hours, uid, before, waits)

    def worked(self, can: datetime, hours: float) -> tuple[datetime, datetime]:
        """Start and end of so many working hours from ``can`` on, nights and weekends left out."""
        at, start, left = can, None, hours
        for _ in range(_DAYS_LOOKED):
            opens = datetime.combine(at.date(), time(self.terms.start))
            shuts = datetime.combine(at.date(), time()) + timedelta(hours=self.terms.end)
            at = max(at, opens)
            if self.works_on(at.date()) and at < shuts:
                start = start or at
                today = (shuts - at).total_seconds() / 3600
                if left <= today + 1e-9:
                    minutes = round(left * 60)
                    return start, at + timedelta(minutes=max(minutes, 1))
                left -= today
            at = datetime.combine(at.date() + timedelta(days=1), time(self.terms.start))
        raise InputError([Fault("calendar", f"{hours:.0f} h", "work that ends within three years")])

    def works_on(self, day: date) -> bool:
        """Whether anybody works on a day."""
        return day.weekday() < 5 and day not in self.terms.closed

    def days_on(self, first: date, days: int) -> datetime:
        """So many working days after ``first``, at the start of the day."""
        day = first
        while days > 0:
            day += timedelta(days=1)
            days -= self.works_on(day)
        return datetime.combine(day, time(self.terms.start))


def calendar(bookings: Iterable[Booking], house: str, made: datetime, terms: Terms) -> bytes:
    """The bookings as an iCalendar file (RFC 5545), times local to whoever reads it.

    Parameters
    ----------
    bookings : iterable of Booking
        As `book` gives them.
    house : str
        Its name.
    made : datetime
        When the file was made, with its zone.
    terms : Terms
        Lots of the drums stand with the spraying.
    """
    from icalendar import Calendar, Event

    file = Calendar()
    file.add("prodid", "-//Warmside//calendar of the work//EN")
    file.add("version", "2.0")
    house = " ".join(house.split())  # a value of one line
    file.add("x-wr-calname", house)
    for one in bookings:
        event = Event()
        event.add("uid", f"{one.uid}@warmside")
        event.add("dtstamp", made)
        event.add("dtstart", one.start)
        event.add("dtend", one.end)
        where = f"{one.wall}: " if one.wall else ""
        event.add("summary", f"{where}{one.step.title} ({one.trade})")
        event.add("description", _told(one, terms))
        event.add("categories", [one.trade])
        event.add("location", house)
        event.add("status", "CONFIRMED" if one.sure else "TENTATIVE")
        if one.after:
            event.add("related-to", f"{one.after}@warmside")
        file.add_component(event)
    return bytes(file.to_ical())


def _told(one: Booking, terms: Terms) -> str:
    gate = one.step.gate
    first = "Starts only when signed" if gate.before else "Ends only when signed"
    lines = [*map(str, one.step.do), f"{first}: {gate.who}. {gate.asks}"]
    if one.waits:
        lines.append(f"Waits for {one.waits}.")
    if one.step.id in _SPRAYED and terms.lots:
        lines.append(f"Drum lots: {', '.join(terms.lots)}.")
    return "\n".join(lines)
