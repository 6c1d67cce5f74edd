"""Records, people, settings and results. Every expectation is exact."""

from __future__ import annotations

import pytest

from warmside.errors import InputError
from warmside.store import UnknownError
from warmside.store.people import _hasher


def test_noted_corrected_withdrawn(store, survey):
    job = store.new_job(survey, "Ann")
    first = store.records.add(job.id, "reading", {"moisture": 0.19}, "Cy", "north")
    again = store.records.add(job.id, "reading", {"moisture": 0.19}, "Cy", "north")
    assert first.id != again.id
    better = store.records.add(
        job.id, "reading", {"moisture": 0.17}, "Cy", "north", replaces=first.id
    )
    assert [r.id for r in store.records.of(job.id, "reading")] == [again.id, better.id]
    assert len(store.records.of(job.id, corrected=True)) == 3
    assert store.records.of(job.id, "day") == ()
    store.records.withdraw(job.id, better.id, "Cy")
    assert [r.id for r in store.records.of(job.id)] == [first.id, again.id]
    store.undo(job.id, store.job(job.id).revision, "Cy")
    assert store.records.get(job.id, better.id).data == {"moisture": 0.17}


def test_a_request_sent_twice_is_kept_once(store, survey):
    job = store.new_job(survey, "Ann")
    one = store.records.add(job.id, "day", {"n": 1}, "Cy", id="0123abcd")
    assert store.records.add(job.id, "day", {"n": 1}, "Cy", id="0123abcd") == one
    with pytest.raises(InputError, match="never overwritten"):
        store.records.add(job.id, "day", {"n": 2}, "Cy", id="0123abcd")
    store.records.withdraw(job.id, one.id, "Cy")
    with pytest.raises(InputError, match="never overwritten"):
        store.records.add(job.id, "day", {"n": 1}, "Cy", id="0123abcd")


DEEP: dict[str, object] = {}
for _ in range(30):
    DEEP = {"d": DEEP}


@pytest.mark.parametrize(
    "data",
    [{"x": float("nan")}, {"x": float("inf")}, {"x": b""}, {1: 2}, [], None, DEEP,
     {"x": "y" * 2_000_000}, {"x": 1 << 70}, {"x": {3}}],
)  # fmt: skip
def test_a_record_is_plain_data(lite, survey, data):
    job = lite.new_job(survey, "Ann")
    with pytest.raises(InputError):
        lite.records.add(job.id, "day", data, "Ann")
    assert lite.records.of(job.id) == ()


@pytest.mark.parametrize(
    "words",
    [{"kind": "Day"}, {"kind": ""}, {"kind": "x" * 40}, {"id": "a/b"}, {"id": "x"},
     {"wall": "\0"}, {"wall": "\ud800"}],
)  # fmt: skip
def test_names_of_records(lite, survey, words):
    job = lite.new_job(survey, "Ann")
    with pytest.raises(InputError):
        lite.records.add(job.id, **({"kind": "day", "data": {}, "who": "Ann"} | words))
    with pytest.raises(UnknownError):
        lite.records.add(job.id, "day", {}, "Ann", replaces="0000000000")


def test_text_of_any_kind_comes_back_as_it_was(store, survey):
    job = store.new_job(survey, "Ann")
    data = {"note": "zero \0 half \ud83d pair \U0001f9e4 'quotes\" <b>", "n": [1, 2.5, None, True]}
    record = store.records.add(job.id, "note", data, "Ann")
    assert store.records.get(job.id, record.id).data == data


@pytest.fixture
def _quick(monkeypatch):
    """Hash with the least cost: the tests ask who gets in, not how long it takes."""
    from argon2 import PasswordHasher

    from warmside.store import people

    hasher = PasswordHasher(time_cost=1, memory_cost=8, parallelism=1)
    monkeypatch.setattr(people, "_hasher", lambda: hasher)


