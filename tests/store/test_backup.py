"""Copies of a whole store: whole whatever happens meanwhile, and put back only where asked. Exact.

What a copy must hold follows from the meaning of "confirmed", not from the program: every save
that a writer was told of before the copy was begun. SQLite's own ``integrity_check`` and a second
reading by ``sqlite3`` alone are the other method.
"""

from __future__ import annotations

import os
import random
import shutil
import signal
import sqlite3
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from contextlib import closing
from io import BytesIO
from pathlib import Path

import pytest
from PIL import Image

import warmside
from warmside.errors import InputError
from warmside.store import Store, StoreError, back_up, checked_copy, restore
from warmside.store.backup import copies
from warmside.store.tables import metadata

ROUNDS = {"nightly": 60, "check": 8}.get(os.environ.get("HYPOTHESIS_PROFILE", ""), 4)
WRITERS = 8
SOURCE = {**os.environ, "PYTHONPATH": str(Path(warmside.__file__).parents[1])}
WRITER = """
import os, sys
from itertools import count
from warmside.store import Store
address, job, me = sys.argv[1:]
store = Store.open(address)
for n in count():
    store.records.add(job, "day", {"word": f"{me}-{n}"}, "Ann")
    os.write(1, f"{me}-{n}\\n".encode())
"""


class Writer:
    """A process that saves without pause; ``confirmed`` is what it was told is kept."""

    def __init__(self, address: str, job: str, me: str) -> None:
        self.confirmed: list[str] = []
        command = [sys.executable, "-c", WRITER, address, job, me]
        self.process = subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=SOURCE)
        self.reader = threading.Thread(target=self._read)
        self.reader.start()

    def _read(self) -> None:
        assert self.process.stdout
        for line in self.process.stdout:
            if line.endswith("\n"):  # a line cut short was not told
                self.confirmed.append(line.strip())

    def kill(self) -> None:
        self.process.kill()
        self.process.wait(20)
        self.reader.join(20)
        assert self.process.stdout
        self.process.stdout.close()


def _more(before: list[str], gone: list[str], writers: list[Writer]) -> list[str]:
    """What is confirmed by now, once it is more than before: a copy without a save says nothing."""
    until = time.monotonic() + 120.0
    while time.monotonic() < until:
        now = gone + [word for writer in writers for word in list(writer.confirmed)]
        if len(now) > len(before):
            return now
        time.sleep(0.05)
    raise AssertionError("nothing was saved for two minutes")


def words_in(copy: Path, job: str, at: Path) -> list[str]:
    """What a restored copy holds, after SQLite's own check of the file."""
    restore(copy, at)
    with closing(sqlite3.connect(at)) as file:
        assert file.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
        assert file.execute("PRAGMA foreign_key_check").fetchall() == []
    with Store.open(at) as store:
        return [str(record.data["word"]) for record in store.records.of(job)]


