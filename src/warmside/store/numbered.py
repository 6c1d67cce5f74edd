"""Papers with numbers: given out once, in order, without a gap, never changed or taken back."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from typing import Any

from sqlalchemy import Connection, and_, func, select

from warmside.errors import Fault, InputError
from warmside.store import ledger
from warmside.store import tables as t
from warmside.store.checks import canonical, parsed, prepared, who_of, word
from warmside.store.database import Database
from warmside.store.ledger import SHOP

Json = dict[str, Any]
_KIND = r"[a-z][a-z-]{0,31}"


class Papers:
    """The numbered papers of all jobs; each kind has one row of numbers for the whole shop."""

    def __init__(self, database: Database) -> None:
        self._db = database

    def issue(
        self,
        job: str,
        kind: str,
        make: Callable[[int, tuple[Json, ...]], Mapping[str, Any]],
        who: str,
    ) -> Json:
        """Give out the next paper of a kind, number and content in one transaction.

        What fails leaves no number used. The shop is locked first, so that eight people at once
        get eight numbers in a row.

        Parameters
        ----------
        job : str
            The job it belongs to.
        kind : str
            A word such as ``invoice``.
        make : callable
            Makes its content of its number and of all papers of the job that stand before it; the
            content is plain JSON.
        who : str
            Who gives it out.

        Returns
        -------
        dict
            The content as it is kept.
        """
        who, kind = who_of(who), word("kind", kind, _KIND, "a word such as invoice")
        with self._db.writing() as connection:
            ledger.lock(connection, SHOP)
            ledger.lock(connection, job)
            row = f"numbers/{kind}"
            standing = ledger.standing(connection, SHOP, row)
            last = int(parsed(row, standing.text)["last"]) if standing.hash else 0
            number = max(last, _highest(connection, kind)) + 1
            content = canonical(kind, make(number, _of(connection, job)))
            part = f"paper/{kind}-{number:05d}"
            if ledger.standing(connection, job, part).revision:
                raise InputError([Fault(kind, f"number {number} is taken", "a number not used")])
            told = prepared(row, canonical(row, {"last": number, "job": job}))
            ledger.apply(connection, SHOP, row, told, f"{kind} {number} given out", who)
            ledger.apply(connection, job, part, prepared(part, content), f"{kind} {number}", who)
            found: Json = json.loads(content)
            return found

    def of(self, job: str) -> tuple[Json, ...]:
        """All papers of a job in the order in which they were given out."""
        with self._db.reading() as connection:
            ledger.known(connection, job)
            return _of(connection, job)


def _highest(connection: Connection, kind: str) -> int:
    """The highest number that any job has of a kind: a job from elsewhere brings its own."""
    name = select(func.max(t.part.c.name)).where(
        t.part.c.name.startswith(f"paper/{kind}-", autoescape=True)
    )
    found = connection.execute(name).scalar()
    return int(str(found).rpartition("-")[2]) if found else 0


def _of(connection: Connection, job: str) -> tuple[Json, ...]:
    rows = connection.execute(
        select(t.content.c.body)
        .join(
            t.part, and_(t.part.c.job_id == t.content.c.job_id, t.part.c.hash == t.content.c.hash)
        )
        .where(t.part.c.job_id == job, t.part.c.name.startswith("paper/", autoescape=True))
        .order_by(t.part.c.revision)
    )
    return tuple(json.loads(row.body) for row in rows)