@pytest.mark.usefixtures("_quick")
def test_people_sign_in_by_their_password(store):
    store.people.add("Ann", "owner", "correct horse", "Ann")
    store.people.add("Cy Ågren", "crew", "another one", "Ann")
    assert store.people.sign_in("ann ", "correct horse").role == "owner"
    assert store.people.sign_in("CY AGREN", "another one").name == "Cy Ågren"
    for name, password in (
        ("Ann", "correct hors"), ("Ann", ""), ("Nobody", "correct horse"), ("", ""), ("\0", "x"),
        ("Ann", "x" * 1_000_000), ("Ann", "\ud800"), ("' OR 1=1 --", "correct horse"),
    ):  # fmt: skip
        assert store.people.sign_in(name, password) is None
    store.people.let_go("Cy Ågren", "Ann")
    assert store.people.sign_in("Cy Ågren", "another one") is None
    store.people.take_back("Cy Ågren", "Ann")
    store.people.set_password("Cy Ågren", "a third word", "Ann")
    assert store.people.sign_in("Cy Ågren", "another one") is None
    assert store.people.sign_in("Cy Ågren", "a third word").active
    told = "".join(store.text_at("shop", c.part, c.number) for c in store.history())
    assert "argon2" not in told
    assert "third" not in told


@pytest.mark.usefixtures("_quick")
def test_one_owner_always_stays(store):
    store.people.add("Ann", "owner", "correct horse", "Ann")
    for act in (lambda: store.people.let_go("Ann", "Ann"),
                lambda: store.people.set_role("Ann", "crew", "Ann")):  # fmt: skip
        with pytest.raises(InputError, match="one owner who stays"):
            act()
    assert store.people.get("Ann").role == "owner"
    store.people.add("Bo", "owner", "correct horse", "Ann")
    assert store.people.set_role("Ann", "crew", "Bo").role == "crew"


@pytest.mark.usefixtures("_quick")
def test_a_crew_sees_the_jobs_it_is_assigned_to(store, survey):
    store.people.add("Ann", "owner", "correct horse", "Ann")
    store.people.add("Cy", "crew", "correct horse", "Ann")
    one, other = store.new_job(survey, "Ann"), store.new_job(survey, "Ann")
    store.people.assign("Cy", one.id, "Ann")
    assert store.people.assign("Cy", one.id, "Ann").jobs == (one.id,)
    assert [job.id for job in store.jobs(crew="cy")] == [one.id]
    assert store.jobs(crew="Ann") == ()
    store.people.assign("Cy", other.id, "Ann")
    store.people.unassign("Cy", one.id, "Ann")
    store.erase(other.id, "Ann")
    assert store.people.get("Cy").jobs == ()


@pytest.mark.parametrize(
    ("name", "role", "password"),
    [("", "crew", "long enough"), ("Cy", "boss", "long enough"), ("Cy", "crew", "short"),
     ("Cy", "crew", "x" * 300), ("Cy", "crew", None), ("ÀNN", "crew", "long enough"),
     ("Cy\0", "crew", "long enough"), ("Cy", "crew", "long \ud800 enough")],
)  # fmt: skip
@pytest.mark.usefixtures("_quick")
def test_people_that_cannot_be_added(lite, name, role, password):
    lite.people.add("Ann", "owner", "correct horse", "Ann")
    with pytest.raises(InputError):
        lite.people.add(name, role, password, "Ann")
    assert [person.name for person in lite.people.all()] == ["Ann"]


def test_passwords_are_kept_at_the_cost_the_standard_names():
    """RFC 9106, section 4, second recommended option: t = 3, p = 4, m = 64 MiB, argon2id."""
    kept = _hasher().hash("correct horse")
    assert kept.startswith("$argon2id$v=19$m=65536,t=3,p=4$")


def test_settings_of_the_shop_and_of_a_person(store):
    assert store.settings.get("units", default="imperial") == "imperial"
    store.settings.set("units", {"length": "metric"}, "Ann", person="Ann")
    store.settings.set("units", {"length": "metric"}, "Ann", person="Ann")
    store.settings.set("units", "imperial", "Ann")
    assert store.settings.get("units", person="ANN") == {"length": "metric"}
    assert store.settings.get("units") == "imperial"
    assert store.settings.get("units", person="Bo") is None
    assert len(store.history()) == 2
    store.settings.set("units", None, "Ann")
    assert store.settings.get("units", default=0) == 0
    with pytest.raises(InputError):
        store.settings.set("units", float("nan"), "Ann")


def test_results_by_the_hash_of_what_went_in(store):
    key = store.results.key("study", "survey", "prices")
    assert key != store.results.key("study", "surveypr", "ices")  # where one ends counts
    assert key != store.results.key("paper", "survey", "prices")
    assert key != store.results.key("study", "survey", "prices", version="0")
    assert store.results.get(key) is None
    store.results.keep(key, "study", b"one\0")
    store.results.keep(key, "study", b"two\0")
    assert store.results.get(key) == b"two\0"
    for n in range(4):
        store.results.keep(store.results.key("paper", str(n)), "paper", b"x" * 100)
    assert store.results.trim(most=250) == 3  # of 4 x 100 and the older 4 bytes, two stay
    assert store.results.get(key) is None
    assert store.results.get(store.results.key("paper", "3")) == b"x" * 100


