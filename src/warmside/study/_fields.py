"""How finely the fields of a study are solved."""

from __future__ import annotations

from warmside.options import BuildUp
from warmside.physics.conduction import WallHeat, wall_field, wall_heat

# 100 000 cells keep the resistance of a wall within about 1 % of four times as many
CELLS = 100_000
TOLERANCE = 1e-6  # [-] of the true relative residual


def solved(build_up: BuildUp) -> WallHeat:
    """The field of a build-up, as every figure of a study takes it."""
    return wall_heat(wall_field(build_up, cells=CELLS, tolerance=TOLERANCE))
