"""The wall that physics computes: layers with their properties settled, stacks, the assembly.

``y`` runs from the room to the outside: 0 at the room face of the studs, so that inside finishes
have negative ``y`` and sheathing lies beyond the stud depth. All lengths in metres.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from functools import cached_property
from operator import attrgetter
from typing import Literal

from warmside.geometry import Rect, RegionKind

Role = Literal[
    "finish", "vapour control", "furring", "gap", "fill", "foam", "wood", "sheathing", "paper",
    "board", "cladding",
]  # fmt: skip
Timber = Literal["solid", "board", "none"]
MouldClass = Literal["very sensitive", "sensitive", "medium resistant", "resistant"]


@dataclass(frozen=True)
class MoistureProperties:
    """How a material holds and draws water, and how readily mould grows on it.

    ``isotherm`` is the sorption isotherm as rows of (relative humidity [-], water [kg/kg dry]),
    both rising, or "wood" for the equilibrium of wood at each humidity.
    """

    isotherm: Literal["wood"] | tuple[tuple[float, float], ...]
    free_saturation: float  # [kg/kg dry] held in contact with liquid water
    absorption: float  # [kg/(m2 s^0.5)] water absorption coefficient; 0 where nothing draws
    conductivity_per_water: float  # [W m2/(K kg)] rise of conductivity per kg/m3 of water
    mould_class: MouldClass
    timber: Timber = "none"  # solid wood, board made of wood, or neither


@dataclass(frozen=True)
class FoundWater:
    """Water found in a layer beyond what room air leaves in it.

    The layer's own conductivity counts it; ``dry_conductivity`` does not.
    """

    content: float  # [kg/m3]
    dry_conductivity: float  # [W/(m K)]


@dataclass(frozen=True)
class Layer:
    """One layer of a path, its properties settled for the thickness installed.

    ``conductivity`` is None for an air layer, whose resistance follows from its thickness and
    the emissivity of the faces beside it. Membranes are thin layers with equivalent properties.
    """

    name: str
    material: str  # names what it is made of; slices of one material share it
    role: Role
    thickness: float  # [m]
    conductivity: float | None  # [W/(m K)]
    permeability_dry: float  # [kg/(m s Pa)], dry cup
    permeability_wet: float  # [kg/(m s Pa)], wet cup
    density: float  # [kg/m3]
    specific_heat: float  # [J/(kg K)]
    emissivity: float  # [-]
    moisture: MoistureProperties | None = None  # None: not known; the hourly model needs it
    vented: bool = False  # outside a well-ventilated air layer, or that layer itself
    found_water: FoundWater | None = None

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

    A kind whose regions differ in depth has several stacks. All stacks of an assembly have the
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
class Assembly:
    """A framed wall with its layers: what stands where.

    ``regions`` tile the wall: with ``holes``, the openings, they fill ``outline``, its columns from
    left to right. The rectangles of ``stacks`` tile it too, more finely where furring crosses.
    """

    stacks: tuple[Stack, ...]
    regions: Mapping[RegionKind, tuple[Rect, ...]]
    outline: tuple[Rect, ...]
    holes: tuple[Rect, ...]
    depth: float  # [m] of the studs
    y0: float = 0.0  # [m] where the stacks begin: the room face of the finish

    @property
    def net_area(self) -> float:
        """Area without the openings [m2]."""
        gross = sum(column.area for column in self.outline)
        return gross - sum(hole.area for hole in self.holes)

    @property
    def area_by_kind(self) -> dict[RegionKind, float]:
        """Area of each kind of region [m2]."""
        return {kind: sum(r.area for r in rects) for kind, rects in self.regions.items()}
