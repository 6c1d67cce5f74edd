"""Two fan tests of one house, and what they say of its change: how often too much, how often right.

The house, the wind and the fan are simulated apart from the fit: a power law, pressures that wander
with the wind from reading to reading and through the test, flows that scatter by 1 %, a fan that is
off by a share of its own. What is written down on site is what a tester sees: ten pressures, five
readings with the fan covered before and five after, the wind. ``./bench fan --tests N``.
"""

from __future__ import annotations

import argparse
import math

import numpy as np
from scipy.stats import binomtest

from record import record
from warmside.physics.airflow import Band, FanTestResult
from warmside.proof import fan_change
from warmside.survey import FanPoint, FanTest, fan_law

PRESSURES = (60.0, 55.0, 50.0, 45.0, 40.0, 35.0, 30.0, 25.0, 20.0, 15.0)
C, N = 0.08, 0.65


def simulated(rng: np.random.Generator, wander: float) -> FanTestResult:
    """One test in air as standard, the fan right; ``wander`` [Pa] of one reading by wind."""
    offset = float(rng.normal(0.0, 1.5))  # stack and steady wind: the zero-flow pressure
    own = rng.normal(0.0, math.hypot(wander, 0.2), len(PRESSURES))
    flows = C * (np.array(PRESSURES)) ** N * np.exp(0.01 * rng.standard_normal(len(PRESSURES)))
    shown = -np.array(PRESSURES) + offset + own
    zeros = offset + rng.normal(0.0, math.hypot(wander, 0.2), 10)
    test = FanTest(
        points=tuple(FanPoint(pressure=float(-p), flow=float(q))
                     for p, q in zip(shown, flows, strict=True) if p < -1.0),
        zero_flow=tuple(float(z) for z in zeros),
        # a tester sees the wind, not what it does: the guess is off by a third either way
        wind=float(np.sqrt(max(wander, 0.05) / 0.12) * rng.uniform(0.7, 1.4)),
        indoor_temperature=20.0, outdoor_temperature=20.0, calibration=0.0,
    )  # fmt: skip
    law = fan_law(test)
    if not isinstance(law, FanTestResult):
        raise TypeError("a fan test of ten points is a line")
    return law


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--tests", type=int, default=1000)
    parser.add_argument("--seed", type=int, default=5000)
    asked = parser.parse_args()
    none = Band(0.0, 0.0, 0.0)
    print(
        f"{asked.tests} pairs of tests each, seed {asked.seed}; share in % with its 95 % interval"
    )
    print(f"{'wander':>8}{'fan off':>9}{'fans':>9}{'surely tighter, no change':>30}"
          f"{'change covered':>26}{'flow covered':>26}{'10 % shown':>12}")  # fmt: skip
    for wander in (0.0, 1.0, 2.5):
        rng = np.random.default_rng([asked.seed, int(10 * wander)])
        pairs = [(simulated(rng, wander), simulated(rng, wander)) for _ in range(asked.tests)]
        off = rng.standard_normal((asked.tests, 2))
        for share in (0.0, 0.03, 0.05):
            for same in (False, True):
                tighter = covered = flow = shown = 0
                for (one, two), (a, b) in zip(pairs, off, strict=True):
                    scale = math.exp(share * a), math.exp(share * (a if same else b))
                    first, second = (_scaled(t, s, share) for t, s in zip((one, two), scale,
                                                                        strict=True))  # fmt: skip
                    change = fan_change(first, second, none, same)
                    tighter += change.removed_low > 0.0
                    covered += change.removed_low <= 0.0 <= change.removed_high
                    low, high = first.flow_50_limits
                    flow += low <= C * 50.0**N <= high
                    less = fan_change(first, _scaled(second, 0.9, 0.0, keep=True), none, same)
                    shown += less.removed_low > 0.0
                n = asked.tests
                print(f"{wander:8.1f}{share:9.0%}{'same' if same else 'two':>9}"
                      f"{_told(tighter, n):>30}{_told(covered, n):>26}{_told(flow, n):>26}"
                      f"{shown / n:12.0%}")  # fmt: skip
                name = f"{wander:g} Pa, {share:.0%}, {'same fan' if same else 'two fans'}"
                record(f"surely tighter, {name}", 100 * tighter / n, "%", target="<= 5")
                record(f"change covered, {name}", 100 * covered / n, "%", target="93 to 97")


def _scaled(
    test: FanTestResult, by: float, calibration: float, keep: bool = False
) -> FanTestResult:
    """The same test with all flows ``by`` as large, of a fan of that calibration."""
    from dataclasses import replace

    from warmside.physics.airflow import limit_of

    own = test.calibration if keep else calibration
    law = replace(test.law, coefficient=test.law.coefficient * by)
    half, flow = limit_of(test.error_50, test.freedom, own), law.flow(50.0)
    limits = (flow * math.exp(-half), flow * math.exp(half))
    return replace(test, law=law, calibration=own, flow_50_limits=limits)


def _told(hits: int, of: int) -> str:
    low, high = binomtest(hits, of).proportion_ci(0.95)
    return f"{100 * hits / of:.1f} ({100 * low:.1f}-{100 * high:.1f})"


if __name__ == "__main__":
    main()
