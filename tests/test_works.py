"""What findings ask for: in the takeoff, the price, the steps, the gates and the close-out."""

from __future__ import annotations

import pytest

from warmside.catalog import load
from warmside.demo import survey_text
from warmside.estimate import default_prices, price, takeoff
from warmside.framing import frame_wall
from warmside.options import LEAVE, apply, offered
from warmside.promises import carried, legal, safe
from warmside.site import plan_wall
from warmside.survey import AsFound, FoundLayer, House, Survey, Wall, Wanted, read
from warmside.works import WORKS, work_items

CATALOG, PRICES = load(), default_prices()
CLIMATE = next(iter(CATALOG.climates))
HOUSE = House(name="h", climate=CLIMATE, year_built=1931, volume=300.0)
INCH = 0.0254
# 12 ft long, 17 ft 8 in high, joists 7-1/2 in deep from 8 ft 11 in on; studs 1-1/2 by 3-1/2 in at
# 16 in: ten studs leave nine bays, seven 14-1/2 in wide, the first and last 13-3/4 in
BALLOON = Wall(
    name="w", faces=0.0, frame="balloon", length=144 * INCH, height=212 * INCH,
    corner_left="none", corner_right="none", stud_width=1.5 * INCH, stud_depth=3.5 * INCH,
    floor_line=107 * INCH, joist_depth=7.5 * INCH, fire_blocks="missing",
    found=AsFound(
        finish=(FoundLayer(material="gypsum-board"),),
        sheathing=(FoundLayer(material="board-sheathing"),),
        cladding=FoundLayer(material="wood-bevel-siding"),
    ),
)  # fmt: skip


def built(wall: Wall, kind: str = "closed-cell"):
    frame = frame_wall(wall, HOUSE, CATALOG.lumber)
    option = offered(wall, HOUSE, CATALOG, [Wanted(kind=kind, only=True)])[-1]
    return apply(option, wall, frame, CATALOG)


def test_blocks_by_number_and_length_against_a_count_by_hand() -> None:
    lines = {line.key: line for line in takeoff(built(BALLOON), BALLOON, CATALOG, PRICES)}
    # three lines (on the sill, under the joists, at the floor above) times nine bays
    assert lines["fire_block"].amount == 3 * 9
    # 7 x 14-1/2 + 2 x 13-3/4 = 129 in a line, 387 in in all, a tenth more for cutting
    assert lines["fire_block_lumber"].amount == pytest.approx(387 * INCH * 1.1, rel=1e-9, abs=0)
    assert lines["labour:fire_block"].unit == "h"
    found = price(tuple(lines.values()), PRICES)
    assert found.missing == ()
    assert {"fire_block_lumber", "labour:fire_block"} <= {p.quantity.key for p in found.lines}


def test_blocks_stand_before_foam_with_gate_and_photo() -> None:
    build_up = built(BALLOON)
    plan = plan_wall(build_up, BALLOON, Survey(house=HOUSE, walls=(BALLOON,)), CATALOG, PRICES)
    ids = [step.id for step in plan.steps]
    place = ids.index("fire-blocks")
    assert ids.index("strip") < ids.index("rough-in") < place < ids.index("seal-joints")
    assert place < ids.index("spray")
    step = plan.steps[place]
    assert "carpenter" in step.gate.who
    assert "photo" in step.gate.asks
    assert "27 blocks" in step.do[0]
    assert any(name == "Cut and fit fire blocks" and hours > 0 for name, hours in plan.time.tasks)


def test_no_blocks_where_they_are_or_where_no_bay_is_opened() -> None:
    there = BALLOON.model_copy(update={"fire_blocks": "present"})
    assert "fire-blocks" not in {i.key for i in work_items(built(there), there)}
    left = apply(LEAVE, BALLOON, frame_wall(BALLOON, HOUSE, CATALOG.lumber), CATALOG)
    assert work_items(left, BALLOON) == ()
    packed = built(BALLOON, "dense-pack from outside")
    assert "fire-blocks" not in {i.key for i in work_items(packed, BALLOON)}


