"""Work that runs in the background: asked for, taken, under way, done. It outlives a restart."""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import timedelta
from typing import Any
from uuid import uuid4

from sqlalchemy import Connection, Row, delete, insert, select, update

from warmside.store import ledger
from warmside.store import tables as t
from warmside.store.checks import canonical, who_of, word
from warmside.store.database import Database
from warmside.store.errors import UnknownError
from warmside.store.keeping import Task
from warmside.store.moments import before_now, moment, now

_OPEN = ("waiting", "running")


class Tasks:
    """The queue. One task is worked on at a time by whoever took it; its result is kept by key."""

    def __init__(self, database: Database) -> None:
        self._db = database

    def ask(
        self,
        kind: str,
        key: str,
        who: str,
        job: str = ledger.SHOP,
        data: Mapping[str, Any] | None = None,
    ) -> Task:
        """Ask for work; if the same (by ``key``) waits or runs already, that task is returned."""
        word("kind", kind, r"[a-z][a-z0-9-]{0,31}", "a word such as study")
        word("key", key, r"[0-9a-f]{64}", "a key made by Results.key")
        row = {"kind": kind, "key": key, "who": who_of(who), "job_id": job}
        row |= {"data": canonical("task", data or {}), "state": "waiting", "step": "", "error": ""}
        with self._db.writing() as connection:
            ledger.lock(connection, job)
            same = select(t.task).where(t.task.c.key == key, t.task.c.state.in_(_OPEN))
            if there := connection.execute(same).first():
                return _task(there)
            id_ = uuid4().hex
            times = {"created": now(), "changed": now()}
            connection.execute(insert(t.task).values(id=id_, done=0, total=0, **row, **times))
            return _one(connection, id_)

    def take(self) -> Task | None:
        """Take the work that has waited longest; no two takers get the same."""
        oldest = (
            select(t.task.c.id)
            .where(t.task.c.state == "waiting")
            .order_by(t.task.c.created, t.task.c.id)
            .limit(1)
            .with_for_update(skip_locked=True)
        )
        with self._db.writing() as connection:
            id_ = connection.execute(oldest).scalar()
            if id_ is None:
                return None
            _set(connection, id_, "waiting", state="running")
            return _one(connection, id_)

    def progress(self, task: str, step: str, done: int, total: int) -> bool:
        """Say how far it is; whether to go on (False: it was cancelled)."""
        with self._db.writing() as connection:
            return _set(connection, task, "running", step=step[:500], done=done, total=total)

    def finish(self, task: str, error: str = "") -> Task:
        """The work is done and its result kept, or it failed; one cancelled stays cancelled."""
        with self._db.writing() as connection:
            state = "failed" if error else "done"
            _set(connection, task, "running", state=state, error=error[:5000])
            return _one(connection, task)

    def again(self, task: str) -> Task:
        """It could not be done now, through no fault of its own: it waits again."""
        with self._db.writing() as connection:
            _set(connection, task, "running", state="waiting", step="", done=0, total=0)
            return _one(connection, task)

    def cancel(self, task: str) -> Task:
        """Do not do it, or stop doing it; nothing happens to one that is done."""
        with self._db.writing() as connection:
            for state in _OPEN:
                _set(connection, task, state, state="cancelled")
            return _one(connection, task)

    def resume(self) -> int:
        """After a restart: what was under way waits again; how many."""
        again = update(t.task).where(t.task.c.state == "running")
        with self._db.writing() as connection:
            return connection.execute(again.values(state="waiting", changed=now())).rowcount

    def get(self, task: str) -> Task:
        """One task."""
        with self._db.reading() as connection:
            return _one(connection, task)

    def of(self, job: str = ledger.SHOP, most: int = 50) -> tuple[Task, ...]:
        """Tasks of a job, the newest first."""
        order = select(t.task).where(t.task.c.job_id == job)
        with self._db.reading() as connection:
            ledger.known(connection, job)
            rows = connection.execute(order.order_by(t.task.c.created.desc()).limit(most))
            return tuple(_task(row) for row in rows)

    def tidy(self, older: timedelta = timedelta(days=30)) -> int:
        """Forget what ended longer ago; how many."""
        old = (t.task.c.state.not_in(_OPEN), t.task.c.changed < before_now(older))
        with self._db.writing() as connection:
            return connection.execute(delete(t.task).where(*old)).rowcount


def _set(connection: Connection, task: str, now_in: str, **values: str | int) -> bool:
    """Change a task if it is in state ``now_in``; whether it was."""
    here = (t.task.c.id == ledger.plain("task", task), t.task.c.state == now_in)
    return (
        connection.execute(update(t.task).where(*here).values(changed=now(), **values)).rowcount
        == 1
    )


def _one(connection: Connection, task: str) -> Task:
    here = t.task.c.id == ledger.plain("task", task)
    row = connection.execute(select(t.task).where(here)).first()
    if row is None:
        raise UnknownError("task", task)
    return _task(row)


def _task(row: Row[Any]) -> Task:
    values = row._asdict()
    values["job"], values["data"] = values.pop("job_id"), json.loads(values["data"])
    for key in ("created", "changed"):
        values[key] = moment(values[key])
    return Task(**values)
