"""Where a wall ends: outside corner, top under an attic, foot on a floor."""

from __future__ import annotations

import pytest
from numpy.testing import assert_allclose

from warmside.catalog import load
from warmside.framing import frame_wall
from warmside.geometry import Rect
from warmside.options import apply, offered
from warmside.physics.assembly import Assembly, Layer, Stack
from warmside.physics.conduction import (
    Body,
    End,
    Junction,
    Space,
    _junctions,
    corner_field,
    junction,
    section_resistance,
    solve_field,
    solved_wall,
)
from warmside.survey import AsFound, FoundLayer, House, Wall

CATALOG = load()
HOUSE = House(name="h", climate="north-bay", year_built=1964, volume=300)
FOUND = AsFound(
    finish=(FoundLayer(material="gypsum-board"),),
    sheathing=(FoundLayer(material="board-sheathing"),),
    paper="building-paper",
    cladding=FoundLayer(material="wood-bevel-siding"),
)
WALL = Wall(
    name="w", year_built=1964, faces=0, frame="platform", length=3.6, height=2.44, found=FOUND
)
ENDS: tuple[End, ...] = ("corner", "ceiling", "floor")
DEPTH, LAM = 0.12, 0.12


def _solid() -> Assembly:
    """A wall of softwood alone, no finish and no cover: sections by hand are a few boxes."""
    layer = Layer("wood", "wood", "wood", DEPTH, LAM, 1e-12, 1e-12, 450.0, 1600.0, 0.9)
    rect = Rect(0.0, 0.0, 3.0, 2.4)
    return Assembly((Stack("bay", rect.area, (layer,), (rect,)),), {"bay": (rect,)}, (rect,), (),
                    DEPTH)  # fmt: skip


def _framed(id: str) -> Assembly:
    frame = frame_wall(WALL, HOUSE, CATALOG.lumber)
    option = next(o for o in offered(WALL, HOUSE, CATALOG) if o.id == id)
    return apply(option, WALL, frame, CATALOG).assembly


U = 1.0 / (0.13 + DEPTH / LAM + 0.04)


def test_the_corner_of_a_solid_wall():
    # other method: the corner's own field, on one grid even in both directions
    found = junction(_solid(), "corner")
    arm = _junctions.ARM
    field = corner_field(_solid(), arm=arm, cells=60_000)
    whole = 2.0 * (found.psi + U * (arm + DEPTH))
    assert_allclose(whole, field.coupling[0, 1], rtol=2e-3, atol=0)
    assert_allclose(found.beyond, found.psi, rtol=0, atol=1e-6)  # exact: its field is U l


def test_the_ceiling_edge_of_a_solid_wall():
    # other method: the same section drawn upright, on an evenly fine grid
    (loft, fill), (lid, board), arm = _junctions.LOFT, _junctions.LID, _junctions.ARM + DEPTH
    bodies = [
        Body(0.0, DEPTH, 0.0, 1.0, -arm, 0.0, LAM),
        Body(-arm, 0.0, 0.0, 1.0, -lid, 0.0, board),
        Body(-arm, DEPTH, 0.0, 1.0, 0.0, loft, fill),
    ]
    spaces = [
        Space(-arm, 0.0, 0.0, 1.0, -arm, -lid, "room", (0.13, 0.13, 0.10)),
        Space(-arm, 9.0, 0.0, 1.0, 0.0, 9.0, "attic", (0.04, 0.04, 0.10)),
        Space(DEPTH, 9.0, 0.0, 1.0, -arm, 0.0, "outside", 0.04),
    ]
    field = solve_field(bodies, spaces, cells=60_000)
    lost = field.flows({"room": 1.0, "attic": 0.0, "outside": 0.0})["room"]
    found = junction(_solid(), "ceiling")
    over = arm / (0.10 + lid / board + loft / fill + 0.10)
    assert_allclose(found.psi, lost - over - U * arm, rtol=0, atol=0.002)


