"""Backup copies of a whole store: made while it is used, checked before they count, put back.

A copy is one SQLite file, whichever engine the store stands on. It opens as a store by itself and
goes back into either engine. It holds everything: texts, history, photos, people, results.
"""

from __future__ import annotations

import re
import sqlite3
import tempfile
import time
from collections.abc import Iterator, Mapping
from contextlib import closing, contextmanager, suppress
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from sqlalchemy import Connection, delete, func, insert, select, text

from warmside.errors import Fault, InputError
from warmside.store import tables as t
from warmside.store.database import Database, address
from warmside.store.errors import StoreError
from warmside.store.ledger import SHOP
from warmside.store.migrate import LOCK, NEWEST, bring_up_to_date, version_of
from warmside.store.moments import digest
from warmside.store.whole import copy_sqlite, opened, whole

_NAMED = "warmside-{shop}-{stamp}.sqlite"
_STAMP = "%Y%m%dT%H%M%S%fZ"
_AT_ONCE = {"result": 1, "photo_file": 8}  # rows in memory: these may be many megabytes each
_SOME = 500
_DEAD = 3600.0  # [s] after which nobody writes to a half-written copy any more


@dataclass(frozen=True)
class Copy:
    """A copy that was opened and looked through; ``counts`` are rows by table."""

    path: Path
    version: str
    counts: Mapping[str, int]

    def __str__(self) -> str:
        jobs = self.counts["job"] - 1  # one row is the shop's own
        what = [_many(jobs, "job"), _many(self.counts["change"], "change")]
        what += [_many(self.counts["photo_file"], "photo"), f"{self.counts['person']} people"]
        return f"{', '.join(what)}; every text and photo is as it was kept"


@dataclass(frozen=True)
class Restored:
    """What was put back, and where what stood there before is kept (None: nothing stood there)."""

    copy: Copy
    before: Path | None


def back_up(where: str | Path, to: Path, most: int | None = None) -> Copy:
    """Copy a whole store, whoever works with it meanwhile.

    Parameters
    ----------
    where : str or Path
        The store: a path of a SQLite file, or ``postgresql://user@host/database``.
    to : Path
        A folder, in which the copy is named after the shop and the moment; or a file, which
        must not be there yet.
    most : int, optional
        How many copies of this shop the folder keeps; older ones go once the new one is checked.

    Returns
    -------
    Copy
        The copy, on the disk, opened and looked through. Everything that was confirmed before
        the call is in it.

    Raises
    ------
    InputError
        No store there, or a place that cannot be used.
    StoreError
        The store cannot answer, or the copy is not sound.
    """
    if most is not None and (most < 1 or not to.is_dir()):
        raise InputError([Fault("copies to keep", str(most), "1 or more, in a folder")])
    with _told():
        shop, moment = shop_of(where), datetime.now(UTC)
        folder = to.is_dir()
        place = to / _NAMED.format(shop=shop, stamp=moment.strftime(_STAMP)) if folder else to
        if place.exists():
            raise InputError([Fault("backup", f"{place}, which is there", "a new file")])
        with whole(place) as half:
            _copied(where, half)
            found = checked_copy(half)
        if most is not None:
            for old in (*copies(to, shop)[most:], *_left_behind(to, shop)):
                old.unlink(missing_ok=True)
    return Copy(place, found.version, found.counts)


def copies(folder: Path, shop: str = "[0-9a-f]{8}") -> list[Path]:
    """Copies in a folder that bear a name of ours, the newest first."""
    form = re.compile(_NAMED.format(shop=shop, stamp=r"\d{8}T\d{12}Z").replace(".", r"\."))
    found = [path for path in folder.iterdir() if form.fullmatch(path.name) and path.is_file()]
    return sorted(found, key=lambda path: path.name.rpartition("-")[2], reverse=True)


def _left_behind(folder: Path, shop: str) -> list[Path]:
    """What copies of this shop left that were killed: a copy under way is written to."""
    half, until = _NAMED.format(shop=shop, stamp="*") + ".*.part*", time.time() - _DEAD
    with suppress(FileNotFoundError):  # another has cleared it away meanwhile
        return [path for path in folder.glob(half) if path.stat().st_mtime < until]
    return []


def made_at(copy: Path) -> datetime:
    """When a copy was made, by its name."""
    stamp = copy.stem.rpartition("-")[2]
    return datetime.strptime(stamp, _STAMP).replace(tzinfo=UTC)


