"""Leakage by joint: sums, calibration, and water carried by leaking air."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from warmside.catalog import load
from warmside.errors import InputError
from warmside.framing import Frame, Hole, Joint, Rect
from warmside.physics.airflow import (
    Band,
    calibrated,
    carried_water,
    ranked,
    surface_leakage,
    wall_leakage,
)


def frame(plate: float = 4.0) -> Frame:
    """A wall with one window: a bottom plate of ``plate`` metres, a box, and the perimeter."""
    window = Hole("w", "window", Rect(1.0, 1.0, 2.0, 2.5))
    sides = [
        ((1, 1, 2, 1), 1.0),
        ((1, 2.5, 2, 2.5), 1.0),
        ((1, 1, 1, 2.5), 1.5),
        ((2, 1, 2, 2.5), 1.5),
    ]
    joints = (
        Joint("J1", "plate to floor", (0, 0, plate, 0), plate, ("bottom plate", "floor")),
        Joint("J2", "box", (3, 0.3, 3, 0.3), 0.3, ("outlet", "finish")),
        *(
            Joint(f"J{k}", "opening perimeter", line, length, ("frame", "opening"), "w")
            for k, (line, length) in enumerate(sides, 3)
        ),
    )
    return Frame("wall", (Rect(0, 0, 4, 2.5),), 0.09, 0.04, (), (), (), joints, (), (window,))


def test_hand_worked_wall():
    """From memory, ASHRAE table of effective leakage areas: 4 cm2/m sole plate, 2.5 an outlet,
    1.7 cm2 per m2 of window; sealed 0.8, 0.15, 0.3. Window 1.0 x 1.5 m.
    """
    leak = wall_leakage(frame(), load())
    assert leak.open.best == pytest.approx((4 * 4.0 + 2.5 + 1.7 * 1.5) * 1e-4, rel=1e-9)
    assert leak.sealed.best == pytest.approx((4 * 0.8 + 0.15 + 0.3 * 1.5) * 1e-4, rel=1e-9)
    assert next(iter(leak.by_kind())) == "plate to floor"


def test_worst_per_metre_stands_first():
    """Exact: the outlet, 2.35 cm2 over 0.3 m, beats the plate's 3.2 cm2/m."""
    wall, first = ranked([wall_leakage(frame(), load())])[0]
    assert (wall, first.joint.kind) == ("wall", "box")
    assert first.saved_per_metre == pytest.approx(2.35e-4 / 0.3, rel=1e-9)


@given(st.floats(0.001, 0.5), st.floats(0.18, 0.5))
def test_calibration_gives_the_walls_their_share(area, share):
    walls = calibrated(
        [wall_leakage(frame(), load()), wall_leakage(frame(7.0), load())], area, share
    )
    assert sum(w.open.best for w in walls) == pytest.approx(area * share, rel=1e-9)
    for wall in walls:
        for leak in wall.leaks:
            assert leak.sealed.best <= leak.open.best  # sealing never adds leakage


@given(st.floats(1.0, 30.0))
def test_twice_the_joint_leaks_twice(plate):
    def plates(frame_):
        return wall_leakage(frame_, load()).by_kind()["plate to floor"][1].best

    assert plates(frame(2 * plate)) == pytest.approx(2 * plates(frame(plate)), rel=1e-12)


def test_old_house_without_a_fan_test():
    """Published: ASHRAE Fundamentals 2021 ch. 17 table 3, very leaky 10.4, leaky 5.6 cm2/m2."""
    assert surface_leakage(1931, 100.0).best == pytest.approx(0.104, rel=1e-12)
    assert surface_leakage(1964, 100.0).best == pytest.approx(0.056, rel=1e-12)


@pytest.mark.parametrize(
    ("humidity", "outdoor", "per_day"),
    [(0.30, -10, 0.310), (0.40, -20, 0.568), (0.50, -5, 0.538)],
)
def test_water_left_by_one_litre_a_second(humidity, outdoor, per_day):
    """Computed in the reference notes with Hyland-Wexler saturation: kg/day per L/s, room 21 degC.

    Reference library here: psychrolib; flow at indoor state.
    """
    import psychrolib

    psychrolib.SetUnitSystem(psychrolib.SI)
    inside = psychrolib.GetHumRatioFromRelHum(21.0, humidity, 101325.0)
    face = psychrolib.GetHumRatioFromRelHum(float(outdoor), 1.0, 101325.0)
    water = carried_water(1e-3, inside, face, density=1.19)
    assert water * 86400 == pytest.approx(per_day, rel=0.02)


def test_dry_air_leaves_nothing():
    assert carried_water(1e-3, 0.002, 0.004) == pytest.approx(0.0, abs=0)


def test_bands_stay_in_order():
    with pytest.raises(InputError, match="0 <= low <= best <= high"):
        Band(2.0, 1.0, 3.0)
    with pytest.raises(InputError, match="calibration"):
        calibrated([], 0.1)
