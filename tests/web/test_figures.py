"""Figures that follow a form: told as they come, cancelled by the next edit, bounded."""

from __future__ import annotations

import asyncio
import json
import multiprocessing
import re
import time
from collections.abc import AsyncGenerator, Iterator
from dataclasses import replace
from datetime import date
from pathlib import Path
from threading import Thread
from typing import Any

import pytest
from fastapi.testclient import TestClient

from studied import Scripted
from warmside.errors import BusyError
from warmside.estimate import read_prices
from warmside.store import Store
from warmside.study import study
from warmside.survey import read, template, write
from warmside.web import Web, create_app, fresh
from warmside.web.dossier import (
    PARTS,
    body_of,
    compressed,
    evidence_of,
    has_pages,
    keep_pages,
    keep_study,
    key_of,
    opened,
)
from warmside.web.letterhead import default_prices_of
from warmside.web.studies import standing
from warmside.web.warm import WarmJobs, _Warm
from warmside.web.warm_process import Ask, Told


@pytest.fixture
def warm(tmp_path: Path, store: Store) -> Iterator[WarmJobs]:  # noqa: ARG001 - is there first
    made = WarmJobs(str(tmp_path / "warmside.sqlite"), b"s" * 32, processes=1)
    yield made
    made.stop()


@pytest.fixture
def small(store: Store) -> str:
    """A job of one wall."""
    found = read(template())
    one = found.model_copy(update={"walls": found.walls[:1], "options": ()})
    return store.new_job(write(one), "owner").id


def asked(store: Store, job: str, wall: int = 1) -> Ask:
    survey, prices = store.text("survey", job).text, default_prices_of(store, job)
    return Ask(job, "", {"catalog": 0, "weather": 0}, survey, prices, wall)


async def until(told: AsyncGenerator[Told], wanted: Any) -> Told:
    async for one in told:
        assert not one.fault, one.fault
        if wanted(one):
            return one
    raise AssertionError("it ended before")


def test_figures_come_and_an_edit_supersedes_the_one_before(
    store: Store, small: str, warm: WarmJobs
) -> None:
    async def edits() -> None:
        first = warm.follow(asked(store, small))
        every = await until(first, lambda told: told.complete)
        assert {one.state for one in every.options} <= {"quick", "whole"}
        assert every.put_forward in {one.report.id for one in every.options}
        await first.aclose()  # as a page does before it asks again
        (process,) = warm._processes
        assert not process.open_  # what was left undone is not done
        whole = [told async for told in warm.follow(asked(store, small))]
        assert whole[-1].ends
        states = {o.report.id: o.state for told in whole for o in told.options}
        assert set(states.values()) == {"whole"}  # by its field and hours, or it cannot be built
        again = [told async for told in warm.follow(asked(store, small))]
        assert [len(told.options) for told in again] == [len(states), 0]  # all there at once

    asyncio.run(edits())


def test_a_process_that_breaks_down_is_told_and_begun_anew(
    store: Store, small: str, warm: WarmJobs
) -> None:
    async def breaks() -> None:
        figures = warm.follow(asked(store, small))
        waiting = asyncio.ensure_future(anext(figures))
        while not warm._processes:
            await asyncio.sleep(0.05)
        warm._processes[0].process.kill()
        told = await asyncio.wait_for(waiting, 60)
        assert told.ends
        assert "ended before" in told.fault
        await figures.aclose()
        anew = warm.follow(asked(store, small, wall=1))
        await until(anew, lambda told: told.complete)
        await anew.aclose()

    asyncio.run(breaks())


@pytest.mark.parametrize("bound", ["MOST", "MOST_OF_JOB"])
def test_too_many_are_sent_away(
    store: Store, small: str, warm: WarmJobs, monkeypatch: pytest.MonkeyPatch, bound: str
) -> None:
    monkeypatch.setattr(f"warmside.web.warm.{bound}", 0)

    async def many() -> None:
        with pytest.raises(BusyError, match="many walls are being edited"):
            await anext(warm.follow(asked(store, small)))

    asyncio.run(many())