def test_the_floor_edge_of_a_solid_wall():
    # other method: as above, at an even grid, the air below half-way
    (boards, lam), arm = _junctions.BOARDS, _junctions.ARM + DEPTH
    below = boards + _junctions.JOIST
    bodies = [
        Body(0.0, DEPTH, 0.0, 1.0, 0.0, arm, LAM),
        Body(-arm, DEPTH, 0.0, 1.0, -boards, 0.0, lam),
        Body(DEPTH - _junctions.RIM, DEPTH, 0.0, 1.0, -below, -boards, 0.12),
    ]
    spaces = [
        Space(-arm, 0.0, 0.0, 1.0, 0.0, arm, "room", (0.13, 0.13, 0.17)),
        Space(-arm, DEPTH - _junctions.RIM, 0.0, 1.0, -below, -boards, "below", (0.13, 0.13, 0.17)),
        Space(DEPTH, 9.0, 0.0, 1.0, -below, arm, "outside", 0.04),
    ]
    field = solve_field(bodies, spaces, cells=60_000)
    lost = field.flows({"room": 1.0, "below": 0.5, "outside": 0.0})["room"]
    under = 0.5 * arm / (0.17 + boards / lam + 0.17)
    found = junction(_solid(), "floor")
    assert_allclose(found.psi, lost - under - U * arm, rtol=0, atol=0.002)


@pytest.fixture(scope="module")
def foamed() -> dict[End, Junction]:
    return {end: junction(_framed("cc-full"), end) for end in ENDS}


def test_psi_is_of_the_size_that_tables_give(foamed: dict[End, Junction]):
    # default and accredited values by inner lengths of a national table, SAP 2012 table K1 (from
    # memory): corner 0.18 and 0.09, eaves with insulation at the ceiling 0.24 and 0.06 W/(m K)
    assembly = _framed("cc-full")
    inner = assembly.depth + 0.0128
    u = 1.0 / (section_resistance(assembly).value)
    corner = 2.0 * (foamed["corner"].psi + u * inner)
    assert 0.045 < corner < 0.18
    assert 0.03 < foamed["ceiling"].psi < 0.24


def test_ends_are_colder_than_the_clear_wall(foamed: dict[End, Junction]):
    # a corner gives heat to two sides (ISO 10211, common practice); so do the other two edges
    heat = solved_wall(_framed("cc-full"), cells=20_000, tolerance=1e-5)
    bay = heat.place("bay")
    for found in foamed.values():
        assert 0.5 < found.factor < bay.lowest
        assert 0.0 < found.error < 0.0045


def test_longer_arms_change_nothing(monkeypatch: pytest.MonkeyPatch, foamed: dict[End, Junction]):
    monkeypatch.setattr(_junctions, "ARM", 1.6)
    for end, short in foamed.items():
        longer = junction(_framed("cc-full"), end)
        assert_allclose(longer.psi, short.psi, rtol=0, atol=0.003)
        assert_allclose(longer.factor, short.factor, rtol=0, atol=short.error)


def test_finer_grids_change_no_more_than_the_error(
    monkeypatch: pytest.MonkeyPatch, foamed: dict[End, Junction]
):
    monkeypatch.setattr(_junctions, "FIRST", 0.0015)
    monkeypatch.setattr(_junctions, "GROWTH", 0.12)
    for end, coarse in foamed.items():
        _junctions._heat.cache_clear()
        _junctions._lowest.cache_clear()
        fine = junction(_framed("cc-full"), end)
        assert_allclose(fine.factor, coarse.factor, rtol=0, atol=coarse.error + fine.error)
        assert_allclose(fine.psi, coarse.psi, rtol=0, atol=0.002)
    _junctions._heat.cache_clear()
    _junctions._lowest.cache_clear()


def test_lengths_of_the_ends(foamed: dict[End, Junction]):
    # geometry: two corners as high as the wall, a top and a foot as long as it
    assert_allclose(foamed["corner"].length, 2 * 2.44, rtol=1e-12, atol=0)
    assert_allclose([foamed[e].length for e in ("ceiling", "floor")], 3.6, rtol=1e-12, atol=0)


def test_a_wall_counts_its_ends():
    heat = solved_wall(_framed("cc-full"), cells=10_000, tolerance=1e-5, ends=ENDS)
    assert [j.end for j in heat.junctions] == list(ENDS)
    by_hand = sum(j.beyond * j.length for j in heat.junctions)
    assert_allclose(heat.beyond, by_hand, rtol=1e-12, atol=0)
