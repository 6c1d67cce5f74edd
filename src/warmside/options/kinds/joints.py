"""Joints sealed from the room with the wall closed: at trim, floor, boxes and pipes."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import ClassVar

from warmside.catalog import Catalog, Source
from warmside.framing import JointKind
from warmside.options import _judge
from warmside.options._option import BuildUp, Case, Job, Kind, Opened, Option, Place, Refusal
from warmside.options._work import Gate, Quantity, Step, Task
from warmside.options.kinds import _steps, _tasks
from warmside.survey import Wall, Wanted
from warmside.wording import Figure, say

# What a bead or a gasket on the room side reaches once trim is off; the rest is behind the finish
REACHED: frozenset[JointKind] = frozenset(
    {"plate to floor", "plate to ceiling", "opening perimeter", "box", "penetration"}
)
TRIM = 0.5  # [-] of the beads lie behind trim that is taken off and put back
FLOOR = 1.0  # [m] of floor covered before the wall
_TRIM = Source("half of the beads behind base or casing that comes off and goes back",
               "common practice")  # fmt: skip
_COVERED = Source("floor covered 1 m out from the wall", "common practice")


@dataclass(frozen=True)
class Joints(Kind):
    """Nothing is opened; air is stopped where the room side can be reached."""

    name: ClassVar[str] = "joints from room"
    meaning: ClassVar[str] = "joints sealed from the room; the wall stays closed"
    brief: ClassVar[str] = "joints sealed from the room"
    in_usual_set: ClassVar[bool] = True
    opened: ClassVar[Opened] = Opened()
    reaches: ClassVar[frozenset[str] | None] = REACHED
    tasks: ClassVar[tuple[Task, ...]] = (
        Task("protect", "Cover floor and furniture", "protection", "m2", "protect"),
        Task("trim_off", "Take trim off and put it back", "trim_run", "m", "trim-off"),
        *_tasks.SEAL,
        *_tasks.CLEAR_UP,
    )
    bought: ClassVar[Mapping[str, str]] = MappingProxyType({"protection": "m2"})

    def option(self, asked: Wanted, place: Place) -> Option:
        """The one option of its kind."""
        return Option("joints", "Seal the joints from the room", self, seal_joints=True)

    def refusals(self, case: Case) -> Iterator[Refusal]:
        """Beads do no harm, and nothing is shut in."""
        yield from ()

    def cautions(self, case: Case) -> Iterator[str]:
        """What the wall itself shows."""
        yield from _judge.moisture(case)
        yield from _judge.fill_found(case)
        yield "Joints behind the finish, and those to attic and basement, stay as they are."
        yield from _judge.dangers(case)

    def disturbs(self, build_up: BuildUp) -> tuple[float, bool]:
        """Trim and the paint at its edges."""
        return _trim(build_up) * 0.1, True

    def counted(self, build_up: BuildUp, wall: Wall, catalog: Catalog) -> tuple[Quantity, ...]:
        """Trim off and on, floor covered."""
        frame, metres = build_up.frame, _trim(build_up)
        floor = say(
            "{length} of wall × {out}",
            length=Figure(frame.length, "span"),
            out=Figure(FLOOR, "length"),
        )
        how = say("{share} of the joints within reach", share=Figure(TRIM, "share"))
        return (
            Quantity("protection", "Floor and furniture to cover", frame.length * FLOOR, "m2",
                     floor, _COVERED),
            Quantity("trim_run", "Trim to take off and put back", metres, "m", how, _TRIM,
                     priced=False),
        )  # fmt: skip

    def steps(self, job: Job) -> tuple[Step, ...]:
        """Looked for with the fan on, sealed, looked for again."""
        return (
            *_steps.ready(job),
            _protect(),
            _steps.dry(job),
            _trim_off(),
            *_steps.sealed(job),
            _trim_on(),
            _steps.clear_up(),
        )


JOINTS = Joints()


def _trim(build_up: BuildUp) -> float:
    """Metres of trim that come off."""
    reached = (joint.length for joint in build_up.frame.joints if joint.kind in REACHED)
    return TRIM * sum(reached)


def _protect() -> Step:
    lines = (
        "Floor and furniture covered along the wall.",
        "Fan on, the house at 25 Pa below outdoors or so: every leak found with smoke and marked.",
    )
    return Step("protect", "Cover the room, find the leaks", lines,
                Gate("crew lead", "Leaks marked on the map of joints."))  # fmt: skip


def _trim_off() -> Step:
    lines = (
        "Base and casing scored along the paint, lifted with a flat bar, numbered; nails pulled "
        "through from behind.",
        "Old paint: dust contained, as the lead rule asks.",
    )
    return Step("trim-off", "Take the trim off", lines, Gate("crew lead", "Whole and numbered."))


def _trim_on() -> Step:
    lines = ("Trim back on its numbers, filled and touched up; a bead where it meets the wall.",)
    gate = Gate("crew lead", "Tight, filled, clean.")
    return Step("trim-on", "Put the trim back", lines, gate, "Counted with taking it off.")
