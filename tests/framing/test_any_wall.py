"""Whatever is surveyed, the tiling is exact, nothing is negative, and a mirror image mirrors."""

from __future__ import annotations

from collections import Counter

import numpy as np
import pytest
from hypothesis import HealthCheck, event, example, given, reject, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from pydantic import ValidationError

from warmside.catalog import Lumber, Source
from warmside.errors import InputError
from warmside.framing import Frame, frame_wall, joint_counts, joint_metres, members
from warmside.survey import House, Wall

INCH = 0.0254
TRADE = Source("2x4 by era", "common practice")
LUMBER = (
    Lumber("2x4", 1800, 1923, 1.875 * INCH, 3.875 * INCH, TRADE),
    Lumber("2x4", 1924, 1969, 1.625 * INCH, 3.625 * INCH, TRADE),
    Lumber("2x4", 1970, 2100, 1.5 * INCH, 3.5 * INCH, TRADE),
)
HEADERS = [None, "doubled", "flat", "box", "none"]
POSTS = ["three-stud", "two-stud", "solid", "none"]


def house(year: int) -> House:
    return House(name="house", climate="any", year_built=year, volume=300)


def mm(low: float, high: float) -> st.SearchStrategy[float]:
    """Lengths [m] to the millimetre: what a tape reads."""
    return st.integers(round(low * 1000), round(high * 1000)).map(lambda n: n / 1000)


@st.composite
def walls(draw: st.DrawFn) -> dict:
    """A wall whose parts mostly fit: openings in a row, some stacked in a balloon frame."""
    length = draw(mm(1.0, 9.0))
    balloon = draw(st.booleans())
    height = draw(mm(4.6, 5.6) if balloon else mm(2.1, 3.2))
    openings, left = [], draw(mm(0.15, 1.2))
    while left < length - 0.6 and len(openings) < 5:
        width = draw(mm(0.4, 2.0))
        for storey in range(2 if balloon and draw(st.booleans()) else 1):
            sill = draw(st.one_of(st.just(0.0), mm(0.3, 1.1))) + 2.7 * storey
            openings.append(
                {
                    "name": f"opening {len(openings)}",
                    "kind": "door" if sill == 0 else "window",
                    "left": left + draw(mm(0, 0.1)),
                    "width": width,
                    "sill": sill,
                    "height": draw(mm(0.5, 1.2)),
                    "header": draw(st.sampled_from(HEADERS)),
                    "weight_pockets": draw(st.booleans()),
                }
            )
        left += width + draw(mm(0.05, 1.5))
    wall = {
        "name": "any",
        "faces": 0,
        "frame": "balloon" if balloon else "platform",
        "length": length,
        "height": height,
        "spacing": draw(st.sampled_from([0.3048, 0.4064, 0.4572, 0.6096, 0.5])),
        "layout_from": draw(st.sampled_from(["left", "right"])),
        "corner_left": draw(st.sampled_from(POSTS)),
        "corner_right": draw(st.sampled_from(POSTS)),
        "fire_blocks": draw(st.sampled_from(["present", "missing", "unknown"])),
        "floor_line": draw(st.sampled_from([None, 2.6])) if balloon else None,
        "ribbon": draw(st.booleans()),
        "openings": openings,
    }
    if draw(st.booleans()):
        posts = st.sampled_from(["three-stud", "two-stud", "ladder", "none"])
        wall["partitions"] = [{"at": draw(mm(0.2, length)), "post": draw(posts)}]
    if draw(st.booleans()):
        run, start = draw(mm(0.3, 2.2)), draw(mm(0, 6))
        wall["braces"] = [
            {"from_x": start, "from_z": 0.0, "to_x": start + run, "to_z": run * draw(mm(0, 1.5))}
        ]
    if draw(st.integers(0, 3)) == 0:
        half = round(length / 2, 3)
        wall["height"] = None
        wall["profile"] = [{"x": 0, "height": height}, {"x": half, "height": draw(mm(2.1, 6))}]
    return wall


