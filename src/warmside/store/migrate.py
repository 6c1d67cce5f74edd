"""Bringing an older store up to date, with a copy kept of what it was."""

from __future__ import annotations

import sqlite3
from pathlib import Path

from sqlalchemy import Connection, inspect, text

from warmside.errors import Fault, InputError
from warmside.store.database import NEW, Database, told
from warmside.store.moments import now
from warmside.store.whole import copy_sqlite, whole

NEWEST = "0002"
LOCK = 0x57415253  # any number that nothing else locks by


def bring_up_to_date(database: Database) -> Path | None:
    """Run the pending migrations, all in one transaction.

    Returns
    -------
    Path or None
        The copy of the SQLite file made before the first of them; None where nothing was pending,
        the store was new, or the store is a PostgreSQL database (its owner backs that up).

    Raises
    ------
    InputError
        A database of another program, or of a newer version of this one.
    """
    with database.reading() as connection:
        if version_of(connection) == NEWEST:
            return None
    import alembic.command  # noqa: F401  # takes 0.7 s, so only here, and while nobody waits

    if not database.is_sqlite:
        with database.writing() as connection:
            connection.execute(text("SELECT pg_advisory_xact_lock(:n)"), {"n": LOCK})
            return _upgrade(database, connection)
    # Copying a table in place needs the keys off, which is only possible outside a transaction
    waits = {"writes": True, "patience": NEW}
    with told(), database.engine.connect().execution_options(**waits) as connection:
        driver = connection.connection.driver_connection
        if not isinstance(driver, sqlite3.Connection):  # pragma: no cover
            raise TypeError(type(driver))
        driver.execute("PRAGMA foreign_keys = OFF")
        try:
            with connection.begin():
                copy = _upgrade(database, connection)
                _refuse_loose_ends(connection)
        finally:
            driver.execute("PRAGMA foreign_keys = ON")
    return copy


def _upgrade(database: Database, connection: Connection) -> Path | None:
    """The steps themselves; by now no other process can be at it."""
    version = version_of(connection)
    if version == NEWEST:
        return None
    copy = _copy(database.file, version) if version and database.is_sqlite else None
    from alembic import command
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(Path(__file__).parent / "migrations"))
    config.attributes["connection"] = connection
    command.upgrade(config, NEWEST)
    return copy


def version_of(connection: Connection) -> str | None:
    """Last migration run; None for an empty database."""
    tables = set(inspect(connection).get_table_names())
    if "alembic_version" not in tables:
        if tables:
            read = f"a database with the table '{min(tables)}' of another program"
            raise InputError(
                [Fault("the store", read, "a store of Warmside, or an empty database")]
            )
        return None
    version = connection.execute(text("SELECT version_num FROM alembic_version")).scalar()
    if version is not None and (not version.isdigit() or version > NEWEST):
        read = f"a store of version {version}"
        allowed = f"up to {NEWEST}; it was made by a newer Warmside, use that one"
        raise InputError([Fault("the store", read, allowed)])
    return version


def _copy(file: Path, version: str) -> Path:
    """A whole copy of the committed state beside the file, complete before it bears its name."""
    stamp = now().replace(":", "").replace("-", "")[:15]
    copy = file.with_name(f"{file.stem}-before-{version}-{stamp}{file.suffix}")
    with whole(copy) as half:
        copy_sqlite(file, half)
    return copy


def _refuse_loose_ends(connection: Connection) -> None:
    loose = connection.exec_driver_sql("PRAGMA foreign_key_check").first()
    if loose is not None:
        read = f"a row of '{loose[0]}' that refers to nothing in '{loose[2]}'"
        raise InputError(
            [Fault("the store", read, "a store without loose ends; nothing was changed")]
        )
