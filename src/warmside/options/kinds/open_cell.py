"""Open-cell foam from the room."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import ClassVar

from warmside.options._option import Option, Place
from warmside.options.kinds._made import foam_of, made
from warmside.options.kinds._sprayed import Sprayed
from warmside.survey import Wanted


@dataclass(frozen=True)
class OpenCell(Sprayed):
    """Light foam that fills the bay and lets vapour through."""

    name: ClassVar[str] = "open-cell"
    meaning: ClassVar[str] = "open-cell foam sprayed into bays opened from the room"
    brief: ClassVar[str] = "light sprayed foam"

    def option(self, asked: Wanted, place: Place) -> Option:
        """The full depth."""
        foam = foam_of(asked, place, "open-cell", strict=True)
        return made(self, asked, place, foam=foam, thickness=place.depth)

    def usual(self, place: Place) -> Iterable[Wanted]:
        """The full depth."""
        return (Wanted(kind=self.name, thickness=place.depth),)


OPEN_CELL = OpenCell()
