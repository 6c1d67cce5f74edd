"""What a framed wall is made of: pure geometry, no physics.

Axes as in the survey: ``x`` along the wall from its left end seen from the room, ``z`` up, and
``y`` into the wall from the room face of the studs (0) to their outer face (``depth``). All in
metres.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from warmside.geometry import Rect, RegionKind
from warmside.wording import Sentence

JointKind = Literal[
    "stud to stud",  # doubled studs, trimmer to king, posts
    "plate to plate",  # top plate lamination
    "plate splice",
    "plate to floor",
    "plate to ceiling",
    "stud to plate",
    "header plies",
    "header to frame",  # header to plate and to trimmer
    "sill to frame",
    "opening perimeter",  # rough opening to window or door frame
    "ribbon and joist",  # balloon frame at the floor line
    "block to stud",
    "brace notch",
    "sill to foundation",
    "box",
    "penetration",
]


@dataclass(frozen=True)
class Section:
    """One interval of depth [m] behind the room face of the studs: wood, or space."""

    y0: float
    y1: float
    what: Literal["wood", "space"]
    reachable: bool = True  # a space that can be filled from the open room side


@dataclass(frozen=True)
class Region:
    """A rectangle of the wall with one and the same sequence through its depth.

    The regions tile the wall: areas of all regions + openings = wall, with no overlap.
    ``part`` names the bay, member or pocket it belongs to.
    """

    kind: RegionKind
    part: str
    rect: Rect
    sections: tuple[Section, ...]


@dataclass(frozen=True)
class Member:
    """A piece of lumber: ``rect`` as seen in elevation, ``y0``-``y1`` in depth [m].

    ``line`` is the centre line of a diagonal (a let-in brace), else None.
    """

    name: str
    kind: str  # "stud", "king stud", "trimmer", "bottom plate", "top plate", "header ply", ...
    rect: Rect
    y0: float
    y1: float
    line: tuple[float, float, float, float] | None = None


@dataclass(frozen=True)
class Bay:
    """A space between members that insulation can fill.

    ``volume`` is net of braces, ribbons and weight pockets [m3].
    ``open_at`` tells where a balloon bay runs on into floor, basement or attic.
    """

    name: str
    rect: Rect
    depth: float
    volume: float
    kind: Literal["stud bay", "over header", "under sill", "post pocket", "narrow"]
    open_at: tuple[Literal["bottom", "top", "floor line"], ...] = ()


@dataclass(frozen=True)
class Joint:
    """A wood-to-wood line, an opening's perimeter, or a hole: where air passes foam by."""

    name: str
    kind: JointKind
    line: tuple[float, float, float, float]  # x0, z0, x1, z1 [m]
    length: float  # [m]; for a box or hole: its perimeter
    between: tuple[str, str]  # names of the parts
    opening: str | None = None


@dataclass(frozen=True)
class Pocket:
    """A space that foam cannot reach from the open room side, and why."""

    name: str
    rect: Rect
    y0: float
    y1: float
    why: str


@dataclass(frozen=True)
class Hole:
    """An opening cut in the wall: window or door."""

    name: str
    kind: Literal["window", "door"]
    rect: Rect
    weight_pockets: bool = False


@dataclass(frozen=True)
class Frame:
    """The framing of one wall."""

    wall: str
    outline: tuple[Rect, ...]  # columns left to right, one per height step
    depth: float  # stud depth [m]
    stud_width: float  # [m]
    members: tuple[Member, ...]
    bays: tuple[Bay, ...]
    regions: tuple[Region, ...]
    joints: tuple[Joint, ...]
    pockets: tuple[Pocket, ...]
    holes: tuple[Hole, ...]
    warnings: tuple[str, ...] = ()
    # what was taken where the survey is silent
    assumptions: tuple[str | Sentence, ...] = field(default=())

    def __hash__(self) -> int:
        # what is kept by frame finds the same frame at once: no need to walk through its parts
        return hash((self.wall, self.outline, len(self.regions)))

    @property
    def length(self) -> float:
        """Length of the wall [m]."""
        return self.outline[-1].x1

    @property
    def height(self) -> float:
        """Greatest height of the wall [m]."""
        return max(column.z1 for column in self.outline)

    @property
    def gross_area(self) -> float:
        """Area of the wall, openings included [m2]."""
        return sum(column.area for column in self.outline)

    @property
    def hole_area(self) -> float:
        """Area of the openings [m2]."""
        return sum(hole.rect.area for hole in self.holes)

    @property
    def net_area(self) -> float:
        """Area without the openings [m2]."""
        return self.gross_area - self.hole_area

    def area_by_kind(self) -> dict[RegionKind, float]:
        """Area of each kind of region [m2]."""
        areas: dict[RegionKind, float] = {}
        for region in self.regions:
            areas[region.kind] = areas.get(region.kind, 0.0) + region.rect.area
        return areas

    def joint_length_by_kind(self) -> dict[JointKind, float]:
        """Length of the joints of each kind [m]."""
        lengths: dict[JointKind, float] = {}
        for joint in self.joints:
            lengths[joint.kind] = lengths.get(joint.kind, 0.0) + joint.length
        return lengths

    @property
    def framing_share(self) -> float:
        """Share of the net area that is not bay [-]."""
        return 1.0 - self.area_by_kind().get("bay", 0.0) / self.net_area
