"""Board feet, beads and yields."""

from __future__ import annotations

import math
from collections.abc import Iterator

from warmside.estimate import (
    bead_area,
    bead_metres_per_cartridge,
    board_feet,
    theoretical_yield,
)
from warmside.units import BOARD_FOOT
from warmside.verify.case import Case, Check

_POUND = 0.45359237  # [kg]
_BEADS = (  # mm, ml per metre, metres from 300 ml round, fillet, square, from 850 ml round
    (3, 7.1, 42, 67, 33, 120), (5, 20, 15, 24, 12, 43), (6, 28, 10.6, 16.7, 8.3, 30),
    (8, 50, 6.0, 9.4, 4.7, 17), (10, 79, 3.8, 6.0, 3.0, 10.8), (12, 113, 2.7, 4.2, 2.1, 7.5),
)  # fmt: skip


def _board_feet() -> Iterator[Check]:
    yield Check("one [m³]", 2.359737216e-3, BOARD_FOOT, 0.0, 1e-15)
    yield Check("100 ft² of 3 in", 300.0, board_feet(100 * 0.3048**2, 0.0762), 0.0, 1e-14)
    yield Check("1 m² of 1 mm", 0.42377600, board_feet(1.0, 0.001), 0.0, 1e-7)


def _beads() -> Iterator[Check]:
    for mm, per_metre, round_300, fillet, square, round_850 in _BEADS:
        width = mm / 1000
        # the table is rounded to two or three digits, hence 3 %
        yield Check(f"{mm} mm, ml/m", per_metre, bead_area("round", width) * 1e6, 0.0, 0.03)
        for shape, volume, metres in (
            ("round", 3e-4, round_300), ("fillet", 3e-4, fillet), ("square", 3e-4, square),
            ("round", 8.5e-4, round_850),
        ):  # fmt: skip
            found = bead_metres_per_cartridge(shape, width, volume)  # type: ignore[arg-type]
            yield Check(f"{mm} mm {shape}, {volume * 1e6:g} ml, m", metres, found, 0.0, 0.03)


def _geometry() -> Iterator[Check]:
    yield Check("round 6 mm [m²]", math.pi * 9e-6, bead_area("round", 0.006), 0.0, 1e-12)
    found = bead_metres_per_cartridge("fillet", 0.006, 3e-4)
    yield Check("fillet 6 mm, 300 ml [m]", 50 / 3, found, 0.0, 1e-12)


def _yield() -> Iterator[Check]:
    # 1000 lb of both components at 2 pcf fill 500 ft3 = 6000 board ft
    density = 2.0 * _POUND / 0.3048**3
    found = theoretical_yield(1000 * _POUND, density)
    yield Check("1000 lb at 2 lb/ft³", 6000.0, found, 0.0, 1e-9)


CASES = (
    Case("board-foot", "estimate", "A square foot one inch thick", "definition of foot and inch",
         "exact", "board ft", _board_feet),
    Case("beads", "estimate", "Sealant beads from a cartridge", "tables of the trade, no source",
         "common practice", "mixed", _beads),
    Case("bead-geometry", "estimate", "Beads as circles, triangles and squares", "geometry",
         "exact", "mixed", _geometry),
    Case("foam-yield", "estimate", "Foam from a drum set, before losses", "arithmetic", "exact",
         "board ft", _yield),
)  # fmt: skip
