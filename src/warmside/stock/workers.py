"""Who does the work: this process, processes of this machine, a Dask cluster; one result."""

from __future__ import annotations

import gc
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from contextlib import AbstractContextManager, contextmanager
from functools import cache
from itertools import islice
from typing import Any, Protocol, TypeVar

from warmside import __version__
from warmside.errors import Fault, InputError, WarmsideError
from warmside.stock.judgement import Ground
from warmside.workers import start

Task = TypeVar("Task")
Result = TypeVar("Result")
Work = Callable[[Task, Ground], Result]
_AHEAD = 2  # tasks given out for each worker: the next is there when one is done
_PATIENCE = 10.0  # [s] for a scheduler to answer
_MOST_BREAKS = 5  # workers lost without one task done in between


class WorkersLostError(WarmsideError, RuntimeError):
    """Workers end before their work is done, again and again."""

    def __str__(self) -> str:
        return (
            f"{_MOST_BREAKS} times in a row a worker ended before its work was done (killed, or "
            "out of memory); what was finished is kept. Start again with fewer workers."
        )


class Workers(Protocol):
    """Runs a function over many tasks; results come as they are done, in any order."""

    @property
    def count(self) -> int:
        """How many work at a time."""

    def run(self, work: Work[Task, Result], tasks: Iterable[Task]) -> Iterator[Result]:
        """Results of all tasks; only a few tasks are held at a time."""


class _Here:
    """Everything in this process."""

    count = 1

    def __init__(self, ground: Ground) -> None:
        self._ground = ground

    def run(self, work: Work[Task, Result], tasks: Iterable[Task]) -> Iterator[Result]:
        for task in tasks:
            yield work(task, self._ground)


class _Processes:
    """Processes of this machine; one that is lost is replaced and its tasks done again."""

    def __init__(self, ground: Ground, count: int) -> None:
        self._ground, self.count = ground, count
        self._pool = self._new()

    def _new(self) -> ProcessPoolExecutor:
        return ProcessPoolExecutor(
            self.count, start([__name__]), initializer=_begin, initargs=(self._ground,)
        )

    def run(self, work: Work[Task, Result], tasks: Iterable[Task]) -> Iterator[Result]:
        rest, again = iter(tasks), deque[Task]()
        under_way: dict[Future[Result], Task] = {}
        breaks = 0
        while True:
            try:
                self._give(work, rest, again, under_way)
                if not under_way:
                    return
                done, _ = wait(under_way, return_when=FIRST_COMPLETED)
                for future in done:
                    result = future.result()
                    del under_way[future]
                    breaks = 0
                    yield result
            except (BrokenProcessPool, ConnectionError):  # or the server that begins them is lost
                breaks += 1
                if breaks >= _MOST_BREAKS:
                    raise WorkersLostError from None
                again.extend(under_way.values())
                under_way.clear()
                self._pool.shutdown(wait=True, cancel_futures=True)
                self._pool = self._new()

    def _give(
        self,
        work: Work[Task, Result],
        rest: Iterator[Task],
        again: deque[Task],
        under_way: dict[Future[Result], Task],
    ) -> None:
        """Hand out tasks, those of a lost worker first, until every worker has some ahead."""
        while len(under_way) < _AHEAD * self.count:
            if not again:
                again.extend(islice(rest, 1))
            if not again:
                return
            under_way[self._pool.submit(_do, work, again[0])] = again[0]
            again.popleft()

    def close(self) -> None:
        """End the processes; what they have under way is left."""
        self._pool.shutdown(wait=True, cancel_futures=True)


class _Cluster:
    """A Dask cluster; its scheduler gives tasks of a lost worker to another."""

    def __init__(self, ground: Ground, client: Any) -> None:
        self._client = client
        # a task, not scattered: made again when all workers that hold it are lost
        self._ground = client.submit(_same, ground, pure=False)

    @property
    def count(self) -> int:
        """Workers of the cluster now; others may come and go."""
        return max(len(self._client.scheduler_info(-1)["workers"]), 1)

    def run(self, work: Work[Task, Result], tasks: Iterable[Task]) -> Iterator[Result]:
        from distributed import KilledWorker, as_completed

        waiting = iter(tasks)
        with self._client.as_current():
            done: Any = as_completed()  # type: ignore[no-untyped-call]

        given: dict[str, Task] = {}

        def give(some: Iterable[Task]) -> None:
            for task in some:
                future = self._client.submit(_alone, work, task, self._ground, pure=False)
                given[future.key] = task
                done.add(future)

        breaks = 0
        give(islice(waiting, _AHEAD * self.count))
        for future in done:
            task = given.pop(future.key)
            try:
                result: Result = future.result()
            except KilledWorker:  # it lay with several workers that were lost, one after another
                breaks += 1
                if breaks >= _MOST_BREAKS:
                    raise WorkersLostError from None
                give([task])
                continue
            breaks = 0
            future.release()
            give(islice(waiting, 1))
            yield result


def _same(ground: Ground) -> Ground:
    return ground


def _begin(ground: Ground) -> None:
    global _GROUND  # what all tasks of this process share
    _GROUND = ground


_GROUND: Ground | None = None


def _do(work: Work[Task, Result], task: Task) -> Result:
    assert _GROUND is not None  # noqa: S101 - set when the process began
    return _alone(work, task, _GROUND)


def _alone(work: Work[Task, Result], task: Task, ground: Ground) -> Result:
    """Do one task on one core: the others have their own work."""
    import numba

    numba.set_num_threads(1)
    _settle()
    return work(task, ground)


@cache
def _settle() -> None:
    """Once in a process: what is there stays, and is not searched for garbage house after house."""
    gc.collect()
    gc.freeze()


@contextmanager
def local(ground: Ground, count: int) -> Iterator[Workers]:
    """``count`` processes of this machine; 1 keeps everything in this one."""
    if count < 2:
        yield _Here(ground)
        return
    processes = _Processes(ground, count)
    try:
        yield processes
    finally:
        processes.close()


@contextmanager
def cluster(ground: Ground, address: str) -> Iterator[Workers]:
    """The Dask cluster whose scheduler listens at ``address``.

    Raises
    ------
    InputError
        Nobody answers there, no worker is there, or a worker has another version of Warmside.
    """
    from distributed import Client

    try:
        client: Any = Client(address, timeout=_PATIENCE, set_as_default=False)  # type: ignore[no-untyped-call]
    except (OSError, ValueError) as error:
        told = (str(error).splitlines() or ["no answer"])[0][:120]
        allowed = "the address that dask scheduler printed, such as tcp://10.0.0.5:8786"
        raise InputError([Fault("cluster", f"{address}: {told}", allowed)]) from None
    with client:
        told = client.run(_version, on_error="return").values()
        # a worker that is lost while it is asked says nothing of the others
        versions = {str(one) for one in told if not isinstance(one, OSError)}
        if versions != {__version__}:
            read = ", ".join(sorted(versions)) or "no worker"
            raise InputError([Fault("cluster", read, f"workers with warmside {__version__}")])
        yield _Cluster(ground, client)


def _version() -> str:
    return __version__


def workers(ground: Ground, count: int, address: str = "") -> AbstractContextManager[Workers]:
    """The cluster at ``address`` where one is given, else processes of this machine."""
    return cluster(ground, address) if address else local(ground, count)