def test_every_pocket_is_counted_filled_priced_and_signed() -> None:
    wall = BALLOON.model_copy(update={"corner_left": "three-stud", "corner_right": "three-stud"})
    build_up = built(wall)
    pockets = len(build_up.frame.pockets)
    assert pockets > 0
    items = {item.key: item for item in work_items(build_up, wall)}
    counted = sum(
        i.quantities[0].amount for k, i in items.items() if k in ("hollow-spaces", "weight-pockets")
    )
    assert counted == pockets
    plan = plan_wall(build_up, wall, Survey(house=HOUSE, walls=(wall,)), CATALOG, PRICES)
    ids = [step.id for step in plan.steps]
    assert ids.index("hollow-spaces") < ids.index("spray")
    found = price(takeoff(build_up, wall, CATALOG, PRICES), PRICES)
    assert {"pocket_fill:pocket", "labour:pocket"} <= {p.quantity.key for p in found.lines}


def test_the_twenty_two_pockets_of_the_demonstrations_front() -> None:
    """Counted by hand on its drawing, and the boxes of sash weights by volume.

    Ten hollows in the two corner posts (five spaces each, between braces, ribbon and plates), one
    behind the partition, three gaps too narrow to spray, and a box at either side of four windows.
    A box is 2-1/4 in wide and as deep as the studs (3-5/8 in); two windows are 5 ft 2 in high, two
    4 ft 6 in: 2 x 2 x (62 + 54) x 2.25 x 3.625 = 3,785 in3, 62.0 L.
    """
    survey = read(survey_text())
    catalog = CATALOG.at(survey.house.climate)
    wall = next(w for w in survey.walls if w.name == "north front")
    frame = frame_wall(wall, survey.house, catalog.lumber)
    assert len(frame.pockets) == 22
    wanted = Wanted(kind="closed-cell", only=True)
    option = offered(wall, survey.house, catalog, [wanted], survey.hazards)[-1]
    build_up = apply(option, wall, frame, catalog, survey.hazards)
    lines = takeoff(build_up, wall, catalog, PRICES)
    by_key = {line.key: line for line in lines}
    assert by_key["weight_pocket"].amount == 8
    assert by_key["pocket"].amount == 14
    boxes = 2 * 2 * (62 + 54) * 2.25 * 3.625 * INCH**3 * 1000
    assert by_key["pocket_fill:weight_pocket"].amount == pytest.approx(boxes, rel=0.01)
    # filler and hours of both, by the rows of the price list: 0.90 a litre, 62 an hour
    found = price(lines, PRICES)
    paid = {line.quantity.key: float(line.total) for line in found.lines}
    assert paid["pocket_fill:weight_pocket"] == pytest.approx(boxes * 0.90, rel=0.01)
    assert paid["labour:weight_pocket"] == pytest.approx(8 * 0.75 * 62, abs=0.01)
    assert paid["labour:pocket"] == pytest.approx(14 * 0.45 * 62, abs=0.01)
    assert found.missing == ()
    plan = plan_wall(build_up, wall, survey, catalog, PRICES)
    ids = [step.id for step in plan.steps]
    for id in ("weight-pockets", "hollow-spaces"):
        place = ids.index(id)
        assert ids.index("strip") < place < min(ids.index("seal-joints"), ids.index("spray"))
        assert "photo" in plan.steps[place].gate.asks
        assert plan.time.by_step[id] > 0


def test_findings_carry_the_keys_of_their_works() -> None:
    wall = BALLOON.model_copy(update={"corner_left": "three-stud"})
    build_up = built(wall)
    climate = CATALOG.climate(CLIMATE)
    found = (
        *legal(CATALOG.packs_for(climate), build_up, climate, catalog=CATALOG, wall=wall,
               house=HOUSE),
        *safe((), wall, build_up, None, CATALOG, HOUSE),
    )  # fmt: skip
    told = carried(found, work_items(build_up, wall))
    works = {finding.key: finding.works for finding in told}
    assert works["gate_hollow_pockets"] == ("hollow-spaces",)
    blocks = [keys for key, keys in works.items() if key.endswith("fireblock")]
    assert blocks
    assert all("fire-blocks" in keys for keys in blocks)
    # words second: who says "block" or "hollow" carries a work
    for finding in told:
        words = f"{finding.change}".lower()
        if "lumber blocks" in words or "hollow" in words:
            assert finding.works, finding.key


def test_every_work_has_hours_goods_and_words() -> None:
    assert len({work.key for work in WORKS}) == len(WORKS)
    for work in WORKS:
        for task in work.tasks:
            rate = PRICES.rate(task.key)
            assert rate is not None
            assert rate.unit == f"h/{task.unit}"
        assert all(PRICES.row(group) is not None for group in work.bought)
        assert work.accepted
        assert work.warranty
