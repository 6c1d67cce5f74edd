"""Rows of the catalog become layers, their properties settled for the thickness installed."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from functools import lru_cache
from typing import TypeVar

from warmside.catalog import HUMIDITIES, FillState, Foam, Material, MoistureRow
from warmside.errors import Fault, InputError, UnknownRowError
from warmside.physics.assembly import FoundWater, Layer, MoistureProperties, Role
from warmside.survey import FoundLayer

Row = TypeVar("Row")

# What is put in new, by id of the catalog.
NEW_FINISH = "gypsum-board"
NEW_PAINT = "latex-paint"
NEW_BATT = "glass-fibre-batt"
NEW_VAPOUR_CONTROL = "polyethylene"
NEW_SHEATHING = "plywood"
NEW_PAPER = "building-paper"
NEW_BOARD = "xps-board"
WOOD = "softwood"
AIR = "air"
WATER = 1000.0  # [kg/m3]


@dataclass(frozen=True)
class Sheet:
    """A layer that runs over the whole wall."""

    row: Material
    role: Role
    thickness: float  # [m]
    vented: bool = False


@dataclass(frozen=True)
class Piece:
    """A stretch of depth of one material between ``y0`` and ``y1`` [m]."""

    y0: float
    y1: float
    row: Material | Foam
    role: Role
    state: FillState | None = None  # of old fill


@dataclass(frozen=True)
class Scheme:
    """The build-up before it meets the framing; lengths in metres."""

    inside: tuple[Sheet, ...]  # room side first
    outside: tuple[Sheet, ...]  # from the outer face of the studs on
    furring: float
    foam: Foam | None
    foam_thickness: float
    fill: Material | None  # in the space that foam leaves
    fill_thickness: float | None  # None: all of it
    fill_state: FillState | None  # of old fill that stays and was not found sound
    from_outside: bool
    wood: Material
    air: Material
    assumptions: tuple[str, ...]

    @property
    def empty_share(self) -> float:
        """Share of every bay, at its top, in which the old fill is missing [-]."""
        return self.fill_state.empty_share if self.fill_state else 0.0

    @property
    def rows(self) -> Iterator[Material | Foam]:
        """Every row that a layer may be made of."""
        yield from (sheet.row for sheet in (*self.inside, *self.outside))
        yield from (row for row in (self.foam, self.fill) if row is not None)
        yield from (self.wood, self.air)


def row_of(rows: Mapping[str, Row], kind: str, name: str) -> Row:
    """Row ``name``, or UnknownRowError with the nearest names."""
    if name in rows:
        return rows[name]
    raise UnknownRowError(kind, name, tuple(get_close_matches(name, rows, n=3)))


def sheet(
    rows: Mapping[str, Material],
    found: FoundLayer | str,
    role: Role,
    place: str,
    vented: bool = False,
) -> Sheet:
    """Sheet of a found layer, or of a row at its usual thickness; ``place`` tells where if not."""
    layer = FoundLayer(material=found) if isinstance(found, str) else found
    row = row_of(rows, "material", layer.material)
    thickness = layer.thickness if layer.thickness is not None else row.thickness
    if thickness is None:
        raise InputError(
            [Fault(f"{place}, {role}", f"'{row.id}' without a thickness", "a thickness")]
        )
    return Sheet(row, role, thickness, vented)


def layer_of(
    row: Material | Foam,
    role: Role,
    thickness: float,
    whole: float,
    vented: bool = False,
    state: FillState | None = None,
) -> Layer:
    """Layer ``thickness`` [m] thick, a slice of one that is ``whole`` [m] thick.

    Old fill in a ``state`` conducts more than a sound one, and holds water.
    """
    if isinstance(row, Foam):
        conductivity: float | None = row.conductivity(whole)
        dry = wet = row.permeability(whole)
        density = row.in_place_density
    else:
        conductivity, density = row.conductivity, row.density
        dry, wet = row.permeability_dry, row.permeability_wet
    water = None
    if state is not None and conductivity is not None:
        if state.water_share > 0.0:
            water = FoundWater(state.water_share * WATER, conductivity)
        conductivity *= state.conductivity_times
    return Layer(
        name=row.name,
        material=row.id,
        role=role,
        thickness=thickness,
        conductivity=conductivity,
        permeability_dry=dry,
        permeability_wet=wet,
        density=density,
        specific_heat=row.specific_heat,
        emissivity=row.emissivity,
        moisture=moisture_properties(row.moisture) if row.moisture else None,
        vented=vented,
        found_water=water,
    )


@lru_cache(maxsize=512)
def moisture_properties(row: MoistureRow) -> MoistureProperties:
    """How a material or foam holds and draws water, as the physics takes it."""
    return MoistureProperties(
        "wood" if row.curve == "wood" else tuple(zip(HUMIDITIES, row.points, strict=True)),
        row.free,
        row.absorption,
        row.conductivity_per_water,
        row.mould_class,
        row.timber,
    )


def permeance(layers: Sequence[Layer], wet: bool = False) -> float:
    """Vapour permeance of layers in series [kg/(m2 s Pa)]; infinite for none."""
    resistance = sum(
        layer.thickness / (layer.permeability_wet if wet else layer.permeability_dry)
        for layer in layers
        if not layer.vented
    )
    return 1 / resistance if resistance > 0 else float("inf")
