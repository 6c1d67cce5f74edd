"""Pipes, lights and ducts in an outside wall: where they lie against the insulation."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from warmside.plausibility.likelihood import Path, Unlikely
from warmside.survey import Hazard, Wall


def doubts_of_services(number: int, wall: Wall, hazards: Iterable[Hazard]) -> Iterator[Unlikely]:
    """Water pipes whose depth nobody measured, ducts and lights that insulation would bury.

    Parameters
    ----------
    number : int
        Of the wall in the survey, counted from 0.
    wall : Wall
        As read.
    hazards : iterable of Hazard
        All of the survey: what is noted there is not asked again.
    """
    noted = {hazard.kind for hazard in hazards if hazard.wall in (None, wall.name)}
    place: Path = ("walls", number)
    for n, pipe in enumerate(wall.pipes):
        path = (*place, "pipes", n, "kind")
        if pipe.kind == "water" and pipe.depth is None:
            yield Unlikely(
                "pipe-depth", path, "a water pipe in an outside wall, its depth not measured",
                'depth = "1-1/2 in", from the room face of the studs to the middle of the pipe: '
                "with insulation on its room side it freezes",
            )  # fmt: skip
        elif pipe.kind == "duct" and "duct in the wall" not in noted:
            yield Unlikely(
                "duct-in-wall", path, "a duct in an outside wall",
                "ducts in inside walls; foam on its room side leaves it in the cold, none belongs "
                "into a bay that is itself the duct",
            )  # fmt: skip
    for n, box in enumerate(wall.boxes):
        if box.kind == "recessed light" and "recessed light" not in noted:
            yield Unlikely(
                "recessed-light", (*place, "boxes", n, "kind"), "a recessed light in a wall",
                "lights in ceilings; its label allows insulation around it, or 3 in stay clear",
            )  # fmt: skip
