"""Making people wait who guess passwords; nobody can lock a colleague out by it.

Failures are counted for a name from one address, strictly, and for an address as a whole, loosely:
guessing one name is slowed at once, while others behind the same address, and the person
themselves from their own, go on. A try is counted before its password is looked at, so that many
at once are not all let through; at most two are looked at at a time, since each takes memory.
"""

from __future__ import annotations

import time
from collections import OrderedDict
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from threading import BoundedSemaphore, Lock

_KEPT = 10_000  # keys remembered
_AT_ONCE, _QUEUE = 2, 5.0  # passwords looked at; [s] that another waits for its turn


@dataclass(frozen=True)
class Patience:
    """Tries that are free, and the longest wait [s] that the following lead to."""

    free: int
    longest: float


PAIR = Patience(5, 900.0)  # one name from one address
ADDRESS = Patience(40, 60.0)  # all names from one address


class Waiting:
    """Tries by key; each beyond the free ones doubles the wait."""

    def __init__(self) -> None:
        self._tries: OrderedDict[str, tuple[int, float]] = OrderedDict()
        self._lock, self._turn = Lock(), BoundedSemaphore(_AT_ONCE)

    def begin(self, name: str, address: str) -> int:
        """Count a try; seconds until one may be made, 0 where this one may be."""
        keys, now = self._keys(name, address), time.monotonic()
        with self._lock:
            left = max(self._tries.get(key, (0, 0.0))[1] - now for key, _ in keys)
            if left > 0.0:
                return int(left + 0.999)
            for key, patience in keys:
                count = self._tries.pop(key, (0, 0.0))[0] + 1
                over = count - patience.free
                wait = min(patience.longest, 2.0 ** min(over, 20)) if over >= 0 else 0.0
                self._tries[key] = (count, now + wait)
            while len(self._tries) > _KEPT:
                self._tries.popitem(last=False)
        return 0

    def left(self, name: str, address: str) -> int:
        """Seconds until a try may be made; none is counted."""
        now = time.monotonic()
        with self._lock:
            ends = [self._tries.get(key, (0, 0.0))[1] for key, _ in self._keys(name, address)]
        return max(int(max(ends) - now + 0.999), 0)

    def succeeded(self, name: str, address: str) -> None:
        """Forget the tries for a name from an address; those of the address count one less."""
        (pair, _), (whole, _) = self._keys(name, address)
        with self._lock:
            self._tries.pop(pair, None)
            count, until = self._tries.get(whole, (0, 0.0))
            if count > 1:
                self._tries[whole] = (count - 1, until)
            else:
                self._tries.pop(whole, None)

    @contextmanager
    def turn(self) -> Iterator[bool]:
        """Whether it is one's turn to have a password looked at; False after a while in line."""
        mine = self._turn.acquire(timeout=_QUEUE)
        try:
            yield mine
        finally:
            if mine:
                self._turn.release()

    @staticmethod
    def _keys(name: str, address: str) -> tuple[tuple[str, Patience], tuple[str, Patience]]:
        pair = f"{address} {name.casefold()[:100]}"
        return (f"name {pair}", PAIR), (f"address {address}", ADDRESS)
