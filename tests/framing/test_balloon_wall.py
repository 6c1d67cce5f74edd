"""A 17 ft balloon wall worked out by hand, piece by piece, in the comments.

Wall: 10 ft long, 17 ft from the top of the sill to the top of the plates, 1930s lumber (2x4 =
1-5/8 x 3-5/8 in.), studs at 16 in. from the left, no corner posts. The second floor's joists are
7-1/2 in. deep with their underside at 100-1/2 in., on a 1x4 ribbon (3-5/8 in. wide, 25/32 in.
thick); fire blocks not looked for. One window on the second floor with weight pockets, in inches:
    left 48, width 30, sill 132, height 54, header measured 5-5/8 deep, doubled on edge.

All expected numbers are exact arithmetic on these figures; the framing rules are common practice,
no source.
"""

from __future__ import annotations

import pytest
from numpy.testing import assert_allclose

from warmside.catalog import Lumber, Source
from warmside.framing import Frame, frame_wall, joint_metres, members, studs
from warmside.survey import House, Opening, Wall

INCH = 0.0254
W = 1.625  # [in] stud
D = 3.625  # [in] depth
TRADE = Source("the dressed 2x4 of 1924-1969", "common practice")
LUMBER = (
    Lumber("2x4", 1924, 1969, W * INCH, D * INCH, TRADE),
    Lumber("1x4", 1924, 1960, 25 / 32 * INCH, D * INCH, TRADE),
)
HOUSE = House(name="house", climate="any", year_built=1931, volume=300)


@pytest.fixture(scope="module")
def frame() -> Frame:
    window = Opening(
        name="bedroom",
        left=48 * INCH,
        width=30 * INCH,
        sill=132 * INCH,
        height=54 * INCH,
        header="doubled",
        header_depth=5.625 * INCH,
        weight_pockets=True,
    )
    wall = Wall(
        name="stair",
        faces=0,
        frame="balloon",
        length=120 * INCH,
        height=204 * INCH,
        spacing=16 * INCH,
        corner_left="none",
        corner_right="none",
        floor_line=100.5 * INCH,
        joist_depth=7.5 * INCH,
        openings=(window,),
    )
    return frame_wall(wall, HOUSE, LUMBER)


def test_members(frame):
    # Weight pockets 2-1/4 in. outside the window: trimmers stand at 45.75 and 80.25.
    #   trimmers 44.125-45.75 and 80.25-81.875; kings 42.5-44.125 and 81.875-83.5
    # Layout centres 16 32 48 64 80 96 112 (+-0.8125):
    #   16, 32, 96, 112 full; 48 -> 47.1875-48.8125 stands 1.4375 inside the trimmer: cripple below
    #   the sill, and above the header (bearing from 44.125: 3.0625 clear);
    #   64 likewise; 80 -> 79.1875-80.8125 laps the trimmer at 80.25: nothing below;
    #   above the header it would stand 81.875 - 80.8125 = 1.0625 in. from the king: just room
    #   (1 in. is the least gap to spray).
    assert studs(frame) == {"stud": 2 + 4, "king stud": 2, "trimmer": 2, "cripple": 2 + 3}
    # No bottom plate on a balloon frame; top plates 2; header 2 plies; sill single (30 in. < 4 ft).
    # Ribbon: cut by every upright at that height: 2 ends + 4 studs + 2 kings with trimmers
    #   + 2 cripples = 10 groups, 9 pieces between.
    # Joist ends, to the right of what stands on layout: the studs at 16, 32, 96 and 112, the
    #   cripples at 48 and 64, and the king at 83.5 for 80.
    got = members(frame)
    assert got["top plate"] == 2
    assert "bottom plate" not in got
    assert got["header ply"] == 2
    assert got["rough sill"] == 1
    assert got["ribbon"] == 9
    assert got["joist end"] == 7


def test_studs_run_through_the_floor_line(frame):
    # From the sill to the underside of the plates: 204 - 2 x 1.625 = 200.75 in.
    heights = [m.rect.height / INCH for m in frame.members if m.kind == "stud"]
    assert_allclose(heights, [200.75] * 6, rtol=1e-12)


def test_bays_run_on_into_floor_and_basement(frame):
    first = frame.bays[0]
    assert first.open_at == ("bottom", "floor line")
    assert any("missing" in text for text in frame.assumptions)
    # Bay 1: 1.625-15.1875 wide (13.5625), 200.75 high, 3.625 deep, less its ribbon
    # 13.5625 x 3.625 x 25/32 and no joist end (the first joist stands right of the first stud).
    volume = 13.5625 * (200.75 * 3.625 - 3.625 * 25 / 32)
    assert_allclose(first.volume / INCH**3, volume, rtol=1e-9)


def test_second_bay_is_net_of_its_joist_end(frame):
    # Bay 2: 16.8125-31.1875 = 14.375 wide; joist end 1.625 x 7.5, ribbon 14.375 x 3.625.
    volume = 14.375 * (200.75 * 3.625 - 3.625 * 25 / 32) - 1.625 * 7.5 * 3.625
    assert_allclose(frame.bays[1].volume / INCH**3, volume, rtol=1e-9)


def test_weight_pockets_cannot_be_reached(frame):
    pockets = [p for p in frame.pockets if "weight" in p.name]
    got = [(p.rect.x0 / INCH, p.rect.x1 / INCH, p.rect.height / INCH) for p in pockets]
    assert_allclose(got, [(45.75, 48, 54), (78, 80.25, 54)], rtol=0, atol=1e-9)
    # the header: 3-5/8 less two plies of 1-5/8 leaves 3/8 in. hollow
    gap = next(p for p in frame.pockets if "header" in p.name)
    assert_allclose((gap.y1 - gap.y0) / INCH, 0.375, rtol=1e-9)


@pytest.mark.parametrize(
    ("kind", "expected"),
    [
        ("sill to foundation", 120),
        ("plate to plate", 120),
        ("plate to ceiling", 120),
        ("plate to floor", 0),
        # feet on the sill: 6 studs, 2 kings, 2 trimmers, 2 cripples = 12; heads at the plates:
        # 6 studs, 2 kings, 3 cripples = 11
        ("stud to plate", 23 * W),
        # kings to trimmers: trimmers 186 high (132 + 54)
        ("stud to stud", 2 * 186),
        # header 44.125 to 81.875 = 37.75 long
        ("header plies", 37.75),
        # two bearings of 1.625, two sides of 5.625, three cripples above
        ("header to frame", 2 * W + 2 * 5.625 + 3 * W),
        # sill: two ends of 1.625, two cripples below
        ("sill to frame", 2 * W + 2 * W),
        # ribbon: 9 pieces, both ends 3.625 against studs; joists: 7 sides of 7.5 against their
        # studs and 7 bearings of 1.625 on the ribbon
        ("ribbon and joist", 9 * 2 * 3.625 + 7 * 7.5 + 7 * W),
        ("opening perimeter", 2 * (30 + 54)),
    ],
)
def test_metres_of_joint(frame, kind, expected):
    assert_allclose(joint_metres(frame).get(kind, 0.0) / INCH, expected, rtol=1e-12, atol=1e-9)


def test_areas_add_up(frame):
    # 120 x 204 - 30 x 54 in2
    assert_allclose(frame.net_area / INCH**2, 24480 - 1620, rtol=1e-12)
    assert_allclose(sum(r.rect.area for r in frame.regions) / INCH**2, 22860, rtol=1e-9)
