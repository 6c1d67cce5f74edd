"""What a frame holds, counted: members, metres of joint, lumber to the piece."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

from warmside.framing._joints import FAMILY
from warmside.framing._parts import Frame, JointKind


@dataclass(frozen=True)
class Lot:
    """Members of one kind and one cross section."""

    kind: str
    width: float  # [m] smaller side of the cross section
    depth: float  # [m] larger side of the cross section
    count: int
    length: float  # [m] of all of them together


def studs(frame: Frame) -> dict[str, int]:
    """Number of uprights of each kind: studs, kings, trimmers, cripples, studs of posts [-]."""
    return dict(Counter(m.kind for m in frame.members if FAMILY.get(m.kind) == "upright"))


def members(frame: Frame) -> dict[str, int]:
    """Number of members of each kind [-]."""
    return dict(Counter(m.kind for m in frame.members))


def joint_metres(frame: Frame) -> dict[JointKind, float]:
    """Length of each kind of joint [m]; boxes and pipes by the perimeter of their holes."""
    metres: dict[JointKind, float] = {}
    for joint in frame.joints:
        metres[joint.kind] = metres.get(joint.kind, 0.0) + joint.length
    return metres


def joint_counts(frame: Frame) -> dict[JointKind, int]:
    """Number of joints of each kind [-]."""
    return dict(Counter(joint.kind for joint in frame.joints))


def lumber_list(frame: Frame) -> tuple[Lot, ...]:
    """The members by kind and cross section, with their count and total length.

    The length of a member is its longest side; a let-in brace is measured along its centre line.
    Plates are whole, not cut to stock lengths.
    """
    lots: dict[tuple[str, float, float], list[float]] = {}
    for m in frame.members:
        sides = sorted((m.rect.width, m.rect.height, m.y1 - m.y0))
        if m.line:
            x0, z0, x1, z1 = m.line
            sides = [sides[0], sides[0], ((x1 - x0) ** 2 + (z1 - z0) ** 2) ** 0.5]
        key = (m.kind, round(sides[0], 4), round(sides[1], 4))
        lots.setdefault(key, []).append(sides[2])
    return tuple(
        Lot(kind, width, depth, len(lengths), sum(lengths))
        for (kind, width, depth), lengths in sorted(lots.items())
    )
