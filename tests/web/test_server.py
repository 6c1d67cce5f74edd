"""The server as it runs: killed while it saves, an older store, a database. Exact where counted."""

from __future__ import annotations

import os
import random
import re
import shutil
import signal
import sqlite3
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import closing
from http.client import HTTPConnection, HTTPException
from pathlib import Path
from urllib.parse import urlencode

import psycopg
import pytest

from databases import database_server
from serving import SOURCE, served
from warmside.store import Store, restore
from warmside.survey import template

KILLS = {"nightly": 200, "check": 10}.get(os.environ.get("HYPOTHESIS_PROFILE", ""), 3)
FIRST = Path(__file__).parents[1] / "store" / "first_release.sqlite"


class Browser:
    """As much of one as saves a form."""

    def __init__(self, port: int) -> None:
        self._port = port
        self._cookie = ""

    def ask(self, path: str, form: dict[str, str] | None = None) -> tuple[int, str]:
        head = {"cookie": self._cookie, "origin": f"http://localhost:{self._port}",
                "content-type": "application/x-www-form-urlencoded"}  # fmt: skip
        method, body = ("GET", None) if form is None else ("POST", urlencode(form))
        with closing(HTTPConnection("localhost", self._port, timeout=60)) as line:
            line.request(method, path, body, head)
            answer = line.getresponse()
            text = answer.read().decode()
        if cookie := answer.getheader("set-cookie"):
            self._cookie = cookie.partition(";")[0]
        return answer.status, text

    def form_of(self, path: str) -> dict[str, str]:
        """Token and revision of the page's form."""
        html = self.ask(path)[1]
        found = re.findall(r'name="(token|revision)" value="(\w+)"', html)
        return dict(reversed(found))


def saving(port: int, job: str, number: int, confirmed: list[str]) -> None:
    """Save notes of the wall without pause until the line breaks; note what was confirmed."""
    browser, n = Browser(port), 0
    try:
        while True:
            path, n = f"/jobs/{job}/walls/1", n + 1
            word = f"note {number}-{n}"
            status, _ = browser.ask(path, browser.form_of(path) | {"notes": word})
            if status == 303:
                confirmed.append(word)
    except (OSError, HTTPException):
        return


def test_what_was_confirmed_outlives_a_kill(tmp_path: Path) -> None:
    chance, confirmed = random.Random(7), list[str]()
    with Store.open(tmp_path / "warmside.sqlite") as store:
        job = store.new_job(template(), "owner").id
    for number in range(KILLS):
        mine: list[str] = []
        with served(tmp_path) as (port, process):
            writer = threading.Thread(target=saving, args=(port, job, number, mine))
            writer.start()
            end = time.monotonic() + 60
            while len(mine) < chance.randint(1, 3) and time.monotonic() < end:
                time.sleep(0.005)
            time.sleep(chance.uniform(0.0, 0.05))
            os.kill(process.pid, signal.SIGKILL)
            writer.join(60)
        assert mine, "nothing was confirmed before the kill"
        confirmed += mine
        with Store.open(tmp_path / "warmside.sqlite") as store:
            here = store.text("survey", job)
            past = {store.text_at(job, "survey", c.number) for c in store.history(job, 10_000)}
        kept = set(re.findall(r"note \d+-\d+", "".join(past)))
        assert set(confirmed) <= kept
        assert len(kept - set(confirmed)) <= number + 1  # those under way may be there or not
        assert here.text in past
    with closing(sqlite3.connect(tmp_path / "warmside.sqlite")) as file:
        assert file.execute("PRAGMA integrity_check").fetchone() == ("ok",)


