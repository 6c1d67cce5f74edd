"""Warm processes: a few that keep the last study of jobs, so that an edited wall is judged at once.

A job goes to the process that has it warm, else to the one with the least to do. A process that
nobody asked for a while ends, and so does what it keeps; one that broke down is begun anew.
"""

from __future__ import annotations

import asyncio
import itertools
import os
from collections import OrderedDict
from collections.abc import AsyncGenerator, Callable
from contextlib import suppress
from dataclasses import dataclass, field, replace
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from queue import SimpleQueue
from threading import Lock, Thread
from time import monotonic
from typing import Any

from warmside.errors import BusyError
from warmside.web.warm_process import JOBS, Ask, Told, serve
from warmside.workers import SOLVERS, start

Tell = Callable[[Told], None]
MOST = 48  # asks open at once
MOST_OF_JOB = 12  # of them for one job, whoever has a link to it
_IDLE = 900.0  # [s] that nobody asks, until a process ends
_BEAT = 15.0  # [s] after which a line that tells nothing shows that it is still there
_LOOK = 5.0  # [s] between two looks whether anybody does


class WarmJobs:
    """The processes; ``where`` and ``secret`` open the store and the studies sealed in it."""

    def __init__(self, where: str, secret: bytes, processes: int = 0) -> None:
        self._where, self._secret = where, secret
        self._most = processes or max(1, min(os.cpu_count() or 1, 4))
        self._numbers, self._lock = itertools.count(1), Lock()
        self._processes: list[_Warm] = []
        self._stopped = False

    def start(self) -> None:
        """Nothing begins before somebody asks."""

    def stop(self) -> None:
        """End the processes."""
        with self._lock:
            self._stopped = True
            processes, self._processes = self._processes, []
        for process in processes:
            process.end()

    def holds(self, job: str) -> bool:
        """Whether a process has a job warm."""
        with self._lock:
            return any(job in one.jobs and one.process.is_alive() for one in self._processes)

    async def follow(self, ask: Ask) -> AsyncGenerator[Told]:
        """What becomes known of a wall as it is edited; leaving it cancels the rest.

        Now and then nothing is told, so that the line stays open.

        Parameters
        ----------
        ask : Ask
            Its number is given here.

        Raises
        ------
        BusyError
            Too many walls are being edited at once.
        """
        ask = replace(ask, number=next(self._numbers))
        told: asyncio.Queue[Told] = asyncio.Queue()
        loop = asyncio.get_running_loop()

        def tell(one: Told) -> None:
            loop.call_soon_threadsafe(told.put_nowait, one)

        def leave(given: asyncio.Future[_Warm]) -> None:
            if not given.cancelled() and not given.exception():
                given.result().drop(ask.number)

        given = asyncio.ensure_future(asyncio.to_thread(self._give, ask, tell))
        try:
            await asyncio.shield(given)  # a thread goes on when whoever waits for it has left
            while True:
                try:
                    one = await asyncio.wait_for(told.get(), _BEAT)
                except TimeoutError:
                    one = Told(ask.number)
                yield one
                if one.ends:
                    return
        finally:
            leave(given) if given.done() else given.add_done_callback(leave)

    def _give(self, ask: Ask, tell: Tell) -> _Warm:
        """Hand an ask to the process that has its job warm, else to the one with least to do."""
        with self._lock:
            there = [one for one in self._processes if one.process.is_alive()]
            jobs = [job for one in there for job, _ in one.open_.values()]
            if self._stopped or len(jobs) >= MOST or jobs.count(ask.job) >= MOST_OF_JOB:
                raise BusyError("many walls are being edited now", "the figures come with a study")
            mine = next((one for one in there if ask.job in one.jobs), None)
            if mine is None and len(there) < self._most:
                mine = self._begin()
                there.append(mine)
            mine = mine or min(there, key=lambda one: (len(one.open_), len(one.jobs)))
            self._processes = there
            mine.take(ask, tell)
        return mine

    def _begin(self) -> _Warm:
        context = start(SOLVERS)
        own, other = context.Pipe()
        process: Any = context.Process(  # type: ignore[attr-defined]
            target=serve, args=(other, self._where, self._secret), daemon=True
        )
        process.start()
        other.close()
        begun = _Warm(process, own)
        begun.listener.start()
        return begun


@dataclass(eq=False)
class _Warm:
    """One process as the server sees it."""

    process: BaseProcess
    line: Connection
    jobs: OrderedDict[str, None] = field(
        default_factory=OrderedDict
    )  # the one used last at the end
    open_: dict[int, tuple[str, Tell]] = field(default_factory=dict)  # job, whom to tell
    asked: float = field(default_factory=monotonic)
    said: SimpleQueue[Ask | int | None] = field(default_factory=SimpleQueue)

    def __post_init__(self) -> None:
        self.listener = Thread(target=self.listen, name="warm process hears", daemon=True)

    def take(self, ask: Ask, tell: Tell) -> None:
        """Begin to answer."""
        self.asked = monotonic()
        self.jobs.pop(ask.job, None)
        self.jobs[ask.job] = None
        while len(self.jobs) > JOBS:
            self.jobs.popitem(last=False)
        self.open_[ask.number] = ask.job, tell
        self.said.put(ask)

    def drop(self, number: int) -> None:
        """Nobody wants it any more, or it is answered."""
        if self.open_.pop(number, None) is not None:
            self.said.put(number)

    def speak(self) -> None:
        """Pass on what it is asked; it listens between two steps, and nobody waits for that."""
        with suppress(OSError):  # a line that broke is told by whoever listens
            while (message := self.said.get()) is not None:
                self.line.send(message)

    def listen(self) -> None:
        """Pass on what is asked and told, until it ends or nobody asked for long.

        The line is closed here alone, when nobody speaks on it any more.
        """
        speaker = Thread(target=self.speak, name="warm process is told", daemon=True)
        speaker.start()
        with suppress(EOFError, OSError):
            while self.open_ or monotonic() - self.asked < _IDLE:
                if self.line.poll(_LOOK):
                    self._pass_on(self.line.recv())
        self.process.kill()
        self.process.join()
        self.said.put(None)
        speaker.join()
        self.line.close()
        for number in list(self.open_):
            fault = "The computation ended before it was done."
            self._pass_on(Told(number, ends=True, fault=fault))

    def _pass_on(self, told: Told) -> None:
        waits = self.open_.get(told.number)
        if told.ends:
            self.open_.pop(told.number, None)
        if waits:
            with suppress(RuntimeError):  # the server is going down
                waits[1](told)

    def end(self) -> None:
        """End it; whoever still waits is told so."""
        self.process.kill()
        self.listener.join()
