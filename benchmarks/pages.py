"""Fifty people read and edit the pages at once; every figure stands beside its target.

They pause between pages as people do (1 to 7 s, 4 s on average); a second round without pauses
tells how much one process carries. Seconds of work beside seconds on the clock, since other work
on the machine stretches the clock.
"""

from __future__ import annotations

import argparse
import contextlib
import http.client
import os
import random
import re
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from html import unescape
from pathlib import Path
from urllib.parse import urlencode

from record import record
from warmside.demo import survey_text
from warmside.store import Store
from warmside.study import study
from warmside.survey import read, write
from warmside.web.dossier import PARTS, keep_pages, keep_papers, key_of
from warmside.web.files import address

JOBS, WALLS = 10, 2
ENTRIES = 5000
TICK = os.sysconf("SC_CLK_TCK")


@dataclass
class Seen:
    """What the people met."""

    pages: list[float] = field(default_factory=list)  # [s]
    still: list[float] = field(default_factory=list)  # [s] of a file that is only handed out
    edits: list[float] = field(default_factory=list)  # [s] from Save to the wall drawn anew
    failed: list[str] = field(default_factory=list)
    told: int = 0  # saves that met a change of another


class Person:
    """One browser, on one job."""

    def __init__(self, port: int, job: str, number: int, seen: Seen) -> None:
        self._port, self._job, self._seen = port, f"/jobs/{job}", seen
        self._random = random.Random(number)
        self._line = http.client.HTTPConnection("localhost", port, timeout=60)
        self._cookie = ""

    def ask(self, path: str, form: dict[str, str] | None = None) -> tuple[int, str, str]:
        head = {"cookie": self._cookie} if self._cookie else {}
        body = None
        if form is not None:
            body = urlencode(form)
            head |= {"content-type": "application/x-www-form-urlencoded",
                     "origin": f"http://localhost:{self._port}"}  # fmt: skip
        self._line.request("POST" if form is not None else "GET", path, body, head)
        answer = self._line.getresponse()
        text = answer.read().decode("utf-8", "replace")
        if cookie := answer.getheader("set-cookie"):
            self._cookie = cookie.partition(";")[0]
        if answer.status not in (200, 303, 409):
            self._seen.failed.append(f"{answer.status} {path}")
        return answer.status, text, answer.getheader("location") or ""

    def read_page(self) -> None:
        here = self._job
        path = self._random.choice((
            "/", here, here, f"{here}/walls/1", f"{here}/walls/2", f"{here}/walls/1",
            f"{here}/house", f"{here}/study", f"{here}/study/1", f"{here}/study/1/dry",
            f"{here}/price", f"{here}/photos", f"{here}/history", f"{here}/walls/1/pieces",
            "/catalog/materials", "/?q=north",
        ))  # fmt: skip
        begun = time.perf_counter()
        self.ask(path)
        read = time.perf_counter()
        self._seen.pages.append(read - begun)
        self.ask(address("warmside.css"))
        self._seen.still.append(time.perf_counter() - read)

    def edit(self) -> None:
        """Another thickness of the fill or place of the outlet, through the wall's own form."""
        path = f"{self._job}/walls/1"
        _, page, _ = self.ask(path)
        form = fields_of(page)
        form["box.0.x"] = f"{self._random.randint(24, 44)} in"
        begun = time.perf_counter()
        status, _, then = self.ask(path, form)
        if status == 409:
            self._seen.told += 1
        elif status == 303:
            self.ask(then)
            self._seen.edits.append(time.perf_counter() - begun)

    def live(self, until: float, pause: tuple[float, float]) -> None:
        time.sleep(self._random.uniform(0, pause[1]))
        while time.monotonic() < until:
            try:
                self.edit() if self._random.random() < 0.12 else self.read_page()
            except (OSError, http.client.HTTPException) as error:
                self._seen.failed.append(repr(error))
                self._line.close()
            time.sleep(self._random.uniform(*pause))


def fields_of(page: str) -> dict[str, str]:
    """The wall's form as the browser would send it."""
    start = page.index("data-draw=")
    html = page[start : page.index("</form>", start)]
    form = {
        name: unescape(value)
        for name, value in re.findall(r'<input[^>]*? name="([^"]+)" value="([^"]*)"', html)
        if not name.endswith(("remove", "weight_pockets"))
    }
    form |= {
        n: unescape(v) for n, v in re.findall(r'<textarea[^>]* name="(\w+)"[^>]*>([^<]*)', html)
    }
    for name, choices in re.findall(r'<select[^>]* name="([^"]+)".*?>(.*?)</select>', html, re.S):
        picked = re.search(r"<option[^>]* selected>([^<]*)", choices)
        form[name] = unescape(picked[1]) if picked else ""
    checked = re.findall(r'name="([^"]+)" value="yes" checked', html)
    return form | dict.fromkeys(checked, "yes")


def prepare(folder: Path) -> list[str]:
    """A store of ten jobs, each studied."""
    found = read(survey_text())
    small = found.model_copy(update={"walls": found.walls[:WALLS], "hazards": (), "options": ()})
    survey, computed = write(small), study(small, fields=False)
    with Store.open(folder / "warmside.sqlite") as store:
        jobs = [store.new_job(survey, "owner").id for _ in range(JOBS)]
        texts = {part: store.text(part, jobs[0]).text for part in PARTS}  # type: ignore[arg-type]
        list(keep_pages(store, texts, computed, date(2026, 3, 4)))
        keep_papers(store, texts, computed, date(2026, 3, 4))
        for job in jobs:  # as if it had been studied here, so that it is shown after an edit
            task = store.tasks.ask("study", key_of(texts), "owner", job)
            store.tasks.take()
            store.tasks.finish(task.id)
    return jobs


