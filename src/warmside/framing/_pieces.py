"""What the planning files hand to the tiling: pieces, and the shell that they stand in."""

from __future__ import annotations

from dataclasses import dataclass

from warmside.framing._parts import Section
from warmside.framing._sizes import Sizes
from warmside.geometry import Rect, RegionKind
from warmside.survey import Wall

# [m] edges closer than this are one edge; no common fraction of a millimetre or an inch, so that
# no pair of taped lengths lies just on it
NEAR = 3.1e-4
LEAST_GAP = 0.025  # [m] a space narrower than this cannot be sprayed (common practice)


@dataclass(frozen=True)
class Piece:
    """Something that claims a rectangle of the wall; where two overlap, the later one stands.

    ``member`` is the kind of lumber, empty for a space. ``why`` tells why a space in it cannot be
    reached.
    """

    name: str
    member: str
    region: RegionKind
    rect: Rect
    sections: tuple[Section, ...]
    why: str = ""

    @property
    def reachable_depth(self) -> float:
        """Depth of the space that foam can fill [m]."""
        return sum(s.y1 - s.y0 for s in self.sections if s.what == "space" and s.reachable)


@dataclass(frozen=True)
class Shell:
    """Outline and lumber of one wall."""

    wall: Wall
    sizes: Sizes
    columns: tuple[Rect, ...]

    @property
    def length(self) -> float:
        """Length of the wall [m]."""
        return self.columns[-1].x1

    @property
    def height(self) -> float:
        """Greatest height [m]."""
        return max(column.z1 for column in self.columns)

    @property
    def width(self) -> float:
        """Width of a stud in elevation [m]."""
        return self.sizes.width

    @property
    def depth(self) -> float:
        """Depth of a stud [m]."""
        return self.sizes.depth

    @property
    def floor(self) -> float:
        """Height of the top of the bottom plate [m]; a balloon frame has none: 0."""
        return self.width if self.wall.frame == "platform" else 0.0

    def ceiling(self, x0: float, x1: float) -> float:
        """Underside of the lowest top plates over ``x0``-``x1`` [m]."""
        over = [c.z1 for c in self.columns if c.x0 < x1 - NEAR and c.x1 > x0 + NEAR]
        return min(over, default=self.height) - 2 * self.width

    def solid(self) -> tuple[Section, ...]:
        """Wood through the whole depth."""
        return (Section(0.0, self.depth, "wood"),)

    def upright(self, member: str, x0: float, x1: float, region: RegionKind = "stud") -> Piece:
        """A stud-like piece from the bottom as high as the wall goes."""
        rect = Rect(x0, 0.0, x1, self.height)
        return Piece(member, member, region, rect, self.solid())


def behind_wood(thickness: float, depth: float, reachable: bool) -> tuple[Section, ...]:
    """Wood at the room face, and the space behind it."""
    if depth - thickness <= NEAR:
        return (Section(0.0, depth, "wood"),)
    return (Section(0.0, thickness, "wood"), Section(thickness, depth, "space", reachable))


def overlap(a0: float, a1: float, b0: float, b1: float) -> bool:
    """Whether two intervals [m] share more than an edge."""
    return a0 < b1 - NEAR and b0 < a1 - NEAR
