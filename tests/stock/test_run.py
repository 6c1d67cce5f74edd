"""A run: the same to the last digit however it is done, whatever is killed in between."""

from __future__ import annotations

import errno
import os
import random
import signal
import subprocess
import sys
import time
from pathlib import Path

import polars as pl
import pytest
from polars.testing import assert_frame_equal

from stock.small import archetypes, houses
from warmside.errors import InputError
from warmside.stock import DiskFullError, Settings, Summary, files, run
from warmside.stock.schema import houses as columns

QUICK = Settings(draws=2, sample=0.0, near_factor=0.0, near_surface=0.0, near_water=0.0, chunk=2)
HOUSES = 6


def results(folder: Path) -> pl.DataFrame:
    return pl.read_parquet(folder / "stock.parquet")


@pytest.fixture(scope="module")
def usual(tmp_path_factory: pytest.TempPathFactory) -> Summary:
    folder = tmp_path_factory.mktemp("usual")
    return run(houses(HOUSES), archetypes(), folder, QUICK)


def test_every_house_is_there_in_the_order_of_the_table(usual: Summary):
    found = results(usual.folder)
    assert (usual.houses, usual.fresh, usual.refused) == (HOUSES, HOUSES, 0)
    assert found.schema == pl.Schema(columns())
    ids = found["id"].unique(maintain_order=True).to_list()
    assert ids == [f"H{k}" for k in range(HOUSES)]
    assert found.height == 3 * HOUSES  # as found and two options
    assert not (usual.folder / "refused.csv").read_text().splitlines()[1:]


def test_order_and_chunks_change_nothing(usual: Summary, tmp_path: Path):
    again = run(
        houses(HOUSES)[::-1], archetypes(), tmp_path, Settings(**{**vars(QUICK), "chunk": 3})
    )
    assert_frame_equal(
        results(again.folder).sort("id", "option"),
        results(usual.folder).sort("id", "option"),
        check_exact=True,
    )


def test_only_a_changed_house_is_run_again(usual: Summary):
    changed = [*houses(HOUSES)[:-1], houses(HOUSES + 1)[-1]]
    again = run(changed, archetypes(), usual.folder, QUICK)
    assert (again.houses, again.fresh) == (HOUSES, 1)
    back = run(houses(HOUSES), archetypes(), usual.folder, QUICK)
    assert back.fresh == 0


def test_a_file_that_was_cut_short_is_made_again(usual: Summary, tmp_path: Path):
    first = run(houses(HOUSES), archetypes(), tmp_path, QUICK)
    before = results(first.folder)
    files = sorted((tmp_path / "houses").glob("*.parquet"))
    files[0].write_bytes(files[0].read_bytes()[:100])
    again = run(houses(HOUSES), archetypes(), tmp_path, QUICK)
    assert 0 < again.fresh < HOUSES
    assert_frame_equal(results(again.folder), before, check_exact=True)
    assert_frame_equal(before, results(usual.folder), check_exact=True)


def test_bad_rows_are_kept_beside_the_results(tmp_path: Path):
    rows = [*houses(1), InputError([]), houses(2)[1]]
    from warmside.errors import Fault

    rows[1] = InputError([Fault("row 3, area", '"forty"', "an area")])
    found = run(rows, archetypes(), tmp_path, QUICK)
    assert (found.houses, found.refused) == (2, 1)
    assert (tmp_path / "refused.csv").read_text() == (
        'place,read,allowed\n"row 3, area","""forty""",an area\n'
    )


