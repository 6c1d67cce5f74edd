"""A thin layer of foam, and batts in the rest of the bay."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import ClassVar

from warmside.options._layers import NEW_BATT
from warmside.options._option import Job, Option, Place
from warmside.options._work import Step, Task, Ware
from warmside.options.kinds import _steps, _tasks
from warmside.options.kinds._made import THIN_FOAM, USUAL_FOAM, foam_of, made
from warmside.options.kinds._sprayed import Sprayed
from warmside.survey import Wanted

DEEP = 0.115  # [m] of bays that hold more foam and still a batt worth buying


@dataclass(frozen=True)
class FoamAndBatt(Sprayed):
    """Foam stops air and keeps its own face warm; batts make up the depth at less cost."""

    name: ClassVar[str] = "foam and batt"
    meaning: ClassVar[str] = "thin foam on the sheathing, batts before it, opened from the room"
    brief: ClassVar[str] = "sprayed foam and batts"
    takes: ClassVar[frozenset[str]] = frozenset({"foam", "thickness", "fill"})
    wares: ClassVar[tuple[Ware, ...]] = (*_tasks.FINISH, *_tasks.BATTS)
    tasks: ClassVar[tuple[Task, ...]] = (
        *_tasks.STRIP, *_tasks.SEAL, *_tasks.SPRAY, *_tasks.FILL, *_tasks.COVER, *_tasks.CLEAR_UP,
    )  # fmt: skip

    def option(self, asked: Wanted, place: Place) -> Option:
        """Two inches of foam, batts in what it leaves."""
        foam = foam_of(asked, place, "closed-cell")
        thickness, fill = min(THIN_FOAM, place.depth), asked.fill or NEW_BATT
        return made(self, asked, place, foam=foam, thickness=thickness, fill=fill)

    def usual(self, place: Place) -> Iterable[Wanted]:
        """Two inches; in deep bays three as well, for cold and humid houses."""
        thick = (THIN_FOAM, USUAL_FOAM) if place.depth > DEEP else (THIN_FOAM,)
        return tuple(Wanted(kind=self.name, thickness=min(t, place.depth)) for t in thick)

    def steps(self, job: Job) -> tuple[Step, ...]:
        """The foam is checked bare, before batts hide it."""
        return (
            *_steps.ready(job),
            _steps.strip(job),
            *_steps.sound(job),
            *_steps.sealed_and_sprayed(job),
            _steps.batts(),
            _steps.cover(job),
            _steps.clear_up(),
        )


FOAM_AND_BATT = FoamAndBatt()
