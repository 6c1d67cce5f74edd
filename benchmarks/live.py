"""A wall edited while its figures follow: how long from an edit until they stand.

One person on one job, then ten people on ten jobs, each editing every 30 s; an edit closes the
answer to the one before, whose rest is left undone. "quick": every option by the simple methods;
"3-D": what is put forward by its field; "wall": every option by its field and the hours of a year;
"price": every option after another price; "study": the Study page after another price was kept.
Beside each clock stands the processor time that the server and its processes took until then: other
work on the machine stretches the clock, and where two cores are free for them it is the clock.
"frame": one step of a slider of the client's view in a browser of a phone's width.

    ./bench live [--people 10] [--rounds 3]
"""

from __future__ import annotations

import argparse
import http.client
import json
import os
import random
import re
import shutil
import statistics
import sys
import tempfile
import threading
import time
from collections import defaultdict
from collections.abc import Callable, Iterator
from contextlib import suppress
from html import unescape
from pathlib import Path
from urllib.parse import urlencode

from record import record
from warmside.demo import survey_text
from warmside.store import Store
from warmside.web import studies
from warmside.web.letterhead import default_prices_of

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))
from serving import served

WALL, EVERY = 2, 30.0  # [s] between two edits of one of many people
ALONE = {"first": 0.3, "quick": 0.3, "3-D": 1.5, "wall": 4.0, "price": 0.15}  # [s] p95
FRAME = 0.05  # [s] p95 of a slider's step
MANY = {"quick": 0.5, "3-D": 3.0, "wall": 8.0}
Times = dict[str, list[float]]
Clock = Callable[[], float]


class Person:
    """One browser with a wall of one job open."""

    def __init__(self, port: int, job: str) -> None:
        self.port, self.path = port, f"/jobs/{job}/walls/{WALL}"
        line = http.client.HTTPConnection("localhost", port, timeout=300)
        line.request("GET", self.path)
        answer = line.getresponse()
        page = answer.read().decode()
        line.close()
        self.cookie = answer.headers["set-cookie"].partition(";")[0]
        fields = re.findall(r'<input id="[^"]*" name="([^"]+)" value="([^"]*)"', page)
        self.form = {name: unescape(value) for name, value in fields if value}
        boxes = r'<input type="checkbox" id="[^"]*" name="([^"]+)" value="yes" checked'
        self.form |= dict.fromkeys(re.findall(boxes, page), "yes")
        for name in ("token", "revision"):
            found = re.search(f'name="{name}" value="([^"]+)"', page)
            if not found:
                sys.exit(f"the wall's page holds no {name}")
            self.form[name] = found[1]
        self.shown = ""

    def send(self, path: str, form: dict[str, str]) -> None:
        """A form of the job that is kept."""
        line = http.client.HTTPConnection("localhost", self.port, timeout=300)
        head = {"cookie": self.cookie, "content-type": "application/x-www-form-urlencoded"}
        line.request("POST", f"{self.path.partition('/walls')[0]}/{path}", urlencode(form), head)
        answer = line.getresponse()
        if answer.status != 303:
            sys.exit(f"{answer.status}: {answer.read()[:300]!r}")
        line.close()

    def edit(self, left: float | None, most: float = 120.0, clock: Clock = time.monotonic) -> Times:
        """Move the first window to ``left`` [m] and read what is told, for so long at most [s].

        ``clock`` may tell processor time instead.
        """
        if left is not None:
            self.form["opening.0.left"] = f"{left:.4f} m"
        seen: Times = defaultdict(list)
        begun = clock()
        for kind, told in self._events(time.monotonic() + most):
            now = clock() - begun
            if kind == "end":
                if told["fault"]:
                    sys.exit(told["fault"])
                seen["wall"].append(now)
                continue
            panel, options = told.get("panel"), told.get("options", {})
            if panel:
                seen["quick"].append(now)
                found = re.search(r'<option value="([^"]+)" selected', panel)
                self.shown = found[1] if found else ""
                whole = re.search(
                    rf'data-option="{re.escape(self.shown)}">(.*?)</div>\n', panel, re.S
                )
                options = {self.shown: whole[1] if whole else 'class="tag">quick'}
            elif "quick" not in seen:
                seen["first"].append(now)
                continue
            if "3-D" not in seen and 'class="tag">quick' not in options.get(self.shown, "quick"):
                seen["3-D"].append(now)
        return seen

    def _events(self, until: float) -> Iterator[tuple[str, dict]]:
        line = http.client.HTTPConnection("localhost", self.port, timeout=300)
        head = {"cookie": self.cookie, "content-type": "application/x-www-form-urlencoded"}
        form = self.form | {"shown": self.shown}
        line.request("POST", f"{self.path}/figures", urlencode(form), head)
        answer = line.getresponse()
        if answer.status != 200:
            sys.exit(f"{answer.status}: {answer.read()[:300]!r}")
        kind = ""
        with suppress(TimeoutError):
            while row := answer.readline().decode():
                if row.startswith("event: "):
                    kind = row[7:].strip()
                elif row.startswith("data: "):
                    yield kind, json.loads(row[6:])
                if time.monotonic() > until:
                    break
                if line.sock:
                    line.sock.settimeout(max(until - time.monotonic(), 0.01))
        line.close()