def checked_copy(path: Path) -> Copy:
    """Open a copy and look through all of it: structure, references, each text and photo."""
    if not path.is_file():
        raise InputError([Fault("the copy", str(path), "a file made by warmside backup")])
    try:
        with closing(opened(path, "ro")) as connection:
            connection.execute("PRAGMA trusted_schema = OFF")
            return Copy(path, _version(connection), _looked_through(connection))
    except sqlite3.Error as error:
        raise _unsound(str(error)) from error


def restore(copy: Path, where: str | Path, replace: bool = False) -> Restored:
    """Put a copy into an empty place; only when asked in the place of what stands there.

    Parameters
    ----------
    copy : Path
        A file that ``back_up`` made; it is looked through first, and stays as it is.
    where : str or Path
        A path of a SQLite file that is not there yet, or an empty PostgreSQL database.
    replace : bool
        Put it in the place of a store that stands there. That one is copied first and kept.

    Raises
    ------
    InputError
        A copy that is not sound, or a place that is not empty.
    StoreError
        The place is in use, or cannot answer.
    """
    with _told():
        found, file = checked_copy(copy), _file(where)
        if file:
            before = _restore_file(copy, file, replace)
        else:
            before = _restore_database(copy, str(where), replace)
    return Restored(found, before)


def _file(where: str | Path) -> Path | None:
    """The SQLite file of a store; None for one in a database."""
    url = address(where)
    return Path(str(url.database)) if url.get_backend_name() == "sqlite" else None


# Making a copy


def _copied(where: str | Path, half: Path) -> None:
    if file := _file(where):
        copy_sqlite(file, half)
        return
    source, target = Database(address(where)), Database(address(half))
    try:
        bring_up_to_date(target)
        with source.reading() as before, target.writing() as after:
            version = version_of(before)
            if version != NEWEST:
                read, allowed = f"version {version}", f"version {NEWEST}: open it once (serve)"
                raise InputError([Fault("the store", read, allowed)])
            counts = transfer(before, after)
            if counts != _counts(after):
                raise _unsound("rows are missing")
    finally:
        source.close()
        target.close()
    with closing(opened(half, "rw")) as copy:
        copy.execute("PRAGMA journal_mode = DELETE")


def transfer(source: Connection, target: Connection) -> dict[str, int]:
    """Put every row of one store in the place of all that the other holds; rows by table."""
    for table in reversed(t.metadata.sorted_tables):
        target.execute(delete(table))
    counts = {}
    for table in t.metadata.sorted_tables:
        size, count = _AT_ONCE.get(table.name, _SOME), 0
        rows = source.execution_options(yield_per=size).execute(select(table)).mappings()
        for some in rows.partitions(size):
            target.execute(insert(table), [dict(row) for row in some])
            count += len(some)
        counts[table.name] = count
    return counts


def _counts(connection: Connection) -> dict[str, int]:
    count = select(func.count())
    return {
        table.name: int(connection.execute(count.select_from(table)).scalar_one())
        for table in t.metadata.sorted_tables
    }


def shop_of(where: str | Path) -> str:
    """Eight digits that every copy of one shop's store bears in its name."""
    if file := _file(where):
        if not file.is_file():
            raise InputError([Fault("the store", f"{file}, which is not there", "a store")])
        with closing(opened(file, "rw")) as connection:
            _version(connection)
            order = "SELECT created FROM job WHERE id = ?"
            return digest(connection.execute(order, (SHOP,)).fetchone()[0])[:8]
    database = Database(address(where))
    try:
        with database.reading() as connection:
            if version_of(connection) is None:
                raise InputError([Fault("the store", "an empty database", "a store")])
            began = select(t.job.c.created).where(t.job.c.id == SHOP)
            return digest(connection.execute(began).scalar_one())[:8]
    finally:
        database.close()


# Looking through a copy


def _version(connection: sqlite3.Connection) -> str:
    tables = {row[0] for row in connection.execute("SELECT name FROM sqlite_master")}
    if not {"alembic_version", "job", "change", "content"} <= tables:
        raise _unsound("it is no store of Warmside")
    version = str(connection.execute("SELECT version_num FROM alembic_version").fetchone()[0])
    if not version.isdigit() or version > NEWEST:
        raise _unsound(f"it is of version {version}; this program reads up to {NEWEST}")
    return version


