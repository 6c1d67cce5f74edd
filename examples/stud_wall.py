"""A stud wall by three simple methods and by the field.

Problem: studs of 38 x 140 mm, 23 % of the wall, RSI 1.19 through wood and 3.34 through the batts
between. The building code of Canada works this wall out in an explanatory note. The same section
is then solved as a 2-D field: half a stud and half a bay.

Source: National Building Code of Canada 2020, note A-9.36.2.4.(1); ISO 6946 (from memory): where
heat has no fin to run along, the true resistance lies between its two limits.
"""

from __future__ import annotations

from pathlib import Path

from _compared import Compared, compared, show

from warmside.physics.assembly import Layer, Stack
from warmside.physics.conduction import (
    ISO_FILMS,
    Body,
    Films,
    Space,
    code_resistance,
    combined,
    parallel_path,
    solve_field,
)

NBC = "NBC of Canada 2020, A-9.36.2.4.(1) [published; board layers from memory]"
LIMITS = "ISO 6946: between its upper and lower limit [from memory]"
SHARE, WOOD, BATT, DEPTH, STUD = 0.23, 1.19, 3.34, 0.140, 0.038
BOARD = {"gypsum": 0.08, "gypsum sheathing": 0.08, "air": 0.18, "brick": 0.07}  # [m2 K/W]


def layer(name: str, resistance: float, thickness: float = 0.01) -> Layer:
    """A layer by its thermal resistance [m2 K/W]."""
    return Layer(
        name, name, "board", thickness, thickness / resistance, 2e-11, 2e-11, 500.0, 1000.0, 0.9,
    )  # fmt: skip


def field_resistance(films: Films) -> float:
    """Air to air [m2 K/W] of wood and batt alone: half a stud beside half a bay, one metre high."""
    half = STUD / SHARE / 2
    far = 9.0
    bodies = [
        Body(0, STUD / 2, 0, DEPTH, 0, 1, DEPTH / WOOD, "stud"),
        Body(STUD / 2, half, 0, DEPTH, 0, 1, DEPTH / BATT, "batt"),
    ]
    spaces = [
        Space(0, half, -far, 0, 0, 1, "room", films.inside),
        Space(0, half, DEPTH, far, 0, 1, "outside", films.outside),
    ]
    heat = solve_field(bodies, spaces, cells=20_000).flows({"room": 1.0, "outside": 0.0})
    return half / heat["room"]


def main(folder: Path | None = None) -> list[Compared]:  # noqa: ARG001 - draws nothing
    """Compare the four ways."""
    zone = [
        Stack("stud", SHARE, (layer("wood", WOOD, DEPTH),)),
        Stack("bay", 1 - SHARE, (layer("batt", BATT, DEPTH),)),
    ]
    boards = tuple(layer(name, r) for name, r in BOARD.items())
    wall = [Stack(s.kind, s.area, (*s.layers, *boards)) for s in zone]
    limits = combined(zone, ISO_FILMS)
    middle, half_width = limits.resistance, (limits.upper - limits.lower) / 2
    return [
        compared("framed zone, RSI", parallel_path(zone, Films(0, 0, "none")), 2.36, 0.005, NBC),
        compared("whole wall, RSI", code_resistance(wall), 2.925, 0.008, NBC),
        compared("field of the zone, RSI", field_resistance(ISO_FILMS), middle, half_width, LIMITS),
    ]


if __name__ == "__main__":
    show(main)
