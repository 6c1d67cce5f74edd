"""How many litres does a leak leave in a wall in a season?

Problem: room air of 21 °C leaks to a cold face and leaves there what it cannot hold. The trade says
"thirty litres a season through a two-millimetre hole". What does a hole of one square inch pass at
4 Pa; what does a litre a second leave in a day; and is the saying true?

Source: the daily water with the saturation curve of Hyland and Wexler (ASHRAE Fundamentals; other
method, worked beforehand to three digits); the saying is common practice without a source. It does
not hold: the hole passes a hundredth of what it would need to, and it takes one of the size of a
coin. The sum is an upper bound: the air warms nothing on its way and leaves saturated.
"""

from __future__ import annotations

from math import pi
from pathlib import Path

from _compared import Compared, compared, show

from warmside.physics.humid_air import vapour_pressure
from warmside.physics.moisture import deposit, hole_flow, round_hole

BY_HAND = "0.6 A sqrt(2 dp / rho), by hand [exact]"
CURVE = "saturation by Hyland and Wexler, ASHRAE Fundamentals [other method]"
DAY = 86_400.0
SEASON = 180 * DAY
SQUARE_INCH = 6.4516e-4
PER_DAY = {(0.30, -10.0): 0.310, (0.40, -20.0): 0.568, (0.50, -5.0): 0.538}  # kg/day per L/s


def litres(area: float) -> float:
    """Water [kg] a season through a hole of ``area`` [m2]: 4 Pa, 21 °C, 40 %; -5 °C outside."""
    return float(hole_flow(area, 4.0) * deposit(1.0, vapour_pressure(21.0, 0.4), -5.0)) * SEASON


def main(folder: Path | None = None) -> list[Compared]:  # noqa: ARG001 - draws nothing
    """Compare flow, daily water and the season's litres."""
    daily = [
        compared(
            f"1 L/s, {humidity:.0%}, {outside:.0f} °C: kg a day",
            float(deposit(1e-3, vapour_pressure(21.0, humidity), outside)) * DAY,
            told,
            0.02 * told,
            CURVE,
        )
        for (humidity, outside), told in PER_DAY.items()
    ]
    flow = float(hole_flow(SQUARE_INCH, 4.0)) * 1000
    # 1 L/s leaves 0.379 kg a day at 40 % and -5 degC by the same curve
    hole = 0.6 * pi * 0.001**2 * (2 * 4.0 / 1.2) ** 0.5 * 1000
    return [
        compared("one square inch at 4 Pa, L/s", flow, 1.00, 0.005, BY_HAND),
        *daily,
        compared("a 2 mm hole, litres a season", litres(round_hole(0.002)), hole * 0.379 * 180,
                 0.01, CURVE),
        compared("a square inch, litres a season", litres(SQUARE_INCH), 0.379 * 180, 1.4, CURVE),
    ]  # fmt: skip


if __name__ == "__main__":
    show(main)
