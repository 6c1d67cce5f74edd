"""Every clause with its worked cases; the same walls under both packs, read as an official would.

The worked cases come with each clause's own source (its tag says whether it was read, quoted by
another text, or remembered). The thicknesses, permeances and resistances of the walls below are
those of the cases.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import pytest

from warmside.catalog import FACTS, VERDICT_OF, load, read_code_pack
from warmside.framing import frame_wall
from warmside.options import apply, offered
from warmside.physics.conduction import code_resistance
from warmside.promises import legal
from warmside.promises.rules import judge
from warmside.survey import (
    AsFound,
    Box,
    FoundLayer,
    Hazard,
    House,
    Listing,
    Pipe,
    Wall,
    Wanted,
)
from warmside.works import work_items

CATALOG = load()
CANADA, US = CATALOG.packs["canada-nbc-2020"], CATALOG.packs["us-irc-2021"]
CLAUSES = [(pack.id, clause) for pack in (CANADA, US) for clause in pack.clauses]
CASES = [
    pytest.param(clause, case, id=f"{clause.id}-{number}-{case.verdict}")
    for _, clause in CLAUSES
    for number, case in enumerate(clause.cases)
]
OTTAWA = CATALOG.climates["ottawa"]
MINNESOTA = replace(OTTAWA, region="MN", country="US", zone="6A")
HOUSE = House(
    name="h", climate="ottawa", year_built=1965, volume=300.0, indoor_humidity=0.35, bedrooms=3
)
FOUND = AsFound(
    finish=(FoundLayer(material="gypsum-board"),),
    sheathing=(FoundLayer(material="plywood"),),
    paper="building-paper",
    cladding=FoundLayer(material="wood-bevel-siding"),
)
# no hollow posts: what the work does not reach has a test of its own
WALL = Wall(
    name="w", faces=0.0, frame="platform", length=3.6, height=2.44, found=FOUND,
    corner_left="none", corner_right="none", stud_depth=0.089,
)  # fmt: skip


def built(wanted: Wanted, wall: Wall = WALL, house: House = HOUSE):
    frame = frame_wall(wall, house, CATALOG.lumber)
    option = offered(wall, house, CATALOG, [wanted])[-1]
    return apply(option, wall, frame, CATALOG)


def foam(thickness: float, wall: Wall = WALL, **more):
    return built(Wanted(kind="closed-cell", thickness=thickness, **more), wall)


def batts(wall: Wall = WALL, **more):
    return built(Wanted(kind="batt and poly", **more), wall)


def judged(number, build_up, climate=OTTAWA, wall=WALL, house=HOUSE, hazards=(), pack=None):
    packs = [pack or (US if climate.country == "US" else CANADA)]
    found = legal(
        packs, build_up, climate, catalog=CATALOG, wall=wall, house=house, hazards=hazards
    )
    return next(f for f in found if f.name.startswith(number))


@pytest.mark.parametrize(("clause", "case"), CASES)
def test_worked_case(clause, case):
    """The verdict that somebody who knows the clause gives of these facts."""
    assert judge(clause, dict(case.facts)).verdict == case.verdict


@pytest.mark.parametrize("clause", [clause for _, clause in CLAUSES], ids=lambda c: c.id)
def test_each_clause_has_two_cases_that_pass_and_two_that_do_not(clause):
    """A clause that cannot hold by itself passes with "needs a person"."""
    seen = Counter(case.verdict for case in clause.cases)
    best = "holds" if clause.may_hold and clause.tests else "needs a person"
    assert seen[best] >= 2
    assert sum(seen.values()) >= 4


def test_no_clause_remembered_badly_ever_holds():
    for _, clause in CLAUSES:
        if clause.recall in ("medium", "low"):
            verdicts = {judge(clause, dict(case.facts)).verdict for case in clause.cases}
            assert "holds" not in verdicts, clause.id


def test_silence_asks_or_does_not_apply_but_never_holds():
    for _, clause in CLAUSES:
        assert judge(clause, {}).verdict == "needs a person", clause.id


def test_each_fact_has_a_question_and_is_asked_by_some_clause():
    asked = {
        name
        for _, clause in CLAUSES
        for check in (*clause.when, *clause.tests, *clause.tolerated)
        for name in check.facts
        if not name.startswith(VERDICT_OF)
    }
    assert asked <= set(FACTS)
    for name, kind in FACTS.items():
        assert kind.asks.endswith("?") or kind.kind == "yes or no", name


@pytest.mark.parametrize(
    ("thickness", "verdict"), [(0.040, "falls short"), (0.050, "holds"), (0.0508, "holds")]
)
def test_sixty_nanograms_turns_between_thin_and_thick_foam(thickness, verdict):
    """Published: NBC 9.25.4.2, 60 ng; foam as its standard lets it pass, 3000/t: from 50 mm."""
    assert judged("9.25.4.2", foam(thickness)).verdict == verdict


def test_a_sealed_sheet_is_an_air_barrier_and_loose_laps_are_not():
    """NBC 9.25.3.2: polyethylene as sheet is named beside the 0.02 L/(s m2) of a material."""
    assert judged("9.25.3", batts()).verdict == "holds"
    assert judged("9.25.3", batts(seal_joints=False)).verdict == "falls short"


@pytest.mark.parametrize(
    ("thickness", "sealed", "verdict"),
    [(0.050, True, "holds"), (0.0127, True, "falls short"), (0.050, False, "falls short")],
)
def test_half_an_inch_of_foam_is_no_air_barrier(thickness, sealed, verdict):
    """CAN/ULC-S705.1 listings: 38 mm is the usual least thickness (from memory)."""
    assert judged("9.25.3", foam(thickness, seal_joints=sealed)).verdict == verdict


def test_two_inches_behind_batts_in_a_two_by_six_are_too_far_out():
    """Worked by hand: 90 mm of batt (2.09) inside 50 mm of foam (1.80) and 0.48 of the rest:
    (0.12 + 0.08 + 2.09) / 4.37 = 0.525 of the 54 K from 21 °C, -7.3 °C.
    """
    deep = WALL.model_copy(update={"stud": "2x6", "stud_depth": 0.140})
    cold = replace(OTTAWA, design=-33.0, degree_days=5670.0)
    thin = built(Wanted(kind="foam and batt", thickness=0.050), deep)
    finding = judged("9.25.4.3", thin, cold, deep)
    assert finding.verdict == "falls short"
    assert finding.figure == pytest.approx(-7.3, abs=0.2)
    thick = built(Wanted(kind="foam and batt", thickness=0.100), deep)
    assert judged("9.25.4.3", thick, cold, deep).verdict == "holds"
    # both tests are asked, so one alone is for the official: 2x4, 55 mm and batts
    both = built(Wanted(kind="foam and batt", thickness=0.055))
    assert judged("9.25.4.3", both, cold).verdict == "needs a person"


def test_without_the_room_s_humidity_nobody_knows_the_dew_point():
    dry = HOUSE.model_copy(update={"indoor_humidity": None})
    finding = judged("9.25.4.3", foam(0.05), house=dry)
    assert finding.verdict == "needs a person"
    assert "humidity of the rooms" in finding.reason


@pytest.mark.parametrize(
    ("zone", "batt", "sprayed"),
    [
        ("2A", "falls short", "holds"),
        ("4A", "falls short", "holds"),
        ("4C", "holds", "holds"),
        ("6A", "holds", "holds"),
        ("7", "holds", "holds"),
    ],
)
def test_american_retarders_by_zone(zone, batt, sprayed):
    """IRC R702.7: class I is refused up to zone 4 and asked for, or II, from marine 4 on."""
    there = replace(MINNESOTA, zone=zone)
    assert judged("IRC R702.7 ", batts(), there).verdict == batt
    assert judged("IRC R702.7 ", foam(0.0508), there).verdict == sprayed


@pytest.mark.parametrize(
    ("stud", "depth", "thickness", "zone", "verdict"),
    [
        ("2x4", 0.089, 0.0381, "6A", "holds"),  # R 7.5 asked, about R 9
        ("2x6", 0.140, 0.0381, "6A", "falls short"),  # R 11.25 asked
        ("2x4", 0.089, 0.0254, "7", "falls short"),
    ],
)
def test_foam_as_outer_insulation_by_depth(stud, depth, thickness, zone, verdict):
    """Second-hand: IRC 2021 R702.7(3), another column for deeper studs."""
    wall = WALL.model_copy(update={"stud": stud, "stud_depth": depth})
    finding = judged("IRC R702.7.1", foam(thickness, wall), replace(MINNESOTA, zone=zone), wall)
    assert finding.verdict == verdict


def test_board_sheathing_is_not_named_so_the_official_decides():
    boards = FOUND.model_copy(update={"sheathing": (FoundLayer(material="board-sheathing"),)})
    wall = WALL.model_copy(update={"found": boards})
    assert judged("IRC R702.7.1", foam(0.0508, wall), MINNESOTA, wall).verdict == "needs a person"


def test_a_zone_is_never_guessed_from_degree_days():
    nowhere = replace(MINNESOTA, zone="")
    finding = judged("IRC R702.7 ", foam(0.0508), nowhere)
    assert (finding.verdict, "county table" in finding.reason) == ("needs a person", True)


def with_finish(build_up, material: str, thickness: float):
    """The same layers, each inside finish but paint made of something else; "" takes them out."""

    def changed(layer):
        if layer.role != "finish" or (material and "paint" in layer.material):
            return (layer,)
        return (replace(layer, material=material, thickness=thickness),) if material else ()

    stacks = tuple(
        replace(s, layers=tuple(x for layer in s.layers for x in changed(layer)))
        for s in build_up.stacks
    )
    return replace(build_up, stacks=stacks)


@pytest.mark.parametrize(
    ("material", "thickness", "canada", "america"),
    [
        ("gypsum-board", 0.0127, "holds", "holds"),
        ("gypsum-board", 0.0095, "holds", "falls short"),  # studs 406 mm apart
        ("plaster-on-wood-lath", 0.022, "holds", "needs a person"),
        ("board-sheathing", 0.019, "needs a person", "needs a person"),
        ("", 0.0, "falls short", "falls short"),
    ],
)
def test_what_covers_foam_and_how_thick(material, thickness, canada, america):
    """NBC 9.10.17.10 and 9.29.5.4 (Ontario reproductions); IRC R316.4 (second-hand)."""
    cover = with_finish(foam(0.05), material, thickness)
    assert judged("9.10.17.10 Fire", cover).verdict == canada
    assert judged("IRC R316.4", cover, MINNESOTA).verdict == america


def test_paint_never_covers_foam():
    finding = judged("9.10.17.10 Fire", foam(0.05))
    assert "paint" not in str(finding.reason).lower()
    assert finding.figure == pytest.approx(0.0127, rel=1e-9)


@pytest.mark.parametrize("number", ["CAN/ULC-S705.2", "9.10.17.10 Fire", "9.10.17.10 (rating)"])
def test_what_is_asked_of_foam_is_not_asked_of_batts(number):
    assert judged(number, batts()).verdict == "does not apply"
    assert judged(number, foam(0.05)).verdict != "does not apply"


def balloon(blocks: str, floor_line: float | None = None) -> Wall:
    return WALL.model_copy(
        update={"frame": "balloon", "height": 5.2, "fire_blocks": blocks, "floor_line": floor_line}
    )


@pytest.mark.parametrize(
    ("blocks", "floor_line", "canada", "america"),
    [
        ("present", None, "holds", "holds"),
        # nobody noted where the floor passes, so no work closes the bays there
        ("missing", None, "falls short", "falls short"),
        # the work closes every line: whoever signs sees it before the bays are closed
        ("missing", 2.6, "needs a person", "needs a person"),
        ("unknown", 2.6, "needs a person", "needs a person"),
    ],
)
def test_fire_blocks_of_a_balloon_frame(blocks, floor_line, canada, america):
    """NBC 9.10.16.2: 3 m, or at most 25 mm of air; IRC R302.11: each floor line, foam or not."""
    wall = balloon(blocks, floor_line)
    house = HOUSE.model_copy(update={"storeys": 2})
    for number, place, verdict in (
        ("9.10.16.2", OTTAWA, canada), ("IRC R302.11", MINNESOTA, america),
    ):  # fmt: skip
        found = judged(number, foam(0.05, wall), place, wall, house)
        assert found.verdict == verdict
        fitted = "this work fits the blocks" in str(found.reason)
        assert fitted == (blocks == "missing" and floor_line is not None)


def test_blocks_of_the_work_are_never_more_than_three_metres_apart():
    """NBC 9.10.16.2: at most 3 m in height; a lower storey of 3.6 m takes one line more."""
    wall = balloon("missing", 3.6).model_copy(update={"height": 6.2})
    (item,) = (i for i in work_items(foam(0.05, wall), wall) if i.key == "fire-blocks")
    low, high = balloon("missing", 2.6), foam(0.05, balloon("missing", 2.6))
    (three,) = (i for i in work_items(high, low) if i.key == "fire-blocks")
    # the same bays in four lines and in three
    assert item.quantities[0].amount == three.quantities[0].amount / 3 * 4


def test_a_filled_bay_needs_no_block_in_canada():
    wall = balloon("missing")
    assert judged("9.10.16.2", batts(wall), OTTAWA, wall).verdict == "holds"


def test_old_work_in_closed_bays_is_for_the_official():
    wall = balloon("missing")
    packed = built(Wanted(kind="dense-pack from outside"), wall)
    assert judged("IRC R302.11", packed, MINNESOTA, wall).verdict == "needs a person"


@pytest.mark.parametrize(
    ("fans", "canada"), [(0.030, "holds"), (0.018, "needs a person"), (0.0, "needs a person")]
)
def test_fans_by_bedrooms_and_no_credit_for_leaks(fans, canada):
    """From memory: NBC Table 9.32.3.3, 22 L/s for three bedrooms; an old house, so a question."""
    house = HOUSE.model_copy(update={"mechanical_ventilation": fans})
    assert judged("9.32.3", foam(0.05), house=house).verdict == canada


@pytest.mark.parametrize(
    ("state", "sprayed", "packed"),
    [
        ("found", "falls short", "needs a person"),
        ("suspected", "needs a person", "needs a person"),
        ("cleared", "holds", "holds"),
    ],
)
def test_old_wiring(state, sprayed, packed):
    """NEC 394.12(5): never foam round it; some states allow fibre after a survey."""
    hazard = Hazard(
        kind="knob-and-tube wiring",
        where="attic",
        state=state,
        cleared_by="an electrician",
        date="2026-05-04",
    )
    found = [
        judged("NEC 394.12", build_up, MINNESOTA, hazards=(hazard,)).verdict
        for build_up in (foam(0.05), batts())
    ]
    assert found == [sprayed, packed]


def test_hollow_spaces_are_told_beside_what_the_work_reaches():
    wall = WALL.model_copy(update={"corner_left": "three-stud"})
    finding = judged("9.25.4.2", foam(0.05, wall), wall=wall)
    assert finding.verdict == "needs a person"
    assert "60 ng" in str(finding.reason)
    assert "hollow spaces" in finding.reason


@pytest.mark.parametrize("country", ["CA", ""])
def test_a_pack_of_another_country_never_holds(country):
    there = replace(MINNESOTA, country=country, region="MN" if not country else "Manitoba")
    found = legal([US], batts(), there, catalog=CATALOG, wall=WALL, house=HOUSE)
    assert {f.verdict for f in found} == {"needs a person", "does not apply"}


def test_keys_stay_apart_and_a_wall_left_as_found_is_not_judged():
    keys = [f.key for f in legal([CANADA, US], foam(0.05), OTTAWA)]
    assert len(set(keys)) == len(keys)
    frame = frame_wall(WALL, HOUSE, CATALOG.lumber)
    leave = apply(offered(WALL, HOUSE, CATALOG)[0], WALL, frame, CATALOG)
    assert legal([CANADA, US], leave, OTTAWA) == ()


FILLED_IN = HOUSE.model_copy(
    update={
        "smoke_alarms": 4, "carbon_monoxide_alarms": 1, "alarm_distance": 4.0,
        "listing": Listing(standard="CAN/ULC-S705.1", flame_spread=400, smoke_developed=450),
    }
)  # fmt: skip


@pytest.mark.parametrize(
    ("number", "change", "of_wall", "verdict"),
    [  # the survey's own keys; thresholds as in the clauses' cases
        ("9.10.19", {}, {}, "holds"),
        ("9.10.19", {"smoke_alarms": 3}, {}, "falls short"),
        ("9.10.19", {"carbon_monoxide_alarms": 0}, {}, "falls short"),
        ("9.10.19", {"alarm_distance": 8.0}, {}, "falls short"),
        ("9.10.19", {"smoke_alarms": None}, {}, "needs a person"),
        ("9.10.17.10 (rating)", {}, {}, "holds"),
        ("9.10.17.10 (rating)", {"listing": Listing(flame_spread=520)}, {}, "falls short"),
        ("9.10.17.10 (rating)", {"listing": None}, {}, "needs a person"),
        ("CAN/ULC-S705.2", {}, {}, "holds"),
        ("CAN/ULC-S705.2", {"listing": Listing(standard="kit foam")}, {}, "falls short"),
        ("9.10.17.10 (rim)", {}, {"rim_foam": 0.0}, "does not apply"),
        ("9.10.17.10 (rim)", {}, {"rim_foam": 0.075}, "falls short"),
        ("9.10.17.10 (rim)", {}, {"rim_foam": 0.075, "rim_cover": "gypsum"}, "needs a person"),
    ],
)
def test_the_survey_s_keys_reach_their_clauses(number, change, of_wall, verdict):
    house = FILLED_IN.model_copy(update=change)
    wall = WALL.model_copy(update=of_wall)
    assert judged(number, foam(0.05, wall), wall=wall, house=house).verdict == verdict


LIGHT = Box(kind="recessed light", x=1.0, z=2.0)


@pytest.mark.parametrize(
    ("number", "of_wall", "verdict"),
    [
        ("NEC 334.80", {"cables_together": 2, "year_built": 1990}, "holds"),
        ("NEC 334.80", {"cables_together": 3, "year_built": 1990}, "needs a person"),
        ("NEC 334.80", {"cables_together": 2}, "needs a person"),  # of 1965: cables of before 1985
        ("NEC 410.116", {}, "does not apply"),
        ("NEC 410.116", {"boxes": (LIGHT,)}, "needs a person"),
        ("NEC 410.116", {"boxes": (LIGHT.model_copy(update={"rated": "for foam"}),)}, "holds"),
        ("NEC 410.116", {"boxes": (LIGHT.model_copy(
            update={"rated": "for insulation", "clearance": 0.04}),)}, "falls short"),
        ("NEC 314.29", {"boxes": (Box(x=1.0, z=0.4),)}, "holds"),
        ("NEC 314.29", {"boxes": (Box(x=1.0, z=0.4, reachable=False),)}, "falls short"),
        ("IECC R503.1 (energy use)", {}, "holds"),
        ("IRC R316.5.11", {"rim_foam": 0.1}, "falls short"),
        ("IRC R316.5.11", {"rim_foam": 0.075}, "needs a person"),  # no density of its report
    ],
)  # fmt: skip
def test_american_keys_reach_their_clauses(number, of_wall, verdict):
    wall = WALL.model_copy(update=of_wall)
    listed = Listing(standard="ASTM C1029", flame_spread=25, smoke_developed=400)
    house = HOUSE.model_copy(update={"listing": listed})
    found = judged(number, foam(0.05, wall), MINNESOTA, wall, house)
    assert found.verdict == verdict


def test_full_batts_taken_out_for_a_little_foam_lose_more_heat_than_before():
    batts = FOUND.model_copy(update={"fill": "mineral-wool-batt"})
    wall = WALL.model_copy(update={"found": batts})
    finding = judged("IECC R503.1 (energy use)", foam(0.0254, wall), MINNESOTA, wall)
    assert finding.verdict == "falls short"


@pytest.mark.parametrize(
    ("distance", "verdict"), [(None, "needs a person"), (1.5, "needs a person")]
)
def test_the_lot_line_is_measured_after_the_board(distance, verdict):
    """From memory: 1.2 m limiting distance; 1.30 less 0.15 is for the official, as all of it is."""
    wall = WALL.model_copy(update={"lot_line": distance})
    board = built(Wanted(kind="foam and board", thickness=0.05, board="xps-board",
                         board_thickness=0.038), wall)  # fmt: skip
    finding = judged("9.10.15", board, wall=wall)
    assert finding.verdict == verdict
    assert (finding.figure is None) == (distance is None)
    if distance is not None:
        assert finding.figure == pytest.approx(distance - 0.038, abs=1e-9)


LOCAL = """
id = "town"
name = "Town by-law"
country = "Canada"
edition = "2026"
closing = "The town's official decides."
[[clause]]
number = "12"
title = "Altered walls"
paraphrase = "Altered walls reach the value."
applies_to = "alterations"
tests = [{{ fact = "wall_resistance", least = {limit} }}]
source = "By-law 12"
tag = "own figure"
"""


@pytest.mark.parametrize(("factor", "verdict"), [(0.999, "holds"), (1.001, "falls short")])
def test_a_local_pack_judges_just_inside_and_just_outside(factor, verdict):
    build_up = foam(0.05)
    pack = read_code_pack(LOCAL.format(limit=code_resistance(build_up.stacks) * factor))
    assert judged("12", build_up, pack=pack).verdict == verdict


@pytest.mark.parametrize("depth", [0.02, 0.0445, 0.085])
def test_a_pipe_is_as_cold_as_the_resistances_before_it_make_it(depth):
    """By hand, surfaces 0.12 and 0.03 m2 K/W of the NBC; ASHRAE Fundamentals 2013 (as carried by
    open tables): gypsum board 0.16 W/(m K), batt 0.043, plywood 12.7 mm 0.109 m2 K/W, lapped
    siding 0.14.
    """
    wall = WALL.model_copy(update={"pipes": (Pipe(kind="water", x=1.0, depth=depth),)})
    house = HOUSE.model_copy(update={"design_temperature": -33.0})
    before = 0.12 + 0.0127 / 0.16 + depth / 0.043
    whole = 0.12 + 0.0127 / 0.16 + 0.089 / 0.043 + 0.109 + 0.14 + 0.03
    found = judged("Plumbing", batts(wall), wall=wall, house=house)
    assert found.figure == pytest.approx(21.0 - 54.0 * before / whole, abs=0.3)
    assert found.verdict == ("needs a person" if found.figure >= 2.0 else "falls short")


def test_a_pipe_whose_depth_nobody_measured_has_no_temperature():
    pipes = (Pipe(kind="water", x=1.0, depth=0.02), Pipe(kind="drain", x=2.0))
    wall = WALL.model_copy(update={"pipes": pipes})
    found = judged("Plumbing", batts(wall), wall=wall)
    assert found.figure is None
    assert found.verdict == "needs a person"
