"""A server of pages as a person starts one, and the line between it and a phone."""

from __future__ import annotations

import asyncio
import os
import re
import subprocess
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

SOURCE = str(Path(__file__).parents[1] / "src")


@contextmanager
def served(folder: Path, *more: str) -> Iterator[tuple[int, subprocess.Popen[str]]]:
    """A server over the store in ``folder``: its port, its process."""
    command = [sys.executable, "-m", "warmside", "serve", "--data", str(folder), "--port", "0"]
    told = os.environ | {"PYTHONPATH": SOURCE, "PYTHONUNBUFFERED": "1"}
    process = subprocess.Popen(
        [*command, *more], env=told, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True
    )
    try:
        assert process.stdout
        line = process.stdout.readline()
        found = re.search(r"https?://localhost:(\d+)", line)
        assert found, line + process.stdout.read()
        yield int(found[1]), process
    finally:
        process.kill()
        process.wait(20)
        if process.stdout:
            process.stdout.close()


class Line:
    """A line to a server, which can be cut: what runs over it breaks, nothing new gets through.

    The browser's own way of being offline lets a request slip out while a page is opened.
    """

    def __init__(self, port: int) -> None:
        self.to, self.port = port, 0  # 0: it does not begin anywhere yet
        self.up = True
        self.ends: set[asyncio.StreamWriter] = set()
        self.loop = asyncio.new_event_loop()

    async def join(self, phone: asyncio.StreamReader, back: asyncio.StreamWriter) -> None:
        self.ends.add(back)
        with suppress(OSError):
            if self.up:
                server, on = await asyncio.open_connection("localhost", self.to)
                self.ends.add(on)
                await asyncio.gather(self.carry(phone, on), self.carry(server, back))
        back.transport.abort()

    async def carry(self, source: asyncio.StreamReader, to: asyncio.StreamWriter) -> None:
        with suppress(OSError):
            while self.up and (some := await source.read(65536)):
                if self.up:
                    to.write(some)
                    await to.drain()
        to.close()
        self.ends.discard(to)

    async def _cut(self) -> None:
        self.up = False
        for end in self.ends:
            end.transport.abort()
        self.ends.clear()

    def cut(self) -> None:
        """Returns once nothing passes."""
        asyncio.run_coroutine_threadsafe(self._cut(), self.loop).result(10)

    def mend(self) -> None:
        self.up = True


@contextmanager
def line_to(port: int) -> Iterator[Line]:
    """A line to the server at ``port``."""
    line = Line(port)
    runner = threading.Thread(target=line.loop.run_forever, daemon=True)
    runner.start()
    begun = asyncio.start_server(line.join, "127.0.0.1", 0)
    server = asyncio.run_coroutine_threadsafe(begun, line.loop).result(10)
    line.port = server.sockets[0].getsockname()[1]
    yield line
    server.close()
    line.cut()
    line.loop.call_soon_threadsafe(line.loop.stop)
    runner.join(10)
    line.loop.close()
