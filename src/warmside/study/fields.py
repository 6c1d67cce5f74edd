"""How finely the fields of a study are solved."""

from __future__ import annotations

import pickle
from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import lru_cache
from hashlib import blake2b

from warmside.options import BuildUp
from warmside.physics.assembly import Assembly
from warmside.physics.conduction import (
    ISO_SURFACE_FILMS,
    End,
    WallHeat,
    section_resistance,
    solved_wall,
    wall_field,
    wall_heat,
)
from warmside.survey import Wall

# for the map of the surface and the heat by kind; resistance and coldest places have models of
# their own, and say how far they are known
CELLS = 60_000
# [-] of the true relative residual: heat then stands to 1e-5, and temperature factors to 0.001
TOLERANCE = 1e-5


def solved(build_up: BuildUp, ends: tuple[End, ...]) -> WallHeat:
    """The field of a build-up, as every figure of a study takes it; once for what is alike."""
    return _solved(_content(build_up), ends)


@dataclass(frozen=True)
class _Content:
    """An assembly that is equal to others of the same content."""

    name: bytes
    assembly: Assembly = field(compare=False)


def _content(build_up: BuildUp) -> _Content:
    whole = build_up.assembly
    return _Content(blake2b(pickle.dumps(whole), digest_size=16).digest(), whole)


@lru_cache(maxsize=256)  # a wall's options over and over, while somebody edits the house
def _solved(content: _Content, ends: tuple[End, ...]) -> WallHeat:
    return solved_wall(content.assembly, cells=CELLS, tolerance=TOLERANCE, ends=ends)


def solved_surface(build_up: BuildUp) -> WallHeat:
    """The surface of the room side with the film that surfaces are judged with (ISO 13788).

    Its resistance is not the wall's: that has the film of ISO 6946.
    """
    return _surface(_content(build_up))


@lru_cache(maxsize=32)  # a wall as found and as proposed, in the words of one language or another
def _surface(content: _Content) -> WallHeat:
    return wall_heat(
        wall_field(content.assembly, cells=CELLS, tolerance=TOLERANCE, films=ISO_SURFACE_FILMS)
    )


def ends_of(wall: Wall, walls: Iterable[Wall]) -> tuple[End, ...]:
    """Which ends of a wall have sections of their own.

    A corner where it stands on a corner post; an attic over it unless a wall of the same side
    stands above; a floor with a rim under the first storey. A wall that is stepped under a roof
    has neither: its top slopes and its foot stands on a room.
    """
    ends: list[End] = []
    if {wall.corner_left, wall.corner_right} != {"none"}:
        ends.append("corner")
    if not wall.profile:
        above = (w for w in walls if w.faces == wall.faces and not w.profile)
        if wall.frame == "balloon" or all(w.storey <= wall.storey for w in above):
            ends.append("ceiling")
        if wall.storey == 1:
            ends.append("floor")
    return tuple(ends)


def solved_resistance(build_up: BuildUp) -> float:
    """Resistance of the framed wall alone [m2 K/W], the same as `solved` gives."""
    return section_resistance(build_up.assembly).value
