"""Closed-cell foam from the room."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import count, takewhile
from typing import ClassVar

from warmside.options._option import Beyond, Option, Place
from warmside.options.kinds._made import USUAL_FOAM, foam_of, made
from warmside.options.kinds._sprayed import Sprayed
from warmside.survey import Wanted
from warmside.units import INCH

_USUAL = (1.5 * INCH, 2 * INCH, 2.5 * INCH, 3 * INCH)
FIRST = INCH  # [m] thinnest foam worth a rig
_SHALLOWER = 0.003  # [m] by which a layer must miss the full depth to count as another option


@dataclass(frozen=True)
class ClosedCell(Sprayed):
    """Dense foam on the back of the sheathing: insulation, air and vapour control at once."""

    name: ClassVar[str] = "closed-cell"
    meaning: ClassVar[str] = "closed-cell foam sprayed into bays opened from the room"
    brief: ClassVar[str] = "sprayed foam"

    def option(self, asked: Wanted, place: Place) -> Option:
        """Three inches, or what the bay is deep."""
        foam = foam_of(asked, place, "closed-cell", strict=True)
        return made(self, asked, place, foam=foam, thickness=min(USUAL_FOAM, place.depth))

    def usual(self, place: Place) -> Iterable[Wanted]:
        """Layers by the half inch, then the full depth."""
        thin = (t for t in _USUAL if t < place.depth - _SHALLOWER)
        return tuple(Wanted(kind=self.name, thickness=t) for t in (*thin, place.depth))

    def thicknesses(self, depth: float, foam: str | None) -> Iterator[tuple[Beyond, Wanted]]:
        """From an inch on by the half inch, up to the full depth."""
        inside = (FIRST + k * INCH / 2 for k in count())
        for thickness in takewhile(lambda t: t < depth - INCH / 4, inside):
            yield "", Wanted(kind=self.name, foam=foam, thickness=thickness)
        yield "", Wanted(kind=self.name, foam=foam, thickness=depth)


CLOSED_CELL = ClosedCell()
