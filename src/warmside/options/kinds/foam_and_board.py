"""Foam in the bays from the room, and rigid board outside behind the cladding."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import ClassVar

from warmside.options._layers import NEW_BOARD
from warmside.options._option import Beyond, Job, Opened, Option, Place
from warmside.options._work import Step, Task, Ware
from warmside.options.kinds import _steps, _tasks
from warmside.options.kinds._made import USUAL_FOAM, foam_of, made
from warmside.options.kinds._sprayed import Sprayed
from warmside.survey import Wanted
from warmside.units import INCH

_USUAL = 1.5 * INCH
_CURVE = (2, 3, 4)  # half inches of board, beyond full depth


@dataclass(frozen=True)
class FoamAndBoard(Sprayed):
    """Both faces of the wall are opened; the board keeps studs and sheathing warm.

    The weather side is closed again before foam is sprayed: with both faces open, rot is seen and
    mended, and then nothing rains on bare sheathing while the inside is done.
    """

    name: ClassVar[str] = "foam and board"
    meaning: ClassVar[str] = "foam from the room, and board outside under cladding put back"
    brief: ClassVar[str] = "sprayed foam, and board outside"
    in_usual_set: ClassVar[bool] = True
    takes: ClassVar[frozenset[str]] = frozenset({"foam", "thickness", "board", "board_thickness"})
    opened: ClassVar[Opened] = Opened(room=True, cladding=True)
    wares: ClassVar[tuple[Ware, ...]] = (*_tasks.FINISH, *_tasks.BOARD_OUTSIDE)
    tasks: ClassVar[tuple[Task, ...]] = (
        *_tasks.STRIP,
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
        *_tasks.SEAL,
        *_tasks.SPRAY,
        *_tasks.COVER,
        *_tasks.CLEAR_UP,
    )

    def option(self, asked: Wanted, place: Place) -> Option:
        """Three inches of foam, an inch and a half of board."""
        return made(
            self,
            asked,
            place,
            foam=foam_of(asked, place, "closed-cell"),
            thickness=min(USUAL_FOAM, place.depth),
            board=asked.board or NEW_BOARD,
            board_thickness=asked.board_thickness or _USUAL,
        )

    def thicknesses(self, depth: float, foam: str | None) -> Iterator[tuple[Beyond, Wanted]]:
        """Full depth of foam, board by the half inch."""
        for board in (k * INCH / 2 for k in _CURVE):
            yield "board", Wanted(kind=self.name, foam=foam, thickness=depth, board_thickness=board)

    def steps(self, job: Job) -> tuple[Step, ...]:
        """Both faces off, the weather side closed, then foam and the finish inside."""
        return (
            *_steps.ready(job),
            _steps.strip(job),
            _steps.strip_outside(job),
            *_steps.sound(job),
            _steps.board(job),
            _steps.cladding_back(job),
            *_steps.sealed_and_sprayed(job),
            _steps.cover(job),
            _steps.clear_up(),
        )


FOAM_AND_BOARD = FoamAndBoard()
