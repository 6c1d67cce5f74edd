"""Mend what makes the wall wet, dry it, come back: nothing else is done before."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import ClassVar

from warmside.options import _judge
from warmside.options._option import WETTING, Case, Job, Kind, Opened, Option, Place, Refusal
from warmside.options._work import Step
from warmside.survey import Wanted
from warmside.wood import DRY_WOOD


@dataclass(frozen=True)
class MendFirst(Kind):
    """The source of the water is found and mended by its own trade; its price is not known here."""

    name: ClassVar[str] = "mend first"
    meaning: ClassVar[str] = "the water is mended and the wall dried; then it is judged again"
    brief: ClassVar[str] = "mended and dried first"
    worked: ClassVar[bool] = False
    mends: ClassVar[bool] = True
    opened: ClassVar[Opened] = Opened()

    def option(self, asked: Wanted, place: Place) -> Option:
        """The one option of its kind."""
        return Option("mend-first", "Mend the water and dry the wall first", self)

    def usual(self, place: Place) -> Iterable[Wanted]:
        """Where wood or fill was found wet, or rot or water was seen."""
        wall = place.wall
        wet = any(reading.moisture > DRY_WOOD for reading in wall.readings)
        seen = any(hazard.kind in WETTING for hazard in place.hazards)
        if wet or seen or wall.found.wet_fill:
            yield Wanted(kind=self.name)

    def refusals(self, case: Case) -> Iterator[Refusal]:
        """Nothing to mend."""
        if not case.wet and not case.water:
            yield Refusal(
                "No wet wood, wet fill, rot or running water was found on this wall.",
                "Leave it, or choose another option.",
            )

    def cautions(self, case: Case) -> Iterator[str]:
        """What was found."""
        yield from _judge.moisture(case)
        yield "The price of the mending is not known: the trade that does it gives one."
        yield from _judge.dangers(case)

    def steps(self, job: Job) -> tuple[Step, ...]:
        """None of this crew's."""
        return ()


MEND_FIRST = MendFirst()
