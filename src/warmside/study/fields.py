"""How finely the fields of a study are solved."""

from __future__ import annotations

from warmside.options import BuildUp
from warmside.physics.conduction import WallHeat, wall_field, wall_heat

# 60 000 cells keep the resistance of a wall within about 1 % of what many more give
CELLS = 60_000
# [-] of the true relative residual: heat then stands to 1e-5, and temperature factors to 0.001,
# a tenth of what the grid leaves open
TOLERANCE = 1e-5


def solved(build_up: BuildUp) -> WallHeat:
    """The field of a build-up, as every figure of a study takes it."""
    return wall_heat(wall_field(build_up.assembly, cells=CELLS, tolerance=TOLERANCE))
