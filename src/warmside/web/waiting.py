"""Making people wait who guess passwords."""

from __future__ import annotations

import time
from collections import OrderedDict
from threading import Lock

_FREE = 5  # failures before anybody waits
_LONGEST = 900.0  # [s]
_KEPT = 10_000  # keys remembered


class Waiting:
    """Failures by key (a name, an address); each beyond the fifth doubles the wait."""

    def __init__(self) -> None:
        self._failures: OrderedDict[str, tuple[int, float]] = OrderedDict()
        self._lock = Lock()

    def left(self, *keys: str) -> int:
        """Seconds until any of the keys may try again; 0 when all may."""
        now = time.monotonic()
        with self._lock:
            ends = (self._failures.get(key, (0, 0.0))[1] for key in keys)
            return max(0, *(int(end - now + 0.999) for end in ends))

    def failed(self, *keys: str) -> None:
        """A failure for each key."""
        with self._lock:
            for key in keys:
                count = self._failures.pop(key, (0, 0.0))[0] + 1
                wait = min(_LONGEST, 2.0 ** (count - _FREE)) if count >= _FREE else 0.0
                self._failures[key] = (count, time.monotonic() + wait)
            while len(self._failures) > _KEPT:
                self._failures.popitem(last=False)

    def succeeded(self, *keys: str) -> None:
        """Forget the failures of each key."""
        with self._lock:
            for key in keys:
                self._failures.pop(key, None)
