"""Processes that share a study's work: order, what is sent how often, and faults."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import psutil
import pytest

from sent import Work
from warmside.survey import template
from warmside.workers import here, shared


def test_work_is_sent_once_for_each_process_and_comes_back_in_order():
    items = list(range(12))
    with shared(2) as each:
        told = list(each(Work(99), items, lambda item: -item))
    assert [item for item, _, _ in told] == items  # exact: whatever is begun first
    assert os.getpid() not in {pid for _, pid, _ in told}
    assert {times for _, _, times in told} == {1}  # exact: not once more with every item


def test_other_work_takes_the_place_of_the_last():
    with shared(2) as each:
        first = list(each(Work(99), [1, 2]))
        second = list(each(Work(2), [1, 2]))
    assert [item for item, _, _ in first + second] == [1, 2, 1, 2]
    with shared(2) as each, pytest.raises(ValueError, match="3 is too much"):
        list(each(Work(2), [1, 3]))


def test_a_command_keeps_the_matrix_library_to_one_core_unless_told_otherwise():
    # exact: what the library reads of its threads when it is imported, once a command has begun
    script = (
        "import sys; sys.argv = ['warmside', '--version']\n"
        "from warmside.cli import run\n"
        "try: run()\nexcept SystemExit: pass\n"
        "import os; print(os.environ['OPENBLAS_NUM_THREADS'])"
    )
    for told, expected in ((None, "1"), ("3", "3")):
        kept = {k: v for k, v in os.environ.items() if k != "OPENBLAS_NUM_THREADS"}
        given = kept | ({"OPENBLAS_NUM_THREADS": told} if told else {})
        given["PYTHONPATH"] = str(Path(__file__).parents[1] / "src")
        command = [sys.executable, "-c", script]
        said = subprocess.run(command, capture_output=True, text=True, check=True, env=given)
        assert said.stdout.splitlines()[-1] == expected


def test_one_process_keeps_everything_here():
    with shared(1) as each:
        assert each is here
        assert [pid for _, pid, _ in each(Work(99), [1, 2])] == [os.getpid()] * 2


def test_a_killed_command_leaves_no_process():
    """It closes nothing, so its workers have to notice by themselves."""
    script = (
        "import sys, time\nfrom sent import answer\nfrom warmside.workers import shared\n"
        "if __name__ == '__main__':\n"
        "    with shared(2) as over:\n"
        "        print(*{pid for _, pid in over(answer, [0, 1, 2, 3])}, flush=True)\n"
        "        time.sleep(600)\n"
    )
    root = Path(__file__).parents[1]
    paths = os.pathsep.join((str(root / "src"), str(root / "tests")))
    command = [sys.executable, "-c", script]
    process = subprocess.Popen(
        command, stdout=subprocess.PIPE, text=True, env=os.environ | {"PYTHONPATH": paths}
    )
    with process:
        assert process.stdout
        workers = [int(pid) for pid in process.stdout.readline().split()]
        assert workers
        assert all(runs(pid) for pid in workers)
        process.kill()
    until = time.monotonic() + 30
    while any(runs(pid) for pid in workers) and time.monotonic() < until:
        time.sleep(0.1)
    assert not any(runs(pid) for pid in workers)


@pytest.mark.parametrize("command", ["study", "serve"])
def test_an_interrupted_command_says_so_and_leaves_nothing(tmp_path: Path, command: str) -> None:
    """130 is what shells have for it: 128 and the number of SIGINT (POSIX, 2.8.2)."""
    survey, out = tmp_path / "house.toml", tmp_path / "out"
    survey.write_text(template(), encoding="utf-8")
    words = {"study": ["study", survey, "--out", out],
             "serve": ["serve", "--data", tmp_path / "data", "--port", "0"]}[command]  # fmt: skip
    process = subprocess.Popen(
        [sys.executable, "-m", "warmside", *map(str, words)],
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, start_new_session=True,
        env=os.environ | {"PYTHONPATH": str(Path(__file__).parents[1] / "src")},
    )  # fmt: skip
    try:
        own, until = psutil.Process(process.pid), time.monotonic() + 120
        while len(begun := own.children(recursive=True)) < 2 and time.monotonic() < until:
            assert process.poll() is None
            time.sleep(0.05)
        assert len(begun) >= 2
        os.killpg(process.pid, signal.SIGINT)  # as the terminal does: to all of them
        _, told = process.communicate(timeout=60)
    finally:
        process.kill()
        process.wait(20)
    assert process.returncode == 130
    assert told.strip().endswith("Stopped.")
    assert "Traceback" not in told
    until = time.monotonic() + 30
    while any(runs(one.pid) for one in begun) and time.monotonic() < until:
        time.sleep(0.1)
    assert not any(runs(one.pid) for one in begun)
    assert not out.exists()


def runs(pid: int) -> bool:
    """Whether a process is there, and not only waiting for its end to be noted."""
    try:
        told = Path(f"/proc/{pid}/stat").read_text()
    except OSError:
        return False
    return told.rpartition(")")[2].split()[0] != "Z"
