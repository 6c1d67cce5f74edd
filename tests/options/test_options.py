"""Options on a small wall drawn by hand: 3.3 x 2.4 m, one window, a brace, a header, a pocket."""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import replace
from itertools import combinations

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from warmside.catalog import Catalog, Foam, Lumber, Material, Source
from warmside.errors import InputError, UnknownRowError
from warmside.framing import Frame, Hole, Pocket, Region, Section
from warmside.geometry import Rect
from warmside.options import KINDS, LEAVE, Option, apply, offered, permeance
from warmside.physics import conduction
from warmside.physics.conduction import solids
from warmside.survey import AsFound, FoundLayer, Hazard, House, Reading, Wall, Wanted

_HERE = Source("this test", "invented")
DEPTH, STUD = 0.092, 0.04

NG = 1e-12


def material(name, group, thickness, conductivity, permeability):
    return Material(
        name, name, group, thickness, conductivity, 500, 1000, permeability, permeability, 0.9,
        _HERE, _HERE,
    )  # fmt: skip


def foam(family, conductivity, permeability, total_max):
    return Foam(
        family, family, family, 34, 38, 1470, ((0.025, 1.05 * conductivity), (0.1, conductivity)),
        ((0.05, permeability),), 0.038, 0.05, total_max, 900, None, 454, 0.15, 0.2, 0.9,
        _HERE, _HERE, _HERE,
    )  # fmt: skip


CATALOG = Catalog(
    materials={
        row.id: row
        for row in (
            material("softwood", "wood", None, 0.12, 5 * NG),
            material("air", "air", None, None, 197 * NG),
            material("gypsum-board", "finish", 0.0127, 0.16, 27 * NG),
            material("latex-paint", "paint", 0.0001, 0.2, 286 * NG * 0.0001),
            material("plaster", "finish", 0.022, 0.5, 14 * NG),
            material("polyethylene", "membrane", 0.00015, 0.33, 3.4 * NG * 0.00015),
            material("glass-fibre-batt", "insulation", 0.089, 0.043, 164 * NG),
            material("building-paper", "membrane", 0.0005, 0.2, 190 * NG * 0.0005),
            material("boards", "wood", 0.02, 0.12, 5 * NG),
            material("plywood", "board", 0.0127, 0.1, 40 * NG * 0.0127),
            material("siding", "cladding", 0.02, 0.14, 40 * NG),
            material("xps-board", "insulation", None, 0.028, 1.7 * NG),
        )
    },
    foams={
        row.id: row
        for row in (
            foam("closed-cell", 0.024, 2.6 * NG, 0.14),
            foam("open-cell", 0.039, 44 * NG, 0.15),
        )
    },
    joints={},
    fuels={},
    climates={},
    lumber=(Lumber("2x4", 1850, 2100, STUD, DEPTH, _HERE),),
)
HOUSE = House(name="h", climate="c", year_built=1931, volume=300)
FOUND = AsFound(
    finish=(FoundLayer(material="plaster"),),
    sheathing=(FoundLayer(material="boards"),),
    paper="building-paper",
    cladding=FoundLayer(material="siding"),
)
WALL = Wall(name="w", faces=0, frame="platform", length=3.24, height=2.4, found=FOUND)

_WOOD = (Section(0, DEPTH, "wood"),)
_SPACE = (Section(0, DEPTH, "space"),)


