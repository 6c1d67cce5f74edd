"""An option, its kind, and what a kind is asked about: records that speak of each other.

A kind is one object in one file beside this one; it alone knows what its name means.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from types import MappingProxyType
from typing import ClassVar, Literal

from warmside.catalog import Catalog, FillState, Source
from warmside.framing import Frame
from warmside.geometry import Rect, RegionKind
from warmside.options._layers import Scheme
from warmside.options._work import Quantity, Sealing, Step, Task, Ware
from warmside.physics.assembly import Assembly, Stack
from warmside.survey import Hazard, Wall, Wanted
from warmside.wood import DRY_WOOD
from warmside.wording import Sentence, plain

WETTING = ("rot", "bulk water")  # hazards that wet a wall
Beyond = Literal["", "furring", "board"]
# keys of [[option]] that every kind takes
ALWAYS = frozenset({"kind", "walls", "seal_joints", "only"})
_SAME = 2e-3  # [m] thicknesses nearer than this are one


@dataclass(frozen=True)
class Option:
    """What could be done to a wall."""

    id: str  # short and stable: "leave", "cc-76", "cc-51-batt"
    name: str  # as a client reads it
    kind: Kind
    foam: str | None = None
    thickness: float = 0.0  # [m] of foam
    furring: float = 0.0  # [m]
    board: str | None = None
    board_thickness: float = 0.0  # [m]
    fill: str | None = None  # new, in what foam leaves of the bays; a row of the catalog
    vapour_control: str | None = None
    seal_joints: bool = False
    said: Sentence = field(default_factory=Sentence)  # the name with its figures, where it has any

    @property
    def title(self) -> Sentence:
        """The name, to be written in a reader's own units and language."""
        return self.said or plain(self.name)

    def is_thicker(self, other: Option) -> bool:
        """Whether this is ``other`` with more foam, and the same in everything else."""
        named = replace(self, id=other.id, name=other.name, said=other.said)
        same = replace(named, thickness=other.thickness) == other
        return same and self.thickness > other.thickness + _SAME


@dataclass(frozen=True)
class Refusal:
    """Why an option cannot be built here, and what could be done instead."""

    reason: str
    instead: str
    hazard: str = ""  # the hazard alone that stands in the way; gone once a person clears it


@dataclass(frozen=True)
class LayerSources:
    """Where the figures of a layer come from."""

    heat: Source  # of its conductivity
    vapour: Source  # of its permeability


@dataclass(frozen=True)
class BuildUp:
    """An option applied to one wall. With ``refusals`` it is shown but not offered."""

    option: Option
    wall: str
    frame: Frame
    stacks: tuple[Stack, ...]
    refusals: tuple[Refusal, ...] = ()
    cautions: tuple[str, ...] = ()
    assumptions: tuple[str, ...] = ()  # what was taken where the survey is silent
    y0: float = 0.0  # [m] where the stacks begin: the room face of the finish
    old_fill: FillState | None = None  # of fill that stays and was not found sound
    # of the wall and of the house, not settled; those that are presumed too
    hazards: tuple[Hazard, ...] = field(default=(), compare=False)
    # by what a layer is made of, ``Layer.material``
    sources: Mapping[str, LayerSources] = field(default_factory=dict, compare=False)

    @property
    def can_be_built(self) -> bool:
        """Whether nothing speaks against it."""
        return not self.refusals

    @cached_property
    def assembly(self) -> Assembly:
        """The wall as physics computes it."""
        regions: dict[RegionKind, list[Rect]] = {}
        for region in self.frame.regions:
            regions.setdefault(region.kind, []).append(region.rect)
        return Assembly(
            stacks=self.stacks,
            regions={kind: tuple(rects) for kind, rects in regions.items()},
            outline=self.frame.outline,
            holes=tuple(hole.rect for hole in self.frame.holes),
            depth=self.frame.depth,
            y0=self.y0,
        )


@dataclass(frozen=True)
class Case:
    """Everything that the checks look at; the widest bay stands for all."""

    option: Option
    wall: Wall
    frame: Frame
    scheme: Scheme
    bay: Stack
    hazards: Sequence[Hazard]  # of this wall and of the house, not cleared

    @property
    def wet(self) -> bool:
        """Whether wood or fill was found wet."""
        return self.wall.wettest > DRY_WOOD or self.wall.found.wet_fill

    @property
    def water(self) -> bool:
        """Whether rot or running water was noted on this very wall."""
        mine = (hazard for hazard in self.hazards if hazard.wall == self.wall.name)
        return any(hazard.kind in WETTING for hazard in mine)

    @property
    def sprays(self) -> bool:
        """Whether foam is sprayed."""
        return self.scheme.foam is not None


@dataclass(frozen=True)
class Job:
    """One option on one wall, as the crew gets it."""

    build_up: BuildUp
    wall: Wall
    hazards: tuple[Hazard, ...]  # of this wall, and of the house
    passes: int  # at the thickest place; 0 without foam
    sealing: Sealing
    catalog: Catalog = field(repr=False)

    @property
    def dry(self) -> float:
        """Moisture of wood above which it is neither covered nor sprayed [kg/kg]."""
        return self.catalog.site_figure("wood-moisture").most

    @property
    def foams(self) -> bool:
        """Whether foam is sprayed."""
        return self.passes > 0

    @property
    def seals(self) -> bool:
        """Whether joints are sealed."""
        return self.build_up.option.seal_joints


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
        raise NotImplementedError

    def cautions(self, case: Case) -> Iterator[str]:
        """What must be seen to, before or during the work."""
        raise NotImplementedError

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
