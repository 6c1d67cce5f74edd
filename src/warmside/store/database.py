"""One way in to read, one way in to write; SQLite and PostgreSQL behave alike behind it."""

from __future__ import annotations

import os
import random
import sqlite3
import time
from collections.abc import Iterator
from contextlib import contextmanager, nullcontext
from pathlib import Path
from threading import Lock
from typing import Any

from sqlalchemy import URL, Connection, Engine, Table, create_engine, event, make_url
from sqlalchemy.dialects import postgresql, sqlite
from sqlalchemy.exc import ArgumentError, DBAPIError
from sqlalchemy.exc import TimeoutError as PoolTimeout

from warmside.errors import Fault, InputError
from warmside.store.errors import StoreError

BUSY = 15  # [s] a writer waits for the one before it
_LOOKS = (0.002, 0.015)  # [s] between two looks whether it is its turn
NEW = 60  # [s] that several wait for each other while a store is made or brought up to date
_POOL = {"pool_size": 8, "max_overflow": 32}
_ALLOWED = "a path of a SQLite file, or postgresql://user@host/database"

# What the engine says -> what a person may do; the first that fits
_ADVICE = (
    ("not a database", "choose another file, or restore a backup copy"),
    ("malformed", "restore a backup copy; keep the damaged file"),
    ("full", "free some space on the disk and try again"),
    ("readonly", "make the file and its folder writable"),
    ("unable to open", "choose a folder that exists and can be written"),
    ("locked", "another program holds it; close that and try again"),
    ("connection", "start the database server, or check its address"),
    ("does not exist", "create the database, or check its address"),
)


def upsert(connection: Connection, table: Table, row: dict[str, Any]) -> None:
    """Put a row in, or in the place of the one with the same primary key."""
    dialect = postgresql if connection.dialect.name == "postgresql" else sqlite
    order = dialect.insert(table).values(**row)
    keys = [column.name for column in table.primary_key]
    others = {name: value for name, value in row.items() if name not in keys}
    if others:
        order = order.on_conflict_do_update(index_elements=keys, set_=others)
    else:
        order = order.on_conflict_do_nothing(index_elements=keys)
    connection.execute(order)


class Database:
    """An engine with the two contexts that everything else uses."""

    def __init__(self, url: URL) -> None:
        self.url = url
        self.engine = _engine(url)
        self._turn = Lock()

    @property
    def is_sqlite(self) -> bool:
        """Whether the store is a SQLite file."""
        return self.engine.dialect.name == "sqlite"

    @property
    def file(self) -> Path:
        """The SQLite file."""
        return Path(self.url.database or "")

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """A connection that sees one moment of the store, whatever others write meanwhile."""
        options: dict[str, Any] = {}
        if not self.is_sqlite:
            options = {"isolation_level": "REPEATABLE READ", "postgresql_readonly": True}
        with told(), self.engine.connect().execution_options(**options) as connection:
            yield connection

    @contextmanager
    def writing(self) -> Iterator[Connection]:
        """One short transaction: all of it is on the disk when the block ends, or none of it."""
        # SQLite lets waiting writers try again at random; in line, no thread waits for ever
        turn = self._turn if self.is_sqlite else nullcontext()
        with turn, told(), self.engine.execution_options(writes=True).begin() as connection:
            yield connection

    def forget_deleted(self) -> None:
        """Overwrite what was deleted; PostgreSQL does so by itself, in its own time."""
        if self.is_sqlite:
            with told(), self.engine.connect() as connection:
                driver: Any = connection.connection.driver_connection
                driver.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchall()

    def close(self) -> None:
        """Give all connections back."""
        self.engine.dispose()


