"""What kinds that spray foam from the room have in common."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import ClassVar

from warmside.options import _judge
from warmside.options._option import Case, Job, Refusal
from warmside.options._work import Step, Task, Ware
from warmside.options.kinds import _steps, _tasks
from warmside.options.kinds._insulated import Insulated


@dataclass(frozen=True)
class Sprayed(Insulated):
    """Bays opened from the room, foam on the sheathing, a new finish over it."""

    takes: ClassVar[frozenset[str]] = frozenset({"foam", "thickness"})
    wares: ClassVar[tuple[Ware, ...]] = _tasks.FINISH
    tasks: ClassVar[tuple[Task, ...]] = (
        *_tasks.STRIP, *_tasks.SEAL, *_tasks.SPRAY, *_tasks.COVER, *_tasks.CLEAR_UP,
    )  # fmt: skip

    def refusals(self, case: Case) -> Iterator[Refusal]:
        """Too thick for bay or listing, nothing to spray against, wet wood shut in."""
        yield from _judge.too_thick(case)
        yield from _judge.over_listing(case)
        yield from _judge.nothing_behind(case)
        yield from _judge.shut_in_wet(case)

    def steps(self, job: Job) -> tuple[Step, ...]:
        """Opened, dry and sound before foam; checked before it is covered."""
        return (
            *_steps.ready(job),
            _steps.strip(job),
            *_steps.sound(job),
            *_steps.sealed_and_sprayed(job),
            _steps.cover(job),
            _steps.clear_up(),
        )