@pytest.mark.usefixtures("_quick")
def test_sessions_end_with_sign_out_a_new_password_and_being_let_go(store):
    store.people.add("Ann", "owner", "correct horse", "Ann")
    store.people.add("Cy", "crew", "another one", "Ann")
    token, other = store.sessions.begin("Ann"), store.sessions.begin("ann")
    assert token != other
    assert store.sessions.person(token).name == "Ann"
    store.sessions.end(token)
    assert store.sessions.person(token) is None
    store.people.set_password("Ann", "a third word", "Ann")
    assert store.sessions.person(other) is None
    crew = store.sessions.begin("Cy")
    store.people.let_go("Cy", "Ann")
    store.people.take_back("Cy", "Ann")
    assert store.sessions.person(crew) is None
    for token in ("", "\0", "\ud800", "x" * 10_000):
        assert store.sessions.person(token) is None
    with pytest.raises(UnknownError):
        store.sessions.begin("Nobody")


def test_a_session_unused_for_a_fortnight_ends(lite, monkeypatch):
    from datetime import timedelta

    from warmside.store import sessions

    lite.people.add("Ann", "owner", "correct horse", "Ann")
    token = lite.sessions.begin("Ann")
    monkeypatch.setattr(sessions, "_NOTED", timedelta(seconds=-1))  # note each use
    assert lite.sessions.person(token).name == "Ann"
    monkeypatch.setattr(sessions, "IDLE", timedelta(seconds=-1))  # as if long ago
    assert lite.sessions.person(token) is None


KEY = "0" * 64


def test_work_is_asked_for_once_taken_once_and_taken_up_again(store, survey):
    job = store.new_job(survey, "Ann")
    task = store.tasks.ask("study", KEY, "Ann", job.id, {"walls": 2})
    assert store.tasks.ask("study", KEY, "Bo", job.id) == task
    second = store.tasks.ask("paper", "1" * 64, "Ann", job.id)
    taken = store.tasks.take()
    assert (taken.id, taken.state, taken.data) == (task.id, "running", {"walls": 2})
    assert store.tasks.progress(task.id, "north", 1, 2)
    assert (store.tasks.get(task.id).done, store.tasks.get(task.id).step) == (1, "north")
    assert store.tasks.resume() == 1
    assert store.tasks.take().id == task.id  # the older first
    assert store.tasks.finish(task.id).state == "done"
    assert store.tasks.take().id == second.id
    assert store.tasks.take() is None
    assert store.tasks.cancel(second.id).state == "cancelled"
    assert not store.tasks.progress(second.id, "x", 1, 1)
    assert store.tasks.finish(second.id).state == "cancelled"
    assert store.tasks.cancel(task.id).state == "done"
    third = store.tasks.ask("study", KEY, "Ann", job.id)
    store.tasks.take()
    assert store.tasks.finish(third.id, "no such climate").error == "no such climate"
    assert [t.id for t in store.tasks.of(job.id)] == [third.id, second.id, task.id]
    assert store.tasks.tidy() == 0
    store.erase(job.id, "Ann")
    with pytest.raises(UnknownError):
        store.tasks.get(task.id)


def test_takers_at_once_never_get_the_same(store):
    import threading

    for n in range(12):
        store.tasks.ask("study", f"{n:064x}", "Ann")
    taken, errors = [], []

    def take() -> None:
        try:
            while task := store.tasks.take():
                taken.append(task.id)
        except Exception as error:
            errors.append(error)

    threads = [threading.Thread(target=take) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert errors == []
    assert len(taken) == len(set(taken)) == 12


def test_what_is_looked_up_stays_longest(lite, monkeypatch):
    from datetime import timedelta

    from warmside.store import results

    keys = [lite.results.key("study", str(n)) for n in range(3)]
    for key in keys:
        lite.results.keep(key, "study", b"x" * 100)
    monkeypatch.setattr(results, "_FRESH", timedelta(seconds=-1))  # note each look-up
    assert lite.results.get(keys[0]) == b"x" * 100
    assert lite.results.trim(most=100) == 2
    assert lite.results.get(keys[0]) == b"x" * 100
    monkeypatch.setattr(results, "LARGEST", 10)
    with pytest.raises(InputError):
        lite.results.keep(keys[0], "study", b"x" * 11)
