"""Copies of a store every minute while eight people save, and fifty kills: is all of it in them?

A server makes the copies by its own clock. Eight programs note entries through its API, one after
the other, and keep what was confirmed (201) with the moment of it. Server and programs are killed
in turn. Then every copy is put back, opened, and held against what was confirmed before the moment
that its name bears, which is when it was begun. ``--postgresql`` does the same over a database
server of the run's own.
"""

from __future__ import annotations

import argparse
import os
import random
import re
import sqlite3
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import ExitStack, closing, contextmanager
from datetime import UTC, datetime
from pathlib import Path

from record import record
from warmside.store import Store, restore
from warmside.store.backup import copies, made_at
from warmside.survey import template

WRITERS, KILLS = 8, 50
# a program that notes one entry after another, and tells what was confirmed
WRITER = """
import http.client, json, os, sys, time
port, job, me = sys.argv[1:]
for n in range(10**9):
    data = {"at": time.strftime("%Y-%m-%dT%H:%M:%SZ", time.gmtime()), "crew": me,
            "day": time.strftime("%Y-%m-%d", time.gmtime())}
    entry = {"id": f"{me}-{n:08d}", "kind": "day", "data": data}
    while True:
        try:
            line = http.client.HTTPConnection("localhost", int(port), timeout=60)
            line.request("POST", f"/api/jobs/{job}/entries", json.dumps(entry),
                         {"content-type": "application/json"})
            answer = line.getresponse()
            text = answer.read()
            line.close()
            if answer.status == 201:
                break
            sys.stderr.write(f"{answer.status} {text[:300]}\\n")
        except (OSError, http.client.HTTPException):
            pass
        time.sleep(0.5)
    os.write(1, f"{time.time():.6f} {entry['id']}\\n".encode())
    time.sleep(0.3)
"""


class Server:
    """The server, begun again after each kill at the same port."""

    def __init__(self, folder: Path, where: str) -> None:
        self._folder, self._where = folder, where
        self.port = 0
        self.begin()

    def begin(self) -> None:
        words = ["-m", "warmside", "serve", "--data", self._folder, "--port", self.port,
                 "--backup-to", self._folder / "copies", "--backup-every", 1,
                 "--backup-keep", 10_000]  # fmt: skip
        if self._where:
            words += ["--store", self._where]
        self.process = subprocess.Popen(
            [sys.executable, *map(str, words)],
            env=os.environ | {"PYTHONUNBUFFERED": "1"}, stdout=subprocess.PIPE, text=True,
        )  # fmt: skip
        told = self.process.stdout
        found = re.search(r"localhost:(\d+)", told.readline() if told else "")
        if found is None:
            raise SystemExit("the server did not begin")
        self.port = int(found[1])

    def kill(self) -> None:
        self.process.kill()
        self.process.wait(20)


class Writer:
    """One of the eight; what it was told goes to a file of its own."""

    def __init__(self, folder: Path, port: int, job: str, me: str) -> None:
        self._file = (folder / f"{me}.confirmed").open("wb")
        self.process = subprocess.Popen(
            [sys.executable, "-c", WRITER, str(port), job, me], stdout=self._file
        )

    def kill(self) -> None:
        self.process.kill()
        self.process.wait(20)
        self._file.close()


def confirmed(folder: Path) -> list[tuple[datetime, str]]:
    """What was confirmed and when; a line that was cut short was not told."""
    found = []
    for file in folder.glob("*.confirmed"):
        for line in file.read_text().splitlines(keepends=True):
            if line.endswith("\n"):
                moment, id = line.split()
                found.append((datetime.fromtimestamp(float(moment), UTC), id))
    return found


def lost(copy: Path, job: str, known: list[tuple[datetime, str]]) -> tuple[int, int]:
    """How many a copy should hold, and how many of them it does not, once it is put back."""
    began = made_at(copy)
    wanted = {id for moment, id in known if moment < began}
    with tempfile.TemporaryDirectory() as name:
        place = Path(name) / "warmside.sqlite"
        restore(copy, place)
        with closing(sqlite3.connect(place)) as file:
            if file.execute("PRAGMA integrity_check").fetchall() != [("ok",)]:
                return len(wanted), len(wanted)
        with Store.open(place) as store:
            there = {one.id for one in store.records.of(job)}
    return len(wanted), len(wanted - there)


def run(folder: Path, where: str, minutes: float, kills: int) -> int:
    """One run; how many entries were lost."""
    chance = random.Random(24)
    (folder / "copies").mkdir()
    with Store.open(where or folder / "warmside.sqlite") as store:
        job = store.new_job(template(), "owner").id
    server = Server(folder, where)
    writers = [Writer(folder, server.port, job, f"w{n}xxxx") for n in range(WRITERS)]
    pause = minutes * 60 / kills
    try:
        for number in range(kills):
            time.sleep(chance.uniform(0.5, 1.5) * pause)
            if number % 2:
                server.kill()
                server.begin()
            else:
                writers[number // 2 % WRITERS].kill()
                writers[number // 2 % WRITERS] = Writer(folder, server.port, job, f"r{number}xxxx")
        time.sleep(70.0)
    finally:  # whatever happens, nobody goes on saving
        for writer in writers:
            writer.kill()
        server.kill()
    known, missing = confirmed(folder), 0
    made = copies(folder / "copies")
    for copy in reversed(made):
        should, not_there = lost(copy, job, known)
        missing += not_there
        print(f"  {copy.name}: opens; {should} confirmed before it began, {not_there} not in it")
    left = [p.name for p in (folder / "copies").iterdir() if p not in made]
    print(f"{len(known)} confirmed, {kills} kills in {minutes:g} minutes, {len(made)} copies, "
          f"{missing} lost; {len(left)} unfinished, none of which bears a name")  # fmt: skip
    record("confirmed saves lost in copies", missing, "-", target="0")
    record("copies put back", len(made), "-", target=">= 5")
    # a run that kept or copied next to nothing shows nothing
    enough = len(made) >= max(2, minutes / 2) and len(known) > 2 * kills
    if not enough:
        print("too few copies or confirmed saves to show anything")
    return 1 if missing or not enough else 0


@contextmanager
def database() -> Iterator[str]:
    """Address of an empty database on a server of our own, which ends with the block."""
    import psycopg

    sys.path.append(str(Path(__file__).parents[1] / "tests"))
    from databases import database_server

    with database_server() as host:
        with psycopg.connect(
            f"host={host} user=warmside dbname=postgres", autocommit=True
        ) as connection:
            connection.execute("CREATE DATABASE copies")
        yield f"postgresql://warmside@/copies?host={host}"


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--minutes", type=float, default=12.0)
    parser.add_argument("--kills", type=int, default=KILLS)
    parser.add_argument("--postgresql", action="store_true")
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as name, ExitStack() as held:
        where = held.enter_context(database()) if options.postgresql else ""
        return run(Path(name), where, options.minutes, options.kills)


if __name__ == "__main__":
    raise SystemExit(main())
