"""Drawings: read back as XML, and checked against the geometry they were given."""

from __future__ import annotations

import re
from dataclasses import replace
from importlib import resources
from itertools import pairwise
from xml.etree import ElementTree

import pytest
from fontTools.ttLib import TTFont
from hypothesis import given
from hypothesis import strategies as st

from warmside.catalog import load
from warmside.drawings import (
    Bar,
    DesignState,
    Year,
    elevation,
    metric,
    moisture_year,
    section,
    thickness_bars,
    trade,
)
from warmside.drawings.svg import hatch, spread, text_width
from warmside.errors import InputError
from warmside.framing import Bay, Frame, Hole, Joint, Member, Pocket, frame_wall
from warmside.geometry import Rect
from warmside.options import KINDS, BuildUp, Option
from warmside.physics.assembly import Layer, Stack
from warmside.physics.conduction import Profile
from warmside.survey import Box, Brace, House, Opening, Partition, Pipe, Step, Wall
from warmside.wording import Style

INCH = 0.0254


def stud_wall(name="north front", feet=16.0, height=2.44, window=True) -> Frame:
    """Studs at 16 in, plates, and one window in the middle."""
    length, w = feet * 12 * INCH, 1.625 * INCH
    plates = [
        Member("bottom plate", "bottom plate", Rect(0, 0, length, w), 0, 0.092),
        Member("top plate 1", "top plate", Rect(0, height - w, length, height), 0, 0.092),
        Member("top plate 2", "top plate", Rect(0, height - 2 * w, length, height - w), 0, 0.092),
    ]
    x, studs = 0.0, [0.0]
    while x + 16 * INCH < length - w:
        x += 16 * INCH
        studs.append(x - w / 2)
    studs.append(length - w)
    mid = length / 2
    hole = Rect(mid - 0.45, 0.8, mid + 0.45, 2.05)
    bays, members, joints = [], list(plates), []
    for i, (a, b) in enumerate(pairwise(studs), 1):
        r = Rect(a + w, w, b, height - 2 * w)
        bays.append(Bay(f"B{i}", r, 0.092, r.area * 0.092, "stud bay"))
    for i, a in enumerate(studs, 1):
        if window and hole.x0 - w < a < hole.x1:
            continue
        r = Rect(a, w, a + w, height - 2 * w)
        members.append(Member(f"stud {i}", "stud", r, 0, 0.092))
        joints.append(Joint(f"j{i}", "stud to plate", (a, w, a + w, w), w, ("s", "p")))
    bays[-1] = replace(bays[-1], rect=replace(bays[-1].rect, x1=length - 4 * w))
    bays = [b for b in bays if b.rect.width > 0.03]
    holes = ()
    if window:
        holes = (Hole("W1 living room", "window", hole, True),)
        bays = [b for b in bays if b.rect.x1 < hole.x0 - 0.08 or b.rect.x0 > hole.x1 + 0.08]
        for side, a in (("left", hole.x0 - w), ("right", hole.x1)):
            r = Rect(a, w, a + w, hole.z1)
            members.append(Member(f"trimmer {side}", "trimmer", r, 0, 0.092))
        r = Rect(hole.x0 - w, hole.z1, hole.x1 + w, hole.z1 + 0.14)
        members += [Member(f"header ply {i}", "header ply", r, 0, 0.04) for i in (1, 2)]
        joints.append(
            Joint("o", "opening perimeter", (hole.x0, hole.z0, hole.x1, hole.z1), 4.3,
                  ("a", "b"), "W1 living room")
        )  # fmt: skip
        under = Rect(hole.x0, w, hole.x1, hole.z0)
        bays.append(Bay("B99", under, 0.092, 0.01, "under sill"))
    joints.append(
        Joint("f", "plate to floor", (0, 0, length, 0), length, ("bottom plate", "floor"))
    )
    joints.append(Joint("box 1", "box", (0.6, 0.35, 0.6, 0.35), 0.3, ("box", "B2")))
    pocket = Pocket("P1", Rect(length - 3 * w, w, length - w, height - 2 * w), 0, 0.092, "post")
    brace = Member("brace", "brace", Rect(0, 0, 1.8, height), 0.07, 0.092, (0, height, 1.8, 0))
    return Frame(
        name, (Rect(0, 0, length, height),), 0.092, w, (*members, brace), tuple(bays), (),
        tuple(joints), (pocket,), holes,
    )  # fmt: skip


def layer(name, role, thickness, material="m") -> Layer:
    return Layer(name, material, role, thickness, 0.04, 1e-11, 1e-11, 100, 1000, 0.9)


