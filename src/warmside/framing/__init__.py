"""Where the wood is: a wall becomes members, bays, joints and pockets."""

from warmside.framing._counts import (
    Lot,
    joint_counts,
    joint_metres,
    lumber_list,
    members,
    studs,
)
from warmside.framing._frame import frame_wall
from warmside.framing._parts import (
    Bay,
    Frame,
    Hole,
    Joint,
    JointKind,
    Member,
    Pocket,
    Region,
    Section,
)
from warmside.framing._sizes import Sizes, sizes_of

__all__ = [
    "Bay",
    "Frame",
    "Hole",
    "Joint",
    "JointKind",
    "Lot",
    "Member",
    "Pocket",
    "Region",
    "Section",
    "Sizes",
    "frame_wall",
    "joint_counts",
    "joint_metres",
    "lumber_list",
    "members",
    "sizes_of",
    "studs",
]
