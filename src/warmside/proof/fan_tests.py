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
    limit_of,
)

NINE_IN_TEN = 1.28  # standard deviations below which nine in ten lie


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
    same_fan: bool = False
    least: float = 0.0  # share that these two tests would have shown nine times in ten [-]

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
    before: FanTestResult | PowerLaw,
    after: FanTestResult | PowerLaw,
    joints: Band,
    same_fan: bool = False,
) -> FanChange:
    """Compare two fan tests of a house.

    The logarithm of the ratio of both flows at 50 Pa has the sum of both variances, those of the
    calibrations among them where the fans differ, and limits by Student's t with Welch's degrees
    of freedom (Welch 1947; from memory).

    Parameters
    ----------
    before, after : FanTestResult or PowerLaw
        A test with several points, or the law through one, right within 15 %.
    joints : Band
        Share of the house's leakage that the sealed joints were reckoned to hold [-].
    same_fan : bool
        One and the same fan and gauge both times: their calibration is no doubt of the change.

    Returns
    -------
    FanChange
        With limits, and what remains as a house's leakage.
    """
    leakages = leakage_from_test(before), leakage_from_test(after)
    half, sigma = _half(before, after, same_fan)
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
        same_fan=same_fan,
        least=_shown(half, sigma),
    )


def least_change(before: FanTestResult | PowerLaw, same_fan: bool) -> float:
    """Share [-] that a second test, as good as the first, shows nine times in ten.

    To be told before the second is made: what it could not show, it need not be made for.
    """
    return _shown(*_half(before, before, same_fan))


def _shown(half: float, sigma: float) -> float:
    return 1.0 - math.exp(-(half + NINE_IN_TEN * sigma))


def _half(
    before: FanTestResult | PowerLaw, after: FanTestResult | PowerLaw, same_fan: bool
) -> tuple[float, float]:
    """Half of the 95 % interval of the logarithm of both flows' ratio, and its standard error."""
    errors = [_error(test) for test in (before, after)]
    variance = sum(error**2 for error, _, _ in errors)
    calibration = 0.0 if same_fan else math.hypot(*(own for _, _, own in errors))
    if variance + calibration**2 == 0.0:
        raise InputError([Fault("fan tests", "points without any scatter", "readings of a gauge")])
    fourth = sum(error**4 / freedom for error, freedom, _ in errors)
    freedom = variance**2 / fourth if fourth else 1e6
    error = math.sqrt(variance)
    return limit_of(error, freedom, calibration), math.hypot(error, calibration)


def _error(test: FanTestResult | PowerLaw) -> tuple[float, float, float]:
    """Standard error of ln of the flow at 50 Pa, its degrees of freedom, and the calibration's."""
    if isinstance(test, FanTestResult):
        return test.error_50, test.freedom, test.calibration
    return math.log(1.0 + SINGLE_POINT_ERROR) / 1.96, 1e6, 0.0
