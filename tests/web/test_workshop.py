"""Work in the background: cancelled, interrupted, resumed; a person's choice moves the house."""

from __future__ import annotations

import re
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from fastapi.testclient import TestClient

from studied import keep
from warmside.estimate import fixed_price, read_prices
from warmside.store import Store
from warmside.study import Study, study, with_choices, with_notes
from warmside.survey import Survey, read, template, update, write
from warmside.web import Web, create_app
from warmside.web.dossier import PARTS, base_of, body_of, keep_study, kept_study, key_of
from warmside.web.letterhead import default_prices_of
from warmside.web.studies import ask, standing
from warmside.web.work import Workshop, do


def wait(until: Callable[[], bool], most: float = 60.0) -> None:
    end = time.monotonic() + most
    while not until():
        assert time.monotonic() < end, "it did not come to that in time"
        time.sleep(0.1)


def test_a_task_is_stopped_and_taken_up_after_a_restart(tmp_path: Path) -> None:
    where = tmp_path / "warmside.sqlite"
    with Store.open(where) as store:
        job = store.new_job(template(), "owner").id
        task = ask(store, job, "owner")
        first = Workshop(store, str(where))
        first.start()
        wait(lambda: store.tasks.get(task.id).state == "running")
        first.stop()
        assert store.tasks.get(task.id).state == "running"  # as after a crash
        second = Workshop(store, str(where))
        second.start()
        wait(lambda: store.tasks.get(task.id).total > 0)  # its process is at it again
        store.tasks.cancel(task.id)
        other = store.tasks.ask("study", "0" * 64, "owner", job, dict.fromkeys(PARTS, 0))
        wait(lambda: store.tasks.get(other.id).state == "failed")  # the queue goes on
        second.stop()
        assert store.tasks.get(task.id).state == "cancelled"
        assert "house: read nothing" in store.tasks.get(other.id).error
        assert standing(store, job).dossier is None


@pytest.fixture(scope="module")
def small() -> Survey:
    found = read(template())
    return found.model_copy(update={"walls": found.walls[:1], "options": ()})


def test_a_choice_by_hand_moves_the_sums(small: Survey) -> None:
    found = study(small, fields=False)
    wall = found.walls[0]
    other = next(
        o for o in wall.options
        if o.build_up.can_be_built and o.price and o.option.id != wall.chosen_id
    )  # fmt: skip
    chosen = with_choices(found, {wall.wall.name: other.option.id, "no such wall": "x"})
    hours = chosen.walls[0].chosen.dry.hourly  # of what is put forward the bound is run, too
    assert replace(chosen.walls[0].chosen, dry=other.dry) == other
    assert hours is not None
    # one wall: the house takes what the wall takes
    assert {q.key for q in chosen.takeoff} == {q.key for q in other.quantities}
    # what is charged once for the house is the same whatever is done
    assert other.price is not None
    once = fixed_price(found.prices).cost
    assert chosen.price.cost == other.price.cost + once
    assert with_choices(found, {wall.wall.name: "no such option"}) is found


