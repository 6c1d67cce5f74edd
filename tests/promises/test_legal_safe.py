"""Each rule with a wall just inside and just outside its limit; hazards stop work."""

from __future__ import annotations

from dataclasses import replace

import pytest

from warmside.catalog import load
from warmside.framing import frame_wall
from warmside.options import apply, offered
from warmside.promises import safe
from warmside.survey import (
    AsFound,
    Box,
    FoundLayer,
    Hazard,
    House,
    Pipe,
    Reading,
    Wall,
    Wanted,
)

CATALOG = load()
HOUSE = House(name="h", climate="ottawa", year_built=1950, volume=300.0)
WALL = Wall(
    name="w",
    faces=0.0,
    frame="platform",
    length=3.6,
    height=2.44,
    found=AsFound(
        finish=(FoundLayer(material="gypsum-board"),),
        sheathing=(FoundLayer(material="board-sheathing"),),
        cladding=FoundLayer(material="wood-bevel-siding"),
    ),
)


def build_up(wanted: Wanted, wall: Wall = WALL):
    frame = frame_wall(wall, HOUSE, CATALOG.lumber)
    option = offered(wall, HOUSE, CATALOG, [wanted])[-1]
    return apply(option, wall, frame, CATALOG)


def foam(thickness: float, **more):
    return build_up(Wanted(kind="closed-cell", thickness=thickness, **more))


def test_bare_foam_falls_short():
    covered = foam(0.05)
    bare = replace(
        covered,
        stacks=tuple(
            replace(s, layers=tuple(x for x in s.layers if x.role != "finish"))
            for s in covered.stacks
        ),
    )
    row = CATALOG.foams["closed-cell"]
    cover = {f.key: f.verdict for f in safe((), WALL, bare, row, CATALOG)}
    assert cover["fire_cover"] == "falls short"
    assert {f.key: f.verdict for f in safe((), WALL, covered, row, CATALOG)}[
        "fire_cover"
    ] == "holds"


def test_a_wall_left_as_found_is_not_judged():
    frame = frame_wall(WALL, HOUSE, CATALOG.lumber)
    leave = apply(offered(WALL, HOUSE, CATALOG)[0], WALL, frame, CATALOG)
    assert safe((), WALL, leave, None, CATALOG) == ()


@pytest.mark.parametrize("state", ["suspected", "found", "cleared"])
def test_hazards_stop_work_until_cleared(state):
    hazard = Hazard(kind="vermiculite", where="north bays", wall="w", state=state,
                    cleared_by="a licensed firm" if state == "cleared" else "",
                    date="2026-05-04")  # fmt: skip
    finding = safe((hazard,), WALL, foam(0.05), CATALOG.foams["closed-cell"], CATALOG)[0]
    assert finding.verdict == ("holds" if state == "cleared" else "needs a person")
    assert "north bays" in finding.reason


def test_hazards_of_other_walls_stay_there():
    other = Hazard(kind="rot", where="sill", wall="another")
    keys = [f.key for f in safe((other,), WALL, foam(0.05), CATALOG.foams["closed-cell"], CATALOG)]
    assert "hazard_rot" not in keys


@pytest.mark.parametrize(("moisture", "verdict"), [(0.19, "holds"), (0.191, "falls short")])
def test_wood_is_covered_at_nineteen_percent(moisture, verdict):
    """Second-hand: wood below 19 % before it is covered."""
    wall = WALL.model_copy(update={"readings": (Reading(where="plate", moisture=moisture),)})
    findings = safe((), wall, foam(0.05), CATALOG.foams["closed-cell"], CATALOG)
    assert {f.key: f.verdict for f in findings}["wood_moisture_kg_kg"] == verdict


def test_time_before_occupancy_is_never_a_constant():
    """The built-in rows carry none: the listing must be read; a row that has one shows it."""
    row = CATALOG.foams["closed-cell"]
    none = next(f for f in safe((), WALL, foam(0.05), row, CATALOG) if f.key == "occupancy_wait_s")
    assert (none.figure, none.verdict) == (None, "needs a person")
    listed = replace(row, occupancy_wait=86400.0)
    shown = next(
        f for f in safe((), WALL, foam(0.05), listed, CATALOG) if f.key == "occupancy_wait_s"
    )
    assert shown.figure == pytest.approx(86400.0, abs=0)