def _looked_through(connection: sqlite3.Connection) -> dict[str, int]:
    broken = connection.execute("PRAGMA integrity_check").fetchone()[0]
    if broken != "ok":
        raise _unsound(str(broken)[:200])
    if connection.execute("PRAGMA foreign_key_check").fetchone():
        raise _unsound("a row refers to nothing")
    for kind, rows in (
        ("text", connection.execute("SELECT hash, body FROM content")),
        ("photo", connection.execute("SELECT hash, image FROM photo_file")),
    ):
        for hash_, body in rows:
            if digest(body) != hash_:
                raise _unsound(f"a {kind} is not what was kept")
    there = {row[0] for row in connection.execute("SELECT name FROM sqlite_master")}
    return {
        table.name: connection.execute(f'SELECT count(*) FROM "{table.name}"').fetchone()[0]  # noqa: S608
        for table in t.metadata.sorted_tables
        if table.name in there
    }


def _unsound(why: str) -> InputError:
    return InputError([Fault("the copy", why, "a whole file made by warmside backup")])


# Putting a copy back


def _restore_file(copy: Path, place: Path, replace: bool) -> Path | None:
    """The old file is moved aside only when the new one lies whole beside it."""
    logs = [place.with_name(place.name + end) for end in ("-wal", "-shm", "-journal")]
    there = place.exists() or any(log.exists() for log in logs)
    if there and not replace:
        raise _not_empty(str(place))
    place.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
    aside = None
    with whole(place) as half:
        copy_sqlite(copy, half)
        checked_copy(half)
        if place.exists():
            _refuse_in_use(place)
            stamp = datetime.now(UTC).strftime(_STAMP)
            aside = place.rename(place.with_name(f"{place.stem}-replaced-{stamp}{place.suffix}"))
        for log in logs:  # of the old file; SQLite would play it into the new one
            if log.exists():
                log.rename(log.with_name(f"{log.name}-replaced"))
    return aside


def _refuse_in_use(place: Path) -> None:
    """Taking a file out of log mode needs it alone, and leaves everything in the one file."""
    with closing(opened(place, "rw")) as connection:
        connection.execute("PRAGMA busy_timeout = 2000")
        try:
            connection.execute("PRAGMA journal_mode = DELETE").fetchone()
        except sqlite3.OperationalError:
            raise StoreError(
                f"{place} is in use", "stop the server that has it open, then try again"
            ) from None


def _restore_database(copy: Path, where: str, replace: bool) -> Path | None:
    """All of it in one transaction, so that the old stands until the new is in."""
    database, aside = Database(address(where)), None
    try:
        bring_up_to_date(database)
        with database.reading() as connection:
            empty = _is_empty(connection)
        if not empty and replace:
            stamp = datetime.now(UTC).strftime(_STAMP)
            aside = back_up(where, copy.with_name(f"warmside-replaced-{stamp}.sqlite")).path
        with _as_newest(copy) as source, source.reading() as before, database.writing() as after:
            after.execute(text("SELECT pg_advisory_xact_lock(:n)"), {"n": LOCK})
            if not replace and not _is_empty(after):
                raise _not_empty("the database")
            if transfer(before, after) != _counts(after):
                raise _unsound("rows are missing")
    finally:
        database.close()
    return aside


@contextmanager
def _as_newest(copy: Path) -> Iterator[Database]:
    """A copy of the copy, brought up to date, so that the copy stays as it is."""
    with tempfile.TemporaryDirectory() as folder:
        own = Path(folder) / "copy.sqlite"
        copy_sqlite(copy, own)
        database = Database(address(own))
        try:
            bring_up_to_date(database)
            yield database
        finally:
            database.close()


def _is_empty(connection: Connection) -> bool:
    """Whether nobody has kept anything yet."""
    held = (t.change, t.person)
    return not any(connection.execute(select(table).limit(1)).first() for table in held)


def _not_empty(place: str) -> InputError:
    read, allowed = f"{place}, which holds a store", "an empty place, or --replace"
    return InputError([Fault("restore into", read, allowed)])


@contextmanager
def _told() -> Iterator[None]:
    """Turn what the disk or the engine says into what a person can act on."""
    try:
        yield
    except StoreError:
        raise
    except sqlite3.Error as error:
        raise StoreError(
            f"the store could not be copied: {error}", "check it and the disk"
        ) from error
    except OSError as error:
        what = f"{error.filename or 'the disk'}: {error.strerror or error}"
        raise StoreError(what, "choose a folder that can be written and has room") from error


def _many(count: int, one: str) -> str:
    return f"{count} {one}{'' if count == 1 else 's'}"
