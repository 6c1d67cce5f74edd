"""What stands before a wall or shines in its picture, painted out: it is no reading of the wall."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal, get_args

import numpy as np

from warmside.errors import Fault, InputError
from warmside.proof.picture import Picture

InTheWay = Literal["radiator", "lamp", "furniture", "reflection", "other"]
CAUSES: tuple[InTheWay, ...] = get_args(InTheWay)
FRINGE = 2.0  # [pixel] round a region that its edge is smeared over: two and a half spots


@dataclass(frozen=True)
class Region:
    """A rectangle of a picture that shows no wall [pixel], from its upper left corner on."""

    left: float
    top: float
    right: float
    bottom: float
    cause: InTheWay = "other"

    def __post_init__(self) -> None:
        if self.cause not in CAUSES:
            raise InputError([Fault("region, cause", f"{self.cause!r}"[:60], ", ".join(CAUSES))])
        sides = self.left, self.top, self.right, self.bottom
        if not (np.isfinite(sides).all() and self.left < self.right and self.top < self.bottom):
            names = ("left", "top", "right", "bottom")
            read = ", ".join(f"{name} {side:g}" for name, side in zip(names, sides, strict=True))
            raise InputError([Fault("region", read, "left before right and top above bottom")])


def painted_out(picture: Picture, regions: Sequence[Region]) -> Picture:
    """The picture without its regions, each ``FRINGE`` wider all round.

    Raises
    ------
    InputError
        A region that lies wholly outside the picture.
    """
    if not regions:
        return picture
    values, by = picture.values.copy(), float(picture.reduced)
    rows, columns = values.shape
    for n, r in enumerate(regions, 1):
        if r.right < 0 or r.bottom < 0 or r.left >= columns * by or r.top >= rows * by:
            read = f"{r.left:g} to {r.right:g}, {r.top:g} to {r.bottom:g}"
            allowed = f"within {columns * by:g} columns and {rows * by:g} rows"
            raise InputError([Fault(f"region {n}", read, allowed)])
        (top, left), (bottom, right) = (
            (max(int(np.floor(v / by - FRINGE)), 0) for v in (r.top, r.left)),
            (max(int(np.ceil(v / by + FRINGE)) + 1, 0) for v in (r.bottom, r.right)),
        )
        values[top:bottom, left:right] = np.nan
    return replace(picture, values=values)
