"""An option, and an option applied to a wall: layers through each kind of region."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import TYPE_CHECKING

from warmside.catalog import FillState, Source
from warmside.framing import Frame
from warmside.geometry import Rect, RegionKind
from warmside.physics.assembly import Assembly, Stack
from warmside.survey import Hazard
from warmside.wording import Sentence, plain

if TYPE_CHECKING:
    from warmside.options._kind import Kind

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
