"""Who is signed in. The store knows only the hash of what a browser holds."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from secrets import token_urlsafe

from sqlalchemy import delete, insert, select, update

from warmside.store import people
from warmside.store import tables as t
from warmside.store.database import Database
from warmside.store.keeping import Person, Session
from warmside.store.moments import before_now, digest, moment, now

IDLE = timedelta(days=14)  # after which a session ends by itself
_NOTED = timedelta(hours=1)  # use is written down at most this often: reading stays reading


class Sessions:
    """Sessions of people who signed in. A new password or being let go ends all of a person's."""

    def __init__(self, database: Database) -> None:
        self._db = database

    def begin(self, name: str) -> str:
        """Sign in a person whose password was right; the token to hand to the browser."""
        token = token_urlsafe(32)
        with self._db.writing() as connection:
            key = people.known(connection, name).key
            old = t.session.c.used < before_now(IDLE)
            connection.execute(delete(t.session).where(old))
            row = {"token": digest(token), "person": key, "created": now(), "used": now()}
            connection.execute(insert(t.session).values(**row))
        return token

    def person(self, token: str) -> Person | None:
        """Who holds ``token``; None for a token that is unknown, ended or too long unused."""
        here = t.session.c.token == digest(token.encode("utf-8", "replace"))
        with self._db.reading() as connection:
            row = connection.execute(
                select(t.session, t.person.c.name, t.person.c.active)
                .join(t.person, t.person.c.key == t.session.c.person)
                .where(here, t.session.c.used >= before_now(IDLE), t.person.c.active)
            ).first()
            if row is None:
                return None
            person = people.person(connection, people.known(connection, row.name))
        if datetime.now(UTC) - moment(row.used) > _NOTED:
            with self._db.writing() as connection:
                connection.execute(update(t.session).where(here).values(used=now()))
        return person

    def all(self) -> tuple[Session, ...]:
        """Everyone who is signed in, the last used first."""
        here = t.session.c.used >= before_now(IDLE)
        order = select(t.session, t.person.c.name).join(
            t.person, t.person.c.key == t.session.c.person
        )
        with self._db.reading() as connection:
            rows = connection.execute(order.where(here).order_by(t.session.c.used.desc())).all()
        return tuple(Session(r.name, moment(r.created), moment(r.used)) for r in rows)

    def end_all(self, name: str) -> int:
        """Sign a person out everywhere; from how many browsers."""
        with self._db.writing() as connection:
            mine = t.session.c.person == people.known(connection, name).key
            return connection.execute(delete(t.session).where(mine)).rowcount

    def end(self, token: str) -> None:
        """Sign out."""
        here = t.session.c.token == digest(token.encode("utf-8", "replace"))
        with self._db.writing() as connection:
            connection.execute(delete(t.session).where(here))
