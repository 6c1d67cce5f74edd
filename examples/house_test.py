"""What a fan test says about a house.

Problem: a fan holds an old house at six pressures and reads the flow at each; the points are fitted
by Q = C dP^n. What leakage area does that make, and how many air changes at 50 Pa? The flow
coefficients that a handbook gives for three leakage areas must come out, and a test whose points
lie on a known law must give that law back.

Source: ASHRAE Handbook Fundamentals 2021, chapter 16 (published pairs, two or three digits); ISO
9972 and ASTM E779 (from memory) for the fit; the definition of the air change (exact).
"""

from __future__ import annotations

from pathlib import Path

from _compared import Compared, compared, show

from warmside.physics.airflow import FanConditions, fan_test, flow_coefficient

PAIRS = "ASHRAE Fundamentals 2021, ch. 16 [published]"
LAW, DEFINITION = "points on a known power law [exact]", "3600 Q50 / V [exact]"
HANDBOOK = {(500, 0.67): 0.051, (690, 0.60): 0.078, (1000, 0.67): 0.102}  # cm2, n: m3/(s Pa^n)
PRESSURES = (60.0, 50.0, 40.0, 30.0, 20.0, 12.0)  # [Pa]
C, N, VOLUME = 0.125, 0.64, 402.0


def main(folder: Path | None = None) -> list[Compared]:  # noqa: ARG001 - draws nothing
    """Compare coefficients, the fitted law and what follows from it."""
    rows = [
        compared(
            f"C of {area} cm², n = {n}", flow_coefficient(area * 1e-4, n, density=1.2), c,
            0.01 * c, PAIRS,
        )
        for (area, n), c in HANDBOOK.items()
    ]  # fmt: skip
    still = FanConditions(20.0, 20.0, indoor_humidity=0.0, outdoor_humidity=0.0)
    test = fan_test(PRESSURES, [C * p**N for p in PRESSURES], conditions=still)
    by_hand = 3600 * C * 50**N / VOLUME
    # orifice at 4 Pa, discharge 1, air of 1.2041 kg/m3
    area = C * 4**N * (1.2041 / 8.0) ** 0.5 * 1e4
    return [
        *rows,
        compared("fitted exponent n", test.law.exponent, N, 1e-6, LAW),
        compared("fitted C", test.law.coefficient, C, 1e-4 * C, LAW),
        compared("leakage area at 4 Pa, cm²", test.law.effective_leakage_area() * 1e4, area,
                 2e-4 * area, LAW),
        compared("air change at 50 Pa, 1/h", test.law.air_change_50(VOLUME), by_hand,
                 2e-4 * by_hand, DEFINITION),
    ]  # fmt: skip


if __name__ == "__main__":
    show(main)