def test_who_leaves_before_a_process_was_found_leaves_no_work(
    store: Store, small: str, warm: WarmJobs, monkeypatch: pytest.MonkeyPatch
) -> None:
    begin, found = warm._begin, list[_Warm]()

    def slowly() -> _Warm:
        time.sleep(0.5)
        found.append(begin())
        return found[0]

    monkeypatch.setattr(warm, "_begin", slowly)

    async def leaves() -> None:
        waiting = asyncio.ensure_future(anext(warm.follow(asked(store, small))))
        await asyncio.sleep(0.1)
        waiting.cancel()
        with pytest.raises(asyncio.CancelledError):
            await waiting
        assert not found
        while not found:
            await asyncio.sleep(0.05)
        end = time.monotonic() + 2.0  # the work itself takes longer
        while found[0].open_ or found[0].said.qsize():
            assert time.monotonic() < end, "it works for nobody"
            await asyncio.sleep(0.05)

    asyncio.run(leaves())


def test_nobody_waits_for_a_process_that_does_not_listen(store: Store, small: str) -> None:
    own, other = multiprocessing.Pipe()
    busy = _Warm(multiprocessing.Process(), own)
    speaking = Thread(target=busy.speak, daemon=True)
    speaking.start()
    large = replace(asked(store, small), survey="#" * (8 << 20), number=1)  # more than a pipe holds
    busy.take(large, lambda _: None)
    busy.drop(1)
    assert speaking.is_alive()
    assert not busy.open_
    assert (other.recv(), other.recv()) == (large, 1)
    other.close()


def page_of(store: Store, job: str, warm: Any) -> tuple[TestClient, dict[str, str]]:
    client = TestClient(create_app(Web(store, b"s" * 32, hosts=lambda _: True, warm=warm)))
    page = client.get(f"/jobs/{job}/walls/1").text
    token = re.search(r'name="token" value="(\w+)"', page)
    revision = re.search(r'name="revision" value="(\d+)"', page)
    assert token
    assert revision
    assert f'data-follow="/jobs/{job}/walls/1/figures"' in page
    return client, {"token": token[1], "revision": revision[1]}


def test_the_page_sends_its_form_and_is_told_in_events(store: Store, small: str) -> None:
    script = Scripted(Told(1), Told(1, ends=True, fault="no climate <b>"))
    client, form = page_of(store, small, script)
    where = f"/jobs/{small}/walls/1/figures"
    answer = client.post(where, data=form | {"length": "7 m", "shown": "cc-76"})
    assert answer.status_code == 200
    assert answer.headers["content-type"].startswith("text/event-stream")
    events = answer.text.split("\n\n")
    assert events[0].startswith(":")  # a line that only stays open
    assert json.loads(events[1].partition("data: ")[2]) == {"fault": "no climate <b>"}
    (ask,) = script.asked
    sent = read(ask.survey)
    assert sent.walls[0].length == pytest.approx(7.0, abs=1e-9)  # as typed
    assert ask.shown == "cc-76"
    assert store.text("survey", small).revision == 1  # nothing is kept


@pytest.mark.parametrize(
    ("field", "value", "status"),
    [("length", "20 ft 900 in", 422), ("length", "nan", 422), ("revision", "-1", 422),
     ("revision", "99", 422), ("token", "0" * 80, 403)],
)  # fmt: skip
def test_what_cannot_be_read_is_refused_before_anything_is_computed(
    store: Store, small: str, field: str, value: str, status: int
) -> None:
    script = Scripted()
    client, form = page_of(store, small, script)
    answer = client.post(f"/jobs/{small}/walls/1/figures", data=form | {field: value})
    assert answer.status_code == status
    assert not script.asked


