"""Simple methods of heat conduction."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from warmside.physics import conduction
from warmside.physics.assembly import Layer, Stack
from warmside.physics.conduction import Films
from warmside.verify.case import Case, Check

# ISO 6946 table 2 [m2 K/W]: mm, up, horizontal, down
_AIR = (
    (0, 0.00, 0.00, 0.00), (5, 0.11, 0.11, 0.11), (7, 0.13, 0.13, 0.13), (10, 0.15, 0.15, 0.15),
    (15, 0.16, 0.17, 0.17), (25, 0.16, 0.18, 0.19), (50, 0.16, 0.18, 0.21),
    (100, 0.16, 0.18, 0.22), (300, 0.16, 0.18, 0.23),
)  # fmt: skip


def _layer(resistance: float) -> Layer:
    return Layer(
        "layer", "layer", "board", 0.01, 0.01 / resistance, 1e-11, 1e-11, 500.0, 1000.0, 0.9,
    )  # fmt: skip


def framed(
    share: float,
    framing: float,
    cavity: float,
    before: Sequence[float] = (),
    after: Sequence[float] = (),
) -> list[Stack]:
    """A wall of studs and bays, by its resistances [m2 K/W] from the room outwards."""
    room, out = (tuple(_layer(r) for r in ends) for ends in (before, after))
    return [
        Stack("stud", share, (*room, _layer(framing), *out)),
        Stack("bay", 1.0 - share, (*room, _layer(cavity), *out)),
    ]


def _air_layers() -> Iterator[Check]:
    for mm, up, level, down in _AIR:
        for direction, printed in (("up", up), ("horizontal", level), ("down", down)):
            found = conduction.air_layer_resistance(mm / 1000, direction)  # type: ignore[arg-type]
            yield Check(f"{mm} mm, {direction}", printed, found, 0.0055)  # two decimals printed


def _code_example() -> Iterator[Check]:
    # 38 x 140 at 406 mm: 23 % framing
    none = Films(0.0, 0.0, "none")
    frame = conduction.parallel_path(framed(0.23, 1.19, 3.34), none)
    yield Check("framed part", 2.36, frame, 0.005)
    # layers from memory: brick 0.07, air 0.18, gypsum sheathing 0.08, gypsum 0.08; the sum is
    # 2.92, some printings show 2.93
    wall = framed(0.23, 1.19, 3.34, before=[0.08], after=[0.08, 0.18, 0.07])
    yield Check("whole wall", 2.925, conduction.code_resistance(wall), 0.008)


def _second_code_wall() -> Iterator[Check]:
    wall = framed(0.23, 1.19, 3.34, before=[0.0775], after=[0.109, 0.15])
    yield Check("before the cladding", 2.85, conduction.code_resistance(wall), 0.006)


def _combined() -> Iterator[Check]:
    # 15 % timber; 140 mm and 90 mm of mineral wool
    for name, wool, timber, upper, lower, mean in (
        ("140 mm", 3.684, 1.077, 3.485, 3.312, 3.398),
        ("90 mm", 2.368, 0.692, 2.495, 2.346, 2.421),
    ):
        wall = framed(0.15, timber, wool, before=[0.05], after=[0.077, 0.18, 0.132])
        found = conduction.combined(wall)
        yield Check(f"{name}, upper limit", upper, found.upper, 1e-3)
        yield Check(f"{name}, lower limit", lower, found.lower, 1e-3)
        yield Check(f"{name}, mean", mean, found.resistance, 1e-3)


CASES = (
    Case("iso-6946-air-layers", "conduction", "Air layers by thickness and direction",
         "ISO 6946:2017 table 2, confirmed by its own formula", "from memory", "m²K/W",
         _air_layers),
    Case("nbc-a-9.36.2.4", "conduction", "Example wall of the code, parallel paths",
         "NBC of Canada 2020, note A-9.36.2.4.(1), in the BC government's code data", "published",
         "m²K/W", _code_example),
    Case("richmond-wall", "conduction", "A city's worked wall by the code's method",
         "City of Richmond BC, Part 9 drawing", "second-hand", "m²K/W", _second_code_wall),
    Case("iso-6946-combined", "conduction", "Combined method: both limits and their mean",
         "wall of Approved Document L1 2002, App. B style; by hand from ISO 6946", "from memory",
         "m²K/W", _combined),
)  # fmt: skip
