"""One piece of work that a finding asks for, and what every kind of such work answers."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import ClassVar, Literal

from warmside.options import BuildUp, Quantity, Step, Task
from warmside.survey import Wall

Trade = Literal[
    "own crew", "electrician", "plumber", "abatement", "carpenter", "drywaller", "painter"
]


@dataclass(frozen=True)
class WorkItem:
    """What is done, from the finding that asked for it to the line of the close-out."""

    key: str
    name: str
    causes: tuple[str, ...]  # keys of the findings that ask for it
    trade: Trade
    quantities: tuple[Quantity, ...]  # goods, and the amounts that drive the hours
    tasks: tuple[Task, ...]
    step: Step
    before: tuple[str, ...]  # ids of steps: it stands before the first of them
    after: tuple[str, ...]  # ids of steps that it must follow
    accepted: str  # when it counts as done
    warranty: str


@dataclass(frozen=True)
class Work:
    """One kind of work; its ``item`` on a wall is None where nothing asks for it."""

    key: ClassVar[str]
    name: ClassVar[str]
    causes: ClassVar[tuple[str, ...]]
    trade: ClassVar[Trade] = "own crew"
    tasks: ClassVar[tuple[Task, ...]]
    # unit of each priced group that this work counts
    bought: ClassVar[Mapping[str, str]] = MappingProxyType({})
    # a wall that is opened is dry and sound, with its wires in, before it is filled or sealed
    after: ClassVar[tuple[str, ...]] = ("strip", "strip-outside", "dry", "mend", "rough-in")
    before: ClassVar[tuple[str, ...]] = ("furring", "seal-joints", "spray", "fill", "sheathing")
    accepted: ClassVar[str]
    warranty: ClassVar[str]

    def counted(self, build_up: BuildUp, wall: Wall) -> tuple[Quantity, ...]:
        """Goods and amounts, from the framing; empty where nothing asks for it."""
        raise NotImplementedError

    def step(self, quantities: tuple[Quantity, ...]) -> Step:
        """The crew's step, with its gate and the photo that it asks for."""
        raise NotImplementedError

    def item(self, build_up: BuildUp, wall: Wall) -> WorkItem | None:
        """This work on one wall."""
        quantities = self.counted(build_up, wall)
        if not quantities:
            return None
        return WorkItem(
            self.key, self.name, self.causes, self.trade, quantities, self.tasks,
            self.step(quantities), self.before, self.after, self.accepted, self.warranty,
        )  # fmt: skip