def test_more_refused_rows_than_are_held(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    from warmside.errors import Fault
    from warmside.stock import runs

    monkeypatch.setattr(runs, "_HELD", 1000)
    many = 500
    rows = [InputError([Fault(f"row {n}, name", "\ud800é", "a name")]) for n in range(many)]
    found = run(rows, archetypes(), tmp_path, QUICK)
    assert (found.houses, found.refused) == (0, many)
    lines = (tmp_path / "refused.csv").read_text("utf-8").splitlines()
    assert lines[0] == "place,read,allowed"
    assert lines[1:] == [f'"row {n}, name",?é,a name' for n in range(many)]


def test_a_full_disk_is_told_and_nothing_is_lost(
    usual: Summary, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
):
    """The third write of a chunk finds no space; what came before stands, the next run goes on."""
    real, left = os.fsync, [3]

    def full(handle: int) -> None:
        left[0] -= 1
        if left[0] < 0:
            raise OSError(errno.ENOSPC, "No space left on device")
        real(handle)

    monkeypatch.setattr(files.os, "fsync", full)
    with pytest.raises(DiskFullError, match="no space is left on the disk"):
        run(houses(HOUSES), archetypes(), tmp_path, QUICK)
    monkeypatch.undo()
    assert not list(tmp_path.rglob(".*.parquet*"))
    again = run(houses(HOUSES), archetypes(), tmp_path, QUICK)
    assert again.fresh == HOUSES - 2  # the first chunk had both its files
    assert_frame_equal(results(again.folder), results(usual.folder), check_exact=True)


SCRIPT = """
import sys
from pathlib import Path
sys.path.insert(0, {tests!r})
from stock.small import archetypes, houses
from warmside.stock import Settings, run

if __name__ == "__main__":
    settings = Settings(draws=2, sample=0.0, near_factor=0.0, near_surface=0.0, near_water=0.0,
                        chunk=2)
    run(houses({houses}), archetypes(), Path(sys.argv[1]), settings, count=int(sys.argv[2]))
"""


def start(folder: Path, count: int) -> subprocess.Popen[bytes]:
    script = folder.with_suffix(".py")
    tests = str(Path(__file__).parents[1])
    script.write_text(SCRIPT.format(tests=tests, houses=HOUSES))
    return subprocess.Popen(
        [sys.executable, str(script), str(folder), str(count)], start_new_session=True,
        env=os.environ | {"PYTHONPATH": os.pathsep.join(sys.path)},
    )  # fmt: skip


def test_killed_at_random_the_run_goes_on_to_the_same_result(usual: Summary, tmp_path: Path):
    """Killed three times at random moments, then left alone: equal to the last digit."""
    folder, rng = tmp_path / "killed", random.Random(8)
    for _ in range(3):
        process = start(folder, 1)
        time.sleep(rng.uniform(1.0, 4.0))
        os.killpg(process.pid, signal.SIGKILL)
        process.wait()
    assert start(folder, 1).wait(timeout=120) == 0
    assert_frame_equal(results(folder), results(usual.folder), check_exact=True)


def test_a_killed_worker_is_replaced(usual: Summary, tmp_path: Path):
    """Two processes, one of their number killed as soon as it works: equal to the last digit."""
    folder = tmp_path / "workers"
    process = start(folder, 2)
    killed = False
    for _ in range(600):
        time.sleep(0.05)
        if process.poll() is not None:
            break
        if not killed and list(folder.glob("houses/*.parquet")):
            killed = _kill_a_worker(process.pid)
    assert process.wait(timeout=120) == 0
    assert_frame_equal(results(folder), results(usual.folder), check_exact=True)


def _kill_a_worker(group: int) -> bool:
    """Kill one process that the pool's server began; whether there was one."""
    for status in Path("/proc").glob("[0-9]*/stat"):
        try:
            fields = status.read_text().rpartition(")")[2].split()
        except OSError:
            continue
        pid, parent, session = int(status.parent.name), int(fields[1]), int(fields[3])
        if session == group and parent not in (group, os.getpid()) and pid != group:
            os.kill(pid, signal.SIGKILL)
            return True
    return False


def test_workers_that_cannot_be_begun_are_begun_again(
    usual: Summary, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
):
    """The server that begins workers is lost as the first of them is asked for."""
    from multiprocessing.context import ForkServerProcess

    real, broken = ForkServerProcess._Popen, [True]  # type: ignore[attr-defined]

    def begin(process: object) -> object:
        if broken and broken.pop():
            raise BrokenPipeError(errno.EPIPE, "Broken pipe")
        return real(process)

    monkeypatch.setattr(ForkServerProcess, "_Popen", staticmethod(begin))
    again = run(houses(HOUSES), archetypes(), tmp_path, QUICK, count=2)
    assert not broken
    assert_frame_equal(results(again.folder), results(usual.folder), check_exact=True)


@pytest.mark.parametrize(("left", "most", "count"), [(1000, 10, 2), (40, 10, 2), (7, 10, 4)])
def test_chunks_grow_smaller_so_that_workers_end_together(left: int, most: int, count: int):
    """Every house once; no chunk over half a worker's share of what is left (exact: the rule)."""
    from warmside.stock import Known, runs

    every = [Known(k, f"H{k}", "shed") for k in range(left)]
    chunks = list(runs._chunks(iter(every), runs._sizes(left, most, count)))
    assert [house for chunk in chunks for house in chunk] == every
    for size in map(len, chunks):
        assert size == 1 or size <= min(most, left / (2 * count))
        left -= size
    assert len(chunks[-1]) == 1
