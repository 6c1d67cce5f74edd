"""The day record: bad input, gates that cannot be passed in silence, late and amended entries."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from warmside.catalog import load
from warmside.errors import InputError
from warmside.site import ENTRIES, Ground, Log, accept, day_sheet, read_log

CATALOG = load()

NOW = datetime(2026, 11, 25, 20, 0, tzinfo=UTC)
WALL = "kitchen north"
GOOD = {
    "air_c": "20", "humidity": "45", "substrate_c": "61 F", "wood_moisture": "14", "drum_a_c": "23",
    "drum_b_c": "75 F", "conditioned_h": "60", "hose_c": "50", "pressure_a_pa": "1200",
    "pressure_b_pa": "8.2 MPa",
}  # fmt: skip


@dataclass
class Row:
    """A record as the store gives it back."""

    id: str
    kind: str
    wall: str
    data: dict[str, Any]
    replaces: str = ""
    at: datetime = NOW
    who: str = "Kim"


@dataclass
class Book:
    """A store in memory that takes entries by the real rules."""

    plan: Any
    rows: list[Row] = field(default_factory=list)

    @property
    def log(self) -> Log:
        return read_log(self.rows)

    def note(self, kind: str, wall: str = WALL, replaces: str = "", **data: Any) -> str:
        data.setdefault("at", (NOW - timedelta(minutes=5)).isoformat())
        kept = accept(kind, wall, data, Ground(NOW, CATALOG, {WALL: self.plan}, self.log))
        id = f"r{len(self.rows)}"
        self.rows.append(Row(id, kind, wall, kept, replaces))
        return id

    def clear_up_to(self, gate: str) -> None:
        """Sign every gate before ``gate`` with good readings."""
        for run in self.plan.runs:
            self.note("joint", run=run.key)
        good = self.note("reading", **GOOD)
        for step in self.plan.steps:
            if step.id == gate:
                return
            self.note("gate", gate=step.id, name="Kim Roy", reading=good)


@pytest.fixture
def book(plan) -> Book:
    return Book(plan)


def gate(book: Book, id: str):
    step = next(s for s in book.plan.steps if s.id == id)
    return book.log.standing(WALL, step)


def test_texts_with_units_and_without_come_to_the_same(book):
    """61 F, 75 F, 1200 psi by definition; bare numbers in the unit of the label."""
    book.note("reading", **GOOD)
    kept = book.rows[0].data
    assert kept["substrate_c"] == pytest.approx((61 - 32) / 1.8)
    assert kept["drum_b_c"] == pytest.approx((75 - 32) / 1.8)
    assert kept["pressure_a_pa"] == pytest.approx(1200 * 6894.757, rel=1e-6)
    assert (kept["air_c"], kept["humidity"], kept["wood_moisture"]) == (20.0, 0.45, 0.14)
    again = accept("reading", WALL, kept, Ground(NOW, CATALOG, {WALL: book.plan}))
    assert again == kept  # what was kept is taken again unchanged


@pytest.mark.parametrize(
    ("kind", "data", "said"),
    [
        ("probe", {"bay": "bay 3", "thickness_m": "5 in"}, "Thickness, in: read 127 mm.*92 mm"),
        ("probe", {"bay": "bay 99", "thickness_m": "3 in"}, "bay 99"),
        ("probe", {"bay": "bay 3", "thickness_m": "-1"}, "Thickness"),
        ("reading", {"drum_a_c": "90"}, r"Drum A.*-40 °C \(-40 °F\) up to 60 °C \(140 °F\)"),
        ("reading", {"drum_a_c": float("nan")}, "Drum A"),
        ("reading", {"pressure_a_pa": "1e308"}, "Pressure A"),
        ("reading", {"humidity": "140"}, "Humidity"),
        ("reading", {"humidity": "0.45"}, "Humidity"),  # 0.45 % where 45 is meant
        ("reading", {"at": (NOW + timedelta(hours=1)).isoformat()}, "in the future"),
        ("reading", {"at": "1970-01-01T00:00Z"}, "since 2000"),
        ("reading", {"at": "soon"}, "a date and a time"),
        ("reading", {"noted": (NOW + timedelta(days=2)).isoformat()}, "in the future"),
        ("reading", {"temperature": "20"}, "a key of that name"),
        ("reading", {"air_c": True}, "Air"),
        ("reading", {"air_c": [20]}, "Air"),
        ("core", {"mass_kg": "9 g", "volume_m3": "2 mL"}, "Core: read 4.5e\\+03 kg/m3"),
        ("core", {"mass_kg": "0", "volume_m3": "250"}, "Mass.*from 0.1 g up to 1000 g"),
        ("core", {"mass_kg": "9", "volume_m3": "0.1"}, "from 1 mL up to 10000 mL"),
        ("use", {"foam": "closed-cell", "board_feet": "1e9", "sets": "1"}, "Board feet"),
        ("use", {"foam": "closed-cell", "board_feet": "900", "sets": "inf"}, "sets"),
        ("day", {"day": "2026-12-24", "crew": "Kim"}, "in the future"),
        ("day", {"day": "Monday", "crew": "Kim"}, "Day: read .Monday.; allowed: a day, such as"),
        ("day", {"day": "2026-11-25", "crew": ""}, "Crew: read nothing|Crew.*people"),
        ("joint", {"run": "the back stairs"}, "joint map"),
        ("gate", {"gate": "lunch", "name": "Kim"}, "make-safe"),
        ("signature", {"day": "2026-11-25", "role": "king", "name": "Kim"}, "As"),
        ("signature", {"day": "2026-11-25", "role": "client", "name": "K",
                       "strokes": [[[0, 10**30]]]}, "Signature"),
        ("re-entry", {"sprayed": (NOW + timedelta(days=1)).isoformat()}, "in the future"),
        ("forecast", {"text": "time,temperature_c\n1,2\n"}, "headers"),
        ("party", {}, "kind"),
    ],
)  # fmt: skip
def test_bad_input_is_told_by_its_field(book, kind, data, said):
    with pytest.raises(InputError, match=said):
        book.note(kind, **data)
    assert book.rows == []


def test_a_wall_that_is_not_there(book):
    with pytest.raises(InputError, match="kitchen north"):
        book.note("reading", wall="moon", **GOOD)


@given(
    kind=st.sampled_from(sorted(ENTRIES)),
    data=st.dictionaries(
        st.sampled_from(["at", "bay", "air_c", "name", "gate", "strokes", "crew", "text", "day"]),
        st.none() | st.booleans() | st.floats() | st.text(max_size=30) | st.integers()
        | st.lists(st.lists(st.integers(), max_size=3), max_size=3),
        max_size=6,
    ),
)  # fmt: skip
def test_anything_else_is_taken_or_told(plan, kind, data):
    ground = Ground(NOW, CATALOG, {WALL: plan})
    try:
        kept = accept(kind, WALL, data, ground)
    except InputError:
        return
    assert accept(kind, WALL, {k: v for k, v in kept.items() if k not in ("checks", "passed")},
                  ground) == kept  # fmt: skip


def test_gates_come_in_their_order(book):
    with pytest.raises(InputError, match="Make safe"):
        book.note("gate", gate="strip", name="Kim")
    book.note("gate", gate="make-safe", name="Kim")
    book.note("gate", gate="clear-hazards", name="Ana Wirth, electrician")
    with pytest.raises(InputError, match="Cover the room"):
        book.note("gate", gate="strip", name="Kim")
    book.clear_up_to("strip")
    book.note("gate", gate="strip", name="Kim")
    assert gate(book, "strip").state == "passed"
    assert gate(book, "dry").state == "open"


def test_a_failed_gate_is_not_passed_in_silence(book):
    book.clear_up_to("spray")
    cold = book.note("reading", **(GOOD | {"substrate_c": "54 F"}))
    signed = book.note("gate", gate="spray", name="Kim Roy", reading=cold)
    assert book.rows[-1].data["passed"] is False
    failed = [c for c in book.rows[-1].data["checks"] if c["state"] == "failed"]
    assert [c["key"] for c in failed] == ["substrate_c"]
    assert gate(book, "spray").state == "failed"
    with pytest.raises(InputError, match="the gate before it first"):
        book.note("gate", gate="more-passes", name="Kim Roy", reading=cold)
    for lacking in ({"name": "Kim Roy"}, {"name": "", "reason": "frost outside, test shot bonded"},
                    {"name": "Kim Roy", "reason": "cold"}):  # fmt: skip
        with pytest.raises(InputError):
            book.note("override", gate_record=signed, **lacking)
    reason = "Winter grade on the truck, its sheet allows 40 F"
    book.note("override", gate_record=signed, name="Kim Roy", reason=reason)
    standing = gate(book, "spray")
    assert standing.state == "overridden"
    assert standing.override.entry.reason == reason
    ((gate_entry, override),) = book.log.overrides()
    assert (gate_entry.id, override.entry.name) == (signed, "Kim Roy")


def test_an_override_is_printed_in_the_close_out(book):
    from warmside.documents.close_out_paper import _days, _overrides

    book.clear_up_to("dry")
    wet = book.note("reading", **(GOOD | {"wood_moisture": "24"}))
    signed = book.note("gate", gate="dry", name="Kim Roy", reading=wet)
    book.note("override", gate_record=signed, name="Ana Wirth", reason="oven-dried: 17 %")
    book.note("use", foam="closed-cell", board_feet="200", sets="0.05")
    (row,) = _overrides(book.log)
    assert (row["gate"], row["reason"]) == (f"dry, {WALL}", "oven-dried: 17 %")
    # the name that was typed, and the account that put it there
    assert re.fullmatch(r"Ana Wirth \(account Kim, \d\d:\d\d\)", row["who"])
    assert "1 time foam without a passed gate" in next(_days(book.log))["text"]


def test_the_sender_cannot_say_that_a_gate_passed(book):
    with pytest.raises(InputError, match="passed"):
        book.note("gate", gate="make-safe", name="Kim", passed=True)


def test_what_cannot_be_overridden(book):
    book.clear_up_to("spray")
    passed = next(r.id for r in book.rows if r.kind == "gate")
    for record in (passed, "nothing", book.rows[0].id):
        with pytest.raises(InputError, match="Failed gate"):
            book.note("override", gate_record=record, name="Kim", reason="because it is late now")


@pytest.mark.parametrize("hours", [-5.0, 5.0])
def test_a_gate_rests_on_a_fresh_reading_of_its_wall(book, hours):
    book.clear_up_to("dry")
    old = NOW - timedelta(hours=12)
    read = book.note("reading", at=old.isoformat(), **GOOD)
    at = (old + timedelta(hours=hours)).isoformat()
    with pytest.raises(InputError, match="4 h"):
        book.note("gate", gate="dry", name="Kim", reading=read, at=at)
    assert book.note("gate", gate="dry", name="Kim", reading=read, at=old.isoformat())


def test_sealing_closes_when_every_number_is_ticked(book):
    book.clear_up_to("seal-joints")
    last = book.plan.runs[-1].key
    book.note("joint", run=last, state="open again")
    good = book.note("reading", **GOOD)
    book.note("gate", gate="seal-joints", name="Kim", reading=good)
    assert gate(book, "seal-joints").state == "failed"
    book.note("joint", run=last)
    book.note("gate", gate="seal-joints", name="Kim", reading=good)
    assert gate(book, "seal-joints").state == "passed"


def test_foam_before_its_gate_is_shown(book):
    early = (NOW - timedelta(hours=1)).isoformat()
    book.note("use", foam="closed-cell", board_feet="200", sets="0.05", at=early)
    assert [n.id for n in book.log.unguarded()] == ["r0"]
    book.clear_up_to("more-passes")
    book.note("use", foam="closed-cell", board_feet="200", sets="0.05")
    assert [n.id for n in book.log.unguarded()] == ["r0"]


def test_the_check_gate_counts_probes_cores_and_bond(book):
    book.clear_up_to("check")
    book.note("gate", gate="check", name="Kim")
    assert gate(book, "check").state == "failed"
    for bay in ("bay 1", "bay 2", "bay 3"):
        book.note("probe", bay=bay, thickness_m="3 in")
        book.note("core", bay=bay, mass_kg="8.75", volume_m3="250")
    book.note("adhesion", broke="tore wood fibre")
    book.note("gate", gate="check", name="Kim")
    assert gate(book, "check").state == "passed"
    book.note("adhesion", broke="peeled clean")
    book.note("gate", gate="check", name="Kim")
    assert gate(book, "check").state == "failed"


def test_late_entries_are_marked(book):
    hour = timedelta(hours=1)
    on_time = {"at": (NOW - hour).isoformat(), "noted": (NOW - hour).isoformat()}
    book.note("reading", **(GOOD | on_time))
    book.note("reading", **(GOOD | {"at": (NOW - 6 * hour).isoformat(), "noted": NOW.isoformat()}))
    old = (NOW - 72 * hour).isoformat()
    book.note("reading", **(GOOD | {"at": old, "noted": old}))
    late = [n.late for n in book.log.entries]
    assert late[0] == ""
    assert late[1] == "written down 6 h after it happened"
    assert late[2] == "received 3 days after it was written down"


def test_an_amendment_leaves_what_it_amends(book):
    first = book.note("probe", bay="bay 3", thickness_m="2 in")
    book.note("probe", replaces=first, bay="bay 3", thickness_m="3 in")
    log = book.log
    assert [n.amended_by for n in log.entries] == ["r1", ""]
    assert [n.id for n in log.of("probe")] == ["r1"]
    day = log.entries[0].at.astimezone().date()
    assert len(log.on(day)) == 2


def test_two_people_sign_a_day(book):
    stroke = [[[10, 10], [500, 200]], [[20, 300], [900, 310]]]
    for name in ("Kim Roy", "Ana Wirth"):
        book.note("signature", wall="", day="2026-11-25", role="installer", name=name,
                  strokes=stroke if name == "Kim Roy" else [])  # fmt: skip
    book.note("day", wall="", day="2026-11-25", crew="Kim Roy, CI-7\nAna Wirth", lots="A1; B2")
    day = (NOW - timedelta(minutes=5)).astimezone().date()
    if day.isoformat() == "2026-11-25":
        sheet = day_sheet(book.log, day)
        assert [n.entry.name for n in sheet.signatures] == ["Kim Roy", "Ana Wirth"]
        assert [n.entry.drawn for n in sheet.signatures] == [True, False]
        assert sheet.head is not None
        assert sheet.head.crew[0].certificate == "CI-7"


def test_records_of_other_rooms_and_broken_ones_are_passed_over():
    rows = [Row("a", "fan-test", "", {"x": 1}), Row("b", "probe", WALL, {"thickness_m": "?"})]
    assert read_log(rows).entries == ()


def test_what_was_tapped_by_mistake_is_taken_back_and_stays_in_the_record(book):
    run = book.plan.runs[0].key
    sealed = book.note("joint", run=run)
    assert book.log.sealings(WALL) == {run: sealed}
    back = book.note("take-back", record=sealed, why="wrong wall")
    assert run not in book.log.sealed(WALL)
    assert book.log.get(sealed).amended_by == back  # there, marked, not left out
    book.note("joint", run=run)
    assert run in book.log.sealed(WALL)
    signed = book.note("gate", gate="make-safe", name="Kim")
    book.note("take-back", record=signed, why="signed before looking")
    assert gate(book, "make-safe").state == "open"
    with pytest.raises(InputError, match="Make safe"):  # gates come in their order again
        book.note("gate", gate="clear-hazards", name="Ana Wirth, electrician")


def test_foam_under_a_gate_that_was_taken_back_is_unguarded(book):
    book.clear_up_to("spray")
    good = book.note("reading", **GOOD)
    signed = book.note("gate", gate="spray", name="Kim Roy", reading=good)
    book.note("use", foam="closed-cell", board_feet="200", sets="0.05")
    assert book.log.unguarded() == ()
    book.note("take-back", record=signed, why="it was another day's reading")
    assert len(book.log.unguarded()) == 1


@pytest.mark.parametrize("harm", ["unknown", "twice", "itself", "other wall", "no reason"])
def test_only_what_stands_is_taken_back(book, harm):
    sealed = book.note("joint", run=book.plan.runs[0].key)
    back = book.note("take-back", record=sealed, why="wrong wall")
    more = {
        "unknown": {"record": "r999", "why": "wrong wall"},
        "twice": {"record": sealed, "why": "wrong wall"},
        "itself": {"record": back, "why": "wrong wall"},
        "other wall": {"record": sealed, "why": "wrong wall", "wall": ""},
        "no reason": {"record": book.note("joint", run=book.plan.runs[1].key), "why": ""},
    }[harm]
    with pytest.raises(InputError):
        book.note("take-back", **more)
