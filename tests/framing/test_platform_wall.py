"""A platform wall worked out by hand, piece by piece, in the comments.

Wall: 12 ft long, 8 ft high, 1970s lumber (2x4 = 1-1/2 x 3-1/2 in.), studs at 16 in. from the left,
no corner posts (a single stud at each end), headers of doubled 2x on edge.

Openings (rough, in inches from the left end and from the floor):
    window A   left 24, width 24, sill 36, height 48  ->  24-48,   head 84
    window B   left 66, width 24, sill 36, height 48  ->  66-90,   head 84
    door  D    left 104, width 32, sill 0, height 82  -> 104-136,  head 82

All expected numbers are exact arithmetic on these figures; the framing rules are common practice,
no source.
"""

from __future__ import annotations

import pytest
from numpy.testing import assert_allclose

from warmside.catalog import Lumber, Source
from warmside.framing import Frame, frame_wall
from warmside.survey import House, Opening, Wall

INCH = 0.0254
TRADE = Source("the 2x4 since 1970", "common practice")
LUMBER = (Lumber("2x4", 1970, 2100, 1.5 * INCH, 3.5 * INCH, TRADE),)
HOUSE = House(name="house", climate="any", year_built=1975, volume=300)


def opening(name: str, left: float, width: float, sill: float, height: float, kind: str) -> Opening:
    inches = {"left": left, "width": width, "sill": sill, "height": height}
    return Opening(name=name, kind=kind, **{k: v * INCH for k, v in inches.items()})


@pytest.fixture(scope="module")
def frame() -> Frame:
    wall = Wall(
        name="kitchen",
        faces=0,
        frame="platform",
        length=144 * INCH,
        height=96 * INCH,
        spacing=16 * INCH,
        corner_left="none",
        corner_right="none",
        openings=(
            opening("A", 24, 24, 36, 48, "window"),
            opening("B", 66, 24, 36, 48, "window"),
            opening("D", 104, 32, 0, 82, "door"),
        ),
    )
    return frame_wall(wall, HOUSE, LUMBER)


def count(frame: Frame, kind: str) -> int:
    return sum(member.kind == kind for member in frame.members)


def inches(frame: Frame, kind: str) -> float:
    return sum(joint.length for joint in frame.joints if joint.kind == kind) / INCH


def test_studs_kings_and_trimmers(frame):
    # Kings stand 3 in. outside each opening: kings' outer faces are
    #   A 21-51, B 63-93, D 101-139.
    # Layout centres: 16 32 48 64 80 96 112 128 (144 is the end stud's place).
    #   16 -> 15.25-16.75   clear of A by 4.25             full stud
    #   32 -> within A                                     cripples
    #   48 -> 47.25-48.75   on A's trimmer (48-49.5)       left out
    #   64 -> 63.25-64.75   on B's king (63-64.5)          left out
    #   80 -> within B                                     cripples
    #   96 -> 95.25-96.75   clear of B by 2.25, of D by 4.25  full stud
    #   112, 128 -> within D                               cripples above only
    # End studs: 2. Full studs: 16 and 96.
    assert count(frame, "stud") == 2 + 2
    assert count(frame, "king stud") == 3 * 2
    assert count(frame, "trimmer") == 3 * 2


def test_cripples_keep_the_layout(frame):
    # A: 32 below the sill and above the header; B: 80 likewise; D: 112 and 128 above the header.
    assert count(frame, "cripple") == 2 + 2 + 2


def test_plates_headers_and_sills(frame):
    # Bottom plate: cut out across the door, so two pieces. Top plates: two, whole length (12 ft
    # stock). Headers: two plies each. One sill per window (24 in. is under 4 ft: single).
    assert count(frame, "bottom plate") == 2
    assert count(frame, "top plate") == 2
    assert count(frame, "header ply") == 3 * 2
    assert count(frame, "rough sill") == 2
    plates = [m for m in frame.members if m.kind == "bottom plate"]
    assert_allclose([m.rect.x0 / INCH for m in plates], [0, 136], rtol=0, atol=1e-9)
    assert_allclose([m.rect.x1 / INCH for m in plates], [104, 144], rtol=0, atol=1e-9)


def test_headers_bear_on_the_trimmers_and_are_two_plies_with_a_spacer(frame):
    # Spans of 24 and 32 in. take a 2x4 on edge: 3-1/2 in. deep, 1-1/2 in. longer on each side.
    # Two plies of 1-1/2 in. in a 3-1/2 in. wall leave 1/2 in. for the spacer.
    header = next(r for r in frame.regions if r.kind == "header")
    rect = header.rect
    got = [v / INCH for v in (rect.x0, rect.x1, rect.z0, rect.z1)]
    assert_allclose(got, [22.5, 49.5, 84, 87.5], rtol=0, atol=1e-9)
    assert [s.what for s in header.sections] == ["wood", "space", "wood"]
    assert [s.reachable for s in header.sections] == [True, False, True]
    gap = header.sections[1]
    assert_allclose([gap.y0 / INCH, gap.y1 / INCH], [1.5, 2.0], rtol=0, atol=1e-9)