def test_pages_of_a_study(store: Store, small: Survey) -> None:
    from datetime import date

    survey = template()
    job = store.new_job(survey, "owner").id
    found = study(small, fields=False)
    texts = {part: store.text(part, job).text for part in PARTS}  # type: ignore[arg-type]
    key = key_of(texts)
    keep(store, texts, found, date(2026, 3, 4))
    assert ask(store, job, "owner").key == key
    store.tasks.cancel(store.tasks.of(job)[0].id)
    client = TestClient(
        create_app(Web(store, b"s" * 32, hosts=lambda _: True)), follow_redirects=False
    )
    here = f"/jobs/{job}"
    slugs = ("warm", "dry", "tight", "legal", "safe", "worth-it")
    for path in ("", "/study", "/study/1", *(f"/study/1/{s}" for s in slugs), "/price", "/papers"):
        answer = client.get(here + path)
        assert answer.status_code == 200, path
        assert "the figures below are those of before" not in answer.text
    for finding in found.walls[0].chosen.dry.findings:
        assert finding.source.text.split("&")[0] in client.get(f"{here}/study/1/dry").text
    for name in (
        "proposal.pdf",
        "proposal.pdf?language=fr",
        "proposal.pdf?paper=a4",
        "annex.pdf",
        "takeoff.pdf",
    ):
        assert client.get(f"{here}/{name}").content.startswith(b"%PDF-"), name
    assert client.get(f"{here}/proposal.pdf?language=xx").status_code == 404
    assert client.get(f"{here}/study.json").json()["walls"][0]["chosen"]
    assert client.get(f"/api{here}/study").json()["fresh"] is True
    for path in ("/study/2", "/study/0", "/study/1/warm?option=nope", "/study/1/thermal.svg"):
        assert client.get(here + path).status_code == 404, path
    assert client.get(f"{here}/study/1/cold").status_code == 422
    option = next(
        o.option.id for o in found.walls[0].options
        if o.build_up.can_be_built and o.option.id != found.walls[0].chosen_id
    )  # fmt: skip
    word = re.search(r'name="token" value="(\w+)"', client.get(f"{here}/study/1").text)
    assert word
    sent = {"token": word[1], "revision": "0", "option": option}
    assert client.post(f"{here}/study/1/choose", data=sent).status_code == 303
    assert store.choices(job) == {small.walls[0].name: option}
    # nothing else changed, so what was computed is taken up without being asked for
    assert "The study is waiting for its turn" in client.get(f"{here}/study").text
    late = sent | {"revision": "0", "option": found.walls[0].chosen_id}
    assert client.post(f"{here}/study/1/choose", data=late).status_code == 409


def taken_up(
    store: Store, job: str, secret: bytes, monkeypatch: pytest.MonkeyPatch
) -> dict[str, Any]:
    """What the pages show of a job that is studied again without a computation."""

    def refused(*_: object, **__: object) -> None:
        raise AssertionError("computed again")

    monkeypatch.setattr("warmside.study.study", refused)
    monkeypatch.setattr("warmside.web.work.keep_curve", lambda *_: None)
    ask(store, job, "owner")
    task = store.tasks.take()
    assert task is not None
    do(store, task, secret)
    stands = standing(store, job)
    assert stands.fresh
    return stands.study


SECRET = b"s" * 32


def studied(store: Store, small: Survey) -> tuple[str, Study, dict[str, str]]:
    """A job whose study is kept whole: its id, the study, its texts."""
    job, found = store.new_job(write(small), "owner").id, study(small, fields=False)
    texts = {part: store.text(part, job).text for part in PARTS}  # type: ignore[arg-type]
    keep_study(store, body_of(texts), found, SECRET)
    return job, found, texts


def test_another_choice_takes_up_what_was_computed(
    store: Store, small: Survey, monkeypatch: pytest.MonkeyPatch
) -> None:
    job, found, texts = studied(store, small)
    wall = found.walls[0]
    other = next(
        o.option.id for o in wall.options
        if o.build_up.can_be_built and o.option.id != wall.chosen_id
    )  # fmt: skip
    store.choose(job, {wall.wall.name: other}, 0, "owner")
    # a store from elsewhere, sealed with another secret or altered, runs no code here
    assert kept_study(store, body_of(texts), b"t" * 32) is None
    assert kept_study(store, body_of(texts), b"") is None
    shown = taken_up(store, job, SECRET, monkeypatch)
    assert shown["walls"][0]["chosen"] == other


