"""The plane of a wall, shared by every room: rectangles, and what kinds of region there are.

``x`` runs along the wall from its left end seen from the room, ``z`` up; metres.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

RegionKind = Literal[
    "bay",  # insulatable space between studs
    "stud",
    "double stud",  # two or more studs face to face, kings and trimmers included
    "plate",  # bottom and top plates
    "header",
    "sill",  # rough sill under a window
    "post",  # corner or partition post, blocks included
    "block",  # fire block, brace block, ribbon
    "brace",  # let-in brace over a bay
    "pocket",  # a space that foam sprayed from the room cannot reach
    "floor line",  # joist ends and rim of a balloon frame
]


@dataclass(frozen=True)
class Rect:
    """A rectangle in the plane of the wall [m]."""

    x0: float
    z0: float
    x1: float
    z1: float

    @property
    def width(self) -> float:
        """Extent along the wall [m]."""
        return self.x1 - self.x0

    @property
    def height(self) -> float:
        """Extent upwards [m]."""
        return self.z1 - self.z0

    @property
    def area(self) -> float:
        """Area [m2]."""
        return self.width * self.height
