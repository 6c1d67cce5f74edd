"""Studies in the background: a thread that watches the queue, and one process for each task.

A process can be stopped at any moment; what it had under way is simply done again.
"""

from __future__ import annotations

import contextlib
import os
import signal
import sys
import traceback
from collections.abc import Callable
from datetime import date
from multiprocessing import get_context
from multiprocessing.process import BaseProcess
from threading import Event, Thread

from warmside.errors import WarmsideError
from warmside.store import Store, StoreError, Task
from warmside.web import stock
from warmside.web.dossier import (
    base_of,
    body_of,
    has_pages,
    has_papers,
    keep_curve,
    keep_pages,
    keep_papers,
    keep_study,
    rows_and_year,
    studied_before,
    texts_of,
)
from warmside.web.proof_files import judge

_PAUSE = 0.3  # [s] between two looks at the queue
_NICE = 10  # pages come first, then walls that somebody edits
_LOST_STORE = 75  # EX_TEMPFAIL of sysexits.h: the same may go well later


class Workshop:
    """Works off the queue of a store, one task at a time, until stopped.

    ``secret`` seals whole studies, so that another choice takes one up; "" keeps none.
    """

    def __init__(self, store: Store, where: str, secret: bytes = b"") -> None:
        self._store, self._where, self._secret = store, where, secret
        self._stop = Event()
        self._thread = Thread(target=self._run, name="workshop", daemon=True)

    def start(self) -> None:
        """Begin; what a former run left under way comes first."""
        self._store.tasks.resume()
        self._store.tasks.tidy()
        self._thread.start()

    def stop(self) -> None:
        """End; what is under way goes on after the next start."""
        self._stop.set()
        self._thread.join(timeout=5)

    def _run(self) -> None:
        while not self._stop.wait(_PAUSE):
            with contextlib.suppress(WarmsideError):
                task = self._store.tasks.take()
                if task is not None:
                    self._do(task)

    def _do(self, task: Task) -> None:
        process = get_context("spawn").Process(
            target=work, args=(self._where, task.id, self._secret)
        )
        process.start()
        while process.is_alive():
            process.join(_PAUSE)
            if self._stop.is_set() or self._state(task) == "cancelled":
                _end(process)
                return
        while self._state(task) in ("running", "") and not self._stop.wait(_PAUSE):
            self._settle(task, lost_store=process.exitcode == _LOST_STORE)

    def _state(self, task: Task) -> str:
        """How a task stands; "" while the store does not answer."""
        try:
            return self._store.tasks.get(task.id).state
        except StoreError:
            return ""

    def _settle(self, task: Task, lost_store: bool) -> None:
        """A task whose process ended without a word: begun anew, or failed."""
        with contextlib.suppress(StoreError):
            if lost_store:
                self._store.tasks.again(task.id)
            else:
                self._store.tasks.finish(task.id, "The computation ended before it was done.")


def _end(process: BaseProcess) -> None:
    """Stop a process and those that it began."""
    for sign in (signal.SIGTERM, signal.SIGKILL):
        with contextlib.suppress(ProcessLookupError, PermissionError):
            os.killpg(process.pid or 0, sign) if process.pid else None
        process.join(1.0)
    process.close() if not process.is_alive() else None


class _Cancelled(Exception):  # noqa: N818
    """Somebody does not want it any more."""


def work(where: str, id: str, secret: bytes) -> None:
    """Do one task; the target of its process."""
    os.setsid()  # one group, so that helpers end with it
    os.nice(_NICE)
    with Store.open(where) as store:
        error = ""
        try:
            task = store.tasks.get(id)
            if task.kind == stock.KIND:
                stock.do(store, task, where, _teller(store, task))
            elif task.kind == "proof":
                judge(store, task, secret, texts_of(store, task.job, task.data))
            else:
                do(store, task, secret)
        except _Cancelled:
            return
        except StoreError:
            sys.exit(_LOST_STORE)
        except WarmsideError as told:
            error = str(told)
        except Exception:
            error = f"A fault of the program: {traceback.format_exc(limit=-1)}"
        try:
            store.tasks.finish(id, error)
        except StoreError:
            sys.exit(_LOST_STORE)


def _teller(store: Store, task: Task) -> Callable[[str, int, int], None]:
    """How a task says how far it is; it ends there when nobody wants it any more."""
    parent = os.getppid()

    def tell(what: str, done: int, total: int) -> None:
        if os.getppid() != parent or not store.tasks.progress(task.id, what, done, total):
            raise _Cancelled

    return tell


def do(store: Store, task: Task, secret: bytes) -> None:
    """Study a job, or take up what was computed of it; keep what pages and papers need.

    Pages come first; papers and the thickness curves follow, while the rest can be read already.
    """
    import json

    from warmside.estimate import read_prices
    from warmside.study import study, thickness_curve, with_choices, with_notes
    from warmside.survey import read

    texts = texts_of(store, task.job, task.data)
    survey = read(texts["survey"])
    count, told = len(survey.walls), _teller(store, task)
    total = 2 * count + 1

    def tell(what: str, done: int) -> None:
        told(what, done, total)

    base, results = base_of(texts), store.results
    shown = has_pages(store, texts)
    curves = {number: results.key("curve", base, str(number)) for number in range(1, count + 1)}
    missing = [number for number, key in curves.items() if results.get(key) is None]
    if not shown or missing or not has_papers(store, texts):
        tell("the house", 0)  # the first option is told only when the solvers are loaded
        found = studied_before(store, texts, secret)
        if found is None:
            catalog, year = rows_and_year(texts, survey.house.climate)
            found = study(
                survey,
                catalog,
                read_prices(texts["prices"]) if texts["prices"].strip() else None,
                weather=year,
                progress=lambda what, done, of: tell(what or "hours", round(count * done / of)),
                workers=os.cpu_count() or 1,
            )
            keep_study(store, body_of(texts), found, secret)
        chosen = json.loads(texts["choices"]) if texts["choices"].strip() else {}
        put = with_choices(with_notes(found, survey), chosen)
        if not shown:
            list(keep_pages(store, texts, put, date.today()))
        tell("papers", count)
        keep_papers(store, texts, put, date.today())
        for number in missing:
            name = survey.walls[number - 1].name
            tell(f"thickness curve of {name}", count + number)
            curve = thickness_curve(found, name)
            keep_curve(store, base, number, curve, found.outside.climate)
    store.results.trim()