def p95(values: list[float]) -> float:
    """The value that one in twenty is above."""
    return statistics.quantiles(values, n=20, method="inclusive")[-1] if values[1:] else values[0]


def worked(server: int) -> float:
    """Processor time of the server and all below it [s]."""
    parents, ticks = {}, {}
    for stat in Path("/proc").glob("[0-9]*/stat"):
        with suppress(OSError):
            fields = stat.read_text().rpartition(")")[2].split()
            parents[int(stat.parent.name)] = int(fields[1])
            ticks[int(stat.parent.name)] = sum(map(int, fields[11:13]))
    ours = {server}
    while more := {p for p, parent in parents.items() if parent in ours} - ours:
        ours |= more
    return sum(ticks.get(p, 0) for p in ours) / os.sysconf("SC_CLK_TCK")


def show(title: str, seen: Times, targets: dict[str, float], work: Times | None = None) -> None:
    print(f"\n{title}")
    for name, most in targets.items():
        if not seen.get(name):
            print(f"  {name:8} never came")
            continue
        value, took = p95(seen[name]), (work or {}).get(name, [])
        print(f"  {name:8} median {statistics.median(seen[name]):7.3f} s, p95 {value:7.3f} s "
              f"(<= {most:g}), {len(seen[name])} times"
              + (f"; work {statistics.median(took):.3f} s" if took else ""))  # fmt: skip
        record(f"{name}, {title}", value, "s", target=f"<= {most:g}")
        if took:
            record(f"{name}, work, {title}", statistics.median(took), "s")


def alone(port: int, job: str, store: Store, rounds: int, server: int) -> None:
    person, seen = Person(port, job), defaultdict(list)
    work: Times = defaultdict(list)
    cold = person.edit(None)
    print(f"a job that nobody had open: first figures after {cold['quick'][0]:.1f} s")
    record("first figures of a job that nobody had open", cold["quick"][0], "s")
    place = random.Random(1)

    def used() -> float:
        return worked(server)

    for _ in range(rounds):
        for name, times in person.edit(1.2 + 0.3 * place.random()).items():
            seen[name] += times
        for name, times in person.edit(1.2 + 0.3 * place.random(), clock=used).items():
            work[name] += times
    for n in range(2 * rounds):
        reprice(store, job, 20 + n)
        into, clock = (seen, time.monotonic) if n % 2 else (work, used)
        into["price"].append(person.edit(None, clock=clock)["quick"][0])
    show("one person", seen, ALONE, work)


def reprice(store: Store, job: str, years: int) -> None:
    """Other prices of a job, as somebody who edits the price list keeps them."""
    kept = store.text("prices", job)
    prices = re.sub(r"(?m)^years = \d+", f"years = {years}", default_prices_of(store, job))
    store.save("prices", prices, kept.revision, "owner", job)


