"""Warm and dry, each with a wall just inside and just outside the limit."""

from __future__ import annotations

import pytest

from warmside.catalog import load
from warmside.framing import frame_wall
from warmside.options import apply, offered
from warmside.physics.conduction import resistances
from warmside.promises import (
    Outside,
    Room,
    dry,
    factor_needed,
    found_wet,
    least_under_batts,
    outside_of,
    warm,
    wet_evidence,
)
from warmside.survey import AsFound, FoundLayer, Hazard, House, Reading, Wall

HOUSE = House(name="h", climate="ottawa", year_built=1950, volume=300.0)
WALL = Wall(
    name="w",
    faces=0.0,
    frame="platform",
    length=3.6,
    height=2.44,
    found=AsFound(
        finish=(FoundLayer(material="latex-paint"), FoundLayer(material="gypsum-board")),
        sheathing=(FoundLayer(material="board-sheathing"),),
        paper="building-paper",
        cladding=FoundLayer(material="wood-bevel-siding"),
    ),
)
OTTAWA = Outside(load().climates["ottawa"], -25.0)


def build_up(id: str):
    catalog = load()
    frame = frame_wall(WALL, HOUSE, catalog.lumber)
    option = next(o for o in offered(WALL, HOUSE, catalog) if o.id == id)
    return apply(option, WALL, frame, catalog)


@pytest.mark.parametrize(
    ("humidity", "surface", "factor"),
    [(0.30, 5.96, 0.633), (0.35, 8.21, 0.688), (0.40, 10.19, 0.736), (0.50, 13.57, 0.819)],
)
def test_temperature_factor_needed(humidity, surface, factor):
    """Computed in the reference notes with psychrolib: 21 degC room, -20 degC outside."""
    needed = factor_needed(Room(21.0, humidity), -20.0)
    assert needed == pytest.approx(factor, abs=0.003)
    assert -20 + needed * 41 == pytest.approx(surface, abs=0.12)


def test_dew_point_of_the_room():
    """Computed in the reference notes: 21 degC, 35 % -> 4.97 degC."""
    assert Room(21.0, 0.35).dew_point == pytest.approx(4.97, abs=0.08)


def verdicts(findings) -> dict[str, str]:
    return {f.key: f.verdict for f in findings}


def test_mould_verdict_turns_where_the_factor_does():
    """A room just dry enough and just too humid for the coldest path of the wall as found."""
    found = build_up("leave")
    factor = warm(found, Room(21.0, 0.3), OTTAWA).coldest.factor
    humid = [h / 1000 for h in range(200, 700)]
    edge = next(h for h in humid if factor_needed(Room(21.0, h), OTTAWA.coldest_month) > factor)
    below, above = (warm(found, Room(21.0, h), OTTAWA) for h in (edge - 0.005, edge + 0.005))
    assert verdicts(below.findings)["surface_factor"] == "holds"
    assert verdicts(above.findings)["surface_factor"] == "falls short"


def test_open_cell_without_vapour_control_gathers_water_and_closed_cell_hardly():
    """Tradition of the trade, common practice, no source: half-pound foam needs a retarder in the
    cold, two-pound foam does not."""
    room = Room(21.0, 0.40)
    wet, tight = (dry(build_up(id), room, OTTAWA) for id in ("oc-full", "cc-76"))
    assert wet.worst.peak > 0.2
    assert tight.worst.peak == pytest.approx(0.0, abs=0.05)


def test_limit_of_condensate_is_two_sided():
    """DIN 4108-3 (from memory): 1.0 kg/m2; a damper room passes it, a drier one does not."""
    results = [dry(build_up("oc-full"), Room(21.0, h), OTTAWA) for h in (0.25, 0.70)]
    assert [verdicts(r.findings)["condensate_peak_kg_m2"] for r in results] == [
        "holds",
        "falls short",
    ]


def test_design_temperature_of_the_survey_goes_first():
    assert outside_of(HOUSE, OTTAWA.climate).design == pytest.approx(-25.0, abs=0)
    own = HOUSE.model_copy(update={"design_temperature": -31.0})
    assert outside_of(own, OTTAWA.climate).design == pytest.approx(-31.0, abs=0)


