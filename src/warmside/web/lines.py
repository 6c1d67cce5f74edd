"""Lines to browsers, bounded: how long a request may take to come in, and how many lines there are.

Without it a few hundred half-sent requests would keep everybody else out. Where there are too many
lines, the one goes that has been quiet for the longest: a browser opens it again, and whoever asks
at once is never quiet for long.
"""

from __future__ import annotations

import asyncio
from collections import Counter
from typing import Any

import h11
from uvicorn.protocols.http.h11_impl import H11Protocol

ASKING = 15.0  # [s] from a line's first sign to the end of a request's headers
SLOWEST = 20_000.0  # [byte/s] at which a body comes in, after as many seconds as its headers have
UNREAD = 5.0  # [s] that a body may go on after its answer, which the browser reads meanwhile
MOST = 400  # lines
MOST_OF_ONE = 64  # lines of one address; browsers open six
LOCAL = frozenset({"127.0.0.1", "::1"})  # this computer, or the proxy that counts by itself

# of one process, as is its event loop
_lines: Counter[str] = Counter()
_quiet: dict[Line, None] = {}  # lines that ask nothing yet or any more, the longest first
_sending: dict[Line, None] = {}  # lines whose request is not all there


class Line(H11Protocol):
    """One line; uvicorn's own, with a clock and a count."""

    _clock: asyncio.TimerHandle | None = None
    _address = ""
    _state = ""

    def connection_made(self, transport: Any) -> None:
        """Take a line, unless its address has enough of them."""
        peer = transport.get_extra_info("peername")
        self._address = str(peer[0]) if peer else ""
        _lines[self._address] += 1
        super().connection_made(transport)
        if self._address not in LOCAL and _lines[self._address] > MOST_OF_ONE:
            transport.close()
            return
        self._settle()
        if _lines.total() > MOST:
            _make_room()

    def connection_lost(self, exc: Exception | None) -> None:
        """A line has gone."""
        self._enter("gone", None)
        _lines[self._address] -= 1
        if _lines[self._address] <= 0:
            del _lines[self._address]
        super().connection_lost(exc)

    def data_received(self, data: bytes) -> None:
        """More of a request, or of the next."""
        super().data_received(data)
        self._settle()

    def on_response_complete(self) -> None:
        """An answer is out."""
        super().on_response_complete()
        self._settle()

    def _settle(self) -> None:
        """Where the line is in its talk, and how long it may stay there."""
        if self._state == "gone":
            return
        answered = self.cycle is None or self.cycle.response_complete
        if self.cycle is None or (answered and self.conn.trailing_data[0]):
            self._enter("asking", ASKING)
        elif not answered and not self.cycle.more_body:
            self._enter("asked", None)
        elif not answered:
            self._enter("sending", ASKING + self._length() / SLOWEST)
        elif self.conn.their_state is h11.SEND_BODY:
            self._enter("unread", UNREAD)
        else:
            self._enter("pausing", None)  # uvicorn's own clock ends it

    def _length(self) -> int:
        """What the body says that it is; bodies of unknown length have the time of a small one."""
        scope = self.scope or {"headers": ()}
        told = next((v for k, v in scope["headers"] if k == b"content-length"), b"")
        return int(told[:12]) if told.isdigit() else 0

    def _enter(self, state: str, seconds: float | None) -> None:
        if state == self._state:
            return
        self._state = state
        for held in (_quiet, _sending):
            held.pop(self, None)
        if state in ("asking", "pausing"):
            _quiet[self] = None
        elif state in ("sending", "unread"):
            _sending[self] = None
        if self._clock is not None:
            self._clock.cancel()
        self._clock = None if seconds is None else self.loop.call_later(seconds, self.end)

    def end(self) -> None:
        """Close the line at once."""
        self._enter("gone", None)
        if not self.transport.is_closing():
            self.transport.abort()


def _make_room() -> None:
    """Close the line that has been quiet for the longest, else one that is still sending."""
    for held in (_quiet, _sending):
        if held:
            next(iter(held)).end()
            return
