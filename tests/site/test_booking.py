"""The calendar: no step before its gate or its trade; read back by a general iCalendar library.

Orders of the trade are common practice, no source; the form is RFC 5545's.
"""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from itertools import pairwise

import pytest

from warmside.errors import InputError
from warmside.site import Terms, book, calendar, plan_house

MADE = datetime(2026, 3, 1, 12, tzinfo=UTC)
MONDAY = date(2026, 3, 2)
OPTIONS = {"north front": "cc-76", "kitchen north": "batt-poly"}


@pytest.fixture(scope="module")
def plans(survey, catalog):
    return plan_house(survey, catalog, OPTIONS)


def test_steps_of_a_wall_follow_each_other_and_trades_do_one_thing_at_a_time(plans):
    made = book(plans, Terms(MONDAY))
    for plan in plans:
        mine = [one for one in made if one.wall == plan.wall]
        order = [step.id for step in plan.steps]
        assert list(dict.fromkeys(one.step.id for one in mine)) == order
        assert all(one.end <= then.start for one, then in pairwise(mine))
    for trade in {one.trade for one in made}:
        own = sorted((one.start, one.end) for one in made if one.trade == trade)
        assert all(end <= start for (_, end), (start, _) in pairwise(own)), trade
    ids = {one.uid for one in made}
    assert len(ids) == len(made)
    by_uid = {one.uid: one for one in made}
    for one in made:  # nothing starts before what it waits for has ended
        assert not one.after or by_uid[one.after].end <= one.start


def test_only_in_working_hours_of_working_days(plans):
    closed = frozenset({date(2026, 3, 4)})
    for one in book(plans, Terms(MONDAY, closed=closed)):
        for moment in (one.start, one.end):
            assert moment.weekday() < 5
            assert moment.date() not in closed
            assert time(7) <= moment.time() <= time(15)


def test_hours_of_the_calendar_are_those_of_the_plan(plans):
    made = [one for one in book(plans, Terms(MONDAY)) if one.wall]
    assert sum(one.hours for one in made) == pytest.approx(
        sum(sum(plan.time.by_step.values()) for plan in plans), rel=1e-9, abs=0
    )


def test_a_trade_that_is_called_and_a_rig_that_is_away_are_waited_for(plans):
    calls = {"electrician": 4, "plumber": 4, "abatement": 10}
    made = book(plans, Terms(MONDAY, rig_from=date(2026, 4, 6), calls=calls))
    abated = [one for one in made if one.trade == "abatement"]
    assert abated
    # ten working days after Monday 2 March is Monday 16 March
    assert min(one.start for one in abated).date() >= date(2026, 3, 16)
    sprayed = [one for one in made if one.step.id == "spray"]
    assert min(one.start for one in sprayed).date() >= date(2026, 4, 6)
    first = min(sprayed, key=lambda one: one.start)
    warmed = [one for one in made if one.wall == first.wall and one.step.id == "heat-and-air"]
    assert warmed
    assert all(not one.sure and "rig" in one.waits for one in warmed)


def test_no_wall_is_opened_before_a_laboratory_has_answered(plans):
    """Trade: nothing is cut before the result; an answer takes working days, as given."""
    for days in (0, 5, 20):
        made = book(plans, Terms(MONDAY, answers={"sample": days}))
        for plan in plans:
            mine = [one for one in made if one.wall == plan.wall]
            cleared = [one for one in mine if one.step.id == "clear-hazards"]
            asked = "sample" in plan.tasks_of("clear-hazards")
            then = mine[mine.index(cleared[-1]) + 1]
            after = cleared[-1].end.date()
            worked = sum(
                (after + timedelta(days=k)).weekday() < 5
                for k in range(1, (then.start.date() - after).days + 1)
            )
            assert not asked or worked >= days
            if asked and days == 20:
                assert worked == 20
                assert "laboratory" in then.waits
                assert not then.sure
    assert any("sample" in plan.tasks_of("clear-hazards") for plan in plans)
    with pytest.raises(InputError, match="answers"):
        Terms(MONDAY, answers={"sample": 9999})


def test_tests_of_the_house_stand_before_and_after_its_walls(plans):
    made = book(plans, Terms(MONDAY))
    of_wall = [one for one in made if one.wall]
    at = {one.step.id: one for one in made if not one.wall}
    for test in ("fan-test", "combustion-test"):
        assert at[f"{test}-before"].end <= min(one.start for one in of_wall)
        assert at[test].start >= max(one.end for one in of_wall)


def test_nobody_is_let_back_before_the_listings_time(plans):
    known = book(plans, Terms(MONDAY, re_entry=72.0))
    handed = next(one for one in known if one.step.id == "re-entry")
    sprayed = max(one.end for one in known if one.step.id in ("spray", "more-passes"))
    assert handed.start >= sprayed + timedelta(hours=72)
    unknown = next(one for one in book(plans, Terms(MONDAY)) if one.step.id == "re-entry")
    assert not unknown.sure
    assert "nobody has read" in unknown.waits


@pytest.mark.parametrize(
    "bad",
    [{"people": 0}, {"start": 9, "end": 9}, {"calls": {"plumber": -1}}, {"re_entry": -1.0},
     {"re_entry": float("nan")}],
)  # fmt: skip
def test_terms_that_cannot_be(bad):
    with pytest.raises(InputError, match="calendar"):
        Terms(MONDAY, **bad)


def test_the_file_is_read_back_by_a_calendar_library(plans):
    icalendar = pytest.importorskip("icalendar", reason="in requirements/run.txt, not installed")
    terms = Terms(MONDAY, lots=("A-17", "B-9"))
    made = book(plans, terms)
    data = calendar(made, "A house; with, commas\nand lines", MADE, terms)
    assert calendar(made, "A house; with, commas\nand lines", MADE, terms) == data
    assert b"BEGIN:VCALENDAR\r\n" in data
    assert all(len(line) <= 75 for line in data.split(b"\r\n"))  # RFC 5545, 3.1
    events = icalendar.Calendar.from_ical(data).walk("VEVENT")
    assert len(events) == len(made)
    for event, one in zip(events, made, strict=True):
        assert (event.decoded("dtstart"), event.decoded("dtend")) == (one.start, one.end)
        assert str(one.step.gate.who) in str(event["description"])
        assert str(event["status"]) == ("CONFIRMED" if one.sure else "TENTATIVE")
    spray = [e for e in events if "Spray" in str(e["summary"])]
    assert all("A-17, B-9" in str(event["description"]) for event in spray)
