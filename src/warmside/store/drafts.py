"""Half-filled forms, saved while a person types; not part of a job's history."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

from sqlalchemy import Connection, and_, delete, not_, select

from warmside.errors import Fault, InputError
from warmside.store import tables as t
from warmside.store.checks import canonical, who_of, word
from warmside.store.database import Database, upsert
from warmside.store.keeping import Draft
from warmside.store.ledger import SHOP, known
from warmside.store.moments import moment, now

_FORM = r"[\w .:/#-]{1,200}"
_MOST = 500  # drafts of one person


class Drafts:
    """Drafts by person, job and form; one form has one draft, the newest."""

    def __init__(self, database: Database) -> None:
        self._db = database

    def keep(self, who: str, form: str, data: Mapping[str, Any], job: str = SHOP) -> Draft:
        """Keep what was typed so far, whatever it is; it replaces the form's last draft."""
        with self._db.writing() as connection:
            return keep(connection, who, form, data, job)

    def get(self, who: str, form: str, job: str = SHOP) -> Draft | None:
        """The draft of a form, if there is one."""
        return next(iter(self._select(who, t.draft.c.form == form, t.draft.c.job_id == job)), None)

    def of(self, who: str, job: str | None = None) -> tuple[Draft, ...]:
        """All drafts of a person, newest first; of one job if named."""
        return self._select(who, *([] if job is None else [t.draft.c.job_id == job]))

    def drop(self, who: str, form: str, job: str = SHOP) -> None:
        """Forget a draft: it was saved, or is not wanted."""
        here = and_(t.draft.c.who == who_of(who), t.draft.c.form == form, t.draft.c.job_id == job)
        with self._db.writing() as connection:
            connection.execute(delete(t.draft).where(here))

    def _select(self, who: str, *where: Any) -> tuple[Draft, ...]:
        order = select(t.draft).where(t.draft.c.who == who_of(who), *where)
        with self._db.reading() as connection:
            rows = connection.execute(order.order_by(t.draft.c.at.desc(), t.draft.c.form)).all()
        return tuple(Draft(r.who, r.job_id, r.form, moment(r.at), json.loads(r.data)) for r in rows)


def keep(connection: Connection, who: str, form: str, data: Mapping[str, Any], job: str) -> Draft:
    """Keep a draft in the transaction of the caller."""
    who, text = who_of(who), canonical("the draft", data)
    word("form", form, _FORM, "up to 200 letters, digits and signs")
    known(connection, job)
    mine = t.draft.c.who == who
    here = and_(mine, t.draft.c.job_id == job, t.draft.c.form == form)
    others = select(t.draft.c.form).where(mine, not_(here)).limit(_MOST)
    if len(connection.execute(others).all()) >= _MOST:
        raise InputError([Fault("drafts", f"more than {_MOST}", "fewer; drop some")])
    at = now()
    upsert(connection, t.draft, {"who": who, "job_id": job, "form": form, "at": at, "data": text})
    return Draft(who, job, form, moment(at), json.loads(text))
