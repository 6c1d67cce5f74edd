"""What is read or drawn from the same text again and again, kept for a while."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING, Any

from warmside import survey
from warmside.store import catalog_of

if TYPE_CHECKING:
    from warmside.framing import Frame


@lru_cache(maxsize=128)
def read(text: str) -> survey.Survey:
    """The survey in a text that was checked before it was kept."""
    return survey.read(text)


@lru_cache(maxsize=128)
def frame(text: str, rows: str, wall: int) -> Frame:
    """The framing of a wall of a survey, with the job's own rows."""
    from warmside.framing import frame_wall

    found = read(text)
    return frame_wall(found.walls[wall - 1], found.house, _lumber(rows))


@lru_cache(maxsize=16)
def _lumber(rows: str) -> Any:
    return catalog_of(rows).lumber


@lru_cache(maxsize=128)
def elevations(text: str, rows: str, wall: int) -> tuple[str, str]:
    """The framing drawn for a desk and for a phone."""
    from warmside import drawings

    drawn, here = frame(text, rows, wall), read(text).walls[wall - 1]
    wide, small = (drawings.elevation(drawn, here, width=width) for width in (720.0, 390.0))
    return wide, small
