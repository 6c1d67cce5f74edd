"""The joint map: every joint of a wall in numbered runs, in the order of the work.

A run is what one person seals without moving on: all the joints of one post, one plate, one
opening. Every joint of the framing belongs to exactly one run.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from warmside.catalog import Catalog
from warmside.estimate import CARTRIDGE, ROUGH_WOOD, Bead, beads
from warmside.framing import Frame, Joint, JointKind
from warmside.wording import Figure, Sentence, feet, plain, say

# In the order in which a wall is sealed, and how the joints of a kind fall into runs.
_ORDER: tuple[tuple[str, str, frozenset[JointKind]], ...] = (
    ("studs side by side", "post", frozenset({"stud to stud"})),
    ("top plates", "wall", frozenset({"plate to plate", "plate splice", "plate to ceiling"})),
    ("studs on plates", "level", frozenset({"stud to plate"})),
    ("plate to floor", "wall", frozenset({"plate to floor"})),
    ("headers and sills", "opening", frozenset({"header plies", "header to frame",
                                                "sill to frame"})),
    ("sill on foundation", "wall", frozenset({"sill to foundation"})),
    ("ribbon and joists", "level", frozenset({"ribbon and joist"})),
    ("blocks", "fewest", frozenset({"block to stud"})),
    ("brace notches", "wall", frozenset({"brace notch"})),
    ("box", "each", frozenset({"box"})),
    ("pipe or cable", "each", frozenset({"penetration"})),
    ("round the opening", "opening", frozenset({"opening perimeter"})),
)  # fmt: skip
_NEAR = 0.30  # [m] studs of one post
_LEVEL = 0.25  # [m] joints of one level
_Place = Callable[[Joint], float]


@dataclass(frozen=True)
class Run:
    """Joints sealed in one go.

    ``key`` stays the same as long as the framing does; ticks are kept by it. ``where`` tells places
    "at" so far from the left end, and heights "up".
    """

    number: int
    key: str
    what: str
    where: Sentence
    joints: tuple[Joint, ...]
    beads: tuple[tuple[Bead, float], ...]  # each bead's shape and size, and its metres [m]
    rough: float = float(ROUGH_WOOD)  # [-] more than geometry

    @property
    def length(self) -> float:
        """All its joints [m]."""
        return sum(joint.length for joint in self.joints)

    @property
    def volume(self) -> float:
        """Sealant with what rough wood takes more [m3]."""
        area = sum(metres * bead.volume / bead.length for bead, metres in self.beads)
        return area * (1 + self.rough)

    @property
    def cartridges(self) -> float:
        """Cartridges of 300 ml [-]."""
        return self.volume / CARTRIDGE

    @property
    def anchor(self) -> tuple[float, float]:
        """Where its number is drawn: the middle of its longest joint (x, z) [m]."""
        x0, z0, x1, z1 = max(self.joints, key=lambda joint: joint.length).line
        return (x0 + x1) / 2, (z0 + z1) / 2


def joint_runs(
    frame: Frame,
    catalog: Catalog,
    reach: frozenset[str] | None = None,
    rough: float = float(ROUGH_WOOD),
) -> tuple[Run, ...]:
    """The joints of a wall as numbered runs in working order, left to right and upwards.

    Parameters
    ----------
    frame : Frame
        The framing.
    catalog : Catalog
        Its joint rows give the bead.
    reach : frozenset of str, optional
        Kinds of joint that can be sealed; all when not given.
    rough : float
        Sealant beyond geometry [-].

    Returns
    -------
    tuple of Run
        Lengths add up to those of the frame's joints within reach.

    Raises
    ------
    UnknownRowError
        A kind of joint that no row of the catalog serves.
    """
    by_kind = {bead.kind: bead for bead in beads(frame, catalog, reach) if bead.length > 0}
    found: list[tuple[str, _Spot, list[Joint]]] = []
    for what, by, kinds in _ORDER:
        mine = [
            joint
            for joint in frame.joints
            if joint.kind in kinds & by_kind.keys() and joint.length > 0
        ]
        found += [(what, place, joints) for place, joints in _parted(mine, by, frame)]
    return tuple(
        Run(
            number,
            f"{what}|{place.key}",
            what,
            place.told,
            tuple(joints),
            _beads(joints, by_kind),
            rough,
        )
        for number, (what, place, joints) in enumerate(found, 1)
    )


def _beads(joints: list[Joint], by_kind: dict[JointKind, Bead]) -> tuple[tuple[Bead, float], ...]:
    metres: dict[JointKind, float] = {}
    for joint in joints:
        metres[joint.kind] = metres.get(joint.kind, 0.0) + joint.length
    return tuple((by_kind[kind], length) for kind, length in metres.items())


def _parted(joints: list[Joint], by: str, frame: Frame) -> Iterable[tuple[_Spot, list[Joint]]]:
    """The joints of one kind in runs, each with the place it is called by."""
    if not joints:
        return []
    if by == "wall":
        return [(_named("whole wall"), joints)]
    if by == "opening":
        return [(_named(name), group) for name, group in _by_opening(joints, frame)]
    if by == "each":
        spots = _clusters(joints, _x, 0.0)
        return [(_measured("at {x}, {z} up", x=_at(g, _x), z=_at(g, _z)), g) for g in spots]
    if by == "fewest":  # blocks stand over each other in a post, or level across the bays
        return min((list(_parted(joints, way, frame)) for way in ("post", "level")), key=len)
    if by == "post":
        return [(_measured("at {x}", x=_at(g, _x)), g) for g in _clusters(joints, _x, _NEAR)]
    return [(_measured("{z} up", z=_at(g, _z)), g) for g in _clusters(joints, _z, _LEVEL)]


@dataclass(frozen=True)
class _Spot:
    """Where a run is: a name that ticks are kept by, and what a reader is told."""

    key: str
    told: Sentence


def _named(name: str) -> _Spot:
    return _Spot(name, plain(name))


def _measured(template: str, **places: float) -> _Spot:
    key = template.format(**{axis: feet(place) for axis, place in places.items()})
    told = say(template, **{axis: Figure(place, "length") for axis, place in places.items()})
    return _Spot(key, told)


def _by_opening(joints: list[Joint], frame: Frame) -> list[tuple[str, list[Joint]]]:
    """By the opening that a joint names, or else the nearest one."""
    groups: dict[str, list[Joint]] = {}
    middles = {h.name: (h.rect.x0 + h.rect.x1) / 2 for h in frame.holes}
    levels = {h.name: (h.rect.z0 + h.rect.z1) / 2 for h in frame.holes}
    for joint in joints:
        x, z = _x(joint), _z(joint)
        near = min(middles, key=lambda n: abs(middles[n] - x) + abs(levels[n] - z), default="")
        groups.setdefault(joint.opening or near or "whole wall", []).append(joint)
    return sorted(groups.items(), key=lambda group: middles.get(group[0], 0.0))


def _clusters(joints: list[Joint], place: _Place, gap: float) -> list[list[Joint]]:
    """Joints in groups whose places along one axis lie within ``gap`` of the group's first."""
    groups: list[list[Joint]] = []
    for joint in sorted(joints, key=lambda j: (place(j), _z(j))):
        if groups and gap > 0 and place(joint) - place(groups[-1][0]) <= gap:
            groups[-1].append(joint)
        else:
            groups.append([joint])
    return groups


def _x(joint: Joint) -> float:
    return (joint.line[0] + joint.line[2]) / 2


def _z(joint: Joint) -> float:
    return (joint.line[1] + joint.line[3]) / 2


def _at(joints: list[Joint], place: _Place) -> float:
    return min(place(joint) for joint in joints)
