"""Leave the wall as it was found."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import ClassVar

from warmside.options import _judge
from warmside.options._option import Case, Job, Kind, Opened, Option, Place, Refusal
from warmside.options._work import Step
from warmside.options.kinds.joints import JOINTS
from warmside.survey import Wanted


@dataclass(frozen=True)
class Leave(Kind):
    """Nothing is opened, bought or done; every other option is held against it."""

    name: ClassVar[str] = "leave"
    meaning: ClassVar[str] = "the wall stays as it was found"
    brief: ClassVar[str] = "left as it is"
    worked: ClassVar[bool] = False
    opened: ClassVar[Opened] = Opened()

    def option(self, asked: Wanted, place: Place) -> Option:
        """The wall untouched; sealed, if that was asked for by name."""
        if "seal_joints" in asked.model_fields_set and asked.seal_joints:
            return JOINTS.option(asked, place)
        return AS_FOUND

    def refusals(self, case: Case) -> Iterator[Refusal]:
        """What stands already is never refused."""
        yield from ()

    def cautions(self, case: Case) -> Iterator[str]:
        """What the wall itself shows."""
        yield from _judge.moisture(case)
        yield from _judge.vapour(case)
        yield from _judge.fill_found(case)

    def steps(self, job: Job) -> tuple[Step, ...]:
        """None."""
        return ()


LEAVE = Leave()
AS_FOUND = Option("leave", "Leave as found", LEAVE)
