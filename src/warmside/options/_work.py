"""What the work on a wall is made of: goods, tasks, lines of a takeoff, steps and their gates.

Kinds of option return these plain records; the estimate prices them, the site room records them.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

from warmside.catalog import Source
from warmside.physics.assembly import Role
from warmside.wording import Figure, Sentence, amount_by_unit

BROKEN = 0.15  # [-] of the cladding that breaks when it comes off; common practice

Trade = Literal[
    "own crew", "electrician", "plumber", "abatement", "carpenter", "drywaller", "painter"
]
Sealing = Literal["before", "after"]
Reads = Literal["", "dry", "spray", "quality"]

# Both reasons stand beside the choice; the contractor decides.
WHY_SEALING: Mapping[Sealing, str] = MappingProxyType({
    "before": "Sealant bonds to bare, clean, dry wood, and the joints are all in sight: foam then "
    "goes over beads that have skinned. The usual order.",
    "after": "Overspray and shrinkage would hide or tear a bead, and foam shows where it already "
    "closes a joint: what is left open is sealed when the foam is trimmed. Needs the stud faces "
    "scraped clean first.",
})  # fmt: skip


_NONE = Sentence()


@dataclass(frozen=True)
class Quantity:
    """One line of the takeoff.

    ``key`` is ``group`` or ``group:item`` ("batt:glass-batt"); its price is the row of the full
    key, or else the row of the group. Lines with ``priced=False`` tell something that another
    line already charges (litres, drums), or that drives the hours. Every priced line names the
    crew's step that it is used in, and whose trade that is.
    """

    key: str
    name: str
    amount: float  # in ``unit``
    unit: str  # "board ft", "m", "cartridge", "sheet", "h", "m3", "each"
    how: Sentence  # the arithmetic in words and figures
    source: Source
    priced: bool = True
    size: Sentence = _NONE  # of a joint's bead, which its name ends in
    step: str = ""  # id of the crew's step
    trade: Trade = "own crew"

    def used_in(self, step: str, trade: Trade) -> Quantity:
        """The same line with the crew's step that it is used in, and whose trade that is."""
        return Quantity(self.key, self.name, self.amount, self.unit, self.how, self.source,
                        self.priced, self.size, step, trade)  # fmt: skip

    @property
    def figure(self) -> Figure:
        """The amount, for a reader's own units."""
        return amount_by_unit(self.amount, self.unit, self.source)

    @property
    def group(self) -> str:
        """The key without its item."""
        return self.key.partition(":")[0]


@dataclass(frozen=True)
class Ware:
    """How the new layers of one role are bought.

    ``of`` narrows it to materials whose catalog group it is, or whose id holds it.
    """

    role: Role
    group: str  # of the takeoff, and of the price row
    unit: Literal["sheet", "m2"]
    waste: float  # [-]
    of: str = ""
    in_bays: bool = False  # cut to the bays, not laid over the whole wall


@dataclass(frozen=True)
class Task:
    """A task of the crew, which lines of the takeoff its hours follow, and in which step it is."""

    key: str
    name: str
    group: str  # of the quantities that drive it
    unit: str  # of those
    step: str  # id of the crew's step
    trade: Trade = "own crew"


@dataclass(frozen=True)
class Gate:
    """What lets the work go on: who signs, and which readings decide.

    ``before``: it opens its step; else it closes it. ``reads`` "" is a gate that a person clears by
    name alone; such a gate is never overridden, since the law asks for that person.
    """

    who: str | Sentence
    asks: str | Sentence
    reads: Reads = ""
    before: bool = False

    @property
    def may_be_overridden(self) -> bool:
        """Only gates that readings decide can be overridden, by name and with a reason."""
        return bool(self.reads)


@dataclass(frozen=True)
class Step:
    """One step; its ``id`` is the gate's name in the record.

    ``untimed`` says why no hours may be counted for it; a step without it has hours.
    """

    id: str
    title: str
    do: tuple[str | Sentence, ...]
    gate: Gate
    untimed: str = ""