def address(where: str | Path) -> URL:
    """The address of a store; ``InputError`` for what is neither a path nor a known URL."""
    text = str(where)
    if isinstance(where, Path) or "://" not in text:
        if not text.strip() or "\0" in text or text == ":memory:":
            raise InputError([Fault("the store", repr(text), _ALLOWED)])
        return URL.create("sqlite", database=str(Path(text).expanduser().absolute()))
    try:
        url = make_url(text)
    except (ArgumentError, ValueError):
        raise InputError([Fault("the store", "an address that is none", _ALLOWED)]) from None
    if url.drivername in ("sqlite", "sqlite3") and url.database not in (None, "", ":memory:"):
        return address(Path(str(url.database)))
    if url.drivername not in ("postgresql", "postgres", "postgresql+psycopg"):
        raise InputError([Fault("the store", f"{url.drivername}://", _ALLOWED)])
    return url.set(drivername="postgresql+psycopg")


def _engine(url: URL) -> Engine:
    if url.get_backend_name() != "sqlite":
        return create_engine(url, pool_pre_ping=True, **_POOL)
    _make_file(Path(str(url.database)))
    engine = create_engine(url, connect_args={"timeout": BUSY}, **_POOL)
    event.listen(engine, "connect", _set_up)
    event.listen(engine, "begin", _begin)
    return engine


def _make_file(path: Path) -> None:
    """A new file that only its owner may read: it holds clients and photos of their homes."""
    if path.exists():
        return
    try:
        os.close(os.open(path, os.O_CREAT | os.O_RDWR, 0o600))
    except OSError as error:
        reason = (error.strerror or "no access").lower()
        raise StoreError(
            f"the store {path.name} cannot be made: {reason}",
            "choose a folder that exists and can be written",
        ) from None


def _set_up(connection: Any, _record: object) -> None:
    connection.isolation_level = None  # transactions begin where _begin says, nowhere else
    _into_log_mode(connection)
    for line in (
        "PRAGMA synchronous = FULL",  # a confirmed save outlives a power cut, not only a crash
        "PRAGMA foreign_keys = ON",
        f"PRAGMA busy_timeout = {BUSY * 1000}",
        "PRAGMA trusted_schema = OFF",
        "PRAGMA secure_delete = ON",  # who was erased is not left in free pages, nor in copies
    ):
        connection.execute(line)


def _into_log_mode(connection: Any) -> None:
    """Set a property of the file, once; SQLite refuses it at once while another opens it too."""
    until = time.monotonic() + NEW
    while True:
        try:
            connection.execute("PRAGMA journal_mode = WAL").fetchall()
        except sqlite3.OperationalError as error:
            if "locked" not in str(error) or time.monotonic() > until:
                raise
            time.sleep(0.02)
        else:
            return


def _begin(connection: Connection) -> None:
    # A read that turns into a write fails at once whatever the timeout, so a write says so first
    options = connection.get_execution_options()
    if not options.get("writes"):
        connection.exec_driver_sql("BEGIN")
        return
    driver: Any = connection.connection.driver_connection
    # SQLite looks ever more seldom the longer a writer waits, so that one of several programs
    # that save without pause may never get its turn: we look at an even pace
    driver.execute("PRAGMA busy_timeout = 0")
    try:
        until = time.monotonic() + options.get("patience", BUSY)
        while not _begun(connection, time.monotonic() > until):
            time.sleep(random.uniform(*_LOOKS))  # noqa: S311
    finally:
        driver.execute(f"PRAGMA busy_timeout = {BUSY * 1000}")


def _begun(connection: Connection, last: bool) -> bool:
    """Whether the writer's turn has come; at the last look the engine's own word goes out."""
    try:
        connection.exec_driver_sql("BEGIN IMMEDIATE")
    except DBAPIError as error:
        if last or "locked" not in str(error.orig):
            raise
        return False
    return True


@contextmanager
def told() -> Iterator[None]:
    """Turn what the engine says into what a person can act on."""
    try:
        yield
    except PoolTimeout as error:
        raise StoreError("the store is busy", "try again in a moment") from error
    except DBAPIError as error:
        said = str(error.orig).split("\n")[0].strip() or type(error.orig).__name__
        advice = next((a for start, a in _ADVICE if start in said.lower()), "try again")
        raise StoreError(f"the store could not answer: {said}", advice) from error
