"""Furring across the studs, and foam that fills bays and furring."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import ClassVar

from warmside.options._furring import STRIP_SPACING
from warmside.options._option import Beyond, Job, Option, Place
from warmside.options._work import Gate, Step, Task
from warmside.options.kinds import _steps, _tasks
from warmside.options.kinds._made import foam_of, made
from warmside.options.kinds._sprayed import Sprayed
from warmside.survey import Wanted
from warmside.units import INCH
from warmside.wording import Figure, say

_USUAL = 1.5 * INCH
_CURVE = (1, 2, 3, 4)  # half inches of furring beyond full depth


@dataclass(frozen=True)
class FurringAndFoam(Sprayed):
    """Level strips deepen the wall into the room; foam behind and between them covers the studs.

    The strips stand before the foam is sprayed: it fills the space behind each, and its face is
    trimmed or left to theirs.
    """

    name: ClassVar[str] = "furring and foam"
    meaning: ClassVar[str] = "level furring over the studs, then foam through bays and furring"
    brief: ClassVar[str] = "a deeper wall of sprayed foam"
    in_usual_set: ClassVar[bool] = True
    takes: ClassVar[frozenset[str]] = frozenset({"foam", "thickness", "furring"})
    tasks: ClassVar[tuple[Task, ...]] = (
        *_tasks.STRIP,
        *_tasks.SEAL,
        Task("furring", "Fit furring", "furring", "m", "furring", "carpenter"),
        *_tasks.SPRAY,
        Task("jamb", "Extend jambs", "jamb_extension", "each", "cover", "carpenter"),
        *_tasks.COVER,
        *_tasks.CLEAR_UP,
    )

    def option(self, asked: Wanted, place: Place) -> Option:
        """An inch and a half of furring, foam to its face."""
        foam = foam_of(asked, place, "closed-cell")
        furring = asked.furring or _USUAL
        thickness = place.depth + furring
        return made(self, asked, place, foam=foam, thickness=thickness, furring=furring)

    def thicknesses(self, depth: float, foam: str | None) -> Iterator[tuple[Beyond, Wanted]]:
        """Beyond full depth by the half inch."""
        for furring in (k * INCH / 2 for k in _CURVE):
            yield (
                "furring",
                Wanted(kind=self.name, foam=foam, furring=furring, thickness=depth + furring),
            )

    def steps(self, job: Job) -> tuple[Step, ...]:
        """Joints are sealed on bare studs, the furring stands, and foam closes round it."""
        return (
            *_steps.ready(job),
            _steps.strip(job),
            *_steps.sound(job),
            *_steps.sealed_and_sprayed(job, _furring(job)),
            _steps.cover(job),
            _steps.clear_up(),
        )


def _furring(job: Job) -> Step:
    lines = (
        say(
            "Level strips {deep} deep across the studs: at foot and top, between them {apart} on "
            "centre, and round openings.",
            deep=Figure(job.build_up.option.furring, "size"),
            apart=Figure(STRIP_SPACING, "size"),
        ),
        "Strung in one plane, packed with wood where a stud stands back; two screws at each stud.",
    )
    gate = Gate("crew lead", "Flat under a straightedge; every strip fast before foam.")
    return Step("furring", "Fur out", lines, gate)


FURRING_AND_FOAM = FurringAndFoam()
