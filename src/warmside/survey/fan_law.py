"""From a fan test as it was written down to the law through it, with all that it cannot know."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from warmside.survey._checks import LEAST_POINTS
from warmside.survey._models import FanPoint, FanTest

if TYPE_CHECKING:
    from collections.abc import Sequence

    from warmside.physics.airflow import FanConditions, FanTestResult, PowerLaw

CALIBRATION = 0.03  # [-] of a fan of which nothing is said: 5 % at most (ASTM E779; from memory)
GAUGE = 0.3  # [Pa] of one reading in still air: fluctuation and the gauge's last digit; own figure
GUST = 0.12  # [Pa/(m/s)2] of one reading: a fifth of the wind's pressure 0.6 v2; own figure
UNNOTED = 4.0  # [m/s] of wind that nobody wrote down: a fresh day on which people still test
SCATTER = 0.01  # [-] of one flow reading of a fan that is in order; own figure
PRIOR = 2.0  # readings that the guess of the wind counts for, and that of the scatter; own figure
STACK = 0.01 * 5.5  # [Pa/K] of a house two storeys high, half at the doors' height; own figure


def fan_law(test: FanTest) -> FanTestResult | PowerLaw:
    """The power law of a fan test at standard air.

    Parameters
    ----------
    test : FanTest
        As written down.

    Returns
    -------
    FanTestResult or PowerLaw
        Of both directions where there are points in both; the law through one point, with the
        usual exponent, where there are too few for a line.

    Raises
    ------
    InputError
        Points that cannot be, as `warmside.physics.airflow.fan_test` tells.
    """
    from warmside.physics.airflow import fan_test, mean_of_directions, single_point

    if test.flow_50 is not None:
        return single_point(50.0, test.flow_50)
    if len(test.points) < LEAST_POINTS:  # the last point with the usual exponent
        return single_point(test.points[-1].pressure, test.points[-1].flow)
    air = fan_air(test)
    first = fan_test(*_values(test.points), test.direction, air)
    if not test.opposite:
        return first
    other = "pressurise" if test.direction == "depressurise" else "depressurise"
    return mean_of_directions(first, fan_test(*_values(test.opposite), other, air))  # type: ignore[arg-type]


def fan_air(test: FanTest) -> FanConditions:
    """Air of a test, and how far its pressures are off.

    Readings without the fan tell how they wander; the wind stands for ``PRIOR`` of them, and how
    fans scatter for as many points of the line. What was not noted counts as an ordinary fresh day,
    and as a zero-flow pressure that nobody took off.
    """
    from warmside.physics.airflow import FanConditions

    wind = UNNOTED if test.wind is None else test.wind
    guess = math.hypot(GAUGE, GUST * wind**2)
    zeros = test.zero_flow
    mean = sum(zeros) / len(zeros) if zeros else 0.0
    squares = sum((z - mean) ** 2 for z in zeros)
    freedom = max(len(zeros) - 1, 0) + PRIOR
    wander = math.sqrt((squares + PRIOR * guess**2) / freedom)
    rise = abs(test.indoor_temperature - test.outdoor_temperature)
    more = {} if test.barometer is None else {"barometric_pressure": test.barometer}
    return FanConditions(
        test.indoor_temperature,
        test.outdoor_temperature,
        zero_flow=zeros,
        wind_speed=test.wind,
        wander=wander,
        wander_freedom=freedom,
        scatter=SCATTER,
        scatter_freedom=PRIOR,
        zero_doubt=wander / math.sqrt(len(zeros)) if zeros else math.hypot(STACK * rise, wander),
        calibration=CALIBRATION if test.calibration is None else test.calibration,
        **more,
    )


def same_fan(one: FanTest, other: FanTest) -> bool:
    """Whether two tests were made with one and the same fan and gauge, by what was written."""
    return bool(one.instrument) and one.instrument.casefold() == other.instrument.casefold()


def _values(points: Sequence[FanPoint]) -> tuple[list[float], list[float]]:
    return [p.pressure for p in points], [p.flow for p in points]
