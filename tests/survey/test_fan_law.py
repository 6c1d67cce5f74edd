"""A fan test as it is written down: direction, zero-flow pressures, wind, which fan."""

from __future__ import annotations

import pytest
from pydantic import ValidationError

from warmside.physics.airflow import FanTestResult, fan_test
from warmside.survey import FanPoint, FanTest, fan_law
from warmside.survey.fan_law import CALIBRATION, fan_air, same_fan

PRESSURES = (60.0, 50.0, 40.0, 30.0, 20.0, 12.0)
POINTS = tuple(FanPoint(pressure=p, flow=0.1 * p**0.65) for p in PRESSURES)


def law(**more: object) -> FanTestResult:
    found = fan_law(FanTest(points=POINTS, **more))  # type: ignore[arg-type]
    assert isinstance(found, FanTestResult)
    return found


def test_a_test_blown_the_other_way_is_another_house():
    # published by the standard's own form (ASTM E779; from memory): the fan moves indoor air one
    # way and outdoor air the other; at 20 C in and -20 C out the two differ by the ratio of
    # densities squared, but for viscosity: a quarter
    air = {"indoor_temperature": 20.0, "outdoor_temperature": -20.0}
    out, into = law(**air), law(direction="pressurize", **air)
    assert into.direction == "pressurise"
    ratio = into.law.flow(50.0) / out.law.flow(50.0)
    assert ratio == pytest.approx((293.15 / 253.15) ** 2, rel=0.06)
    with pytest.raises(ValidationError, match="direction"):
        FanTest(points=POINTS, direction="outwards")  # type: ignore[arg-type]


def test_pressures_without_the_fan_are_taken_off():
    # exact: the house stood at -2 Pa, so the fan made 2 Pa less than was read
    moved = law(zero_flow=(-2.0, -2.0, -2.0, -2.0), wind=0.0)
    still = fan_air(FanTest(points=POINTS, zero_flow=(0.0,) * 4, wind=0.0))
    by_hand = fan_test([p - 2.0 for p in PRESSURES], [p.flow for p in POINTS], conditions=still)
    assert moved.law.flow(50.0) == pytest.approx(by_hand.law.flow(50.0), rel=1e-6)


def test_what_was_not_noted_is_doubted():
    calm = FanTest(points=POINTS, wind=1.0, zero_flow=(-1.0, -1.1, -0.9, -1.0))
    windy = calm.model_copy(update={"wind": 6.0})
    bare = FanTest(points=POINTS)
    assert fan_air(calm).wander < fan_air(windy).wander
    assert fan_air(calm).zero_doubt < 0.5 < fan_air(bare).zero_doubt
    assert fan_air(bare).calibration == CALIBRATION
    # exact: many readings without the fan tell the wander themselves, whatever the wind was
    many = FanTest(points=POINTS, wind=0.0, zero_flow=(-2.0, 2.0) * 500)
    assert fan_air(many).wander == pytest.approx(2.0, rel=2e-3)


def test_the_same_fan_is_told_by_its_name():
    one = FanTest(points=POINTS, instrument="Fan A")
    assert same_fan(one, FanTest(points=POINTS, instrument="fan a"))
    assert not same_fan(one, FanTest(points=POINTS, instrument="fan b"))
    assert not same_fan(FanTest(points=POINTS), FanTest(points=POINTS))


@pytest.mark.parametrize(
    ("more", "message"),
    [
        ({"flow_50": 1.0, "points": (), "zero_flow": (1.0,)}, "only with points"),
        ({"opposite": POINTS[:2]}, "points or more each way"),
        ({"zero_flow": (60.0,)}, "zero_flow"),
        ({"barometer": 1.0}, "barometer"),
        ({"calibration": 0.9}, "calibration"),
        ({"wind": float("nan")}, "wind"),
    ],
)
def test_notes_that_cannot_be(more: dict[str, object], message: str):
    with pytest.raises(ValidationError, match=message):
        FanTest.model_validate({"points": POINTS, **more})


def test_both_directions_meet_in_the_middle():
    points = tuple(FanPoint(pressure=p, flow=0.12 * p**0.62) for p in PRESSURES)
    one, both = law(), law(opposite=points)
    other = fan_law(FanTest(points=points, direction="pressurise"))
    assert isinstance(other, FanTestResult)
    halfway = (one.law.flow(50.0) + other.law.flow(50.0)) / 2.0
    assert both.law.flow(50.0) == pytest.approx(halfway, rel=1e-9)
