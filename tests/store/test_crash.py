"""A writer killed with SIGKILL while it saves: what it had confirmed is there. Exact.

A killed process shows that no confirmed save waits in memory. That a confirmed save outlives a
power cut rests on ``synchronous = FULL`` (checked in test_engine.py), and on the disk.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import warmside
from warmside.store import Store

KILLS = 200 if os.environ.get("HYPOTHESIS_PROFILE") == "nightly" else 40
WRITER = Path(__file__).with_name("crash_writer.py")
SOURCE = {**os.environ, "PYTHONPATH": str(Path(warmside.__file__).parents[1])}


def kills(address: str, job: str, seeds: range):
    """What each killed writer had confirmed."""
    process = subprocess.Popen(
        [sys.executable, WRITER],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        env=SOURCE,
    )
    with process:
        for seed in seeds:
            process.stdin.write(json.dumps([address, job, seed]) + "\n")
            process.stdin.flush()
            yield seed, json.loads(process.stdout.readline())
        process.stdin.close()
    assert process.returncode == 0


def test_what_was_confirmed_is_there(address, survey):
    with Store.open(address) as store:
        job = store.new_job(survey, "Ann").id
    number = KILLS if "://" not in address else KILLS // 8
    records, surveys, confirmed = set(), {}, 0
    for seed, told in kills(address, job, range(number)):
        confirmed += len(told)
        with Store.open(address) as store:
            found = {(record.id, record.data["word"]) for record in store.records.of(job)}
            here, draft = store.text("survey", job), store.drafts.get("Ann", f"form {seed}", job)
        mine = {(name, word) for kind, name, word in told if kind == "record"}
        assert records | mine <= found
        assert len(found - records - mine) <= 1  # the one under way may or may not be there
        records = found
        surveys |= {name: word for kind, name, word in told if kind == "survey"}
        assert here.revision >= max(surveys, default=1)
        drafts = [n for kind, n, _ in told if kind == "draft"]
        if drafts:
            assert draft.data["n"] in (drafts[-1], drafts[-1] + 3)
    assert confirmed > 3 * number  # the writers were at it, not just starting
    with Store.open(address) as store:
        changes = store.history(job, most=1_000_000)
        assert [change.number for change in changes] == [*range(len(changes), 0, -1)]
        for revision, word in surveys.items():
            assert store.text_at(job, "survey", revision) == f"{survey}# {word}\n"


def test_a_killed_store_is_sound(tmp_path, survey):
    """Other method: SQLite's own check of the file after kills."""
    import sqlite3
    from contextlib import closing

    path = str(tmp_path / "s.sqlite")
    with Store.open(path) as store:
        job = store.new_job(survey, "Ann").id
    for _ in kills(path, job, range(1000, 1005)):
        with closing(sqlite3.connect(path)) as connection:
            assert connection.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
            assert connection.execute("PRAGMA foreign_key_check").fetchall() == []
