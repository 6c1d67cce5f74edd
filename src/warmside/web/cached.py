"""What is read or drawn from the same text again and again, kept for a while."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from warmside import survey
from warmside.store import catalog_of

if TYPE_CHECKING:
    from warmside.catalog import Catalog, Climate
    from warmside.framing import Frame


@lru_cache(maxsize=128)
def read(text: str) -> survey.Survey:
    """The survey in a text that was checked before it was kept."""
    return survey.read(text)


@lru_cache(maxsize=128)
def parsed(text: str) -> Mapping[str, Any]:
    """The tables of such a text, to be read only."""
    return tomllib.loads(text.removeprefix("\ufeff"))


@lru_cache(maxsize=128)
def frame(text: str, rows: str, wall: int) -> Frame:
    """The framing of a wall of a survey, with the job's own rows."""
    from warmside.framing import frame_wall

    found = read(text)
    return frame_wall(found.walls[wall - 1], found.house, catalog(rows).lumber)


@lru_cache(maxsize=64)
def doubts(text: str, rows: str) -> tuple[survey.Doubt, ...]:
    """What is unusual in a survey and was not looked at again, by the catalog and own rows."""
    from warmside.study.checking import check  # brings the compiled solvers with it

    return check(text, catalog(rows)).doubts


@lru_cache(maxsize=16)
def catalog(rows: str) -> Catalog:
    """The catalog with a job's own rows (TOML text, "" for none)."""
    return catalog_of(rows)


def climate(text: str, rows: str) -> Climate:
    """Where the house of a survey stands, with the job's own rows."""
    return catalog(rows).climate(read(text).house.climate)