def frame(length=3.24, height=2.4):
    """Studs at 0.4 m, plates 40 mm, a window in bays 3 and 4, each part written out."""
    low, high = 0.04, height - 0.08
    hole = Rect(3 * 0.4 + STUD, 0.9, 5 * 0.4, 2.0)
    regions = [
        Region("plate", "bottom", Rect(0, 0, length, low), _WOOD),
        Region("plate", "top", Rect(0, high, length, height), _WOOD),
        Region("sill", "sill", Rect(hole.x0, 0.86, hole.x1, 0.9), _WOOD),
        Region(
            "header", "header", Rect(hole.x0, 2.0, hole.x1, 2.1),
            (Section(0, 0.04, "wood"), Section(0.04, 0.052, "space", False),
             Section(0.052, DEPTH, "wood")),
        ),
    ]  # fmt: skip
    for i in range(9):
        x = 0.4 * i
        spans = [(low, 0.86), (2.1, high)] if i == 4 else [(low, high)]
        regions += [Region("stud", f"s{i}", Rect(x, z0, x + STUD, z1), _WOOD) for z0, z1 in spans]
    brace = (Section(0, DEPTH - 0.019, "space"), Section(DEPTH - 0.019, DEPTH, "wood"))
    pocket = (Section(0, 0.04, "wood"), Section(0.04, DEPTH, "space", False))
    for i in range(8):
        a, b = 0.4 * i + STUD, 0.4 * (i + 1)
        parts = {
            3: [("bay", low, 0.86, _SPACE), ("bay", 2.1, high, _SPACE)],
            4: [("bay", low, 0.86, _SPACE), ("bay", 2.1, high, _SPACE)],
            6: [("bay", low, 1.2, _SPACE), ("brace", 1.2, 1.3, brace), ("bay", 1.3, high, _SPACE)],
            7: [("pocket", low, high, pocket)],
        }.get(i, [("bay", low, high, _SPACE)])
        regions += [
            Region(kind, f"b{i}", Rect(a, z0, b, z1), sections) for kind, z0, z1, sections in parts
        ]
    return Frame(
        "w", (Rect(0, 0, length, height),), DEPTH, STUD, (), (), tuple(regions), (),
        (Pocket("p", Rect(2.84, low, 3.2, high), 0.04, DEPTH, "behind a post"),),
        (Hole("window", "window", hole),),
    )  # fmt: skip


FRAME = frame()
USUAL = {option.id: option for option in offered(WALL, HOUSE, CATALOG)}


def layers_of(buildup, kind, role=None):
    layers = next(stack for stack in buildup.stacks if stack.kind == kind).layers
    return [layer for layer in layers if role is None or layer.role == role]


def behind_finish(stack):
    return next(layer.role for layer in stack.layers if layer.role != "finish")


def depth_of(layers):
    return sum(layer.thickness for layer in layers)


def test_the_hand_drawn_wall_is_whole():
    assert sum(r.rect.area for r in FRAME.regions) == pytest.approx(FRAME.net_area, rel=1e-12)


class TestOffered:
    def test_usual_set(self):
        # 2x4 of 92 mm: 3 in and the full depth differ
        assert list(USUAL) == [
            "leave", "joints", "batt-poly", "cc-38", "cc-51", "cc-64", "cc-76", "cc-full",
            "oc-full", "cc-51-batt", "furring-38-cc-full", "cc-76-board-38", "outside-cc-full",
            "board-51",
        ]  # fmt: skip
        assert USUAL["cc-76"].name == 'Closed-cell foam 3"'
        assert USUAL["furring-38-cc-full"].thickness == pytest.approx(0.092 + 0.0381, abs=1e-12)

    def test_shallow_studs_get_no_foam_that_does_not_fit(self):
        shallow = WALL.model_copy(update={"stud_depth": 0.064})
        assert [o.id for o in offered(shallow, HOUSE, CATALOG) if o.kind.name == "closed-cell"] == [
            "cc-38", "cc-51", "cc-full",
        ]  # fmt: skip

    def test_wanted_adds_to_the_usual_set_and_only_replaces_it(self):
        one = Wanted(kind="closed-cell", thickness=0.07)
        assert [o.id for o in offered(WALL, HOUSE, CATALOG, [one])] == [*USUAL, "cc-70"]
        # the same as one of the usual set: once, and last
        same = offered(WALL, HOUSE, CATALOG, [Wanted(kind="closed-cell", thickness=2 * 0.0254)])
        assert [o.id for o in same] == [*(id for id in USUAL if id != "cc-51"), "cc-51"]
        wanted = (
            Wanted(kind="closed-cell", thickness=0.07, walls=("w",), only=True),
            Wanted(kind="closed-cell", thickness=0.07, seal_joints=False),
            Wanted(kind="open-cell", walls=("another",)),
            Wanted(kind="leave"),
        )
        assert [o.id for o in offered(WALL, HOUSE, CATALOG, wanted)] == [
            "leave", "cc-70", "cc-70-unsealed",
        ]  # fmt: skip

    def test_ids_are_unique_and_everything_can_be_applied(self):
        for option in USUAL.values():
            assert apply(option, WALL, FRAME, CATALOG).can_be_built
        assert max(Counter(o.name for o in USUAL.values()).values()) == 1

    @pytest.mark.parametrize(
        ("wanted", "error", "match"),
        [
            (Wanted(kind="closed-cell", foam="closed-cel"), UnknownRowError, "nearest: closed-"),
            (Wanted(kind="closed-cell", foam="open-cell"), InputError, "a closed-cell foam"),
            (Wanted(kind="foam and board", board="cork"), UnknownRowError, "named 'cork'"),
        ],
    )
    def test_unknown_rows_are_named(self, wanted, error, match):
        with pytest.raises(error, match=match):
            offered(WALL, HOUSE, CATALOG, (wanted,))