def test_another_price_takes_up_what_was_computed(
    store: Store, small: Survey, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Nothing but money is reckoned again: to the cent what a whole study finds."""
    job = store.new_job(write(small), "owner").id
    # fuel dear enough that work is put forward
    dear = re.sub(
        r"price = ([\d.]+)(, unit = .*rise)", lambda m: f"price = {8 * float(m[1])}{m[2]}",
        default_prices_of(store, job),
    )  # fmt: skip
    found, secret = study(small, prices=read_prices(dear), fields=False), b"s" * 32
    texts = {part: store.text(part, job).text for part in PARTS}  # type: ignore[arg-type]
    keep_study(store, body_of(texts), found, secret)
    prices = re.sub(r"(?m)^mark_up = .*$", "mark_up = 0.3", dear, count=1)
    anew = study(small, prices=read_prices(prices), fields=False)
    store.save("prices", prices, 0, "owner", job)
    shown = taken_up(store, job, secret, monkeypatch)
    assert shown["asked"]["before_tax"] == str(anew.price.before_tax)
    assert anew.price.before_tax != found.price.before_tax
    # whoever keeps prices or a note has not to ask: the study follows by itself
    task = store.tasks.of(job)[0]
    client = TestClient(create_app(Web(store, b"s" * 32, hosts=lambda _: True)))
    page = client.get(f"/jobs/{job}/prices").text
    word = re.search(r'name="token" value="(\w+)"', page)
    assert word
    sent = {"token": word[1], "revision": str(store.text("prices", job).revision),
            "text": prices.replace("mark_up = 0.3", "mark_up = 0.2")}  # fmt: skip
    assert client.post(f"/jobs/{job}/prices", data=sent).status_code == 200
    assert store.tasks.of(job)[0].id != task.id
    other = texts | {"prices": prices}
    assert body_of(other) == body_of(texts)
    assert base_of(other) != base_of(texts)


def test_a_note_takes_up_what_was_computed(
    store: Store, small: Survey, monkeypatch: pytest.MonkeyPatch
) -> None:
    job, found, texts = studied(store, small)
    noted = texts | {"survey": update(texts["survey"], {("wall", 0, "notes"): "ask the owner"})}
    wider = texts | {"survey": update(texts["survey"], {("wall", 0, "length"): "8 m"})}
    assert (
        base_of(noted) == base_of(texts) == base_of(texts | {"survey": f"# x\n{noted['survey']}"})
    )
    assert base_of(wider) != base_of(texts)
    assert key_of(noted) != key_of(texts)
    store.change_survey(job, {("wall", 0, "notes"): "ask the owner"}, 1, "owner")
    shown = taken_up(store, job, SECRET, monkeypatch)
    assert "ask the owner" in shown["survey"]
    again = with_notes(found, read(noted["survey"]))
    assert again.walls[0].wall.notes == "ask the owner"
    assert again.walls[0].options == found.walls[0].options


class Ended:
    """A process that has ended with ``exitcode``; the work is not what is looked at."""

    def __init__(self, exitcode: int) -> None:
        self.exitcode, self.pid = exitcode, 0

    def start(self) -> None:
        pass

    def is_alive(self) -> bool:
        return False


@pytest.mark.parametrize(("exitcode", "state"), [(75, "waiting"), (1, "failed")])
def test_a_store_that_was_away_for_a_while_strands_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, exitcode: int, state: str
) -> None:
    """75 is EX_TEMPFAIL of sysexits.h: the process lost the store, the same may go well later."""
    from warmside.store import StoreError
    from warmside.web import work

    with Store.open(tmp_path / "warmside.sqlite") as store:
        job = store.new_job(template(), "owner").id
        ask(store, job, "owner")
        task = store.tasks.take()
        assert task
        there, away = store.tasks.get, iter([True] * 4)

        def get(id: str) -> object:
            if next(away, False):
                raise StoreError("the store could not answer", "start it")
            return there(id)

        monkeypatch.setattr(store.tasks, "get", get)
        ended = type("Context", (), {"Process": staticmethod(lambda **_: Ended(exitcode))})
        monkeypatch.setattr(work, "get_context", lambda _: ended)
        Workshop(store, "")._do(task)
        assert there(task.id).state == state