def frame_of(data: dict, year: int = 1931) -> Frame | None:
    try:
        wall = Wall.model_validate(data)
    except ValidationError:
        reject()  # the survey's own door
    try:
        return frame_wall(wall, house(year), LUMBER)
    except InputError as error:
        faults = error.faults
    assert faults
    assert all(f.place and f.read and f.allowed for f in faults)
    return None


def assert_tiles(frame: Frame) -> None:
    """Areas add up to 1e-9; nothing overlaps, nothing is negative or out of the wall."""
    net = sum(c.area for c in frame.outline) - sum(h.rect.area for h in frame.holes)
    assert_allclose(sum(r.rect.area for r in frame.regions), net, rtol=1e-9)
    rects = [r.rect for r in frame.regions] + [h.rect for h in frame.holes]
    x0, z0, x1, z1 = np.array([(r.x0, r.z0, r.x1, r.z1) for r in rects]).T
    assert (x1 > x0).all()
    assert (z1 > z0).all()
    across = np.minimum.outer(x1, x1) - np.maximum.outer(x0, x0)
    up = np.minimum.outer(z1, z1) - np.maximum.outer(z0, z0)
    both = (across > 1e-9) & (up > 1e-9)
    np.fill_diagonal(both, False)
    assert not both.any(), np.argwhere(both)
    for region in frame.regions:
        assert region.sections[0].y0 == 0
        assert region.sections[-1].y1 == pytest.approx(frame.depth, rel=1e-12)
        for one, other in zip(region.sections, region.sections[1:], strict=False):
            assert one.y1 == other.y0
        assert all(s.y1 > s.y0 for s in region.sections)


@given(walls(), st.sampled_from([1905, 1931, 1958, 1975]))
def test_every_wall_is_tiled_exactly_or_refused_clearly(data, year):
    frame = frame_of(data, year)
    event("framed" if frame else "refused")
    if frame is None:
        return
    assert_tiles(frame)
    # the members add up to the wood of the regions, the bays to their reachable space
    wood = sum(m.rect.area * (m.y1 - m.y0) for m in frame.members if m.line is None)
    braces = sum(r.rect.area for r in frame.regions if r.kind == "brace")
    depths = [(r, s) for r in frame.regions for s in r.sections]
    solid = sum(r.rect.area * (s.y1 - s.y0) for r, s in depths if s.what == "wood")
    reach = sum(r.rect.area * (s.y1 - s.y0) for r, s in depths if s.what == "space" and s.reachable)
    assert_allclose(sum(bay.volume for bay in frame.bays), reach, rtol=1e-9)
    if not data.get("braces"):
        assert_allclose(wood, solid, rtol=1e-9)
        assert braces == 0
    assert all(bay.volume > 0 for bay in frame.bays)
    assert all(joint.length > 0 for joint in frame.joints)
    names = [m.name for m in frame.members] + [b.name for b in frame.bays]
    assert len(set(names)) == len(names)


def mirrored(data: dict) -> dict:
    """The same wall seen from its other side."""
    length = data["length"]
    out = dict(data)
    out["layout_from"] = {"left": "right", "right": "left"}[data["layout_from"]]
    out["corner_left"], out["corner_right"] = data["corner_right"], data["corner_left"]
    out["openings"] = [
        {**o, "left": max(length - o["left"] - o["width"], 0.0)} for o in data["openings"]
    ]
    out["partitions"] = [
        {**p, "at": max(length - p["at"], 0.0)} for p in data.get("partitions", [])
    ]
    out["braces"] = [
        {**b, "from_x": max(length - b["from_x"], 0.0), "to_x": max(length - b["to_x"], 0.0)}
        for b in data.get("braces", [])
    ]
    if "profile" in data:
        (_, low), (second, high) = [(s["x"], s["height"]) for s in data["profile"]]
        out["profile"] = [{"x": 0, "height": high}, {"x": length - second, "height": low}]
    return out


