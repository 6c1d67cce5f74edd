"""Random houses: what they cost is what their works cost; every work has its step, every step its
hours; nothing stands before its gate; and nothing that a finding asks for is nobody's work.

No figure of a source is needed here: these are sums and orders, which hold for any house.
"""

from __future__ import annotations

import re
from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from warmside.catalog import load
from warmside.errors import InputError
from warmside.estimate import combine, default_prices, price, takeoff
from warmside.framing import frame_wall
from warmside.options import KINDS, BuildUp, apply, offered
from warmside.promises import carried, legal, safe, with_presumed
from warmside.site import plan_wall
from warmside.survey import (
    AsFound,
    Box,
    FoundLayer,
    Hazard,
    House,
    Opening,
    Pipe,
    Reading,
    Survey,
    Wall,
    Wanted,
)
from warmside.works import HOUSE_WORKS, WORKS, work_items

CATALOG, PRICES = load(), default_prices()
PLACES = list(CATALOG.climates)
INCH, FOOT = 0.0254, 0.3048
# what fails is a whole house: making it smaller takes longer than reading it
SLOW = settings(
    max_examples=25, deadline=None, suppress_health_check=list(HealthCheck),
    phases=(Phase.explicit, Phase.reuse, Phase.generate),
)  # fmt: skip
KIND_NAMES = sorted(name for name, kind in KINDS.items() if kind.worked)


@st.composite
def surveys(draw: st.DrawFn) -> Survey:
    """A house of one or two walls: any frame, openings, boxes, pipes, hazards, plans."""
    year = draw(st.sampled_from((1905, 1931, 1948, 1962, 1979, 1995)))
    walls = tuple(_wall(draw, name) for name in ("north", "south")[: draw(st.integers(1, 2))])
    kinds = draw(st.lists(st.sampled_from(sorted(CATALOG.hazards)), max_size=4, unique=True))
    # noted of one wall, missing blocks could contradict what that wall says of its own
    places = {kind: (None,) if kind == "missing fire blocks" else (None, "north") for kind in kinds}
    hazards = tuple(
        Hazard(kind=kind, where="here", state=draw(st.sampled_from(("suspected", "found"))),
               wall=draw(st.sampled_from(places[kind])))
        for kind in kinds
    )  # fmt: skip
    climate = draw(st.sampled_from(PLACES))
    house = House(name="h", climate=climate, year_built=year, volume=300.0)
    return with_presumed(Survey(house=house, walls=walls, hazards=hazards), CATALOG.at(climate))


def _wall(draw: st.DrawFn, name: str) -> Wall:
    balloon = draw(st.booleans())
    length = draw(st.integers(10, 24)) * FOOT
    openings = (
        Opening(name="w", left=3.5 * FOOT, sill=3 * FOOT, width=3 * FOOT, height=4 * FOOT,
                weight_pockets=draw(st.booleans())),
    ) if draw(st.booleans()) else ()  # fmt: skip
    pipes = (Pipe(kind=draw(st.sampled_from(("water", "vent", "gas"))), x=2.2 * FOOT,
                  run="vertical"),) if draw(st.booleans()) else ()  # fmt: skip
    return Wall(
        name=name, faces=0.0, frame="balloon" if balloon else "platform", length=length,
        height=(17 if balloon else 8) * FOOT, stud_width=1.5 * INCH, stud_depth=3.5 * INCH,
        corner_left=draw(st.sampled_from(("three-stud", "two-stud", "none"))),
        floor_line=8.5 * FOOT if balloon else None,
        fire_blocks=draw(st.sampled_from(("present", "missing", "unknown"))),
        openings=openings, pipes=pipes,
        boxes=(Box(x=1.2 * FOOT, z=1.2 * FOOT),) if draw(st.booleans()) else (),
        radiators=draw(st.integers(0, 1)), baseboard_heaters=draw(st.integers(0, 1)),
        readings=(Reading(where="plate", moisture=0.15),) if draw(st.booleans()) else (),
        found=AsFound(
            finish=(FoundLayer(material="plaster-on-wood-lath"),),
            fill=draw(st.sampled_from((None, "mineral-wool-batt"))),
            sheathing=(FoundLayer(material="board-sheathing"),),
            paper="asphalt-felt",
            cladding=FoundLayer(material=draw(
                st.sampled_from(("wood-bevel-siding", "vinyl-siding")))),
            finish_plan=draw(st.sampled_from(("open", "off anyway"))),
        ),
    )  # fmt: skip


def built(survey: Survey, wall: Wall, kind: str) -> BuildUp | None:
    """The option of a kind, None where it cannot be built."""
    catalog = CATALOG.at(survey.house.climate)
    frame = frame_wall(wall, survey.house, catalog.lumber)
    option = offered(wall, survey.house, catalog, [Wanted(kind=kind, only=True)])[-1]
    found = apply(option, wall, frame, catalog, survey.hazards)
    return found if found.can_be_built and found.option.kind.worked else None


