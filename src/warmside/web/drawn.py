"""A wall as drawn for one person: elevation, facts, pieces; kept by the survey's text."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

from warmside.web import cached
from warmside.web.pieces import Piece, pieces
from warmside.web.placing import Part, Stand, parts, stands
from warmside.wording import Sentence, Style

if TYPE_CHECKING:
    from warmside.framing import Frame

WIDE = 720.0  # [user units] for a desk


@dataclass(frozen=True)
class Picture:
    """What a wall's page shows of its framing."""

    wide: str
    small: str
    facts: tuple[tuple[str, str], ...]
    members: tuple[tuple[tuple[str, str], int], ...]
    joints: tuple[tuple[str, str], ...]
    pockets: tuple[tuple[str, int], ...]
    assumptions: tuple[str | Sentence, ...]
    pieces: tuple[Piece, ...]
    stands: tuple[Stand, ...]
    parts: tuple[Part, ...]


@lru_cache(maxsize=64)
def picture(text: str, rows: str, wall: int, write: Style) -> Picture:
    """Wall number ``wall`` of a survey with the job's own rows, as ``write`` has it."""
    frame, here = cached.frame(text, rows, wall), cached.read(text).walls[wall - 1]
    return Picture(
        wide=elevation(text, rows, wall, write.metric_lengths, WIDE),
        small=elevation(text, rows, wall, write.metric_lengths, None),
        facts=_facts(frame, write),
        members=_members(frame, write),
        joints=_joints(frame, write),
        pockets=tuple(sorted(Counter(pocket.why for pocket in frame.pockets).items())),
        assumptions=frame.assumptions,
        pieces=pieces(frame, here, write),
        stands=stands(frame, here),
        parts=parts(here, write),
    )


@lru_cache(maxsize=128)
def elevation(text: str, rows: str, wall: int, metric: bool, width: float | None) -> str:
    """The framing of a wall as SVG, ``width`` [user units] wide; None: for a phone."""
    from warmside import drawings

    frame, here = cached.frame(text, rows, wall), cached.read(text).walls[wall - 1]
    show = drawings.metric if metric else drawings.trade
    return drawings.elevation(frame, here, show=show, width=width or drawings.PHONE)


def _facts(frame: Frame, write: Style) -> tuple[tuple[str, str], ...]:
    return (
        ("Without openings", write(frame.net_area, "area")),
        ("Framing share", f"{frame.framing_share:.0%}"),
        ("Bays", str(len(frame.bays))),
        ("Joints to seal", write.run(sum(joint.length for joint in frame.joints))),
    )


def _members(frame: Frame, write: Style) -> tuple[tuple[tuple[str, str], int], ...]:
    """Pieces of lumber by kind and length."""
    found = Counter(
        (m.kind, write(max(m.rect.width, m.rect.height), "length")) for m in frame.members
    )
    return tuple(sorted(found.items()))


def _joints(frame: Frame, write: Style) -> tuple[tuple[str, str], ...]:
    """Length of the joints by kind."""
    found: dict[str, float] = {}
    for joint in frame.joints:
        found[joint.kind] = found.get(joint.kind, 0.0) + joint.length
    return tuple((kind, write.run(length)) for kind, length in sorted(found.items()))