class TestStacks:
    @pytest.mark.parametrize("name", USUAL)
    def test_slices_line_up_and_areas_sum_to_the_net_area(self, name):
        buildup = apply(USUAL[name], WALL, FRAME, CATALOG)
        sliced = {tuple(layer.thickness for layer in stack.layers) for stack in buildup.stacks}
        assert len(sliced) == 1
        area = sum(stack.area for stack in buildup.stacks)
        assert area == pytest.approx(FRAME.net_area, rel=1e-12)
        # the room face to the outer face of the studs
        to_face = depth_of(
            [x for x in buildup.stacks[0].layers if x.role in ("finish", "vapour control")]
        )
        assert -buildup.y0 == pytest.approx(to_face + USUAL[name].furring, abs=1e-12)

    @pytest.mark.parametrize("name", ["cc-76", "cc-51", "cc-51-batt"])
    def test_foam_lies_against_the_sheathing(self, name):
        option = USUAL[name]
        roles = [layer.role for layer in layers_of(apply(option, WALL, FRAME, CATALOG), "bay")]
        assert roles[roles.index("sheathing") - 1] == "foam"
        buildup = apply(option, WALL, FRAME, CATALOG)
        assert depth_of(layers_of(buildup, "bay", "foam")) == pytest.approx(option.thickness)
        rest = "fill" if option.fill else "gap"
        assert depth_of(layers_of(buildup, "bay", rest)) == pytest.approx(DEPTH - option.thickness)

    def test_foam_behind_a_brace_lies_on_the_brace(self):
        buildup = apply(USUAL["cc-51"], WALL, FRAME, CATALOG)
        assert depth_of(layers_of(buildup, "brace", "foam")) == pytest.approx(0.0508)
        assert depth_of(layers_of(buildup, "brace", "gap")) == pytest.approx(DEPTH - 0.019 - 0.0508)

    def test_pockets_and_spacers_out_of_reach_stay_empty(self):
        buildup = apply(USUAL["cc-full"], WALL, FRAME, CATALOG)
        assert depth_of(layers_of(buildup, "pocket", "gap")) == pytest.approx(DEPTH - 0.04)
        assert depth_of(layers_of(buildup, "header", "gap")) == pytest.approx(0.012)
        assert not layers_of(buildup, "pocket", "foam")

    def test_foam_in_the_furring_covers_the_studs(self):
        buildup = apply(USUAL["furring-38-cc-full"], WALL, FRAME, CATALOG)
        between = [s for s in buildup.stacks if s.kind == "stud" and behind_finish(s) == "foam"]
        assert len(between) == 1
        wood = [x for s in buildup.stacks for x in s.layers if x.role == "furring"]
        assert {layer.material for layer in wood} == {"softwood"}
        # strips at 0, 609.6, 1219.2, 1828.8 and the top: 5 x 38.1 mm of 2.4 m, less the window's
        strip_area = sum(
            s.area for s in buildup.stacks if any(x.role == "furring" for x in s.layers)
        )
        assert strip_area == pytest.approx(5 * 0.0381 * 3.24 - 2 * 0.0381 * 0.76, rel=1e-9)

    def test_foam_part_way_into_the_furring_covers_the_studs_as_far(self):
        option = replace(USUAL["furring-38-cc-full"], furring=0.04, thickness=DEPTH + 0.02)
        buildup = apply(option, WALL, FRAME, CATALOG)
        over_stud = [s for s in buildup.stacks if s.kind == "stud" and behind_finish(s) == "gap"]
        (stack,) = over_stud
        assert depth_of([x for x in stack.layers if x.role == "gap"]) == pytest.approx(0.02)
        assert depth_of([x for x in stack.layers if x.role == "foam"]) == pytest.approx(0.02)

    def test_a_thickness_almost_the_depth_is_the_depth(self):
        # a survey says 92 mm, the frame 92.4: half a millimetre is nothing on site
        option = replace(USUAL["cc-full"], thickness=DEPTH + 4e-4)
        buildup = apply(option, WALL, FRAME, CATALOG)
        assert buildup.can_be_built
        assert not layers_of(buildup, "bay", "gap")

    def test_from_outside_foam_lies_on_the_old_finish(self):
        option = replace(USUAL["outside-cc-full"], thickness=0.0508)
        roles = [layer.role for layer in layers_of(apply(option, WALL, FRAME, CATALOG), "bay")]
        assert roles.index("foam") == roles.index("finish") + 1
        assert roles[roles.index("sheathing") - 1] == "gap"

    def test_conductivity_follows_the_thickness_installed(self):
        closed = CATALOG.foams["closed-cell"]
        for name in ("cc-38", "cc-full"):
            layer = layers_of(apply(USUAL[name], WALL, FRAME, CATALOG), "bay", "foam")[0]
            assert layer.conductivity == closed.conductivity(USUAL[name].thickness)

    def test_cladding_over_board_is_vented(self):
        layers = apply(USUAL["cc-76-board-38"], WALL, FRAME, CATALOG).stacks[0].layers
        assert [x.role for x in layers if x.vented] == ["gap", "cladding"]

    def test_old_fill_is_kept_or_removed(self):
        found = FOUND.model_copy(
            update={"fill": "glass-fibre-batt", "fill_thickness": 0.05, "fill_state": "damp"}
        )
        wall = WALL.model_copy(update={"found": found})
        left = apply(LEAVE, wall, FRAME, CATALOG)
        assert depth_of(layers_of(left, "bay", "fill")) == pytest.approx(0.05)
        assert any("damp" in text for text in left.cautions)
        sprayed = apply(USUAL["cc-76"], wall, FRAME, CATALOG)
        assert not layers_of(sprayed, "bay", "fill")
        assert any("old fill" in text and "removed" in text for text in sprayed.assumptions)

    def test_a_fill_said_thicker_than_the_bay_fills_it(self):
        found = FOUND.model_copy(update={"fill": "glass-fibre-batt", "fill_thickness": 0.2})
        wall = WALL.model_copy(update={"found": found})
        buildup = apply(LEAVE, wall, FRAME, CATALOG)
        assert depth_of(layers_of(buildup, "bay", "fill")) == pytest.approx(DEPTH)