def test_a_wall_that_is_not_there_and_a_server_without_warm_processes(
    store: Store, small: str
) -> None:
    client, form = page_of(store, small, Scripted())
    assert client.post(f"/jobs/{small}/walls/2/figures", data=form).status_code == 404
    bare = TestClient(create_app(Web(store, b"s" * 32, hosts=lambda _: True)))
    page = bare.get(f"/jobs/{small}/walls/1").text
    assert "data-figures" not in page
    assert "figures.js" not in page


def test_pages_of_other_prices_are_kept_by_the_process_that_has_the_house(
    store: Store, small: str, warm: WarmJobs, tmp_path: Path
) -> None:
    texts = {part: store.text(part, small).text for part in PARTS}  # type: ignore[arg-type]
    made = study(read(texts["survey"]), fields=False, years=0)
    prices = re.sub(
        r"(?m)^mark_up = .*$", "mark_up = 0.3", default_prices_of(store, small), count=1
    )
    store.save("prices", prices, 0, "owner", small)
    revisions = {part: store.text(part, small).revision for part in PARTS}  # type: ignore[arg-type]
    wanted = replace(
        asked(store, small), base=body_of(texts), prices=prices, texts=revisions, pages=True
    )

    async def told() -> str:
        *_, last = [one async for one in warm.follow(wanted)]
        assert last.ends
        return last.fault

    # a house that is known by the simple methods alone has no pages
    assert asyncio.run(told())
    assert not standing(store, small).fresh
    keep_study(store, body_of(texts), made, b"s" * 32)
    assert asyncio.run(told()) == ""
    assert standing(store, small).fresh
    anew = study(read(texts["survey"]), prices=read_prices(prices), fields=False, years=0)
    pages = standing(store, small).study
    assert pages["asked"]["before_tax"] == str(anew.price.before_tax)
    # the same house studied by these prices, in a store of its own, has the very same pages
    with Store.open(tmp_path / "anew.sqlite") as other:
        now = texts | {"prices": prices}
        list(keep_pages(other, now, anew, date.today()))
        assert opened(other.results.get(key_of(now))) == pages
        options = pages["walls"][0]["options"]
        assert len(options) > 2
        for option in options:
            assert evidence_of(store, pages, 1, option) == evidence_of(other, pages, 1, option)
            promises = {one["promise"] for one in evidence_of(store, pages, 1, option)["findings"]}
            assert promises >= {"warm", "dry"}
        assert has_pages(other, now)
        # evidence that was dropped is told, and made again with the next study
        gone = pages | {"evidence": ["0" * 64]}
        other.results.keep(key_of(now), "study", compressed(gone))
        assert not has_pages(other, now)
        with pytest.raises(LookupError):
            evidence_of(other, gone, 1, options[0])


def test_what_a_process_keeps_is_bounded(monkeypatch: pytest.MonkeyPatch) -> None:
    from warmside.web import warm_process

    jobs = warm_process._Jobs(None, b"")  # type: ignore[arg-type]
    jobs.grounds.update({str(n): None for n in range(9)})  # type: ignore[misc]
    monkeypatch.setattr(warm_process, "_taken", lambda: 0)  # not what these tests have taken
    jobs._bound()
    assert list(jobs.grounds) == ["3", "4", "5", "6", "7", "8"]
    monkeypatch.setattr(warm_process, "_taken", lambda: warm_process.MEMORY + 1)
    jobs._bound()
    assert list(jobs.grounds) == ["8"]


def test_pages_that_take_longer_than_an_answer_waits_are_made_all_the_same(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(fresh, "_MOST", 0.05)
    made = list[int]()

    class Slow:
        async def follow(self, wanted: Ask) -> AsyncGenerator[Told]:
            await asyncio.sleep(0.4)
            made.append(wanted.number)
            yield Told(wanted.number, ends=True)

    async def asks() -> None:
        wanted = Ask("a job", "", {}, "", "", 1, number=7)
        await fresh._begin(Slow(), wanted)  # type: ignore[arg-type]
        assert made == []  # the answer goes out
        while fresh._GOING:
            await asyncio.sleep(0.02)
        assert made == [7]

    asyncio.run(asyncio.wait_for(asks(), 10))
