"""Batts and polyethylene: the other trade's usual way."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from warmside.options._layers import NEW_BATT, NEW_VAPOUR_CONTROL
from warmside.options._option import Job, Option, Place
from warmside.options._work import Step, Task, Ware
from warmside.options.kinds import _steps, _tasks
from warmside.options.kinds._insulated import Insulated
from warmside.options.kinds._made import made
from warmside.survey import Wanted


@dataclass(frozen=True)
class BattAndPoly(Insulated):
    """Batts fill the opened bays; a membrane on the room side keeps vapour out of them."""

    name: ClassVar[str] = "batt and poly"
    meaning: ClassVar[str] = "batts in bays opened from the room, polyethylene over them"
    brief: ClassVar[str] = "batts and a vapour sheet"
    in_usual_set: ClassVar[bool] = True
    takes: ClassVar[frozenset[str]] = frozenset({"fill"})
    wares: ClassVar[tuple[Ware, ...]] = (*_tasks.FINISH, *_tasks.VAPOUR_CONTROL, *_tasks.BATTS)
    tasks: ClassVar[tuple[Task, ...]] = (
        *_tasks.STRIP, *_tasks.SEAL, *_tasks.FILL, *_tasks.CONTROL, *_tasks.COVER, *_tasks.CLEAR_UP,
    )  # fmt: skip

    def option(self, asked: Wanted, place: Place) -> Option:
        """Batts of the full depth."""
        fill = asked.fill or NEW_BATT
        return made(self, asked, place, fill=fill, vapour_control=NEW_VAPOUR_CONTROL)

    def steps(self, job: Job) -> tuple[Step, ...]:
        """Joints sealed in the bare bays, then batts, membrane, finish."""
        return (
            *_steps.ready(job),
            _steps.strip(job),
            *_steps.sound(job),
            *_steps.sealed(job),
            _steps.batts(),
            _steps.vapour_control(),
            _steps.cover(job),
            _steps.clear_up(),
        )


BATT_AND_POLY = BattAndPoly()
