"""Lines to browsers, bounded: one that does not ask within a while is closed, as is one too many.

Without it a few hundred half-sent requests would keep everybody else out.
"""

from __future__ import annotations

import asyncio
from collections import Counter
from typing import Any

from uvicorn.protocols.http.h11_impl import H11Protocol

ASKING = 15.0  # [s] from a line's first sign to the end of a request's headers
MOST = 64  # lines of one address; browsers open six
LOCAL = frozenset({"127.0.0.1", "::1"})  # this computer, or the proxy that counts by itself

_lines: Counter[str] = Counter()  # of one process, as is its event loop


class Line(H11Protocol):
    """One line; uvicorn's own, with a clock and a count."""

    _clock: asyncio.TimerHandle | None = None
    _address = ""

    def connection_made(self, transport: Any) -> None:
        """Take a line, unless its address has enough of them."""
        peer = transport.get_extra_info("peername")
        self._address = str(peer[0]) if peer else ""
        _lines[self._address] += 1
        super().connection_made(transport)
        if self._address not in LOCAL and _lines[self._address] > MOST:
            transport.close()
            return
        self._wait()

    def connection_lost(self, exc: Exception | None) -> None:
        """A line has gone."""
        self._stop()
        _lines[self._address] -= 1
        if _lines[self._address] <= 0:
            del _lines[self._address]
        super().connection_lost(exc)

    def data_received(self, data: bytes) -> None:
        """More of a request, or of the next."""
        super().data_received(data)
        if self._asks():
            self._stop()
        elif self._clock is None:
            self._wait()

    def _asks(self) -> bool:
        """Whether a request is under way whose headers are all there."""
        return self.cycle is not None and not self.cycle.response_complete

    def _wait(self) -> None:
        self._clock = self.loop.call_later(ASKING, self._late)

    def _stop(self) -> None:
        if self._clock is not None:
            self._clock.cancel()
            self._clock = None

    def _late(self) -> None:
        """Close a line that has not asked; one that waits after an answer has a time of its own."""
        self._clock = None
        answered = self.cycle is not None and self.cycle.response_complete
        half = bool(self.conn.trailing_data[0])
        if not self._asks() and (half or not answered) and not self.transport.is_closing():
            self.transport.close()
