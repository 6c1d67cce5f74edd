"""Heat through the wall."""

from warmside.physics.conduction._corner import corner_field
from warmside.physics.conduction._field import FactorMap, Field, Spot, solve_field, warm
from warmside.physics.conduction._field_bodies import Body, Space
from warmside.physics.conduction._field_doubling import Refined, solve_refined
from warmside.physics.conduction._field_wall import (
    KindHeat,
    Reveal,
    State,
    WallField,
    check_bounds,
    wall_field,
)
from warmside.physics.conduction._grid import Grid
from warmside.physics.conduction._inside import Inside, wall_inside
from warmside.physics.conduction._junctions import End, Junction, junction
from warmside.physics.conduction._linear import LinearTransmittance, linear_transmittance
from warmside.physics.conduction._places import Place, coldest_places
from warmside.physics.conduction._response import Response, strip_response
from warmside.physics.conduction._sections import Resistance, section_resistance
from warmside.physics.conduction._simple import (
    ISO_FILMS,
    ISO_SURFACE_FILMS,
    NBC_FILMS,
    Combined,
    Films,
    Profile,
    air_layer_resistance,
    air_layer_sideways,
    code_resistance,
    combined,
    isothermal_planes,
    layer_resistance,
    parallel_path,
    profile,
    resistances,
)
from warmside.physics.conduction._solids import Solid, solids
from warmside.physics.conduction._wall_heat import WallHeat, solved_wall, wall_heat

__all__ = [
    "ISO_FILMS",
    "ISO_SURFACE_FILMS",
    "NBC_FILMS",
    "Body",
    "Combined",
    "End",
    "FactorMap",
    "Field",
    "Films",
    "Grid",
    "Inside",
    "Junction",
    "KindHeat",
    "LinearTransmittance",
    "Place",
    "Profile",
    "Refined",
    "Resistance",
    "Response",
    "Reveal",
    "Solid",
    "Space",
    "Spot",
    "State",
    "WallField",
    "WallHeat",
    "air_layer_resistance",
    "air_layer_sideways",
    "check_bounds",
    "code_resistance",
    "coldest_places",
    "combined",
    "corner_field",
    "isothermal_planes",
    "junction",
    "layer_resistance",
    "linear_transmittance",
    "parallel_path",
    "profile",
    "resistances",
    "section_resistance",
    "solids",
    "solve_field",
    "solve_refined",
    "solved_wall",
    "strip_response",
    "wall_field",
    "wall_heat",
    "wall_inside",
    "warm",
]