@SLOW
@given(survey=surveys(), kind=st.sampled_from(KIND_NAMES))
def test_works_add_up_to_the_price_and_stand_in_order(survey: Survey, kind: str) -> None:
    catalog = CATALOG.at(survey.house.climate)
    parts = []
    for wall in survey.walls:
        build_up = built(survey, wall, kind)
        if build_up is None:
            continue
        plan = plan_wall(build_up, wall, survey, catalog, PRICES)
        lines = takeoff(build_up, wall, catalog, PRICES)
        found = price(lines, PRICES)
        parts.append(found)
        items = work_items(build_up, wall)
        ids = [step.id for step in plan.steps]
        assert len(set(ids)) == len(ids)  # no step twice: no circle in the order
        # every priced line belongs to a step that the crew does
        assert {line.quantity.step for line in found.lines} - set(ids) == set()
        for item in items:
            assert item.step.id in ids
            _after_its_gates(ids, item)
        # every step that costs time has hours; the others say why they have none
        for step in plan.steps:
            timed = plan.time.by_step.get(step.id, 0.0) > 0
            assert timed or step.untimed, step.id
        assert sum(plan.time.by_step.values()) == pytest.approx(
            sum(q.amount for q in lines if q.group == "labour" and q.unit == "h"),
            rel=1e-9, abs=1e-12,
        )  # fmt: skip
        assert sum(found.by_step.values(), Decimal(0)) == found.cost
        _adds_up(found)
    house = combine(parts, PRICES)
    _adds_up(house)
    assert sum(house.by_step.values(), Decimal(0)) == house.cost
    of_house = {line.quantity.step for line in house.lines} - {
        line.quantity.step for part in parts for line in part.lines
    }
    assert of_house <= {work.key for work in HOUSE_WORKS}


def test_what_a_licensed_firm_takes_out_has_no_hours_of_the_crew() -> None:
    """Asbestos that was found is not sampled again: its firm makes its own offer."""
    wall = Wall(
        name="north", faces=0.0, frame="platform", length=3.6, height=2.4,
        found=AsFound(finish=(FoundLayer(material="plaster-on-wood-lath"),),
                      sheathing=(FoundLayer(material="board-sheathing"),),
                      cladding=FoundLayer(material="wood-bevel-siding")),
    )  # fmt: skip
    house = House(name="h", climate="winnipeg", year_built=1995, volume=300.0)
    for state, sampled in (("found", False), ("suspected", True)):
        hazard = Hazard(kind="asbestos", where="here", state=state)
        survey = Survey(house=house, walls=(wall,), hazards=(hazard,))
        build_up = built(survey, wall, "from outside")
        assert build_up is not None
        plan = plan_wall(build_up, wall, survey, CATALOG.at("winnipeg"), PRICES)
        (step,) = (step for step in plan.steps if step.id == "clear-hazards")
        hours = plan.time.by_step.get("clear-hazards", 0.0)
        assert (hours > 0.0, bool(step.untimed)) == (sampled, not sampled), state


def _after_its_gates(ids: list[str], item) -> None:
    if item.hosted:
        return
    place = ids.index(item.step.id)
    assert all(ids.index(step) < place for step in item.after if step in ids)
    assert all(ids.index(step) > place for step in item.before if step in ids)
    assert ids.index("make-safe") < ids.index("clear-hazards") < place < ids.index("clear-up")


def _adds_up(found) -> None:
    taxes = sum((amount for _, amount in found.taxes), Decimal(0))
    assert sum((line.total for line in found.lines), Decimal(0)) == found.cost
    assert found.total == (
        found.cost + found.margin + found.subcontract - found.reduction + found.top_up + taxes
    )


# Findings that ask for another choice, not for work on this one; for each its reason.
CHOICES = {
    "energy": "a thicker or another option", "energy-new": "another option",
    "energy-hrv": "another option", "energy-alt": "another option",
    "vb-material": "another option", "vb-position": "another option",
    "low-perm-ratio": "another option", "vr-class": "another option", "class3": "another option",
    "class2-board": "another option", "spf-as-ci": "another option",
    "air-barrier": "another option", "foam-standard": "another foam",
    "foam-burning": "another foam", "egress": "another window, of the client's choice",
    "lot-line": "a drawing, where it is asked for",
}  # fmt: skip
# verbs with which a finding asks for work
VERBS = re.compile(
    r"\b(open|fill|fit|seal|move|mend|dry the|trace|contain|test it|add the|cover it|measure|"
    r"read the|keep the|isolate|lead paint|blocks?)\b", re.I,
)  # fmt: skip