class TestSolids:
    @pytest.mark.parametrize("name", USUAL)
    def test_boxes_fill_the_wall_once(self, name):
        buildup = apply(USUAL[name], WALL, FRAME, CATALOG)
        boxes = solids(buildup.assembly)
        thickness = depth_of([x for x in buildup.stacks[0].layers if not x.vented])
        volume = sum((b.x1 - b.x0) * (b.y1 - b.y0) * (b.z1 - b.z0) for b in boxes)
        # exact: the boxes have the volume of the net wall, and no two of them overlap
        assert volume == pytest.approx(FRAME.net_area * thickness, rel=1e-12)
        for a, b in combinations(boxes, 2):
            assert (
                min(a.x1, b.x1) - max(a.x0, b.x0) <= 1e-9
                or min(a.y1, b.y1) - max(a.y0, b.y0) <= 1e-9
                or min(a.z1, b.z1) - max(a.z0, b.z0) <= 1e-9
            )
        assert all(b.layer.thickness == pytest.approx(b.y1 - b.y0, abs=1e-12) for b in boxes)

    def test_few(self):
        wide = apply(USUAL["furring-38-cc-full"], WALL, FRAME, CATALOG)
        assert 100 < len(solids(wide.assembly)) < 400
        # studs of one full depth are one box each although the bays are cut by the brace
        plain = solids(apply(USUAL["cc-full"], WALL, FRAME, CATALOG).assembly)
        assert sum(1 for b in plain if b.kind == "stud") == 10


