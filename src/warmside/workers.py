"""Processes that share the work of one study, one core each.

They start from a server process that has imported the solvers once and has no threads, or by a
fresh interpreter where there is no such server.
"""

from __future__ import annotations

import gc
import os
import pickle
import signal
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from contextlib import contextmanager
from functools import lru_cache
from multiprocessing import (
    active_children,
    forkserver,
    get_all_start_methods,
    get_context,
    parent_process,
    resource_tracker,
)
from multiprocessing.context import BaseContext
from threading import Thread
from typing import Any, Protocol, TypeVar

SOLVERS = [
    "warmside.study.threads"
]  # what the server process imports before the first worker starts

_MATRICES = ("OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS")

In = TypeVar("In")
Out = TypeVar("Out")


class Shared(Protocol):
    """Apply a function to every item, the results in the order of the items."""

    def __call__(
        self, work: Callable[[In], Out], items: Sequence[In], load: Callable[[In], float] = ...
    ) -> Iterator[Out]:
        """``load`` tells how much work an item is, so that the longest begin first."""


def one_core_each() -> None:
    """Keep the matrix library of this process and of its workers to one core, unless told else.

    Only before it is imported. Its threads wait by spinning: on the small matrices of ours they
    took fifteen times as long wherever the other cores had work.
    """
    for library in _MATRICES:
        os.environ.setdefault(library, "1")


def start(preload: list[str]) -> BaseContext:
    """How a worker starts: from a server process that has imported ``preload``, where there is one.

    Never by a plain fork: it would inherit the solvers' threads and hang.
    """
    one_core_each()
    if "forkserver" not in get_all_start_methods():
        return get_context("spawn")
    forkserver.set_forkserver_preload(preload)
    # An interrupt from a terminal goes to every process of the command: this one ends the others
    resource_tracker.ensure_running()  # when it begins, it lets interrupts through again
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        forkserver.ensure_running()
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)
    return get_context("forkserver")


def make_ready() -> None:
    """Begin to import the solvers in the server process, while this one does something else."""
    start(SOLVERS)


def _alike(_item: object) -> float:
    return 0.0


def here(
    work: Callable[[In], Out], items: Sequence[In], load: Callable[[In], float] = _alike
) -> Iterator[Out]:
    """In this process, one after the other."""
    del load  # the order is that of the items
    return map(work, items)


@contextmanager
def shared(workers: int) -> Iterator[Shared]:
    """A map over items: in this process, or shared by ``workers`` of them.

    Parameters
    ----------
    workers : int
        Processes; fewer than 2 keeps everything in this one.

    Yields
    ------
    Shared
        Work that is begun at once and waited for item by item.
    """
    if workers < 2:
        yield here
        return
    with ProcessPoolExecutor(workers, start(SOLVERS), initializer=_worker) as pool, _ended_early():

        def over(
            work: Callable[[In], Out], items: Sequence[In], load: Callable[[In], float] = _alike
        ) -> Iterator[Out]:
            longest_first = sorted(range(len(items)), key=lambda i: -load(items[i]))
            packed = pickle.dumps(work)
            begun = {i: pool.submit(_unpacked_and_done, packed, items[i]) for i in longest_first}
            return (begun[i].result() for i in range(len(items)))

        yield over


@contextmanager
def unsearched() -> Iterator[None]:
    """No search for garbage within, and none afterwards through what was made.

    Nearly all that a study makes stays, and none of it refers to itself in a circle: it goes when
    nobody refers to it, and every search would look through it in vain.
    """
    searched = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if searched:
            gc.freeze()
            gc.enable()


@contextmanager
def _ended_early() -> Iterator[None]:
    """End the workers of the block where it is interrupted: their pool would wait for them."""
    before = active_children()
    try:
        yield
    except (KeyboardInterrupt, SystemExit):
        for worker in active_children():
            if worker not in before:
                worker.kill()
        raise


def _unpacked_and_done(packed: bytes, item: object) -> Any:
    return _unpacked(packed)(item)


@lru_cache(maxsize=1)
def _unpacked(packed: bytes) -> Callable[[object], object]:
    """What all items share comes in once for each process, not once for each item."""
    work: Callable[[object], object] = pickle.loads(packed)  # noqa: S301  # packed by `shared`
    return work


def _worker() -> None:
    """Begin a process that ends with the study, and its garbage with it."""
    gc.disable()
    alone()


def alone() -> None:
    """Keep a worker process to one core, and let it end with whoever it works for."""
    Thread(target=_end_with_parent, daemon=True).start()
    import numba

    numba.set_num_threads(1)


def _end_with_parent() -> None:
    """A command that is killed closes nothing: its workers would wait for work for ever."""
    parent = parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)
