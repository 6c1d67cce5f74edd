"""How big the lumber really is: by era, unless it was measured.

A nominal 2x4 has been five sizes since 1900. The rows come from the catalog; what a tape found on
site always wins.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from warmside.catalog import Lumber
from warmside.errors import Fault, InputError
from warmside.survey import House, Wall
from warmside.units import INCH
from warmside.wording import Figure, Sentence, say

HEADER_NOMINALS = (4, 6, 8, 10, 12)  # [in] depth of a 2x on edge


@dataclass(frozen=True)
class Sizes:
    """Actual sizes of one wall's lumber [m], and what was taken to get them."""

    year: int
    width: float  # thickness of a stud, seen in elevation
    depth: float  # of a stud, through the wall
    board: float  # thickness of a 1x4
    strip: float  # its face width
    assumptions: tuple[str | Sentence, ...]


def lumber_row(nominal: str, year: int, lumber: Sequence[Lumber]) -> Lumber | None:
    """The row of ``nominal`` for ``year``, or the row nearest in time; None without any row."""

    def years_off(row: Lumber) -> tuple[int, int]:
        return (max(row.first - year, year - row.last, 0), -row.first)

    return min((row for row in lumber if row.nominal == nominal), key=years_off, default=None)


def sizes_of(wall: Wall, house: House, lumber: Sequence[Lumber]) -> Sizes:
    """Actual sizes for ``wall``: as measured, else by the year of the wall or the house.

    Raises
    ------
    InputError
        Where neither a measure nor a catalog row gives the size of the stud.
    """
    year = wall.year_built or house.year_built
    row = lumber_row(wall.stud, year, lumber)
    width = wall.stud_width or (row.width if row else None)
    depth = wall.stud_depth or (row.depth if row else None)
    if width is None or depth is None:
        place = f'wall "{wall.name}", stud'
        allowed = "a size with a lumber row, or a measured stud_width and stud_depth"
        read = f"{wall.stud} without a size"
        raise InputError([Fault(place, read, allowed, path=("stud",))])
    taken: list[str | Sentence] = []
    if row and not (wall.stud_width and wall.stud_depth):
        taken.append(
            say(
                "Studs not fully measured: {width} x {depth} taken, the usual {stud} of {years} "
                "({tag}).",
                width=Figure(width, "size"),
                depth=Figure(depth, "size"),
                stud=wall.stud,
                years=f"{row.first}-{row.last}",
                tag=row.source.tag,
            )
        )
    board = lumber_row("1x4", year, lumber)
    thickness, face = (board.width, board.depth) if board else (0.75 * INCH, 3.5 * INCH)
    return Sizes(year, width, depth, thickness, face, tuple(taken))


def header_depth_for(span: float, sizes: Sizes, lumber: Sequence[Lumber]) -> float:
    """Depth [m] of a header of doubled 2x on edge for ``span`` [m] where none was measured.

    Common practice, no source: a 2x4 up to 4 ft, and as many inches of nominal depth as the opening
    has feet above that; 2x12 at most. A rule to draw by, not to build by.
    """
    feet = span / (12 * INCH)
    nominal = next((n for n in HEADER_NOMINALS if feet <= n + 0.01), HEADER_NOMINALS[-1])
    row = lumber_row(f"2x{nominal}", sizes.year, lumber)
    if row:
        return row.depth
    # wide stock was dressed 1/2 in. under nominal, 3/4 in. since the standard of 1970
    loss = 0.75 if sizes.year >= 1970 and nominal >= 8 else 0.5
    return (nominal - loss) * INCH