def gates(wall=WALL, house=HOUSE, hazards=(), **more):
    built = build_up(Wanted(kind="closed-cell", thickness=0.05, **more), wall)
    return {
        f.key: f for f in safe(hazards, wall, built, CATALOG.foams["closed-cell"], CATALOG, house)
    }


@pytest.mark.parametrize(
    ("year", "share"),
    [
        (1939, "87 %"),
        (1940, "69 %"),
        (1959, "69 %"),
        (1960, "24 %"),
        (1977, "24 %"),
        (1978, "may hold"),
    ],
)
def test_lead_by_year(year, share):
    """Second-hand: EPA's shares by year built, before 1940, 1940-59, 1960-77."""
    house = HOUSE.model_copy(update={"year_built": year})
    assert share in gates(house=house)["gate_lead_area_m2"].reason


def test_no_lead_gate_from_1991_on_nor_on_a_small_place():
    """Second-hand: 1991 and later little lead (Health Canada); 6 ft2 a room (40 CFR 745)."""
    new = HOUSE.model_copy(update={"year_built": 1991})
    assert "gate_lead_area_m2" not in gates(house=new)
    finding = gates()["gate_lead_area_m2"]
    assert finding.limit == pytest.approx(6 * 0.3048**2, rel=1e-9)
    assert (finding.figure > finding.limit, finding.verdict) == (True, "needs a person")
    for area, verdict in ((0.55, "needs a person"), (0.57, "needs a person")):
        wall = WALL.model_copy(update={"length": 0.5, "height": area / 0.5, "corner_left": "none",
                                       "corner_right": "none"})  # fmt: skip
        assert gates(wall)["gate_lead_area_m2"].verdict == verdict


def test_lead_outside_begins_at_twenty_square_feet():
    """Second-hand: 40 CFR 745, 20 ft2 outside."""
    built = build_up(Wanted(kind="from outside"))
    found = {f.key: f for f in safe((), WALL, built, CATALOG.foams["closed-cell"], CATALOG, HOUSE)}
    assert found["gate_lead_area_m2"].limit == pytest.approx(20 * 0.3048**2, rel=1e-9)


def test_cleared_lead_is_cleared():
    cleared = Hazard(
        kind="lead paint",
        where="all",
        state="cleared",
        cleared_by="a laboratory",
        date="2026-05-04",
    )
    assert gates(hazards=(cleared,))["gate_lead_area_m2"].verdict == "holds"


@pytest.mark.parametrize(
    ("boxes", "pipes", "key", "who"),
    [
        ((Box(kind="recessed light", x=1.0, z=2.0),), (), "gate_recessed_light", "electrician"),
        ((Box(kind="panel", x=1.0, z=1.2),), (), "gate_panel", "electrician"),
        ((Box(kind="duct", x=1.0, z=0.3),), (), "gate_duct", "heating technician"),
        ((), (Pipe(kind="vent", x=1.0, z=1.0),), "gate_vent", "official"),
        ((), (Pipe(kind="gas", x=1.0, z=1.0),), "gate_gas", "gas fitter"),
    ],
)
def test_what_stands_in_the_wall_is_a_gate_with_who_clears_it(boxes, pipes, key, who):
    assert key not in gates()
    found = gates(WALL.model_copy(update={"boxes": boxes, "pipes": pipes}))[key]
    assert found.verdict == "needs a person"
    assert who in found.reason


def test_a_named_hazard_is_not_told_twice():
    wall = WALL.model_copy(update={"boxes": (Box(kind="recessed light", x=1.0, z=2.0),)})
    named = Hazard(kind="recessed light", where="hall", wall="w")
    found = gates(wall, hazards=(named,))
    assert "gate_recessed_light" not in found
    assert "hazard_recessed_light" in found


def test_hollow_spaces_are_counted_and_opened():
    built = build_up(Wanted(kind="closed-cell", thickness=0.05))
    found = gates().get("gate_hollow_pockets")
    assert (found.figure if found else 0) == len(built.frame.pockets)
    assert found is None or "contractor" in found.reason


def test_air_drawn_through_while_spraying():
    """Second-hand: CAN/ULC-S705.2, 0.3 air changes; 300 m3 give 25 L/s exactly."""
    assert gates()["work_air_m3_s"].figure == pytest.approx(0.025, rel=1e-12)