def foam_wall(frame: Frame) -> BuildUp:
    shared_in = (layer("Plaster on wood lath", "finish", 0.02), layer("Paint", "finish", 0.0002))
    wood = layer("Spruce stud", "wood", 0.016), layer("Spruce stud", "wood", 0.076)
    bay = layer("Air gap", "gap", 0.016), layer("Closed-cell foam", "foam", 0.076)
    out = (
        layer("Board sheathing", "sheathing", 0.019),
        layer("Building paper", "paper", 0.0005),
        layer("Lapped wood siding", "cladding", 0.012),
    )
    return BuildUp(
        Option("cc-76", "3 in closed-cell foam", KINDS["closed-cell"]), frame.wall, frame,
        (Stack("bay", 10, (*shared_in, *bay, *out)), Stack("stud", 2, (*shared_in, *wood, *out))),
    )  # fmt: skip


STATE = DesignState(21.0, -25.0, 9.3)


def temperatures(kind, *values) -> Profile:
    return Profile(kind, 1.0, (1.0,) * (len(values) - 1), (0.13, 0.04), values)


BAY = temperatures("bay", 19.8, 19.1, 19.1, 17.0, -22.3, -23.5, -23.6, -24.6)
STUD = temperatures("stud", 18.1, 17.0, 17.0, 10.0, -18.0, -21.5, -21.7, -24.2)
SVG = "{http://www.w3.org/2000/svg}"
HOSTILE = (
    '#import "x" </text><script>alert(1)</script> & \x00\x1b \u202e "quoted" \ufffe ' + "n" * 300
)


def drawn(svg):
    """Root of a drawing; its numbers are finite and its texts lie on the sheet."""
    root = ElementTree.fromstring(svg)  # noqa: S314 our own text
    assert "nan" not in svg
    assert "inf" not in svg.replace("information", "")
    assert root.find(f"{SVG}title").text
    assert root.find(f"{SVG}desc").text
    return root


def extents(root):
    """Boxes of the texts that are not turned and not inside a moved group."""
    boxes = []
    for text in root.findall(f"{SVG}text"):
        if "transform" in text.attrib:
            continue
        size = float(text.get("font-size"))
        long = text_width(text.text, size, text.get("font-weight") is not None)
        x = (
            float(text.get("x"))
            - {"middle": 0.5, "end": 1.0}.get(text.get("text-anchor"), 0) * long
        )
        y = float(text.get("y"))
        boxes.append((x, y - 0.72 * size, x + long, y, text.text))
    return boxes


def said(root):
    """All words of a drawing, its description among them."""
    texts = [*root.iter(f"{SVG}text"), root.find(f"{SVG}desc")]
    return " ".join(text.text for text in texts)


def assert_readable(svg):
    root = drawn(svg)
    width, height = (float(root.get(k)) for k in ("width", "height"))
    boxes = extents(root)
    for x0, y0, x1, y1, text in boxes:
        assert x0 >= -0.5, text
        assert x1 <= width + 0.5, text
        assert y0 >= -0.5, text
        assert y1 <= height, text
    for i, a in enumerate(boxes):
        for b in boxes[i + 1 :]:
            apart = a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1]
            assert apart, f"{a[4]!r} meets {b[4]!r}"
    return root


def frames():
    return [
        stud_wall(),
        stud_wall("balloon gable", 22, 17 * 0.3048),
        stud_wall("narrow stair wall", 6.5, 17 * 0.3048),
        stud_wall("long wall", 48, 2.4),
        stud_wall("blind", 3, 2.4, window=False),
    ]


@pytest.mark.parametrize("width", [370, 600, 760])
@pytest.mark.parametrize("frame", frames(), ids=lambda f: f.wall)
@pytest.mark.parametrize("show", [trade, metric])
def test_no_text_of_an_elevation_meets_another_or_leaves_the_sheet(frame, width, show):
    root = assert_readable(elevation(frame, width=width, show=show))
    told = said(root)
    for bay in frame.bays:  # on its bay, or in the drawing's description
        assert re.search(rf"\b{bay.name}\b", told)


HOUSE = House(name="test house", climate="north-bay", year_built=1931, volume=400.0)


