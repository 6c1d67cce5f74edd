"""What every kind of option answers. A kind is one object in one file beside this one."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import TYPE_CHECKING, ClassVar, Literal

from warmside.catalog import Catalog
from warmside.options import _judge
from warmside.options._parts import BuildUp, Option, Refusal
from warmside.options._work import Job, Quantity, Step, Task, Ware
from warmside.survey import Hazard, Wall, Wanted

if TYPE_CHECKING:
    from warmside.options._judge import Case

Beyond = Literal["", "furring", "board"]
# keys of [[option]] that every kind takes
ALWAYS = frozenset({"kind", "walls", "seal_joints", "only"})


@dataclass(frozen=True)
class Opened:
    """What comes off the wall for the work, and goes back on or is replaced after it."""

    room: bool = False  # the inside finish comes off, a new one goes on
    cladding: bool = False  # comes off and goes back on
    sheathing: bool = False  # comes off behind the cladding, new sheathing and paper go on

    @property
    def bays(self) -> bool:
        """Whether the bays stand open: old fill comes out, joints are in reach."""
        return self.room or self.sheathing


@dataclass(frozen=True)
class Place:
    """Where an option is asked for."""

    wall: Wall
    depth: float  # [m] of the studs
    catalog: Catalog = field(repr=False)
    hazards: tuple[Hazard, ...] = ()  # of this wall, not cleared


@dataclass(frozen=True)
class Kind:
    """One kind of option: the only object that knows what its name means.

    Kinds hold no state of their own, so that any two of one class with the same fields are equal,
    in this process and another.
    """

    name: ClassVar[str]  # as the survey file writes it
    meaning: ClassVar[str]  # what is done, in one line
    brief: ClassVar[str]  # the same to a client, without sizes
    takes: ClassVar[frozenset[str]] = frozenset()  # keys of [[option]] beside ALWAYS
    in_usual_set: ClassVar[bool] = False
    worked: ClassVar[bool] = True  # False: the wall stays as it was found
    mends: ClassVar[bool] = False  # True: another trade mends the wall, then it is judged again
    opened: ClassVar[Opened] = Opened(room=True)
    sprays_from_outside: ClassVar[bool] = False
    # kinds of joint that can be sealed; None: all, since the bays stand open
    reaches: ClassVar[frozenset[str] | None] = None
    wares: ClassVar[tuple[Ware, ...]] = ()
    tasks: ClassVar[tuple[Task, ...]] = ()
    # unit of each priced group that only this kind counts; a price may name an item of it
    bought: ClassVar[Mapping[str, str]] = MappingProxyType({})

    def option(self, asked: Wanted, place: Place) -> Option:
        """The option that ``asked`` makes on this wall; lengths not given take common sizes.

        Raises
        ------
        UnknownRowError, InputError
            For a row that the catalog lacks, or one that does not suit.
        """
        raise NotImplementedError

    def usual(self, place: Place) -> Iterable[Wanted]:
        """What of this kind belongs to the usual set of a wall."""
        return (Wanted(kind=self.name),) if self.in_usual_set else ()

    def thicknesses(self, depth: float, foam: str | None) -> Iterable[tuple[Beyond, Wanted]]:
        """What of this kind stands on the curve of foam thicknesses, thin to thick."""
        return ()

    def refusals(self, case: Case) -> Iterator[Refusal]:
        """Every reason against building it on this wall."""
        yield from _judge.shut_in_wet(case)

    def cautions(self, case: Case) -> Iterator[str]:
        """What must be seen to, before or during the work."""
        yield from _judge.moisture(case)
        yield from _judge.vapour(case)
        yield from _judge.geometry(case)
        yield from _judge.dangers(case)

    def disturbs(self, build_up: BuildUp) -> tuple[float, bool]:
        """Area of old paint that the work breaks into [m2], and whether that is in a room."""
        return build_up.frame.net_area, self.opened.room

    def counted(self, build_up: BuildUp, wall: Wall, catalog: Catalog) -> tuple[Quantity, ...]:
        """Lines of the takeoff that only this kind has, beside foam, sealant, goods and removal."""
        return ()

    def steps(self, job: Job) -> tuple[Step, ...]:
        """The crew's steps, in the order in which they are done."""
        raise NotImplementedError

    def misfits(self, given: Mapping[str, object]) -> Iterator[tuple[str, str, str]]:
        """Keys of an ``[[option]]`` that this kind has no use for: key, what was read, allowed."""
        takes = ALWAYS | self.takes
        for key in given:
            if key not in takes and given[key] is not None:
                own = ", ".join(sorted(self.takes)) or "nothing"
                yield key, f"{key} under '{self.name}'", f"{own} beside walls and seal_joints"
