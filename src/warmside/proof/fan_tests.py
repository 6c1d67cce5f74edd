"""Fan tests before and after: how much tighter, how surely, how much of it was the joints."""

from __future__ import annotations

import math
from dataclasses import dataclass

from warmside.errors import Fault, InputError
from warmside.physics.airflow import (
    SINGLE_POINT_ERROR,
    Band,
    FanTestResult,
    HouseLeakage,
    PowerLaw,
    leakage_from_test,
)

CONFIDENCE = 0.95  # [-] of the change's limits


@dataclass(frozen=True)
class FanChange:
    """Two tests of one house. Flows at 50 Pa [m3/s]; shares of the flow before [-].

    ``removed`` is the share taken away with its 95 % limits, below 0 where the house became
    leakier. ``joints`` is the share of the house's leakage that sealing the joints was reckoned to
    take away, and ``explained`` how much of what was taken away that is; None where nothing was.
    ``surely`` tells whether the change is more than the two tests' own scatter.
    """

    before: HouseLeakage
    after: HouseLeakage
    removed: float
    removed_low: float
    removed_high: float
    joints: Band
    explained: float | None
    surely: bool
    remarks: tuple[str, ...]

    @property
    def as_reckoned(self) -> bool:
        """Whether what was reckoned and what was measured agree within their bands."""
        return self.joints.low <= self.removed_high and self.removed_low <= self.joints.high

    @property
    def removed_band(self) -> Band:
        """Share taken away, as the house's air takes it: 0 at least."""
        low, best, high = (max(v, 0.0) for v in (self.removed_low, self.removed, self.removed_high))
        return Band(low, min(max(best, low), high), high)


def fan_change(
    before: FanTestResult | PowerLaw, after: FanTestResult | PowerLaw, joints: Band
) -> FanChange:
    """Compare two fan tests of a house.

    The logarithm of the ratio of both flows at 50 Pa has the sum of both variances, and limits by
    Student's t with Welch's degrees of freedom (Welch 1947; from memory).

    Parameters
    ----------
    before, after : FanTestResult or PowerLaw
        A test with several points, or the law through one, right within 15 %.
    joints : Band
        Share of the house's leakage that the sealed joints were reckoned to hold [-].

    Returns
    -------
    FanChange
        With limits, and what remains as a house's leakage.
    """
    from scipy.special import stdtrit

    leakages = leakage_from_test(before), leakage_from_test(after)
    errors = [_error(test) for test in (before, after)]
    variance = sum(error**2 for error, _ in errors)
    if variance == 0.0:
        raise InputError([Fault("fan tests", "points without any scatter", "readings of a gauge")])
    freedom = variance**2 / sum(error**4 / df for error, df in errors if error > 0.0)
    half = float(stdtrit(freedom, (1.0 + CONFIDENCE) / 2.0)) * math.sqrt(variance)
    ratio = leakages[1].flow_50.best / leakages[0].flow_50.best
    removed = 1.0 - ratio
    low, high = 1.0 - ratio * math.exp(half), 1.0 - ratio * math.exp(-half)
    remarks = [
        f"Test {when}: {text}."
        for when, test in (("before", before), ("after", after))
        if isinstance(test, FanTestResult)
        for text in test.remarks
    ]
    return FanChange(
        before=leakages[0],
        after=leakages[1],
        removed=removed,
        removed_low=low,
        removed_high=high,
        joints=joints,
        explained=joints.best / removed if removed > 0.0 else None,
        surely=low > 0.0 or high < 0.0,
        remarks=tuple(remarks),
    )


def _error(test: FanTestResult | PowerLaw) -> tuple[float, float]:
    """Standard error of the logarithm of the flow at 50 Pa, and its degrees of freedom."""
    from scipy.special import stdtrit

    if isinstance(test, FanTestResult):
        freedom = float(test.points - 2)
        low, high = test.flow_50_limits
        t = float(stdtrit(freedom, (1.0 + CONFIDENCE) / 2.0))
        return math.log(high / low) / (2.0 * t), freedom
    return math.log(1.0 + SINGLE_POINT_ERROR) / 1.96, 1e6
