"""How finely the fields of a study are solved."""

from __future__ import annotations

from warmside.options import BuildUp
from warmside.physics.conduction import WallHeat, section_resistance, solved_wall

# for the map of the surface and the heat by kind; resistance and coldest places have models of
# their own, and say how far they are known
CELLS = 60_000
# [-] of the true relative residual: heat then stands to 1e-5, and temperature factors to 0.001
TOLERANCE = 1e-5


def solved(build_up: BuildUp) -> WallHeat:
    """The field of a build-up, as every figure of a study takes it."""
    return solved_wall(build_up.assembly, cells=CELLS, tolerance=TOLERANCE)


def solved_resistance(build_up: BuildUp) -> float:
    """Resistance of the framed wall alone [m2 K/W], the same as `solved` gives."""
    return section_resistance(build_up.assembly).value