def shapes(frame: Frame, flip: bool) -> list[tuple]:
    """Regions as (kind, x0, x1, z0, z1) [mm], sorted; seen in a mirror where ``flip``."""
    found = []
    for region in frame.regions:
        r = region.rect
        xs = (frame.length - r.x1, frame.length - r.x0) if flip else (r.x0, r.x1)
        found.append((region.kind, *(round(v * 1000, 3) + 0.0 for v in (*xs, r.z0, r.z1))))
    return sorted(found)


def flat_brace(length: float, left: float, start: float, end: float) -> dict:
    """A brace a whole number of strips long, but for the last bit of its coordinates."""
    return {
        "name": "any",
        "faces": 0,
        "frame": "platform",
        "length": length,
        "height": 2.1,
        "layout_from": "left",
        "corner_left": "three-stud",
        "corner_right": "three-stud",
        "openings": [{"name": "o", "kind": "door", "left": left, "width": 0.4, "height": 0.5}],
        "braces": [{"from_x": start, "from_z": 0.0, "to_x": end, "to_z": 0.0}],
    }


@example(flat_brace(1.237, 0.534, 0.237, 0.5369999999999999))
@example(flat_brace(1.349, 0.825, 0.497, 0.8009999999999999))
@given(walls())
def test_a_mirrored_wall_has_a_mirrored_frame(data):
    frame, other = frame_of(data), frame_of(mirrored(data))
    assert (frame is None) == (other is None)
    if frame is None or other is None:
        return
    assert len(frame.regions) == len(other.regions)
    for one, two in zip(shapes(frame, flip=False), shapes(other, flip=True), strict=True):
        assert one[0] == two[0]
        assert_allclose(one[1:], two[1:], rtol=0, atol=0.01)
    assert members(frame) == members(other)
    assert joint_counts(frame) == joint_counts(other)
    metres, others = joint_metres(frame), joint_metres(other)
    assert_allclose(list(metres.values()), [others[kind] for kind in metres], rtol=1e-9)
    assert Counter(b.kind for b in frame.bays) == Counter(b.kind for b in other.bays)
    volumes = sorted(b.volume for b in frame.bays)
    assert_allclose(volumes, sorted(b.volume for b in other.bays), rtol=1e-6)


length = st.floats(0.3, 100)
height = st.floats(0.3, 20)
size = st.floats(0.01, 0.6)
position = st.floats(0, 100)
hostile = st.fixed_dictionaries(
    {
        "name": st.just("hostile"),
        "faces": st.just(0),
        "frame": st.sampled_from(["platform", "balloon"]),
        "length": length,
        "height": height,
    },
    optional={
        "stud": st.sampled_from(["2x3", "2x4", "2x6"]),
        "stud_width": size,
        "stud_depth": size,
        "spacing": st.floats(0.1, 3),
        "floor_line": position,
        "joist_depth": size,
        "corner_left": st.sampled_from(POSTS),
        "partitions": st.lists(st.fixed_dictionaries({"at": st.floats(0, 3)}), max_size=2),
        "braces": st.lists(
            st.fixed_dictionaries(
                dict.fromkeys(("from_x", "from_z", "to_x", "to_z"), st.floats(0, 3))
            ),
            max_size=2,
        ),
        "openings": st.lists(
            st.fixed_dictionaries(
                {
                    "name": st.uuids().map(str),
                    "left": st.floats(0, 9),
                    "width": st.floats(1e-9, 3),
                    "height": st.floats(1e-9, 3),
                },
                optional={"sill": st.floats(0, 3), "header_depth": size},
            ),
            max_size=3,
        ),
        "pipes": st.lists(
            st.fixed_dictionaries({"x": position, "run": st.sampled_from(["vertical", "through"])}),
            max_size=2,
        ),
    },
)


@given(hostile)
@settings(suppress_health_check=[HealthCheck.filter_too_much])
def test_hostile_numbers_give_a_frame_or_clear_faults(data):
    frame = frame_of(data)
    event("framed" if frame else "refused")
    if frame is not None:
        assert_tiles(frame)