def test_every_copy_holds_what_was_confirmed_before_it_began(
    address: str, survey: str, tmp_path: Path
) -> None:
    chance, folder = random.Random(11), tmp_path / "copies"
    folder.mkdir()
    with Store.open(address) as store:
        job = store.new_job(survey, "Ann").id
    rounds = ROUNDS if "://" not in address else max(2, ROUNDS // 4)
    writers, gone, made = [], list[str](), []
    try:
        writers = [Writer(address, job, f"w{n}") for n in range(WRITERS)]
        until = time.monotonic() + 120.0
        while sum(bool(w.confirmed) for w in writers) < WRITERS:
            assert time.monotonic() < until, "not every writer could save"
            time.sleep(0.05)
        before: list[str] = []
        for number in range(rounds):
            before = _more(before, gone, writers)
            killer = threading.Timer(chance.uniform(0, 0.05), writers[number % WRITERS].kill)
            killer.start()  # in the middle of the copy
            made.append((back_up(address, folder).path, before))
            killer.join()
            gone += writers[number % WRITERS].confirmed
            writers[number % WRITERS] = Writer(address, job, f"r{number}")
    finally:
        for writer in writers:
            writer.kill()
    everything = set(gone) | {word for w in writers for word in w.confirmed}
    for number, (copy, before) in enumerate(made):
        found = words_in(copy, job, tmp_path / f"{number}.sqlite")
        assert set(before) <= set(found)
        assert len(found) == len(set(found))
        # more than was confirmed: at most the one save that each writer had under way
        assert len(set(found) - everything) <= WRITERS + rounds
    assert len(made[-1][1]) > len(made[0][1]) >= WRITERS  # they were at it all the time


def test_a_copy_that_is_killed_never_bears_its_name(tmp_path: Path, survey: str) -> None:
    place, folder, chance = tmp_path / "s.sqlite", tmp_path / "copies", random.Random(5)
    folder.mkdir()
    with Store.open(place) as store:
        job = store.new_job(survey, "Ann").id
        for n in range(60):
            store.results.keep(f"{n:064x}", "study", random.Random(n).randbytes(1 << 19))
    copier = "import sys\nfrom pathlib import Path\nfrom warmside.store import back_up\nprint()\n" \
             "sys.stdout.flush()\nwhile True: back_up(sys.argv[1], Path(sys.argv[2]))"  # fmt: skip
    for _ in range(ROUNDS):
        command = [sys.executable, "-c", copier, place, folder]
        process = subprocess.Popen(command, env=SOURCE, stdout=subprocess.PIPE)
        assert process.stdout
        process.stdout.readline()
        time.sleep(chance.uniform(0.05, 0.8))
        process.send_signal(signal.SIGKILL)
        process.wait(20)
        process.stdout.close()
    for copy in copies(folder):
        assert checked_copy(copy).counts["result"] == 60
        with closing(sqlite3.connect(copy)) as file:
            assert file.execute("SELECT id FROM job WHERE id = ?", (job,)).fetchone() == (job,)
    with Store.open(place) as store:
        assert store.job(job).id == job


def photo() -> bytes:
    file = BytesIO()
    Image.new("RGB", (60, 40), "brown").save(file, "JPEG")
    return file.getvalue()


def filled(address: str | Path, survey: str) -> str:
    """A store with something in every table; the id of its job."""
    with Store.open(address) as store:
        job = store.new_job(survey, "Ann").id
        store.photos.add(job, photo(), "Ann", caption="Ångström's wall")
        store.records.add(job, "day", {"word": "x"}, "Ann")
        store.drafts.keep("Ann", "house", {"a": "ü"}, job)
        store.people.add("Ann", "owner", "correct horse staple", "Ann")
        store.people.add("Kim", "crew", "another long word", "Ann")
        store.people.assign("Kim", job, "Ann")
        store.sessions.begin("Ann")
        store.results.keep("ab" * 32, "study", bytes(range(256)) * 10)
        store.tasks.ask("study", "cd" * 32, "Ann", job, {"n": 1})
        return job


def rows(address: str | Path) -> dict[str, list[tuple[object, ...]]]:
    """Every row of every table, as plain values."""
    with Store.open(address) as store, store._db.reading() as connection:
        return {
            table.name: sorted(
                (tuple(bytes(v) if isinstance(v, memoryview) else v for v in row)
                 for row in connection.execute(table.select())), key=repr)
            for table in metadata.sorted_tables
        }  # fmt: skip


def test_what_comes_back_is_what_was_copied(address: str, survey: str, tmp_path: Path) -> None:
    job = filled(address, survey)
    copy = back_up(address, tmp_path / "copy.sqlite")
    assert all(copy.counts[table.name] > 0 for table in metadata.sorted_tables)
    restored = restore(copy.path, tmp_path / "new" / "warmside.sqlite")
    assert restored.before is None
    assert rows(tmp_path / "new" / "warmside.sqlite") == rows(address)
    with Store.open(tmp_path / "new" / "warmside.sqlite") as store:
        assert store.people.sign_in("Ann", "correct horse staple")
        (kept,) = store.photos.of(job)
        assert Image.open(BytesIO(store.photos.file(job, kept.id))).size == (60, 40)
    assert (copy.path.stat().st_mode & 0o777) == 0o600  # clients and their homes
    assert sorted(p.name for p in tmp_path.iterdir() if "part" in p.name) == []


@pytest.mark.part("postgres")
def test_a_copy_goes_into_the_other_engine(
    new_database: Callable[[], str], survey: str, tmp_path: Path
) -> None:
    filled(tmp_path / "s.sqlite", survey)
    copy, database = back_up(tmp_path / "s.sqlite", tmp_path / "copy.sqlite"), new_database()
    before = copy.path.read_bytes()
    restore(copy.path, database)
    assert rows(database) == rows(tmp_path / "s.sqlite")
    assert copy.path.read_bytes() == before
    with pytest.raises(InputError, match="holds a store"):
        restore(copy.path, database)
    with Store.open(database) as store:
        other = store.new_job(survey, "Ann").id
    aside = restore(copy.path, database, replace=True).before
    assert rows(database) == rows(tmp_path / "s.sqlite")
    assert aside is not None
    restore(aside, tmp_path / "aside.sqlite")
    with Store.open(tmp_path / "aside.sqlite") as store:
        assert store.job(other).id == other  # what stood there is not lost


def test_nothing_is_replaced_unasked_or_in_use(tmp_path: Path, survey: str) -> None:
    old, new = tmp_path / "old.sqlite", tmp_path / "new.sqlite"
    first, second = filled(old, survey), filled(new, survey)
    copy = back_up(new, tmp_path / "copy.sqlite").path
    with pytest.raises(InputError, match="holds a store"):
        restore(copy, old)
    with Store.open(old) as store:
        assert store.job(first).id == first
        with pytest.raises(StoreError, match="in use"):
            restore(copy, old, replace=True)
        store.records.add(first, "day", {"word": "after"}, "Ann")
    aside = restore(copy, old, replace=True).before
    assert aside is not None
    with Store.open(old) as store, Store.open(aside) as before:
        assert [job.id for job in store.jobs()] == [second]
        assert [job.id for job in before.jobs()] == [first]
        assert [r.data["word"] for r in before.records.of(first)] == ["x", "after"]


def test_a_log_left_behind_is_not_played_into_the_new_file(tmp_path: Path, survey: str) -> None:
    job = filled(tmp_path / "s.sqlite", survey)
    copy, place = back_up(tmp_path / "s.sqlite", tmp_path / "copy.sqlite").path, tmp_path / "w.db"
    log = tmp_path / "w.db-wal"
    log.write_bytes(b"\x37\x7f\x06\x82" + bytes(4000))
    with pytest.raises(InputError, match="holds a store"):
        restore(copy, place)
    restore(copy, place, replace=True)
    with Store.open(place) as store:
        assert store.job(job).id == job


@pytest.mark.parametrize(
    "harm", ["cut", "byte", "text", "photo", "random", "other", "newer", "none"]
)
def test_an_unsound_copy_is_refused_before_anything_is_replaced(
    harm: str, tmp_path: Path, survey: str
) -> None:
    filled(tmp_path / "s.sqlite", survey)
    place = filled(tmp_path / "place.sqlite", survey)
    copy = back_up(tmp_path / "s.sqlite", tmp_path / "copy.sqlite").path
    if harm == "cut":
        copy.write_bytes(copy.read_bytes()[: copy.stat().st_size // 2])
    elif harm == "byte":
        data = bytearray(copy.read_bytes())
        data[4096 : 4096 + 64] = bytes(64)
        copy.write_bytes(data)
    elif harm == "random":
        copy.write_bytes(random.Random(1).randbytes(50_000))
    elif harm == "none":
        copy.unlink()
    else:
        order = {
            "text": "UPDATE content SET body = body || ' '",
            "photo": "UPDATE photo_file SET image = x'00'",
            "other": "DROP TABLE content",
            "newer": "UPDATE alembic_version SET version_num = '9999'",
        }[harm]
        with closing(sqlite3.connect(copy)) as file:
            file.execute(order)
            file.commit()
    for replace in (False, True):
        with pytest.raises(InputError, match="copy"):
            restore(copy, tmp_path / "place.sqlite", replace)
    with pytest.raises(InputError):
        restore(copy, tmp_path / "empty.sqlite")
    assert not (tmp_path / "empty.sqlite").exists()
    with Store.open(tmp_path / "place.sqlite") as store:
        assert store.job(place).id == place


def test_a_folder_keeps_so_many_and_nothing_else_is_touched(tmp_path: Path, survey: str) -> None:
    folder = tmp_path / "copies"
    folder.mkdir()
    filled(tmp_path / "s.sqlite", survey)
    filled(tmp_path / "other.sqlite", survey)
    theirs = back_up(tmp_path / "other.sqlite", folder).path  # of another shop
    own = folder / "warmside-notes.sqlite"
    own.write_text("mine")
    shop = back_up(tmp_path / "s.sqlite", folder).path.name[:17]
    dead, under_way = (folder / f"{shop}-20260101T000000{n:06d}Z.sqlite.9.part" for n in (1, 2))
    others = folder / f"warmside-00000000-20260101T000000{1:06d}Z.sqlite.9.part"
    for half in (dead, under_way, others):
        half.write_bytes(b"half a copy")
    for half in (dead, others):
        os.utime(half, (0, 0))
    made = [back_up(tmp_path / "s.sqlite", folder, 3).path for _ in range(5)]
    left = (theirs, own, under_way, others, *made[-3:])
    assert {p.name for p in folder.iterdir()} == {p.name for p in left}
    with pytest.raises(InputError, match="copies to keep"):
        back_up(tmp_path / "s.sqlite", folder, 0)


def test_a_full_disk_leaves_the_old_copies(tmp_path: Path, survey: str) -> None:
    """A file that may not grow any more stands for a full disk."""
    folder = tmp_path / "copies"
    folder.mkdir()
    with Store.open(tmp_path / "s.sqlite") as store:
        store.new_job(survey, "Ann")
        store.results.keep("ab" * 32, "study", bytes(8 << 20))
    first = back_up(tmp_path / "s.sqlite", folder, 1).path
    limited = "import resource, signal, sys\nfrom pathlib import Path\n" \
              "from warmside.store import StoreError, back_up\n" \
              "signal.signal(signal.SIGXFSZ, signal.SIG_IGN)\n" \
              "resource.setrlimit(resource.RLIMIT_FSIZE, (2 << 20, 2 << 20))\n" \
              "try: back_up(sys.argv[1], Path(sys.argv[2]), 1)\n" \
              "except StoreError as error: print(error)"  # fmt: skip
    command = [sys.executable, "-c", limited, tmp_path / "s.sqlite", folder]
    told = subprocess.run(command, env=SOURCE, capture_output=True, text=True, timeout=60)
    assert "could not" in told.stdout, told.stderr
    assert [*folder.iterdir()] == [first]
    checked_copy(first)


def test_an_older_store_goes_back_and_is_brought_up_to_date(tmp_path: Path) -> None:
    first = Path(__file__).with_name("first_release.sqlite")
    shutil.copy(first, tmp_path / "s.sqlite")
    copy = back_up(tmp_path / "s.sqlite", tmp_path / "copy.sqlite")
    assert copy.version == "0001"
    restore(copy.path, tmp_path / "new.sqlite")
    with closing(sqlite3.connect(first)) as file:
        jobs = {row[0] for row in file.execute("SELECT id FROM job WHERE id != 'shop'")}
    with Store.open(tmp_path / "new.sqlite") as store:
        assert {j.id for j in (*store.jobs(), *store.jobs(archived=True))} == jobs


def test_the_commands_tell_what_they_did(tmp_path: Path, survey: str) -> None:
    def run(*words: object) -> tuple[int, str, str]:
        command = [sys.executable, "-m", "warmside", *map(str, words)]
        told = subprocess.run(command, env=SOURCE, capture_output=True, text=True, timeout=60)
        return told.returncode, told.stdout, told.stderr

    data = tmp_path / "data"
    data.mkdir()
    filled(data / "warmside.sqlite", survey)
    copy = tmp_path / "copy.sqlite"
    status, said, _ = run("backup", "--data", data, "--to", copy)
    assert (status, "1 job, " in said) == (0, True)
    assert run("backup", "--data", data, "--to", copy)[0] == 1  # never over a file
    status, said, _ = run("restore", copy, "--check")
    assert (status, "can be put back: 1 job, " in said) == (0, True)
    assert run("restore", copy, "--data", tmp_path / "new")[0] == 0
    status, _, said = run("restore", copy, "--data", data)
    assert (status, "which holds a store" in said, "Traceback" in said) == (1, True, False)
    status, _, said = run("backup", "--data", tmp_path / "nothing", "--to", tmp_path)
    assert (status, "not there" in said, "Traceback" in said) == (1, True, False)
    assert [p for p in tmp_path.iterdir() if p.suffix == ".part"] == []
