"""One piece of work that a finding asks for, and what every kind of such work answers."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from warmside.options import BuildUp, Gate, Quantity, Step, Task, Trade
from warmside.survey import Wall
from warmside.wording import Sentence

Counts = tuple[Quantity, ...]

# a wall that is opened is dry and sound, with its wires in, before it is filled or sealed
OPEN_WALL = ("strip", "strip-outside", "dry", "mend", "rough-in")
CLOSING = ("furring", "seal-joints", "spray", "fill", "sheathing")
# what is safe, cleared and covered before anything is taken off or drilled
SAFE = ("make-safe", "clear-hazards")
OPENING = ("trim-off", "strip", "strip-outside", "look", "lift", "drill")


@dataclass(frozen=True)
class WorkItem:
    """What is done, from the finding that asked for it to the line of the close-out.

    ``hosted``: it is done within a step of the option, whose gate closes it too; ``step`` then
    says what is added there.
    """

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
    hosted: bool = False
    own_offer: bool = False  # its trade makes the price; none is in this one


@dataclass(frozen=True)
class Work:
    """One kind of work; its ``item`` on a wall is None where nothing asks for it.

    ``counted`` gives goods and amounts from the framing, empty where nothing asks for it; ``do``
    the lines of the step, from these.
    """

    key: str
    name: str
    causes: tuple[str, ...]
    counted: Callable[[BuildUp, Wall], Counts] = field(compare=False)
    do: Callable[[Counts], tuple[str | Sentence, ...]] = field(compare=False)
    gate: Gate
    accepted: str
    warranty: str
    trade: Trade = "own crew"
    tasks: tuple[Task, ...] = ()
    # unit of each priced group that this work counts
    bought: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}), compare=False)
    host: str = ""  # id of the option's step in which it is done; its own step where empty
    before: tuple[str, ...] = CLOSING
    after: tuple[str, ...] = OPEN_WALL
    own_offer: bool = False

    def item(self, build_up: BuildUp, wall: Wall) -> WorkItem | None:
        """This work on one wall."""
        quantities = self.counted(build_up, wall)
        if not quantities:
            return None
        timed = {task.group for task in self.tasks} & {line.group for line in quantities}
        offered = self.own_offer or self.tasks  # tasks of which nothing is counted here
        untimed = "" if timed else "Its trade makes its own offer." if offered else (
            "Counted with the step that it belongs to.")  # fmt: skip
        step = Step(self.host or self.key, self.name, self.do(quantities), self.gate, untimed)
        return WorkItem(
            self.key, self.name, self.causes, self.trade, quantities, self.tasks, step,
            self.before, self.after, self.accepted, self.warranty, bool(self.host), self.own_offer,
        )  # fmt: skip
