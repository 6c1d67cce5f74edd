"""A stock run: time and memory by houses, one and two Dask workers, killed and gone on with.

    ./bench stock                       100 and 1,000 houses on two processes
    ./bench stock --houses 20 40        other numbers
    ./bench stock --dask --houses 40    one worker of a local cluster against two
    ./bench stock --kill 10 --houses 40 killed ten times at random, workers and whole run in turn
    ./bench stock --dask --kill 10 --houses 40    Dask workers killed ten times at random

Seconds of work are those of all processes together; they say more than the clock where the
machine has other work to do.
"""

from __future__ import annotations

import argparse
import random
import re
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path

import polars as pl
import psutil
from polars.testing import assert_frame_equal

from record import record
from warmside.demo import write_stock

Strike = Callable[[subprocess.Popen[bytes], int], str]  # the run, how many kills; what is hit
GOAL_MINUTES, GOAL_MEMORY, GOAL_FASTER = 15.0, 2.0, 1.8


@dataclass(frozen=True)
class Measured:
    houses: int
    seconds: float
    work: float  # [s] of all processes
    memory: float  # [GiB] most, of all processes together
    chunks: int  # [bytes] of results kept on the way
    tables: int  # [bytes] of the tables at the end


def command(table: Path, out: Path, *more: str) -> list[str]:
    start = [sys.executable, "-m", "warmside", "stock", "run", str(table)]
    return [*start, "--out", str(out), *more]


def watched(process: subprocess.Popen[bytes]) -> tuple[float, float]:
    """Seconds of work and most memory [GiB] of a process and all that it began."""
    work: dict[int, float] = {}
    most = 0.0
    root = psutil.Process(process.pid)
    while process.poll() is None:
        memory = 0
        try:
            family = [root, *root.children(recursive=True)]
        except psutil.NoSuchProcess:
            break
        for one in family:
            try:
                work[one.pid] = sum(one.cpu_times()[:2])
                memory += one.memory_full_info().pss
            except psutil.Error:
                continue
        most = max(most, memory / 2**30)
        time.sleep(0.5)
    return sum(work.values()), most


def measure(houses: int, folder: Path, *more: str) -> Measured:
    table = write_stock(folder / f"in-{houses}", houses)
    out = folder / f"out-{houses}-{len(more)}"
    began = time.monotonic()
    process = subprocess.Popen(command(table, out, *more))
    work, memory = watched(process)
    if process.wait():
        sys.exit("the run failed")
    seconds = time.monotonic() - began
    chunks = size(*(out / "houses").iterdir(), *(out / "unknowns").iterdir())
    tables = size(out / "stock.parquet", out / "drawn.parquet")
    return Measured(houses, seconds, work, memory, chunks, tables)


def size(*files: Path) -> int:
    return sum(file.stat().st_size for file in files)


def by_houses(numbers: list[int], folder: Path) -> None:
    print(f"{'houses':>7} {'s':>8} {'s of work':>10} {'work a house':>13} {'GiB':>6}")
    found = [measure(n, folder, "--workers", "2") for n in numbers]
    for one in found:
        each = one.work / one.houses
        print(f"{one.houses:7d} {one.seconds:8.0f} {one.work:10.0f} {each:13.2f} {one.memory:6.2f}")
    first, last = found[0], found[-1]
    memory = max(m.memory for m in found)
    print(f"memory at most {memory:.2f} GiB (goal {GOAL_MEMORY:.0f})")
    record("memory of two processes", memory, "GiB", target=f"<= {GOAL_MEMORY:.0f}")
    record("chunks, a house", last.chunks / last.houses / 1e3, "kB")
    record("tables, a house", last.tables / last.houses / 1e3, "kB")
    # the archetypes are looked at once: what is left grows with the houses
    if last.houses > first.houses:
        each = (last.work - first.work) / (last.houses - first.houses)
        tell_growth(first, last, each)


def tell_growth(first: Measured, last: Measured, each: float) -> None:
    """How work grows with the houses, and what a thousand would take by it."""
    growth = (last.work / first.work) / (last.houses / first.houses)
    minutes = (last.work + each * (1000 - last.houses)) / 2 / 60
    print(
        f"work grows by {growth:.2f} of the houses from {first.houses} to {last.houses} (1: linear)"
    )
    print(f"1,000 houses on two free cores by this: {minutes:.1f} min (goal {GOAL_MINUTES:.0f})")
    record("work, a house", each, "s")
    record("work, once for all houses", first.work - each * first.houses, "s")
    record("1,000 houses on two cores", minutes, "min", target=f"<= {GOAL_MINUTES:.0f}")


