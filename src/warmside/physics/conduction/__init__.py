"""Heat through the wall."""

from warmside.physics.conduction._corner import corner_field
from warmside.physics.conduction._field import FactorMap, Field, Spot, solve_field, warm
from warmside.physics.conduction._field_bodies import Body, Space
from warmside.physics.conduction._field_doubling import Refined, solve_refined
from warmside.physics.conduction._field_wall import KindHeat, Reveal, State, WallField, wall_field
from warmside.physics.conduction._grid import Grid
from warmside.physics.conduction._linear import LinearTransmittance, linear_transmittance
from warmside.physics.conduction._simple import (
    ISO_FILMS,
    ISO_SURFACE_FILMS,
    NBC_FILMS,
    Combined,
    Films,
    Profile,
    air_layer_resistance,
    code_resistance,
    combined,
    isothermal_planes,
    layer_resistance,
    parallel_path,
    profile,
    resistances,
)
from warmside.physics.conduction._solids import Solid, solids
from warmside.physics.conduction._wall_heat import WallHeat, wall_heat

__all__ = [
    "ISO_FILMS",
    "ISO_SURFACE_FILMS",
    "NBC_FILMS",
    "Body",
    "Combined",
    "FactorMap",
    "Field",
    "Films",
    "Grid",
    "KindHeat",
    "LinearTransmittance",
    "Profile",
    "Refined",
    "Reveal",
    "Solid",
    "Space",
    "Spot",
    "State",
    "WallField",
    "WallHeat",
    "air_layer_resistance",
    "code_resistance",
    "combined",
    "corner_field",
    "isothermal_planes",
    "layer_resistance",
    "linear_transmittance",
    "parallel_path",
    "profile",
    "resistances",
    "solids",
    "solve_field",
    "solve_refined",
    "wall_field",
    "wall_heat",
    "warm",
]