def test_bays(frame):
    # Between full uprights, left to right: 1.5-15.25, 16.75-21, 51-63 (A king to B king),
    #   93-95.25, 96.75-101, 139-142.5  -> 6
    # A: above the header two (22.5-31.25, 32.75-49.5), below the sill two   -> 4; B likewise -> 4
    # D: above the header 102.5-111.25, 112.75-127.25, 128.75-137.5          -> 3
    kinds = [bay.kind for bay in frame.bays]
    # narrow: under 150 mm (5.9 in.): 16.75-21, 93-95.25, 96.75-101, 139-142.5
    assert kinds.count("stud bay") == 2
    assert kinds.count("narrow") == 4
    assert kinds.count("over header") == 2 + 2 + 3
    assert kinds.count("under sill") == 4


def test_bay_volume(frame):
    # First bay: 13.75 x 91.5 in. (96 less three plates of 1.5), 3.5 in. deep.
    assert_allclose(frame.bays[0].volume / INCH**3, 13.75 * 91.5 * 3.5, rtol=1e-12)


def test_areas_add_up(frame):
    # Wall 144 x 96 = 13824; holes 2 x 24 x 48 + 32 x 82 = 4928; net 8896 in2.
    assert_allclose(frame.net_area / INCH**2, 8896, rtol=1e-12)
    assert_allclose(sum(r.rect.area for r in frame.regions) / INCH**2, 8896, rtol=1e-9)
    # Bay area, in2:
    #   uprights' bays (13.75 + 4.25 + 12 + 2.25 + 4.25 + 3.5) x 91.5          = 3660
    #   over A: (8.75 + 16.75) x (93 - 87.5)                                     = 140.25
    #   under A: 24-31.25 and 32.75-48 = 22.5 wide, 1.5 to 34.5                  = 742.5
    #   over B: 64.5-79.25, 80.75-91.5 = 25.5 x 5.5                              = 140.25
    #   under B: 66-79.25, 80.75-90 = 22.5 x 33                                  = 742.5
    #   over D: head 82 + 3.5 = 85.5; (8.75 + 14.5 + 8.75) x 7.5                 = 240
    bays = frame.area_by_kind()["bay"] / INCH**2
    assert_allclose(bays, 3660 + 140.25 + 742.5 + 140.25 + 742.5 + 240, rtol=1e-12)


@pytest.mark.parametrize(
    ("kind", "expected"),
    [
        # bottom plate on the floor: 144 less the door's 32
        ("plate to floor", 112),
        # the upper top plate under the ceiling, and its lamination to the lower one
        ("plate to ceiling", 144),
        ("plate to plate", 144),
        # 12 ft plates need no splice (stock 16 ft)
        ("plate splice", 0),
        # king to trimmer: windows 84 - 1.5 = 82.5, four of them; door 82 - 1.5 = 80.5, two
        ("stud to stud", 4 * 82.5 + 2 * 80.5),
        # every upright end on a plate is 1.5: 4 studs and 6 kings both ends, 6 trimmers at the
        # bottom, 4 cripples above headers at the top, 2 under sills at the bottom;
        # the door's trimmers stand on the plates' ends
        ("stud to plate", 1.5 * (2 * 10 + 6 + 4 + 2)),
        # between the plies: headers 27, 27 and 35 long
        ("header plies", 27 + 27 + 35),
        # each header: two bearings of 1.5, two kings beside it of 3.5, and its cripples of 1.5
        ("header to frame", 3 * (2 * 1.5 + 2 * 3.5) + 4 * 1.5),
        # each sill: both ends 1.5 against the trimmers, one cripple of 1.5
        ("sill to frame", 2 * (2 * 1.5 + 1.5)),
        # windows 2 x (24 + 48), door 2 x (32 + 82), threshold included
        ("opening perimeter", 2 * 144 + 228),
    ],
)
def test_metres_of_joint(frame, kind, expected):
    assert_allclose(inches(frame, kind), expected, rtol=1e-12, atol=1e-9)


def test_joints_are_numbered_left_to_right(frame):
    assert [j.name for j in frame.joints] == [f"joint {n + 1}" for n in range(len(frame.joints))]
    starts = [j.line[0] for j in frame.joints]
    assert starts == sorted(starts)