class TestRefusals:
    def refused(self, option, wall=WALL):
        return " ".join(r.reason for r in apply(option, wall, FRAME, CATALOG).refusals)

    def test_foam_thicker_than_the_bay(self):
        option = replace(USUAL["cc-76"], thickness=0.12)
        buildup = apply(option, WALL, FRAME, CATALOG)
        assert "does not fit a depth of" in buildup.refusals[0].reason
        assert "fur the wall out" in buildup.refusals[0].instead
        assert not buildup.can_be_built

    def test_more_than_the_listing_allows(self):
        option = replace(USUAL["furring-38-cc-full"], furring=0.07, thickness=0.16)
        assert "listing allows" in self.refused(option)

    def test_foam_against_siding(self):
        bare = WALL.model_copy(update={"found": FOUND.model_copy(update={"sheathing": ()})})
        assert "No sheathing" in self.refused(USUAL["cc-51"], bare)
        assert self.refused(USUAL["outside-cc-full"], bare) == ""
        assert self.refused(USUAL["batt-poly"], bare) == ""

    def test_wet_sheathing_is_not_shut_in(self):
        wet = WALL.model_copy(update={"readings": (Reading(where="sheathing", moisture=0.24),)})
        # 76 mm of foam at 34 ng inside, 38 mm of extruded board at 45 ng outside: both under 60
        assert "could not dry" in self.refused(USUAL["cc-76-board-38"], wet)
        assert self.refused(USUAL["cc-76-board-38"]) == ""
        assert self.refused(USUAL["cc-76"], wet) == ""
        # open to the room: it can dry
        board = {"board": "xps-board", "board_thickness": 0.038}
        assert self.refused(replace(USUAL["oc-full"], **board), wet) == ""
        assert any("dry it below 19 %" in c for c in apply(LEAVE, wet, FRAME, CATALOG).cautions)

    @pytest.mark.parametrize(("moisture", "wet"), [(0.19, False), (0.20, True)])
    def test_nineteen_percent_is_the_line(self, moisture, wet):
        # USDA Forest Products Laboratory (Rowell and Ibach 2000): 20 % is the usual safe line;
        # common practice gates at 19 %
        reading = Reading(where="sheathing", moisture=moisture)
        wall = WALL.model_copy(update={"readings": (reading,)})
        assert ("could not dry" in self.refused(USUAL["cc-76-board-38"], wall)) is wet

    def test_what_stands_is_never_refused(self):
        found = FOUND.model_copy(
            update={"vapour_control": "polyethylene", "sheathing": (), "fill_state": "wet"}
        )
        assert self.refused(LEAVE, WALL.model_copy(update={"found": found})) == ""

    def test_cautions(self):
        hazard = Hazard(kind="knob-and-tube wiring", where="upstairs", state="found")
        cleared = hazard.model_copy(update={"state": "cleared", "where": "cellar"})
        other = hazard.model_copy(update={"wall": "another", "where": "the porch"})
        cautions = apply(USUAL["oc-full"], WALL, FRAME, CATALOG, (hazard, cleared, other)).cautions
        assert any("vapour control on the room side" in text for text in cautions)
        assert any("Knob-and-tube wiring, found (upstairs)" in text for text in cautions)
        assert not any("cellar" in text or "porch" in text for text in cautions)
        assert any("1 space stays as found" in text for text in cautions)

    def test_layers_without_thickness_are_named(self):
        found = FOUND.model_copy(update={"sheathing": (FoundLayer(material="xps-board"),)})
        wall = WALL.model_copy(update={"found": found})
        with pytest.raises(InputError, match="wall \"w\", sheathing: read 'xps-board' without a"):
            apply(LEAVE, wall, FRAME, CATALOG)

    @pytest.mark.parametrize(
        "change", [{"thickness": math.nan}, {"thickness": 0.0}, {"furring": -1}]
    )
    def test_senseless_lengths_are_named(self, change):
        with pytest.raises(InputError, match=r'option "cc-76", (thickness|furring): read'):
            apply(replace(USUAL["cc-76"], **change), WALL, FRAME, CATALOG)