def surveyed() -> list[Wall]:
    windows = (
        Opening(name="parlour window", left=1.5, sill=0.9, width=0.86, height=1.6),
        Opening(name="hall window", left=4.0, sill=3.7, width=0.7, height=1.2),
        Opening(name="front door", kind="door", left=4.4, sill=0.25, width=0.97, height=2.1),
    )
    balloon = Wall(
        name="balloon front", faces=0.0, frame="balloon", length=9.14, height=5.38,
        floor_line=2.7, openings=windows, partitions=(Partition(at=3.2),),
        braces=(Brace(from_x=0.05, from_z=0.1, to_x=1.3, to_z=2.4),),
        boxes=(Box(x=0.7, z=0.4),), pipes=(Pipe(kind="drain", x=6.3, run="vertical"),),
    )  # fmt: skip
    gable = Wall(
        name="gable", faces=90.0, frame="platform", length=3.66, year_built=1964,
        profile=(Step(x=0.0, height=1.2), Step(x=1.2, height=2.1), Step(x=2.4, height=1.2)),
    )  # fmt: skip
    return [balloon, gable]


@pytest.mark.parametrize("width", [370, 400, 720])
@pytest.mark.parametrize("wall", surveyed(), ids=lambda wall: wall.name)
def test_framed_walls_are_readable_and_name_every_bay_and_opening(wall, width):
    frame = frame_wall(wall, HOUSE, load().lumber)
    root = assert_readable(elevation(frame, wall, width=width))
    told = said(root)
    for bay in frame.bays:
        assert re.search(rf"\b{bay.name.replace('bay ', 'B')}\b", told), bay.name
    for opening in wall.openings:
        assert opening.name.split()[0] in told


def test_the_elevation_is_to_scale():
    # exact: user units per metre from the outline; the window is 0.90 m by 1.25 m
    frame = stud_wall()
    root = drawn(elevation(frame))
    rects = [
        (float(r.get("width")), float(r.get("height")))
        for r in root.findall(f"{SVG}rect")
        if r.get("fill") == "none"
    ]
    outline = max(rects, key=lambda r: r[0] * r[1])
    scale = outline[0] / frame.length
    assert outline[1] / scale == pytest.approx(2.44, rel=1e-4)
    assert any(
        w / scale == pytest.approx(0.90, abs=2e-4) and h / scale == pytest.approx(1.25, abs=2e-4)
        for w, h in rects
    )


def test_the_elevation_names_sides_kinds_and_lengths():
    text = elevation(stud_wall())
    for said in (
        "warm side", "cold side", "16&#x27; 0&quot; over all", "header", "let-in brace",
        "foam cannot reach", "joint round opening", "electrical box", "W1 living room",
    ):  # fmt: skip
        assert said in text


def test_a_ply_behind_another_is_drawn_once():
    root = drawn(elevation(stud_wall()))
    header = [
        r
        for r in root.findall(f"{SVG}rect")
        if r.get("stroke-width") == "1.4" and r.get("fill") != "none"
    ]
    assert len(header) == 1


@pytest.mark.parametrize("width", [370, 600])
def test_no_text_of_a_section_meets_another_or_leaves_the_sheet(width):
    assert_readable(section(foam_wall(stud_wall()), STATE, BAY, STUD, width=width))
    assert_readable(section(foam_wall(stud_wall()), width=width))
    assert_readable(section(foam_wall(stud_wall()), STATE, BAY, STUD, width=width, depth=20.0))


def test_the_section_tells_its_temperatures_and_where_the_dew_point_is_met():
    # by hand: 20.2 mm of finish, 16 mm of gap down to 17.0, then (17.0 - 9.3) / 39.3 of 76 mm
    root = drawn(section(foam_wall(stud_wall()), STATE, BAY, STUD))
    told = " ".join(text.text for text in root.iter(f"{SVG}text"))
    assert "Room surface: bay 19.8 °C, stud 18.1 °C" in told
    assert "inner face of the sheathing: bay −22.3 °C, stud −18 °C" in told
    by_hand = 20.2 + 16 + (17.0 - 9.3) / 39.3 * 76
    assert by_hand == pytest.approx(51.1, abs=0.05)
    assert "reached 51 mm behind the room surface" in told
    assert "COLD SIDE (outside) −25 °C" in told
    assert "WARM SIDE (room) 21 °C" in told


def test_the_section_says_when_the_surface_itself_is_below_the_dew_point():
    cold = replace(BAY, temperatures=(5.0, *BAY.temperatures[1:]))
    assert "already reached at the room surface" in section(
        foam_wall(stud_wall()), STATE, cold, STUD
    )


def test_a_profile_that_does_not_fit_is_refused():
    with pytest.raises(InputError, match="one more than layers"):
        section(foam_wall(stud_wall()), STATE, temperatures("bay", 1.0, 2.0), STUD)


