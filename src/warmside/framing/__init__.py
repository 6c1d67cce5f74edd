"""Where the wood is: a wall becomes members, bays, joints and pockets."""

from warmside.framing._frame import frame_wall
from warmside.framing._parts import (
    Bay,
    Frame,
    Hole,
    Joint,
    JointKind,
    Member,
    Pocket,
    Rect,
    Region,
    RegionKind,
    Section,
)
from warmside.framing._sizes import Sizes, sizes_of

__all__ = [
    "Bay",
    "Frame",
    "Hole",
    "Joint",
    "JointKind",
    "Member",
    "Pocket",
    "Rect",
    "Region",
    "RegionKind",
    "Section",
    "Sizes",
    "frame_wall",
    "sizes_of",
]
