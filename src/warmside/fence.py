"""Work on what strangers send, in a process of its own that may be ended at any moment.

Decoders and readers meet hostile bytes; a small file can ask for gigabytes or minutes. Behind the
fence it gets so much memory and so much work. There are two lanes, so that a picture does not hold
up a text: in each one file is read after the other, and a few more wait in line for a while.
Whatever happens there, this process goes on.
"""

from __future__ import annotations

import gc
import math
import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from importlib import import_module
from multiprocessing.connection import Connection
from threading import BoundedSemaphore
from typing import Any, TypeVar

from warmside.errors import BusyError, Fault, InputError, WarmsideError
from warmside.workers import start

SECONDS = 4.0  # of work
_PATIENCE = 8.0  # times as long on the clock, since other work goes on beside it
_READY = 90.0  # [s] until a process has begun: the first waits for the readers to be imported
_LINE, _QUEUE = 8, 20.0  # of a lane: how many wait in line; [s] how long
# what every such process has from the beginning
_READERS = ["warmside.proof.picture", "warmside.store.images", "PIL.Image", "tifffile",
            "warmside.store.store", "warmside.study.checking", "warmside.weather"]  # fmt: skip

Out = TypeVar("Out")


class Lane:
    """One after the other, each in so much memory [byte] beyond what the process itself has."""

    def __init__(self, memory: int) -> None:
        self.memory = memory
        self._turn, self._places = BoundedSemaphore(1), BoundedSemaphore(1 + _LINE)

    @contextmanager
    def turn(self) -> Iterator[None]:
        """Wait in line for it; whoever waits holds up a thread, so few do."""
        busy = BusyError("many files are being read now", "try again in a moment")
        if not self._places.acquire(blocking=False):
            raise busy
        try:
            if not self._turn.acquire(timeout=_QUEUE):
                raise busy
            try:
                yield
            finally:
                self._turn.release()
        finally:
            self._places.release()


TEXTS = Lane(64 << 20)  # a survey takes a twentieth of it
FILES = Lane(208 << 20)  # a photo of 48 million pixels in a progressive JPEG takes most of it


def make_ready() -> None:
    """Begin to import the readers, so that the first file does not wait for them."""
    start(_READERS)


def fenced(
    work: Callable[..., Out],
    *given: Any,
    lane: Lane = TEXTS,
    seconds: float = SECONDS,
    memory: int = 0,
    place: str = "file",
) -> Out:
    """What ``work`` makes of ``given``, done behind the fence.

    Parameters
    ----------
    work : callable
        A function of a module, whose result can be pickled.
    lane : Lane
        ``TEXTS``, or ``FILES`` for pictures, tables and whole jobs.
    seconds : float
        Of work until it is ended; on the clock it may take several times as long.
    memory : int
        Bytes that it may take; as the lane has it by default.
    place : str
        What to call the file where it took too much.

    Raises
    ------
    InputError
        That of ``work``, or one that says that it took too much time or memory.
    BusyError
        Too many others were in line, or for too long.
    """
    memory = memory or lane.memory
    with lane.turn():
        context = start(_READERS)
        own, other = context.Pipe(duplex=False)
        process: Any = context.Process(  # type: ignore[attr-defined]
            target=_behind, args=(other, work, given, seconds, memory), daemon=True
        )
        process.start()
        other.close()
        try:
            if not own.poll(_READY) or not own.recv():
                raise BusyError("no file can be read now", "try again in a moment")
            told = own.recv() if own.poll(_PATIENCE * seconds) else None
        except EOFError:  # it was ended, or its decoder broke down
            told = None
        finally:
            process.kill()
            process.join()
            own.close()
    if told is None:
        raise _too_much(place)
    good, value = told
    if good:
        result: Out = value
        return result
    if isinstance(value, WarmsideError):
        raise value
    raise _too_much(place)


def _too_much(place: str) -> InputError:
    read = "one that takes more time or memory than any file of its kind should"
    return InputError([Fault(place, read, "an ordinary file, smaller or written anew")])


def _behind(
    tell: Connection, work: Callable[..., Any], given: Any, seconds: float, memory: int
) -> None:
    """The process behind the fence."""
    for name in _READERS:  # already there, but where no server process could import them
        import_module(name)
    gc.freeze()  # what is shared with other processes stays shared: looking through it copies it
    _bound(seconds, memory)
    with suppress(BrokenPipeError):  # who asked has ended
        tell.send(True)  # the clock runs from now
        tell.send(_answer(work, given))


def _answer(work: Callable[..., Any], given: Any) -> tuple[bool, Any]:
    try:
        return True, work(*given)
    except WarmsideError as error:
        return False, error
    except (Exception, MemoryError):  # whatever a decoder raises means the same outside
        return False, None


def _bound(seconds: float, memory: int) -> None:
    """Limits that the system itself keeps, where it has them."""
    try:
        import resource
    except ImportError:  # no such limits on this system: time still is
        return
    os.nice(5)  # pages come first
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    resource.setrlimit(resource.RLIMIT_CPU, (math.ceil(seconds), math.ceil(seconds) + 1))
    try:
        with open("/proc/self/statm", encoding="ascii") as file:
            taken = int(file.read().split()[0]) * resource.getpagesize()
    except OSError:
        return
    resource.setrlimit(resource.RLIMIT_AS, (taken + memory, taken + memory))