def study_page(port: int, store: Store, job: str, server: int) -> None:
    """A whole study; then another price kept in the price list, until the study shows it."""
    cpu, begun, task = worked(server), time.monotonic(), studies.ask(store, job, "owner")
    while not studies.standing(store, job).fresh:
        time.sleep(0.05)
        if store.tasks.get(task.id).error:
            sys.exit(store.tasks.get(task.id).error)
    print(
        f"  study of the house: {time.monotonic() - begun:.1f} s, work {worked(server) - cpu:.1f} s"
    )
    while store.tasks.of(job)[0].state == "running":
        time.sleep(0.05)
    person = Person(port, job)
    person.edit(None)  # the process that holds the job takes up the study
    seen: Times = defaultdict(list)
    for n in range(4):
        text = re.sub(
            r"(?m)^mark_up = .*$", f"mark_up = 0.2{n}", default_prices_of(store, job), count=1
        )
        form = {"token": person.form["token"], "text": text,
                "revision": str(store.text("prices", job).revision)}  # fmt: skip
        begun = time.monotonic()
        person.send("prices", form)
        while not studies.standing(store, job).fresh:
            time.sleep(0.01)
        seen["study"].append(time.monotonic() - begun)
        while store.tasks.of(job)[0].state in ("waiting", "running"):
            time.sleep(0.05)
    show("another price", seen, {"study": 0.15})


def frames(port: int, job: str) -> None:
    """Steps of the sliders of the client's view, as the page itself times them."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as play:
        browser = play.chromium.launch(
            executable_path=shutil.which("chromium"), args=["--no-sandbox", "--disable-gpu"]
        )
        page = browser.new_page(viewport={"width": 390, "height": 844})
        begun = time.monotonic()
        page.goto(f"http://localhost:{port}/jobs/{job}/client/{WALL}")
        page.locator("[data-ready]:not([hidden])").wait_for(timeout=120_000)
        first = time.monotonic() - begun
        page.locator("[data-said][hidden]").wait_for(state="attached", timeout=300_000)
        every = time.monotonic() - begun
        for slider in ("depth", "outdoors", "split"):
            page.locator(f"#{slider}").focus()
            for key in ("ArrowRight", "ArrowLeft") * 15:
                page.keyboard.press(key)
        took = page.evaluate(
            "performance.getEntriesByName('slider frame').map((one) => one.duration)"
        )
        browser.close()
    print(f"  depths: the first after {first:.1f} s, all after {every:.1f} s")
    record("depths, the first", first, "s")
    record("depths, all", every, "s")
    show("sliders", {"frame": [one / 1e3 for one in took]}, {"frame": FRAME})


def many(port: int, jobs: list[str], rounds: int, server: int) -> None:
    people, seen, lock = [Person(port, job) for job in jobs], defaultdict(list), threading.Lock()
    for person in people:
        person.edit(None, most=60.0)
    cpu, edits = worked(server), 0

    def edits_of(number: int, person: Person) -> None:
        place = random.Random(number)
        time.sleep(EVERY * place.random())
        for _ in range(rounds):
            begun = time.monotonic()
            told = person.edit(1.2 + 0.3 * place.random(), most=EVERY)
            with lock:
                for name, times in told.items():
                    seen[name] += times
            time.sleep(max(EVERY - (time.monotonic() - begun), 0.0))

    threads = [threading.Thread(target=edits_of, args=pair) for pair in enumerate(people)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    edits = len(people) * rounds
    title = f"{len(people)} people on {len(people)} jobs"
    show(title, seen, MANY)
    spent = (worked(server) - cpu) / edits
    print(f"  processor time of an edit: {spent:.2f} s")
    record(f"processor time of an edit, {title}", spent, "s")


def main() -> None:
    reader = argparse.ArgumentParser()
    reader.add_argument("--people", type=int, default=10)
    reader.add_argument("--rounds", type=int, default=3)
    asked = reader.parse_args()
    with tempfile.TemporaryDirectory() as name, Store.open(Path(name) / "warmside.sqlite") as store:
        jobs = [store.new_job(survey_text(), "owner").id for _ in range(max(asked.people, 1))]
        with served(Path(name)) as (port, process):
            print(f"load of the machine, last minute: {os.getloadavg()[0]:.1f}")
            alone(port, jobs[0], store, 4 * asked.rounds, process.pid)
            if asked.people > 1:
                many(port, jobs, asked.rounds, process.pid)
            study_page(port, store, jobs[0], process.pid)
            frames(port, jobs[0])


if __name__ == "__main__":
    main()
