"""What was computed, under a hash of all that went into it."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from hashlib import sha256

from sqlalchemy import delete, func, select, update

from warmside import __version__
from warmside.errors import Fault, InputError
from warmside.store import tables as t
from warmside.store.checks import word
from warmside.store.database import Database, upsert
from warmside.store.moments import moment, now

LARGEST = 64 << 20  # [byte] of one result
_KIND = r"[a-z][a-z0-9-]{0,31}"
_FRESH = timedelta(days=1)  # a look-up within this time is not noted again: reading stays reading


class Results:
    """A cache that only ever saves time: everything in it can be computed again."""

    def __init__(self, database: Database) -> None:
        self._db = database

    @staticmethod
    def key(kind: str, *inputs: str | bytes, version: str = __version__) -> str:
        """Hash of the kind, the program's version and every input, each with its length."""
        total = sha256()
        for item in (word("kind", kind, _KIND, "a word such as study"), version, *inputs):
            raw = item.encode("utf-8", "surrogatepass") if isinstance(item, str) else item
            total.update(f"{len(raw)}:".encode() + raw)
        return total.hexdigest()

    def get(self, key: str) -> bytes | None:
        """The result, if it is there."""
        here = t.result.c.key == key
        with self._db.reading() as connection:
            row = connection.execute(select(t.result).where(here)).first()
        if row is None:
            return None
        if datetime.now(UTC) - moment(row.used) > _FRESH:
            with self._db.writing() as connection:
                connection.execute(update(t.result).where(here).values(used=now()))
        return bytes(row.data)

    def keep(self, key: str, kind: str, data: bytes) -> None:
        """Keep a result; the last one kept stands."""
        word("key", key, r"[0-9a-f]{64}", "a key made by Results.key")
        word("kind", kind, _KIND, "a word such as study")
        if len(data) > LARGEST:
            raise InputError([Fault("result", f"{len(data)} bytes", f"up to {LARGEST} bytes")])
        row = {"key": key, "kind": kind, "used": now(), "size": len(data), "data": data}
        with self._db.writing() as connection:
            upsert(connection, t.result, row)

    def trim(self, most: int = 512 << 20) -> int:
        """Drop the longest unused until ``most`` bytes are left; how many were dropped."""
        newest = func.sum(t.result.c.size).over(
            order_by=(t.result.c.used.desc(), t.result.c.key), rows=(None, 0)
        )
        ranked = select(t.result.c.key, newest.label("total")).subquery()
        too_many = select(ranked.c.key).where(ranked.c.total > most)
        with self._db.writing() as connection:
            return connection.execute(delete(t.result).where(t.result.c.key.in_(too_many))).rowcount
