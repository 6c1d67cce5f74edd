"""Files of a run: written whole or not at all; no kill and no full disk leaves half of one."""

from __future__ import annotations

import contextlib
import errno
import os
from collections.abc import Iterable, Iterator, Mapping
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING, Any

from warmside.errors import WarmsideError

if TYPE_CHECKING:
    import polars as pl

_FULL = (errno.ENOSPC, errno.EDQUOT, errno.EFBIG)


class DiskFullError(WarmsideError, OSError):
    """No room for a result; what was written before is whole and stays."""

    def __init__(self, path: Path) -> None:
        self.path = path
        super().__init__(path)

    def __str__(self) -> str:
        return (
            f"{self.path}: no space is left on the disk. What was finished before is kept; make "
            "room and start the same run again, it goes on from there."
        )


@contextlib.contextmanager
def told_when_full(path: Path) -> Iterator[None]:
    """A full disk in words: no room is left for ``path``."""
    try:
        yield
    except OSError as error:
        if error.errno in _FULL:
            raise DiskFullError(path) from None
        raise


def write_whole(path: Path, data: bytes | Iterable[bytes]) -> None:
    """Write a file, given in one piece or several, beside its place, then move it there.

    Raises
    ------
    DiskFullError
        No space left; nothing half-written stays.
    OSError
        Any other reason of the system.
    """
    beside = path.with_name(f".{path.name}.{os.getpid()}")
    try:
        with told_when_full(path), beside.open("wb") as file:
            file.writelines((data,) if isinstance(data, bytes) else data)
            file.flush()
            os.fsync(file.fileno())
        beside.replace(path)
    except OSError:
        with contextlib.suppress(OSError):
            beside.unlink()
        raise


def write_rows(path: Path, rows: Iterable[Mapping[str, Any]], schema: Mapping[str, Any]) -> None:
    """Write rows as Parquet with a fixed schema; see ``write_whole``."""
    import polars as pl

    write_frame(path, pl.DataFrame(list(rows), schema=schema, orient="row"))


def write_frame(path: Path, frame: pl.DataFrame) -> None:
    """Write a frame as Parquet; see ``write_whole``."""
    buffer = BytesIO()
    frame.write_parquet(buffer, compression="zstd", statistics=True)
    write_whole(path, buffer.getvalue())


def readable(path: Path) -> bool:
    """Whether a Parquet file can be read; one that cannot is removed, to be made again."""
    import polars as pl

    try:
        pl.read_parquet_schema(path)
    except (OSError, pl.exceptions.PolarsError):
        with contextlib.suppress(OSError):
            path.unlink()
        return False
    return True
