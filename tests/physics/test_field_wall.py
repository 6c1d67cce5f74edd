"""The field of a framed wall with an option applied."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from warmside.catalog import load
from warmside.errors import InputError
from warmside.framing import frame_wall
from warmside.options import BuildUp, apply, offered
from warmside.physics.assembly import Assembly
from warmside.physics.conduction import ISO_FILMS, _field_wall, combined, resistances, wall_field
from warmside.physics.conduction._slivers import without_slivers
from warmside.survey import AsFound, Brace, FoundLayer, House, Opening, Wall

CATALOG = load()
HOUSE = House(name="h", climate="north-bay", year_built=1931, volume=300)
FOUND = AsFound(
    finish=(FoundLayer(material="plaster-on-wood-lath"),),
    sheathing=(FoundLayer(material="board-sheathing"),),
    paper="building-paper",
    cladding=FoundLayer(material="wood-bevel-siding"),
)
WALL = Wall(
    name="kitchen", year_built=1964, faces=90, frame="platform", length=3.6, height=2.44,
    found=FOUND, header="doubled",
    openings=(Opening(name="window", left=1.0, sill=0.9, width=0.9, height=1.2),),
)  # fmt: skip
CELLS = 40_000


@pytest.fixture(scope="module")
def built() -> dict[str, BuildUp]:
    frame = frame_wall(WALL, HOUSE, CATALOG.lumber)
    return {o.id: apply(o, WALL, frame, CATALOG) for o in offered(WALL, HOUSE, CATALOG)}


def _foam(built: dict[str, BuildUp]) -> BuildUp:
    return next(b for b in built.values() if b.option.kind.name == "closed-cell" and b.can_be_built)


def test_every_option_in_both_states(built: dict[str, BuildUp]):
    for buildup in built.values():
        for state in ("closed", "open bays"):
            wall = wall_field(buildup.assembly, state=state, cells=15_000)
            assert wall.field.closure <= 1e-8, (buildup.option.id, state)
            assert max(wall.field.iterations) <= 15
            assert_allclose(sum(k.share for k in wall.by_kind), 1.0, rtol=0, atol=1e-9)  # exact
            assert_allclose(sum(k.flow for k in wall.by_kind), wall.coupling, rtol=1e-6, atol=0)


def test_full_bays_lie_between_the_simple_limits(built: dict[str, BuildUp]):
    # ISO 6946: without fins (bays full, closed) the parallel and isothermal limits bracket
    for name in ("batt-poly", "cc-full", "oc-full"):
        buildup = built[name]
        simple = combined(buildup.stacks, ISO_FILMS)
        wall = wall_field(buildup.assembly, cells=CELLS)
        assert simple.lower < wall.resistance < simple.upper


def test_the_middle_of_a_bay_is_the_straight_path(built: dict[str, BuildUp]):
    buildup = built["cc-full"]
    wall = wall_field(buildup.assembly, cells=CELLS)
    stack = max((s for s in buildup.stacks if s.kind == "bay"), key=lambda s: s.area)
    straight = 0.13 / (sum(resistances(stack)) + 0.13 + 0.04)  # exact far from framing
    bay = max((b for b in buildup.frame.bays if b.kind == "stud bay"), key=lambda b: b.rect.area)
    seen = wall.room_surface
    i = np.searchsorted(seen.u, 0.5 * (bay.rect.x0 + bay.rect.x1))
    k = np.searchsorted(seen.v, 0.5 * (bay.rect.z0 + bay.rect.z1))
    room = wall.field.environments.index("room")
    assert_allclose(1.0 - seen.factor[room, i, k], straight, rtol=0.02, atol=0)
    assert wall.kind_at(seen.u[i], seen.v[k]) == "bay"
    assert wall.kind_at(1.4, 1.5) is None  # the window
    assert wall.kind_at(99.0, 1.5) is None


def test_the_window_is_left_out(built: dict[str, BuildUp]):
    wall = wall_field(_foam(built).assembly, cells=CELLS)
    seen = wall.room_surface
    area = np.outer(np.diff(seen.u), np.diff(seen.v))[seen.seen].sum()
    assert_allclose(area, _foam(built).frame.net_area, rtol=1e-9, atol=0)  # geometry
    assert_allclose(wall.resistance * wall.coupling, wall.net_area, rtol=1e-12, atol=0)


def test_framing_loses_more_than_foamed_bays(built: dict[str, BuildUp]):
    # common practice, no source: with foam in the bays the wood is the weak part
    wall = wall_field(built["cc-full"].assembly, cells=CELLS)
    per_area = {k.kind: k.flow / k.area for k in wall.by_kind}
    assert min(per_area["stud"], per_area["plate"]) > 1.5 * per_area["bay"]
    assert {k.kind: k.excess for k in wall.by_kind}["stud"] > 0.0


def test_open_bays_lose_what_the_finish_held_back(built: dict[str, BuildUp]):
    buildup = _foam(built)
    closed = wall_field(buildup.assembly, cells=CELLS)
    opened = wall_field(buildup.assembly, state="open bays", cells=CELLS)
    assert opened.resistance < closed.resistance
    foam = opened.room_surface
    bay = opened.kind == opened.kinds.index("bay")
    assert np.median(foam.depth[bay]) > 0.02  # the foam face, behind the stud face


def test_refuses_another_state(built: dict[str, BuildUp]):
    with pytest.raises(InputError, match="closed or open bays"):
        wall_field(_foam(built).assembly, state="half", cells=CELLS)  # type: ignore[arg-type]


# lines that nearly meet


def _braced(to_x: float = 3.1) -> BuildUp:
    """A wall whose brace steps fall a millimetre or two beside other lines."""
    brace = Brace(from_x=0.1, from_z=0.05, to_x=to_x, to_z=2.4)
    wall = WALL.model_copy(update={"openings": (), "braces": (brace,)})
    frame = frame_wall(wall, HOUSE, CATALOG.lumber)
    option = next(o for o in offered(wall, HOUSE, CATALOG) if o.kind.name == "closed-cell")
    return apply(option, wall, frame, CATALOG)


def _narrowest(assembly: Assembly) -> float:
    rects = [rect for places in assembly.regions.values() for rect in places]
    sides = ([v for r in rects for v in (r.x0, r.x1)], [v for r in rects for v in (r.z0, r.z1)])
    gaps = np.concatenate([np.diff(np.unique(np.round(side, 9))) for side in sides])
    return float(gaps.min())


def test_brace_steps_beside_other_lines_make_no_slivers():
    braced = _braced().assembly
    snapped = without_slivers(braced)
    assert _narrowest(braced) < 0.003 <= _narrowest(snapped)
    assert without_slivers(snapped) is snapped
    # exact: what is moved is moved from one region to the next, none lost or doubled
    regions = sum(snapped.area_by_kind.values())
    assert_allclose(regions, braced.net_area, rtol=1e-9, atol=0)
    stacks = sum(rect.area for stack in snapped.stacks for rect in stack.rects)
    assert_allclose(stacks, braced.net_area, rtol=1e-9, atol=0)
    for kind, area in braced.area_by_kind.items():
        assert_allclose(snapped.area_by_kind[kind], area, rtol=0.01, atol=0)  # own bound


def test_slivers_change_neither_heat_nor_the_coldest_spot(monkeypatch: pytest.MonkeyPatch):
    buildup = _braced()
    snapped = wall_field(buildup.assembly, cells=CELLS)
    assert max(snapped.field.iterations) <= 15
    assert snapped.field.closure <= 1e-8
    monkeypatch.setattr(_field_wall, "without_slivers", lambda assembly: assembly)
    true = wall_field(buildup.assembly, cells=CELLS)  # other geometry: every step where it is
    assert_allclose(snapped.coupling, true.coupling, rtol=1e-3, atol=0)
    coldest = [wall.coldest(1.0, 0.0).temperature for wall in (snapped, true)]
    assert_allclose(coldest[0], coldest[1], rtol=0, atol=0.002)


def test_a_wall_without_slivers_stays_as_it_is(built: dict[str, BuildUp]):
    assert without_slivers(_foam(built).assembly) is _foam(built).assembly
