"""An option applied to a wall: layers through each kind of region, and solids.

``y`` runs from the room to the outside: 0 at the room face of the studs, so that inside finishes
have negative ``y`` and sheathing lies beyond the stud depth. All in metres.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from functools import cached_property
from operator import attrgetter
from typing import Literal

from warmside.catalog import Source
from warmside.framing import Frame, Rect, RegionKind

Role = Literal[
    "finish", "vapour control", "furring", "gap", "fill", "foam", "wood", "sheathing", "paper",
    "board", "cladding",
]  # fmt: skip
OptionKind = Literal[
    "leave",
    "batt and poly",
    "closed-cell",
    "open-cell",
    "foam and batt",
    "furring and foam",
    "foam and board",
    "from outside",
]


@dataclass(frozen=True)
class Layer:
    """One layer of a path, its properties settled for the thickness installed.

    ``conductivity`` is None for an air layer, whose resistance follows from its thickness and
    the emissivity of the faces beside it. Membranes are thin layers with equivalent properties.
    """

    name: str
    material: str  # catalog id of the material or foam
    role: Role
    thickness: float  # [m]
    conductivity: float | None  # [W/(m K)]
    permeability_dry: float  # [kg/(m s Pa)]
    permeability_wet: float  # [kg/(m s Pa)]
    density: float  # [kg/m3]
    specific_heat: float  # [J/(kg K)]
    emissivity: float  # [-]
    source_heat: Source
    source_vapour: Source
    vented: bool = False  # outside a well-ventilated air layer, or that layer itself

    def continues(self, other: Layer) -> bool:
        """Whether both are slices of one and the same: alike in all but their thickness."""
        return bool(_MADE_OF(self) == _MADE_OF(other))


# the role first: most neighbours differ there
_MADE_OF = attrgetter(
    "role", *(f.name for f in fields(Layer) if f.name not in ("role", "thickness"))
)


@dataclass(frozen=True)
class Stack:
    """The layers through one kind of region, room side first.

    A kind whose regions differ in depth has several stacks. All stacks of a build-up have the
    same number of layers with the same thicknesses, so that they compare slice by slice.
    """

    kind: RegionKind
    area: float  # [m2]
    layers: tuple[Layer, ...]
    rects: tuple[Rect, ...] = ()  # where it stands in the wall

    @cached_property
    def sheets(self) -> tuple[Layer, ...]:
        """The layers as they are built: slices of one and the same layer joined again."""
        joined: list[Layer] = []
        for layer in self.layers:
            last = joined[-1] if joined else None
            if last is not None and layer.continues(last):
                joined[-1] = replace(last, thickness=last.thickness + layer.thickness)
            else:
                joined.append(layer)
        return tuple(joined)


@dataclass(frozen=True)
class Solid:
    """A box of one material for the field [m]; boxes of a build-up do not overlap.

    ``kind`` is the region it stands in, or None for a layer that runs over the whole wall.
    """

    x0: float
    x1: float
    y0: float
    y1: float
    z0: float
    z1: float
    layer: Layer
    kind: RegionKind | None


@dataclass(frozen=True)
class Option:
    """What could be done to a wall."""

    id: str  # short and stable: "leave", "cc-76", "cc-51-batt"
    name: str  # as a client reads it
    kind: OptionKind
    foam: str | None = None
    thickness: float = 0.0  # [m] of foam
    furring: float = 0.0  # [m]
    board: str | None = None
    board_thickness: float = 0.0  # [m]
    fill: str | None = None  # batt, where there is one
    vapour_control: str | None = None
    seal_joints: bool = False
    through_holes: bool = False  # filled through drilled holes, the bays left closed


@dataclass(frozen=True)
class Refusal:
    """Why an option cannot be built here, and what could be done instead."""

    reason: str
    instead: str


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

    @property
    def can_be_built(self) -> bool:
        """Whether nothing speaks against it."""
        return not self.refusals
