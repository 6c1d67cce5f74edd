"""A figure held against what is usual of it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from warmside.catalog import Usual

Path = tuple[str | int, ...]


@dataclass(frozen=True)
class Unlikely:
    """What the survey says at ``path`` is unusual, or impossible.

    ``warning`` names the kind of doubt; ``shows`` is what follows from what was read, ``usual``
    what is usual or, where it is impossible, what is possible at all. "" shows nothing more.
    """

    warning: str
    path: Path
    shows: str
    usual: str
    impossible: bool = False


def held(row: Usual, value: float, path: Path, shows: str, more: str = "") -> Iterator[Unlikely]:
    """Nothing where ``value`` is likely.

    Parameters
    ----------
    row : Usual
        What is usual.
    value : float
        The figure [SI].
    path : tuple
        Where the survey says it.
    shows : str
        What follows from what was read there, the place of the figure as ``{}``.
    more : str
        What a person may look at, after what is usual.
    """
    told = shows.format(row.written(value))
    if row.impossible(value):
        yield Unlikely(row.id, path, told, f"{row.bounds}{more}", impossible=True)
    elif row.unusual(value):
        yield Unlikely(row.id, path, told, f"{row.range}{more}")
