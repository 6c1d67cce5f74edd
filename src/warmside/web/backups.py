"""Copies of the store while it is served: one every so many minutes, the last ones kept."""

from __future__ import annotations

import sys
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from threading import Event, Thread

from warmside.errors import WarmsideError
from warmside.store.backup import back_up, copies, made_at, shop_of

_LOOK = 5.0  # [s] between two looks at the clock, which may be set or have slept
_AGAIN = timedelta(minutes=1)  # after a copy that failed


@dataclass(frozen=True)
class Standing:
    """How it stands with the copies; ``failure`` "" where the last one was made."""

    last: datetime | None
    failure: str
    late: bool


class Backups:
    """A thread that copies the store at ``where`` into ``folder``.

    Parameters
    ----------
    every : int
        Minutes from one copy to the next; the last copy in the folder counts after a restart.
    most : int
        Copies kept.
    """

    def __init__(self, where: str, folder: Path, every: int, most: int) -> None:
        self._where, self._folder, self._most = where, folder, most
        self._every = timedelta(minutes=every)
        self._shop = ""
        self._failure, self._again = "", datetime.min.replace(tzinfo=UTC)
        self._stop = Event()
        self._thread = Thread(target=self._run, name="backups", daemon=True)

    def start(self) -> None:
        """Begin."""
        self._thread.start()

    def stop(self) -> None:
        """End; a copy under way is dropped with the process, and never bears its name."""
        self._stop.set()
        self._thread.join(timeout=5)

    def standing(self) -> Standing:
        """When the last copy was made, and whether it is later than it should be."""
        last = self._last()
        late = last is None or datetime.now(UTC) - last > 2 * self._every + _AGAIN
        return Standing(last, self._failure, late)

    def _run(self) -> None:
        while True:
            self._once()
            if self._stop.wait(_LOOK):
                return

    def _once(self) -> None:
        now, last = datetime.now(UTC), self._last()
        # a copy from the future is of a clock that was wrong
        if now < self._again or (last and timedelta(0) <= now - last < self._every):
            return
        try:
            back_up(self._where, self._folder, self._most)
            self._failure = ""
        except (WarmsideError, OSError) as error:
            self._failure, self._again = str(error), now + _AGAIN
            print(f"The backup failed: {error}", file=sys.stderr, flush=True)  # noqa: T201

    def _last(self) -> datetime | None:
        try:
            self._shop = self._shop or shop_of(self._where)
            last = next(iter(copies(self._folder, self._shop)), None)
        except (WarmsideError, OSError):
            return None
        return made_at(last) if last else None