def test_hostile_names_stay_text():
    frame = replace(stud_wall(), wall=HOSTILE)
    window = replace(frame.holes[0], name=HOSTILE)
    frame = replace(frame, holes=(window,))
    build_up = foam_wall(frame)
    stacks = tuple(
        replace(s, layers=tuple(replace(y, name=HOSTILE) for y in s.layers))
        for s in build_up.stacks
    )
    build_up = replace(build_up, stacks=stacks, option=Option("x", HOSTILE, KINDS["leave"]))
    for svg in (
        elevation(frame, build_up=build_up),
        section(build_up, STATE, BAY, STUD),
        moisture_year([Year(HOSTILE, (0.1,) * 12, 1, HOSTILE)]),
        thickness_bars([Bar(HOSTILE, 1.0, HOSTILE)], unit="m", title=HOSTILE),
    ):
        root = drawn(svg)
        assert root.find(f".//{SVG}script") is None
        assert "<script" not in svg


def test_text_widths_are_those_of_the_shipped_font():
    # reference library: fontTools reads the advance widths from the font file itself
    path = resources.files("warmside.documents") / "fonts" / "Inter-Regular.otf"
    with resources.as_file(path) as file:
        font = TTFont(file)
    cmap, advances, em = font.getBestCmap(), font["hmtx"], font["head"].unitsPerEm
    for code in range(32, 127):
        expected = advances[cmap[code]][0] / em
        assert text_width(chr(code), 1.0) == pytest.approx(expected, abs=1.1e-3)


def test_moisture_chart_bars_are_in_proportion_and_checked():
    values = (0.05, 0.1, 0.15, *(0.0,) * 9)
    root = assert_readable(moisture_year([Year("a", values, 11), Year("b", (0.0,) * 12, 11)]))
    tall = [float(r.get("height")) for r in root.findall(f"{SVG}rect")]
    assert [t / tall[0] for t in tall] == pytest.approx([1, 2, 3], rel=1e-2)
    months = [t.text for t in root.findall(f"{SVG}text") if t.text in ("Nov", "Oct")]
    assert months == ["Nov", "Oct"]  # from November to October
    with pytest.raises(InputError, match="twelve"):
        moisture_year([Year("a", (1.0,))])
    with pytest.raises(InputError, match="twelve"):
        moisture_year([Year("a", (float("nan"),) * 12)])


def test_bars_are_in_proportion_and_checked():
    bars = [Bar("a", 1.0, "R-1"), Bar("b", 2.5, "R-2.5", "holds")]
    root = assert_readable(thickness_bars(bars, unit="m² K/W", title="R"))
    wide = [float(r.get("width")) for r in root.findall(f"{SVG}rect")]
    assert wide[1] / wide[0] == pytest.approx(2.5, rel=1e-3)
    assert_readable(thickness_bars([], unit="m", title="none"))
    with pytest.raises(InputError, match="0 or more"):
        thickness_bars([Bar("a", -1.0, "")], unit="m", title="R")


@given(st.lists(st.tuples(st.floats(0, 200), st.floats(1, 30)), max_size=12))
def test_spread_keeps_order_and_leaves_room(items):
    wish, sizes = sorted(w for w, _ in items), [s for _, s in items]
    places = spread(wish, sizes, 0.0, 200.0)
    for i in range(len(places) - 1):
        assert places[i + 1] - places[i] >= (sizes[i] + sizes[i + 1]) / 2 - 1e-9


@given(st.floats(0, 300), st.floats(0, 300), st.floats(1, 20), st.booleans())
def test_hatch_stays_inside(width, height, gap, down):
    for number in hatch(0, 0, width, height, gap, down=down).replace("L", "M").split("M")[1:]:
        x, y = map(float, number.split())
        assert -0.01 <= x <= width + 0.01
        assert -0.01 <= y <= height + 0.01


def test_a_section_is_read_in_the_degrees_of_its_reader():
    """-25 °C is -13 °F exactly, 21 °C 69.8; marks are round as the reader counts."""
    state = replace(STATE, style=Style.of_paper("US"))
    root = drawn(section(foam_wall(stud_wall()), state, BAY, STUD))
    told = " ".join(root.itertext())
    for text in ("COLD SIDE (outside) −13 °F", "WARM SIDE (room) 70 °F", "temperature, °F"):
        assert text in told
    assert "°C" not in told
    marks = [int(t.replace("−", "-")) for t in root.itertext() if re.fullmatch(r"−?\d+", t)]
    assert len(marks) >= 4
    assert {mark % 10 for mark in marks} == {0}
    assert marks == sorted(marks)
    assert -22 <= marks[0] < marks[-1] <= 77  # -30 and 25 °C
