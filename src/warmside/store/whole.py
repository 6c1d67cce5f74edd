"""Files that are whole or not there: written beside their place, moved there when complete."""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from pathlib import Path
from urllib.parse import quote


@contextmanager
def whole(place: Path) -> Iterator[Path]:
    """A new file that only its owner may read; it bears its name once the block has ended well."""
    half = place.with_name(f"{place.name}.{os.getpid()}.part")
    os.close(os.open(half, os.O_CREAT | os.O_RDWR | os.O_TRUNC, 0o600))
    try:
        yield half
        _on_the_disk(half)
        half.replace(place)
    finally:
        for left in ("", "-journal", "-wal", "-shm"):
            half.with_name(half.name + left).unlink(missing_ok=True)
    _on_the_disk(place.parent)


def copy_sqlite(source: Path, target: Path) -> None:
    """The committed state of a SQLite file at one moment, whoever writes to it meanwhile.

    SQLite's online backup: it reads what lies in the write-ahead log too, which a copy of the
    file alone would miss. The copy is one file without a log of its own.
    """
    with closing(opened(source, "rw")) as before, closing(sqlite3.connect(target)) as after:
        before.backup(after)
        after.execute("PRAGMA journal_mode = DELETE")


def opened(file: Path, mode: str) -> sqlite3.Connection:
    """A SQLite file that is there already; ``mode`` is "ro" or "rw"."""
    return sqlite3.connect(f"file:{quote(str(file.absolute()))}?mode={mode}", uri=True, timeout=15)


def _on_the_disk(path: Path) -> None:
    handle = os.open(path, os.O_RDONLY)
    try:
        with suppress(OSError):  # some file systems cannot do it for a folder
            os.fsync(handle)
    finally:
        os.close(handle)