@SLOW
@given(survey=surveys(), kind=st.sampled_from(KIND_NAMES))
def test_what_a_finding_asks_for_is_a_work_by_key_and_by_word(survey: Survey, kind: str) -> None:
    catalog = CATALOG.at(survey.house.climate)
    climate = catalog.climate(survey.house.climate)
    for wall in survey.walls:
        build_up = built(survey, wall, kind)
        if build_up is None:
            continue
        foam = catalog.foam(build_up.option.foam) if build_up.option.foam else None
        found = (
            *legal(catalog.packs_for(climate), build_up, climate, catalog=catalog, wall=wall,
                   house=survey.house, hazards=survey.hazards),
            *safe(survey.hazards, wall, build_up, foam, catalog, survey.house),
        )  # fmt: skip
        for finding in carried(found, work_items(build_up, wall)):
            open_ = finding.verdict in ("falls short", "needs a person")
            short = finding.key.rpartition(".")[2]
            if not open_ or short in CHOICES:
                continue
            told = f"{finding.key}: {finding.change}"
            if finding.promise == "safe":
                assert finding.works, told
            if VERBS.search(f"{finding.change}"):
                assert finding.works, told


def test_every_hazard_of_the_catalog_is_somebodys_work() -> None:
    causes = {cause for work in (*WORKS, *HOUSE_WORKS) for cause in work.causes}
    for kind in CATALOG.hazards:
        assert f"hazard_{kind.replace(' ', '_').replace('-', '_')}" in causes, kind
    # and no work waits for a clause that is not there
    clauses = {
        f"{pack.id}:{clause.id}" for pack in CATALOG.packs.values() for clause in pack.clauses
    }
    assert {cause for cause in causes if ":" in cause} <= clauses


def test_a_hazard_of_the_users_own_is_looked_into_all_the_same() -> None:
    wall = Wall(name="w", faces=0.0, frame="platform", length=3.6, height=2.4,
                found=AsFound(finish=(FoundLayer(material="gypsum-board"),),
                              sheathing=(FoundLayer(material="board-sheathing"),)))  # fmt: skip
    house = House(name="h", climate="winnipeg", year_built=2005, volume=300.0)
    frame = frame_wall(wall, house, CATALOG.lumber)
    option = offered(wall, house, CATALOG, [Wanted(kind="closed-cell", only=True)])[-1]
    bees = Hazard(kind="bees in the wall", where="top plate", wall="w")
    build_up = apply(option, wall, frame, CATALOG, (bees,))
    looked = [i for i in work_items(build_up, wall) if "bees" in " ".join(map(str, i.step.do))]
    assert [item.key for item in looked] == ["looked-into"]
    elsewhere = apply(option, wall, frame, CATALOG, (bees.model_copy(update={"wall": "other"}),))
    assert "looked-into" not in {item.key for item in work_items(elsewhere, wall)}


def test_a_missing_price_marks_the_option_as_unpriced() -> None:
    wall = Wall(name="w", faces=0.0, frame="platform", length=3.6, height=2.4,
                found=AsFound(finish=(FoundLayer(material="gypsum-board"),),
                              sheathing=(FoundLayer(material="board-sheathing"),)))  # fmt: skip
    house = House(name="h", climate="winnipeg", year_built=2005, volume=300.0)
    survey = Survey(house=house, walls=(wall,))
    build_up = built(survey, wall, "closed-cell")
    assert build_up is not None
    lines = takeoff(build_up, wall, CATALOG, PRICES)
    assert not price(lines, PRICES).unpriced
    less = replace(PRICES, rows=tuple(r for r in PRICES.rows if r.key != "primer"))
    found = price(lines, less)
    assert found.unpriced
    assert found.missing == ("primer: no price row",)
    assert combine((found,), less).unpriced


def test_an_option_without_room_for_a_work_is_an_error() -> None:
    from warmside.options import Gate, Step
    from warmside.works import placed

    wall = Wall(name="w", faces=0.0, frame="platform", length=3.6, height=2.4,
                found=AsFound(finish=(FoundLayer(material="gypsum-board"),),
                              sheathing=(FoundLayer(material="board-sheathing"),)))  # fmt: skip
    survey = Survey(
        house=House(name="h", climate="winnipeg", year_built=2005, volume=300.0), walls=(wall,)
    )
    build_up = built(survey, wall, "closed-cell")
    assert build_up is not None
    items = work_items(build_up, wall)
    gate = Gate("crew lead", "")
    with pytest.raises(ValueError, match="no step 'make-safe'"):
        placed((Step("spray", "", (), gate),), items)
    trim = [item for item in items if item.key == "trim-off"]
    wrong = tuple(Step(id, "", (), gate) for id in ("strip", "make-safe"))
    with pytest.raises(ValueError, match="no room for 'trim-off'"):
        placed(wrong, trim)


def test_no_walls_cost_nothing() -> None:
    assert combine((), PRICES).total == 0
    with pytest.raises(InputError):
        combine((replace(combine((), PRICES), currency="USD"),), PRICES)