def test_permeance_in_series():
    # by hand: 1 / (0.0127/27e-12 + 0.022/14e-12) = 4.898e-10
    layers = [
        layers_of(apply(option, WALL, FRAME, CATALOG), "bay", "finish")[-1]
        for option in (USUAL["cc-76"], LEAVE)
    ]
    assert permeance(layers) == pytest.approx(4.898e-10, rel=1e-3)
    assert permeance([]) == math.inf


METHODS = (
    conduction.parallel_path,
    conduction.isothermal_planes,
    conduction.code_resistance,
    lambda stacks: conduction.combined(stacks).resistance,
)


@example("oc-full", 0.091, 0.031)
@given(st.sampled_from(sorted(USUAL)), st.floats(0.01, 0.13), st.floats(0.0, 0.05))
def test_more_foam_never_lowers_the_resistance(name, thickness, more):
    option = USUAL[name]
    if option.foam is None:
        return
    less, greater = (
        apply(replace(option, thickness=t), WALL, FRAME, CATALOG).stacks
        for t in (thickness, thickness + more)
    )
    # The last 3 mm: still air with its radiation resists more there than open-cell foam (ISO 6946,
    # by hand at 1 mm: 1 / (25 + 4.5) = 0.034 against 0.001 / 0.037 = 0.027; the most is 0.007).
    left = DEPTH + option.furring - thickness
    thin = 0.008 if option.foam == "open-cell" and 0 < left < 3e-3 else 0.0
    for method in METHODS:
        assert method(greater) >= method(less) * (1 - 1e-12) - thin


@given(st.sampled_from(sorted(USUAL)))
def test_flipping_the_wall_changes_nothing(name):
    length = FRAME.length

    def flip(r):
        return Rect(length - r.x1, r.z0, length - r.x0, r.z1)

    flipped = replace(
        FRAME,
        regions=tuple(replace(r, rect=flip(r.rect)) for r in FRAME.regions),
        holes=tuple(replace(h, rect=flip(h.rect)) for h in FRAME.holes),
    )
    there, back = (apply(USUAL[name], WALL, f, CATALOG) for f in (FRAME, flipped))
    for method in METHODS:
        assert method(back.stacks) == pytest.approx(method(there.stacks), rel=1e-12)
    assert len(solids(back.assembly)) == len(solids(there.assembly))


@given(
    kind=st.sampled_from(["closed-cell", "open-cell", "from outside"]),
    thickness=st.floats(1e-4, 100.0),
    furring=st.one_of(st.just(0.0), st.floats(0.01, 0.3)),
)
@example("closed-cell", 0.140625, 0.25)
def test_any_foam_gives_a_build_up_or_a_refusal(kind, thickness, furring):
    option = Option(
        "x", "x", KINDS[kind], foam="open-cell" if kind == "open-cell" else "closed-cell",
        thickness=thickness, furring=furring,
    )  # fmt: skip
    buildup = apply(option, WALL, FRAME, CATALOG)
    room = DEPTH + furring
    # a listing in millimetres allows its inches: 2 in are 50.8 mm of its 50 (exact: 1.016)
    listed = CATALOG.foams[option.foam].total_max * 1.016
    assert buildup.can_be_built == (thickness <= min(room + 5e-4, listed))
    area = sum(stack.area for stack in buildup.stacks)
    assert area == pytest.approx(FRAME.net_area, rel=1e-9)
    assert math.isfinite(conduction.combined(buildup.stacks).resistance)
