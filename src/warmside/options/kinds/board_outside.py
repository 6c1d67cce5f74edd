"""Rigid board outside under the cladding; the bays and the rooms stay as they are."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import ClassVar

from warmside.options import _judge
from warmside.options._layers import NEW_BOARD, row_of
from warmside.options._option import Case, Job, Opened, Option, Place
from warmside.options._work import Step, Task, Ware
from warmside.options.kinds import _steps, _tasks
from warmside.options.kinds._insulated import Insulated
from warmside.survey import Wanted
from warmside.units import INCH
from warmside.wording import Figure, lowered, say

_USUAL = 2 * INCH


@dataclass(frozen=True)
class BoardOutside(Insulated):
    """The cladding comes off and goes back over board; what fills the bays stays."""

    name: ClassVar[str] = "board outside"
    meaning: ClassVar[str] = "board outside under cladding put back; bays and rooms stay closed"
    brief: ClassVar[str] = "insulating board outside"
    takes: ClassVar[frozenset[str]] = frozenset({"board", "board_thickness"})
    opened: ClassVar[Opened] = Opened(cladding=True)
    reaches: ClassVar[frozenset[str] | None] = frozenset()
    wares: ClassVar[tuple[Ware, ...]] = _tasks.BOARD_OUTSIDE
    tasks: ClassVar[tuple[Task, ...]] = (
        *_tasks.STRIP_OUTSIDE,
        Task(
            "exterior_board",
            "Fit rigid board outside",
            "exterior_board",
            "m2",
            "board-outside",
            "carpenter",
        ),
        Task("jamb", "Extend jambs", "jamb_extension", "each", "board-outside", "carpenter"),
        Task(
            "furring",
            "Fit furring strips under the cladding",
            "furring",
            "m",
            "cladding",
            "carpenter",
        ),
        *_tasks.CLADDING,
        *_tasks.CLEAR_UP,
    )

    def option(self, asked: Wanted, place: Place) -> Option:
        """Two inches."""
        board, thick = asked.board or NEW_BOARD, asked.board_thickness or _USUAL
        row = row_of(place.catalog.materials, "material", board)
        parts = ["board", str(round(thick * 1e3)), *([board] if board != NEW_BOARD else [])]
        said = say(
            "{deep} of {board} outside, bays as they are",
            deep=Figure(thick, "size"),
            board=lowered(row.name),
        )
        return Option(
            id="-".join(parts),
            name=str(said),
            said=said,
            kind=self,
            board=board,
            board_thickness=thick,
        )

    def usual(self, place: Place) -> Iterable[Wanted]:
        """Where the catalog holds the usual board."""
        return (Wanted(kind=self.name),) if NEW_BOARD in place.catalog.materials else ()

    def cautions(self, case: Case) -> Iterator[str]:
        """What shows from outside only, and what stays behind."""
        yield from _judge.moisture(case)
        yield from _judge.vapour(case)
        yield from _judge.fill_found(case)
        yield "Fixings, fire and the distance to the lot line: the official decides."
        yield from _judge.dangers(case)

    def steps(self, job: Job) -> tuple[Step, ...]:
        """Cladding off, sheathing read and mended, board on, cladding back."""
        return (
            *_steps.ready(job),
            _steps.strip_outside(job),
            _steps.dry(job),
            _steps.mend(job),
            _steps.board(job),
            _steps.cladding_back(job),
            _steps.clear_up(),
        )


BOARD_OUTSIDE = BoardOutside()
