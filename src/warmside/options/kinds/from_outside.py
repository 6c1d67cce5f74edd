"""Foam sprayed from outside, on the back of an inside finish that stays."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import ClassVar

from warmside.options import _judge
from warmside.options._option import Case, Job, Opened, Option, Place, Refusal
from warmside.options._work import Step, Task, Ware
from warmside.options.kinds import _steps, _tasks
from warmside.options.kinds._made import foam_of, made
from warmside.options.kinds._sprayed import Sprayed
from warmside.survey import Wanted


@dataclass(frozen=True)
class FromOutside(Sprayed):
    """Cladding and sheathing come off, the rooms stay as they are."""

    name: ClassVar[str] = "from outside"
    meaning: ClassVar[str] = "foam from outside, behind new sheathing; the inside finish stays"
    brief: ClassVar[str] = "foam sprayed from outside"
    in_usual_set: ClassVar[bool] = True
    opened: ClassVar[Opened] = Opened(cladding=True, sheathing=True)
    sprays_from_outside: ClassVar[bool] = True
    wares: ClassVar[tuple[Ware, ...]] = _tasks.SHEATHING
    tasks: ClassVar[tuple[Task, ...]] = (
        *_tasks.STRIP_OUTSIDE,
        *(replace(t, step="strip-outside") for t in _tasks.STRIP if t.key != "strip"),
        *_tasks.SEAL,
        *_tasks.SPRAY,
        Task("sheathing", "Fit sheathing", "sheathing_sheet", "sheet", "sheathing", "carpenter"),
        Task("membrane", "Fit the outside membrane", "membrane", "m2", "sheathing", "carpenter"),
        *_tasks.CLADDING,
        *_tasks.CLEAR_UP,
    )

    def option(self, asked: Wanted, place: Place) -> Option:
        """The full depth."""
        foam = foam_of(asked, place, "closed-cell")
        return made(self, asked, place, foam=foam, thickness=place.depth, called="from outside")

    def refusals(self, case: Case) -> Iterator[Refusal]:
        """As foam from the room, but the finish is what it is sprayed against."""
        yield from _judge.too_thick(case)
        yield from _judge.over_listing(case)
        yield from _judge.shut_in_wet(case)

    def cautions(self, case: Case) -> Iterator[str]:
        """The old finish takes the foam's heat."""
        yield from super().cautions(case)
        yield "Spray thin passes on the back of an old finish: heat and pressure can loosen it."

    def steps(self, job: Job) -> tuple[Step, ...]:
        """Opened from outside, sprayed, checked, closed with sheathing, paper and cladding."""
        return (
            *_steps.ready(job),
            _steps.strip_outside(job),
            *_steps.sound(job),
            *_steps.sealed_and_sprayed(job),
            _steps.sheathing_back(),
            _steps.cladding_back(job),
            _steps.clear_up(),
        )


FROM_OUTSIDE = FromOutside()