WET_ROWS = [
    # common practice: wood is covered at 19 % or less and can rot above 26 %; found rot is rot
    ({"readings": (Reading(where="sill", moisture=0.17),)}, (), None, None),
    ({"readings": (Reading(where="sill", moisture=0.22),)}, (), "falls short", "needs a person"),
    ({"readings": (Reading(where="sill", moisture=0.31),)}, (), "falls short", "needs a person"),
    ({}, (Hazard(kind="rot", where="plate", wall="w", state="found"),), "falls short",
     "needs a person"),
    ({}, (Hazard(kind="rot", where="plate", wall="other", state="found"),), None, None),
    ({}, (Hazard(kind="rot", where="plate", state="cleared", cleared_by="a carpenter"),), None,
     None),
]  # fmt: skip


WET_KEYS = ("found_wet", "wood_found", "rot_found", "water_found", "fill_found")


@pytest.mark.parametrize(("change", "hazards", "left", "worked"), WET_ROWS)
def test_what_was_read_or_seen_overrules_the_sum(change, hazards, left, worked):
    wall, catalog = WALL.model_copy(update=change), load()
    frame = frame_wall(wall, HOUSE, catalog.lumber)
    for option, expected in zip(
        [o for o in offered(wall, HOUSE, catalog) if o.id in ("leave", "cc-51")],
        (left, worked), strict=True,
    ):  # fmt: skip
        built = apply(option, wall, frame, catalog)
        found = dry(built, Room(21.0, 0.2), OTTAWA, found_wet(wall, hazards))
        noted = wet_evidence(wall, hazards, built, catalog)
        told = [f.verdict for f in (*found.findings, *noted) if f.key.endswith(WET_KEYS)]
        assert told[:1] == ([expected] if expected else [])


@pytest.mark.parametrize(("humidity", "outside"), [(0.35, OTTAWA), (0.25, OTTAWA), (0.45, OTTAWA)])
def test_the_least_foam_under_batts_by_hand(humidity, outside):
    """By hand: the face at the dew point of the room, films 0.13 and 0.04, resistances in a row."""
    wall, catalog = WALL, load()
    frame, room = frame_wall(wall, HOUSE, catalog.lumber), Room(21.0, humidity)
    option = next(o for o in offered(wall, HOUSE, catalog) if o.foam and o.fill)
    built = apply(option, wall, frame, catalog)
    least = least_under_batts(built, room, outside)
    bay = max((s for s in built.stacks if s.kind == "bay"), key=lambda s: s.area)
    parts = {layer.role: r for layer, r in zip(bay.layers, resistances(bay), strict=True)}
    foam = next(layer for layer in bay.layers if layer.role == "foam")
    fill = next(layer for layer in bay.layers if layer.role == "fill")
    depth = foam.thickness + fill.thickness
    fixed = sum(r for role, r in parts.items() if role not in ("foam", "fill")) + 0.13 + 0.04
    inside = 0.13 + sum(r for role, r in parts.items() if role in ("finish", "vapour control"))
    share = (21.0 - room.dew_point) / (21.0 - outside.coldest_month)  # of R inside the face

    def wanting(t: float) -> float:
        batt, spray = (depth - t) / fill.conductivity, t / foam.conductivity
        return inside + batt - share * (fixed + batt + spray)

    # a straight line in t: its root by two points
    root = -wanting(0.0) * depth / (wanting(depth) - wanting(0.0))
    if least is not None and least > 0.005:
        assert least == pytest.approx(root, abs=2e-3)
    told = {f.key: f for f in dry(built, room, outside).findings}["foam_under_batts_m"]
    assert (told.verdict == "holds") == (least is not None and option.thickness >= least - 1e-4)


def test_more_humid_or_colder_asks_for_more_foam_under_batts():
    wall, catalog = WALL, load()
    frame = frame_wall(wall, HOUSE, catalog.lumber)
    option = next(o for o in offered(wall, HOUSE, catalog) if o.foam and o.fill)
    built = apply(option, wall, frame, catalog)
    mild = outside_of(HOUSE, catalog.climate("vancouver"))
    by_humidity = [
        least_under_batts(built, Room(21.0, h), OTTAWA) or 1.0 for h in (0.2, 0.3, 0.4, 0.5)
    ]
    assert by_humidity == sorted(by_humidity)
    assert by_humidity[0] < by_humidity[-1]
    colder = least_under_batts(built, Room(21.0, 0.4), OTTAWA) or 1.0
    assert least_under_batts(built, Room(21.0, 0.4), mild) < colder