@dataclass(frozen=True)
class Cluster:
    """A local scheduler and its workers."""

    address: str
    workers: list[subprocess.Popen[bytes]]

    def begin(self) -> None:
        """Begin one more worker, as a person does; killed, nobody begins it again."""
        more = ["--nthreads", "1", "--no-dashboard", "--no-nanny"]
        start = [sys.executable, "-m", "distributed.cli.dask_worker", self.address, *more]
        self.workers.append(subprocess.Popen(start, stderr=subprocess.DEVNULL))

    def work(self) -> list[float]:
        """Seconds of work of each worker."""
        return [sum(psutil.Process(one.pid).cpu_times()[:2]) for one in self.workers]


@contextmanager
def cluster(count: int) -> Iterator[Cluster]:
    """A local scheduler and so many workers."""
    scheduler = subprocess.Popen(
        [sys.executable, "-m", "distributed.cli.dask_scheduler", "--port", "0", "--no-dashboard",
         "--host", "127.0.0.1"],
        stderr=subprocess.PIPE, text=True,
    )  # fmt: skip
    lines = scheduler.stderr or ()
    found = (re.search(r"Scheduler at:\s+(tcp://\S+)", line) for line in lines)
    address = next(told[1] for told in found if told)
    there = Cluster(address, [])
    for _ in range(count):
        there.begin()
    time.sleep(8.0)
    try:
        yield there
    finally:
        for process in (*there.workers, scheduler):
            process.terminate()
            process.wait()


def by_workers(houses: int, folder: Path) -> None:
    seconds, frames = [], []
    for count in (1, 2):
        out = folder / f"cluster-{count}"
        table = write_stock(folder / "in", houses)
        with cluster(count) as there:
            before = there.work()
            began = time.monotonic()
            subprocess.run(command(table, out, "--cluster", there.address), check=True)
            seconds.append(time.monotonic() - began)
            work = [after - start for start, after in zip(before, there.work(), strict=True)]
        frames.append(pl.read_parquet(out / "stock.parquet"))
        told = " and ".join(f"{one:.0f}" for one in work)
        print(f"{count} Dask worker(s): {seconds[-1]:.0f} s, {told} s of work")
    assert_frame_equal(frames[0], frames[1], check_exact=True)
    faster = seconds[0] / seconds[1]
    print(f"two are {faster:.2f} times as fast as one (goal {GOAL_FASTER}), with equal results")


def killed(table: Path, folder: Path, times: int, more: list[str], strike: Strike) -> None:
    """Strike a run at random moments while it works; its result against that of a calm run."""
    calm, out, rng = folder / "calm", folder / "killed", random.Random(2)
    subprocess.run(command(table, calm, "--workers", "2"), check=True)
    kills, process = 0, subprocess.Popen(command(table, out, *more))
    while kills < times:
        time.sleep(rng.uniform(3.0, 15.0))
        if process.poll() is None:
            kills += 1
            print(f"kill {kills}: {strike(process, kills)}", flush=True)
        elif process.returncode > 0:
            sys.exit("the run failed")
        else:  # done before the last kill: a kill that meets no work shows nothing
            shutil.rmtree(out)
        if process.poll() is not None:
            process = subprocess.Popen(command(table, out, *more))
    if process.wait():
        sys.exit("the run failed")
    one, two = (pl.read_parquet(where / "stock.parquet") for where in (calm, out))
    assert_frame_equal(one, two, check_exact=True)
    print(f"killed {times} times at work: equal to the last digit")


def run_or_worker(process: subprocess.Popen[bytes], kills: int) -> str:
    """Kill a worker, every second time the whole run."""
    root = psutil.Process(process.pid)
    family = [one for one in root.children(recursive=True) if one.children() == []]
    if kills % 2 == 0 and family:
        max(family, key=lambda one: sum(one.cpu_times()[:2])).kill()
        return "a worker"
    for one in (*root.children(recursive=True), root):
        with suppress(psutil.NoSuchProcess):
            one.kill()
    process.wait()
    return "the run"


def killed_here(houses: int, times: int, folder: Path) -> None:
    table = write_stock(folder / "in", houses)
    killed(table, folder, times, ["--workers", "2"], run_or_worker)


def killed_there(houses: int, times: int, folder: Path) -> None:
    """A worker of a Dask cluster killed, another begun in its place."""
    table = write_stock(folder / "in", houses)
    with cluster(2) as there:

        def strike(_process: subprocess.Popen[bytes], kills: int) -> str:
            one = there.workers.pop(kills % 2)
            one.kill()
            one.wait()
            there.begin()
            return "a Dask worker"

        killed(table, folder, times, ["--cluster", there.address], strike)


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--houses", type=int, nargs="+", default=[100, 1000])
    parser.add_argument("--dask", action="store_true")
    parser.add_argument("--kill", type=int, default=0)
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        if asked.dask and asked.kill:
            killed_there(asked.houses[0], asked.kill, Path(folder))
        elif asked.dask:
            by_workers(asked.houses[0], Path(folder))
        elif asked.kill:
            killed_here(asked.houses[0], asked.kill, Path(folder))
        else:
            by_houses(asked.houses, Path(folder))


if __name__ == "__main__":
    main()