def test_a_store_of_the_previous_release_opens_as_pages(tmp_path: Path) -> None:
    shutil.copy(FIRST, tmp_path / "warmside.sqlite")
    with closing(sqlite3.connect(FIRST)) as first:
        jobs = dict(first.execute("SELECT id, name FROM job WHERE archived = 0 AND id != 'shop'"))
    with served(tmp_path) as (port, _):
        browser = Browser(port)
        listed = browser.ask("/")[1]
        for job, name in jobs.items():
            assert name.replace("&", "&amp;").replace("'", "&#39;") in listed
            for part in ("", "/house", "/walls/1", "/photos", "/history", "/survey", "/study"):
                assert browser.ask(f"/jobs/{job}{part}")[0] == 200, part
            path = f"/jobs/{job}/walls/1"
            saved = browser.ask(path, browser.form_of(path) | {"notes": "after the upgrade"})
            assert saved[0] == 303
            assert "after the upgrade" in browser.ask(path)[1]
    copies = [p for p in tmp_path.iterdir() if p.suffix == ".sqlite" or "backup" in p.name]
    assert len(copies) >= 2  # the store as it was lies beside it


@pytest.fixture
def database() -> Iterator[str]:
    """The address of an empty database on a server of our own."""
    with database_server() as folder:
        admin = f"host={folder} user=warmside dbname=postgres"
        with psycopg.connect(admin, autocommit=True) as connection:
            connection.execute("CREATE DATABASE pages")
        yield f"postgresql://warmside@/pages?host={folder}"


@pytest.mark.part("postgres")
def test_the_pages_stand_on_postgresql(tmp_path: Path, database: str) -> None:
    for word in ("first", "after a restart"):
        with served(tmp_path, "--store", database) as (port, _):
            browser = Browser(port)
            found = re.search(r'href="/jobs/(\w+)"', browser.ask("/")[1])
            assert found  # the demonstration job, begun once
            here = f"/jobs/{found[1]}"
            form = browser.form_of(f"{here}/walls/1") | {"notes": word}
            assert browser.ask(f"{here}/walls/1", form)[0] == 303
            assert word in browser.ask(f"{here}/walls/1")[1]
            for part in ("", "/house", "/photos", "/history", "/survey", "/study", "/prices"):
                assert browser.ask(here + part)[0] == 200, part
            assert browser.ask("/units")[0] == 200
    with Store.open(database) as store:
        assert "after a restart" in store.text("survey", found[1]).text
    assert not (tmp_path / "warmside.sqlite").exists()


def test_an_address_that_is_none_is_told(tmp_path: Path) -> None:
    command = [sys.executable, "-m", "warmside", "serve", "--data", str(tmp_path), "--port", "0"]
    told = os.environ | {"PYTHONPATH": SOURCE}
    answer = subprocess.run(
        [*command, "--store", "ftp://nowhere/x"], env=told, capture_output=True, text=True,
        timeout=60, check=False,
    )  # fmt: skip
    assert answer.returncode == 1
    assert "ftp://" in answer.stderr
    assert "Traceback" not in answer.stderr


def test_copies_are_made_while_it_is_served(tmp_path: Path) -> None:
    """A copy at the start, none more before it is due, one when it is; a bad folder is told."""
    data, folder = tmp_path / "data", tmp_path / "copies"
    folder.mkdir()

    def made(least: int) -> list[Path]:
        end = time.monotonic() + 30
        while len(list(folder.glob("*.sqlite"))) < least and time.monotonic() < end:
            time.sleep(0.1)
        return sorted(folder.glob("*.sqlite"))

    with served(data, "--backup-to", str(folder)) as (port, _):
        (first,) = made(1)
        browser = Browser(port)
        job = re.search(r'href="/jobs/(\w+)"', browser.ask("/")[1])
        assert job
    with served(data, "--backup-to", str(folder)) as (port, _):
        time.sleep(7)  # longer than it takes to look at the clock
        assert made(1) == [first]
    old = first.rename(
        first.with_name(re.sub(r"\d{8}T\d{12}", "20200101T000000000000", first.name))
    )
    with served(data, "--backup-to", str(folder), "--backup-keep", "1") as (port, _):
        end = time.monotonic() + 30
        while old.exists() and time.monotonic() < end:
            time.sleep(0.1)
        (second,) = made(1)
    restore(second, tmp_path / "back.sqlite")
    with Store.open(tmp_path / "back.sqlite") as store:
        assert [kept.id for kept in store.jobs()] == [job[1]]
