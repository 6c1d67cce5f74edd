"""Work on what strangers send, in a process of its own that may be ended at any moment.

Decoders meet hostile bytes; a small file can ask for gigabytes or minutes. Behind the fence it gets
so much memory, so much time, and only a few are behind it at once; the rest wait in line for a
while. Whatever happens there, this process goes on.
"""

from __future__ import annotations

import os
from collections.abc import Callable
from multiprocessing.connection import Connection
from threading import BoundedSemaphore
from typing import Any, TypeVar

from warmside.errors import BusyError, Fault, InputError, WarmsideError
from warmside.workers import start

MEMORY = 768 << 20  # [byte] beyond what the process itself has
SECONDS = 25.0
_AT_ONCE, _QUEUE = 2, 30.0  # processes; [s] in line
# what every such process has from the beginning
_DECODERS = ["warmside.proof.picture", "warmside.store.images", "PIL.Image", "tifffile"]

Out = TypeVar("Out")
_turn = BoundedSemaphore(_AT_ONCE)


def fenced(
    work: Callable[..., Out],
    *given: Any,
    seconds: float = SECONDS,
    memory: int = MEMORY,
    place: str = "file",
) -> Out:
    """What ``work`` makes of ``given``, done behind the fence.

    Parameters
    ----------
    work : callable
        A function of a module, whose result can be pickled.
    seconds : float
        Until it is ended.
    memory : int
        Bytes that it may take.
    place : str
        What to call the file where it took too much.

    Raises
    ------
    InputError
        That of ``work``, or one that says that it took too much time or memory.
    BusyError
        Others were in line for too long.
    """
    if not _turn.acquire(timeout=_QUEUE):
        raise BusyError("many files are being read now", "try again in a moment")
    try:
        context = start(_DECODERS)
        here, there = context.Pipe(duplex=False)
        process: Any = context.Process(  # type: ignore[attr-defined]
            target=_behind, args=(there, work, given, seconds, memory), daemon=True
        )
        process.start()
        there.close()
        try:
            told = here.recv() if here.poll(seconds) else None
        except EOFError:  # it was ended, or its decoder broke down
            told = None
        finally:
            process.kill()
            process.join()
            here.close()
    finally:
        _turn.release()
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
    _bound(seconds, memory)
    try:
        tell.send((True, work(*given)))
    except WarmsideError as error:
        tell.send((False, error))
    except (Exception, MemoryError):  # whatever a decoder raises means the same outside
        tell.send((False, None))


def _bound(seconds: float, memory: int) -> None:
    """Limits that the system itself keeps, where it has them."""
    try:
        import resource
    except ImportError:  # no such limits on this system: time still is
        return
    os.nice(5)
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    resource.setrlimit(resource.RLIMIT_CPU, (int(seconds) + 1, int(seconds) + 2))
    try:
        with open("/proc/self/statm", encoding="ascii") as file:
            taken = int(file.read().split()[0]) * resource.getpagesize()
    except OSError:
        return
    resource.setrlimit(resource.RLIMIT_AS, (taken + memory, taken + memory))