def long_day(folder: Path) -> tuple[str, str]:
    """A job of one day of ``ENTRIES`` entries: the job and the day."""
    begun = datetime.now(UTC).replace(hour=12, minute=0) - timedelta(days=1)
    with Store.open(folder / "warmside.sqlite") as store:
        job = store.new_job(survey_text(), "owner").id
        for n in range(ENTRIES):
            at = (begun + timedelta(milliseconds=n)).isoformat()
            store.records.add(job, "reading", {"air_c": 20.0, "at": at}, "owner")
    return job, str(begun.astimezone().date())


@contextlib.contextmanager
def served(folder: Path) -> Iterator[tuple[int, int, float, float]]:
    """The server: port, process, seconds of clock and of work until its first page."""
    begun = time.perf_counter()
    command = [sys.executable, "-m", "warmside", "serve", "--data", str(folder), "--port", "0"]
    told = os.environ | {"PYTHONUNBUFFERED": "1"}
    server = subprocess.Popen(command, env=told, stdout=subprocess.PIPE, text=True)
    try:
        found = re.search(r"localhost:(\d+)", server.stdout.readline() if server.stdout else "")
        if found is None:
            raise SystemExit("the server did not begin")
        line = http.client.HTTPConnection("localhost", int(found[1]))
        line.request("GET", "/")
        line.getresponse().read()
        yield int(found[1]), server.pid, time.perf_counter() - begun, work_of(server.pid)
    finally:
        server.terminate()
        server.wait(20)


def work_of(pid: int) -> float:
    """Seconds of work that a process has done."""
    fields = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / TICK


def round_of(port: int, jobs: list[str], people: int, seconds: float,
             pause: tuple[float, float]) -> Seen:  # fmt: skip
    seen, until = Seen(), time.monotonic() + seconds
    threads = [
        threading.Thread(
            target=Person(port, jobs[n % len(jobs)], n, seen).live, args=(until, pause)
        )
        for n in range(people)
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return seen


def share(values: list[float], of: float) -> float:
    return sorted(values)[min(len(values) - 1, int(of * len(values)))] if values else float("nan")


def tell(seen: Seen, took: float, worked: float) -> None:
    """One round's figures beside their targets."""
    asked = len(seen.pages) + len(seen.still) + 3 * len(seen.edits) + 2 * seen.told
    each = worked / max(asked, 1) * 1e3

    def times(values: list[float]) -> str:
        return f"p50 {share(values, 0.5) * 1e3:5.0f} ms, p95 {share(values, 0.95) * 1e3:5.0f} ms"

    print(f"  requests          {asked} in {took:.0f} s, {each:.1f} ms of work each")
    print(f"  pages             {times(seen.pages)} (<= 150 ms)")
    print(f"  a file handed out {times(seen.still)}, met at the same load")
    print(f"  edit to new page  {times(seen.edits)} (<= 1000 ms)")
    print(f"  failed            {len(seen.failed)}; told of another's change {seen.told}")


def note(words: str, seen: Seen) -> None:
    """The round's figures for the common table."""
    still, pages = share(seen.still, 0.95), share(seen.pages, 0.95)
    against = "a file handed out by the same server at the same load"
    record(f"pages p95, {words}", pages, "s", target="<= 0.15", ratio=pages / still,
           against=against)  # fmt: skip
    record(f"edit to new page p95, {words}", share(seen.edits, 0.95), "s", target="<= 1")
    record(f"requests failed, {words}", len(seen.failed), "-", target="0")


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--people", type=int, default=50)
    parser.add_argument("--seconds", type=float, default=40.0)
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as name:
        jobs = prepare(Path(name))
        long, day = long_day(Path(name))
        with served(Path(name)) as (port, pid, clock, work):
            print(f"start-up            {clock:6.2f} s on the clock, {work:.2f} s of work (<= 2 s)")
            record("start-up", clock, "s", target="<= 2", ratio=clock / work,
                   against="its own seconds of work")  # fmt: skip
            print(f"load of the machine {os.getloadavg()[0]:6.2f} on {os.cpu_count()} cores")
            reader = Person(port, long, 0, Seen())
            reader.ask(f"/jobs/{long}/day?on={day}")
            worked = work_of(pid)
            for _ in range(5):
                reader.ask(f"/jobs/{long}/day?on={day}")
            worked = (work_of(pid) - worked) / 5
            print(f"a day of {ENTRIES} entries {worked:6.2f} s of work (<= 0.5 s)")
            record(f"a day of {ENTRIES} entries, work", worked, "s", target="<= 0.5")
            round_of(port, jobs, 4, 3.0, (0.05, 0.1))  # everything drawn once
            failed = 0
            for words, pause in (
                ("pausing as people do", (1.0, 7.0)),
                ("without pauses", (0.0, 0.0)),
            ):
                before, begun = work_of(pid), time.perf_counter()
                seen = round_of(port, jobs, options.people, options.seconds, pause)
                took, worked = time.perf_counter() - begun, work_of(pid) - before
                print(f"\n{options.people} people, {words}")
                tell(seen, took, worked)
                note(words, seen)
                failed += len(seen.failed)
                for text in seen.failed[:5]:
                    print(f"    {text}")
    return 1 if failed else 0


if __name__ == "__main__":
    raise SystemExit(main())
