"""Leakage joint by joint, by the catalog's rows."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from warmside.catalog import load
from warmside.framing import Frame, Hole, Joint
from warmside.geometry import Rect
from warmside.promises import joint_gains, wall_leakage


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
    assert max(leak.leaks, key=lambda one: one.open.best).joint.kind == "plate to floor"


def test_worst_per_metre_stands_first():
    """Exact: the outlet, 2.35 cm2 over 0.3 m, beats the plate's 3.2 cm2/m."""
    first = joint_gains([wall_leakage(frame(), load())])[0]
    assert first.kind == "box"
    assert first.per_metre == pytest.approx(2.35e-4 / 0.3, rel=1e-9)


@given(st.floats(1.0, 30.0))
def test_twice_the_joint_leaks_twice(plate):
    def plates(frame_):
        leaks = wall_leakage(frame_, load()).leaks
        return sum(one.open.best for one in leaks if one.joint.kind == "plate to floor")

    assert plates(frame(2 * plate)) == pytest.approx(2 * plates(frame(plate)), rel=1e-12)
