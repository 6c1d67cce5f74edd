"""Records: readings, day records, proofs. Noted down for good; a correction is a new record."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any
from uuid import uuid4

from sqlalchemy import Connection, and_, select

from warmside.errors import Fault, InputError
from warmside.store import ledger
from warmside.store import tables as t
from warmside.store.checks import canonical, prepared, storable, who_of, word
from warmside.store.database import Database
from warmside.store.errors import UnknownError
from warmside.store.keeping import Change, Record
from warmside.store.moments import moment

_KIND = r"[a-z][a-z0-9-]{0,31}"
_ID = r"[a-z0-9-]{8,40}"
MOST = 20_000  # records of one job


class Records:
    """The records of all jobs; ``kind`` is a word such as ``reading``, ``day``, ``fan-test``."""

    def __init__(self, database: Database) -> None:
        self._db = database

    def add(
        self,
        job: str,
        kind: str,
        data: Mapping[str, Any],
        who: str,
        wall: str = "",
        replaces: str = "",
        id: str | None = None,
    ) -> Record:
        """Note something down.

        Parameters
        ----------
        data : mapping
            Plain JSON: named text, finite numbers, lists, tables.
        replaces : str
            Id of the record that this one corrects.
        id : str, optional
            Chosen by the sender, so that a request sent twice over a bad connection is kept once.
        """
        who, id = who_of(who), uuid4().hex if id is None else id
        word("id", id, _ID, "8 to 40 letters and digits")
        word("kind", kind, _KIND, "a word such as reading")
        storable("wall", wall)
        canonical("record", data)
        told = {"kind": kind, "wall": wall, "data": data, "replaces": replaces}
        new = prepared(f"record/{id}", canonical("record", told))
        with self._db.writing() as connection:
            ledger.lock(connection, job)
            there = ledger.standing(connection, job, f"record/{id}")
            if there.revision and there.hash != new.hash:
                raise InputError(
                    [Fault("id", id, "an id not taken; records are never overwritten")]
                )
            if not there.revision:
                if replaces:
                    _one(connection, job, replaces)
                what = f"{kind} {'corrected' if replaces else 'noted'}"
                ledger.apply(connection, job, f"record/{id}", new, what, who)
            return _one(connection, job, id)

    def get(self, job: str, record: str) -> Record:
        """One record, corrected since or not."""
        with self._db.reading() as connection:
            return _one(connection, job, record)

    def of(self, job: str, kind: str | None = None, corrected: bool = False) -> tuple[Record, ...]:
        """Records in the order they were noted; those corrected since only if asked for."""
        with self._db.reading() as connection:
            ledger.known(connection, job)
            found = rows(connection, job)
        old = set() if corrected else {record.replaces for record in found}
        return tuple(r for r in found if r.id not in old and kind in (None, r.kind))

    def withdraw(self, job: str, record: str, who: str) -> Change:
        """Take a record back; it stays in the history."""
        who = who_of(who)
        with self._db.writing() as connection:
            ledger.lock(connection, job)
            what = f"{_one(connection, job, record).kind} withdrawn"
            return ledger.apply(connection, job, f"record/{record}", None, what, who)


def rows(connection: Connection, job: str, *where: Any) -> list[Record]:
    """The records that stand, in the order of their changes."""
    prefix = "record/"
    found = connection.execute(
        select(t.part.c.name, t.content.c.body, t.change.c.number, t.change.c.at, t.change.c.who)
        .join(t.content, and_(t.content.c.job_id == job, t.content.c.hash == t.part.c.hash))
        .join(t.change, and_(t.change.c.job_id == job, t.change.c.number == t.part.c.revision))
        .where(t.part.c.job_id == job, t.part.c.name.startswith(prefix, autoescape=True), *where)
        .order_by(t.change.c.number)
    )
    return [
        Record(
            id=row.name.removeprefix(prefix),
            job=job,
            number=row.number,
            at=moment(row.at),
            who=row.who,
            **json.loads(row.body),
        )
        for row in found
    ]


def _one(connection: Connection, job: str, record: str) -> Record:
    ledger.known(connection, job)
    found = rows(connection, job, t.part.c.name == f"record/{ledger.plain('record', record)}")
    if not found:
        raise UnknownError("record", record)
    return found[0]
