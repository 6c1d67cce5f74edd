"""Edges and corners of a wall: linear transmittances, reveals of openings, two walls, the rim."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from warmside.catalog import load
from warmside.errors import InputError
from warmside.framing import frame_wall
from warmside.options import BuildUp, apply, offered
from warmside.physics.conduction import (
    Body,
    Films,
    Reveal,
    Space,
    corner_field,
    linear_transmittance,
    solve_field,
    wall_field,
    wall_heat,
)
from warmside.survey import AsFound, FoundLayer, House, Opening, Wall

CATALOG = load()
HOUSE = House(name="h", climate="north-bay", year_built=1931, volume=300)
FOUND = AsFound(
    finish=(FoundLayer(material="plaster-on-wood-lath"),),
    sheathing=(FoundLayer(material="board-sheathing"),),
    paper="building-paper",
    cladding=FoundLayer(material="wood-bevel-siding"),
)
PLAIN = Wall(
    name="shed", year_built=1964, faces=90, frame="platform", length=1.626, height=1.8, found=FOUND
)
WITH_WINDOW = Wall(
    name="kitchen", year_built=1964, faces=90, frame="platform", length=2.4, height=2.44,
    found=FOUND, header="doubled",
    openings=(Opening(name="window", left=0.8, sill=0.9, width=0.9, height=1.2),),
)  # fmt: skip
FILMS = Films(0.13, 0.04, "ISO 6946, horizontal heat flow (from memory)")
FAR = 9.0


def _foamed(wall: Wall) -> BuildUp:
    frame = frame_wall(wall, HOUSE, CATALOG.lumber)
    kinds = [o for o in offered(wall, HOUSE, CATALOG) if o.kind.name == "closed-cell"]
    return apply(kinds[-1], wall, frame, CATALOG)


@pytest.fixture(scope="module")
def plain() -> BuildUp:
    return _foamed(PLAIN)


@pytest.fixture(scope="module")
def windowed() -> BuildUp:
    return _foamed(WITH_WINDOW)


# doubling


def test_doubling_is_reported(plain: BuildUp):
    # the grid test of ISO 10211 (from memory): flow changes < 1 %, lowest factors < 0.005
    once = wall_heat(wall_field(plain.assembly, cells=12_000))
    assert once.flow_change is None
    doubled = wall_heat(wall_field(plain.assembly, cells=12_000, doubling=True))
    assert doubled.flow_change is not None
    assert doubled.factor_change is not None
    assert 0.0 < doubled.flow_change < 0.01
    assert 0.0 < doubled.factor_change < 0.005
    assert doubled.cells >= 8 * 10_000
    if doubled.cells < 8 * once.cells * 1.01:  # one doubling: its change is that of resistance
        change = abs(doubled.resistance / once.resistance - 1.0)
        assert_allclose(change, doubled.flow_change, rtol=1e-3, atol=1e-9)  # exact


# trade values


def test_bays_still_open_look_as_the_trade_says():
    # common practice, no source: 50 mm of closed-cell foam, 23 / -20 degC, the foam face within
    # about 2 K of the air, studs within a few kelvin of it, hollows clearly colder. A bay of
    # foam alone: 43 K * 0.13 / R with R = 0.17 + 0.0508 / 0.024 + boards, siding 0.25: 2.2 K
    frame = frame_wall(WITH_WINDOW, HOUSE, CATALOG.lumber)
    option = next(o for o in offered(WITH_WINDOW, HOUSE, CATALOG) if o.id == "cc-51")
    built = apply(option, WITH_WINDOW, frame, CATALOG)
    wall = wall_field(built.assembly, state="open bays", cells=40_000)
    below = {k.kind: 43.0 * (1.0 - k.mean_factor) for k in wall.by_kind}
    assert_allclose(below["bay"], 2.2, rtol=0, atol=0.7)
    for kind in ("stud", "double stud", "plate"):
        assert_allclose(below[kind], below["bay"], rtol=0, atol=2.0)
    assert_allclose(below["pocket"], 13.0, rtol=0, atol=5.0)


# linear transmittances


def test_a_member_like_the_bay_adds_nothing(plain: BuildUp):
    bay = next(stack for stack in plain.stacks if stack.kind == "bay")
    stacks = tuple(
        replace(stack, layers=bay.layers) if stack.kind == "stud" else stack
        for stack in plain.stacks
    )
    found = linear_transmittance(replace(plain.assembly, stacks=stacks), "stud")
    assert_allclose(found.psi, 0.0, rtol=0, atol=1e-7)  # exact: L2D = U l


@pytest.mark.parametrize("kind", ["plate", "stud", "post"])
def test_members_lie_between_the_rigorous_bounds(plain: BuildUp, kind):
    # heat straight through (adiabats) bounds the coupling from below, planes of one temperature
    # from above: psi = L2D - U_bay l, both sides written out from the layers
    found = linear_transmittance(plain.assembly, kind)
    bay = max((s for s in plain.stacks if s.kind == "bay"), key=lambda s: s.area)
    member = max((s for s in plain.stacks if s.kind == kind), key=lambda s: s.area)
    rest = found.length - found.width
    pairs = [
        (m.thickness / m.conductivity, b.thickness / b.conductivity)
        for m, b in zip(member.layers, bay.layers, strict=True)
    ]
    straight = found.width / (0.17 + sum(m for m, _ in pairs))
    straight += rest / (0.17 + sum(b for _, b in pairs))
    planes = 0.17 / found.length + sum(1 / (found.width / m + rest / b) for m, b in pairs)
    assert straight - 1e-9 <= found.coupling <= 1 / planes
    assert found.psi > 0.0
    u_bay = 1 / (0.17 + sum(b for _, b in pairs))
    assert_allclose(found.psi, found.coupling - u_bay * found.length, rtol=1e-6, atol=1e-9)


def test_members_add_up_to_the_wall(plain: BuildUp):
    # ISO 14683 (from memory): L3D = U A + sum psi l, but for what happens where members meet
    # and where their effects overlap; other method: the field of the whole wall
    post = next(stack for stack in plain.stacks if stack.kind == "post")
    solid = replace(
        plain,
        stacks=tuple(
            replace(stack, layers=post.layers) if stack.kind == "pocket" else stack
            for stack in plain.stacks
        ),
    )
    wall = wall_field(solid.assembly, cells=100_000)
    board = 0.0412750  # m, the 1-5/8 in of a member; two upper plates lie on each other
    tall, long = 1.8 - 3 * board, 1.626
    rows = (("plate", board, long), ("plate", 2 * board, long), ("stud", board, 3 * tall),
            ("post", 3 * board, 2 * tall))  # fmt: skip
    found = [linear_transmittance(solid.assembly, kind, width=width) for kind, width, _ in rows]
    assert [member.place for member in found] == [
        "at an end", "at an end", "between bays", "at an end",
    ]  # fmt: skip
    members = sum(m.psi * length for m, (_, _, length) in zip(found, rows, strict=True))
    total = found[0].clear * wall.net_area + members
    assert_allclose(total, wall.coupling, rtol=0.01, atol=0)


def test_refuses_members_that_are_not_there(plain: BuildUp):
    with pytest.raises(InputError, match="a kind of member of the wall"):
        linear_transmittance(plain.assembly, "floor line")
    with pytest.raises(InputError, match="a kind of member of the wall"):
        linear_transmittance(plain.assembly, "bay")


# reveals of openings


def test_a_reveal_behind_a_thick_film_is_adiabatic(windowed: BuildUp):
    cut = wall_field(windowed.assembly, cells=20_000)
    far = wall_field(windowed.assembly, cells=20_000, reveal=Reveal(0.5, 100.0))
    assert_allclose(far.coupling, cut.coupling, rtol=2e-3, atol=0)  # exact in the limit


def test_a_warm_reveal_saves_and_a_cold_one_costs(windowed: BuildUp):
    warm, cut, cold = (
        wall_field(windowed.assembly, cells=20_000, reveal=reveal)
        for reveal in (Reveal(1.0, 0.13), None, Reveal(0.0, 0.13))
    )
    assert warm.coupling < cut.coupling < cold.coupling
    edges = [
        next(k.lowest_factor for k in w.by_kind if k.kind == "double stud")
        for w in (warm, cut, cold)
    ]
    assert edges[0] > edges[1] > edges[2]
    assert cold.coldest(23.0, -20.0).temperature < cut.coldest(23.0, -20.0).temperature
    middle = wall_field(windowed.assembly, cells=20_000, reveal=Reveal(0.5, 0.13))
    mean = 0.5 * (warm.coupling + cold.coupling)
    assert_allclose(middle.coupling, mean, rtol=1e-6, atol=0)  # exact: linear in the factor
    heat = wall_heat(middle)
    assert_allclose(sum(k.flow for k in middle.by_kind), middle.coupling, rtol=1e-6, atol=0)
    lowest = heat.factor[heat.seen].min()
    assert_allclose(lowest, min(k.lowest_factor for k in middle.by_kind), rtol=1e-5, atol=0)


def test_the_edge_of_a_window_between_its_limits(windowed: BuildUp):
    psi = [
        linear_transmittance(windowed.assembly, "double stud", reveal=Reveal(factor, 0.13)).psi
        for factor in (1.0, 0.5, 0.0)
    ]
    assert psi[0] < psi[1] < psi[2]
    assert_allclose(psi[1], 0.5 * (psi[0] + psi[2]), rtol=1e-6, atol=0)  # exact: linear


@pytest.mark.parametrize("bad", [Reveal(1.5, 0.1), Reveal(math.nan, 0.1), Reveal(0.5, -1.0)])
def test_refuses_reveals(windowed: BuildUp, bad):
    with pytest.raises(InputError, match="reveal"):
        wall_field(windowed.assembly, reveal=bad)
    with pytest.raises(InputError, match="reveal"):
        linear_transmittance(windowed.assembly, "stud", reveal=bad)


# corner and rim


def test_corner_of_one_material_is_exact():
    # conformal map of an L-shaped strip of width d, faces at two temperatures: for inner arms a
    # each, L2D = lambda (2 a/d + 1 - 2 ln 2/pi), from |dz/dt| = sqrt((t-1)/(t+1))/(pi t).
    # Handbooks of heat transfer give 0.54 for the edge (from memory); exact is 0.5587.
    d, a, conductivity = 0.2, 1.0, 0.7
    bodies = [
        Body(-a, d, 0, d, 0, 1, conductivity),
        Body(0, d, -a, 0, 0, 1, conductivity),
    ]
    spaces = [
        Space(-a, 0, -a, 0, 0, 1, "room", 0.0),
        Space(-a, d, d, FAR, 0, 1, "outside", 0.0),
        Space(d, FAR, -a, d, 0, 1, "outside", 0.0),
    ]
    field = solve_field(bodies, spaces, cells=40_000)
    exact = conductivity * (2 * a / d + 1 - 2 * math.log(2) / math.pi)
    assert_allclose(field.coupling[0, 1], exact, rtol=3e-4, atol=0)


def test_corner_of_two_framed_walls(plain: BuildUp):
    corner = corner_field(plain.assembly, cells=20_000)
    assert corner.closure <= 1e-8
    # symmetric about the diagonal
    t = corner.temperature({"room": 23.0, "outside": -20.0})[:, :, 0]
    assert_allclose(t, t.T, rtol=0, atol=1e-5)
    spot = corner.coldest("room", {"room": 23.0, "outside": -20.0})
    assert_allclose([spot.x, spot.y], 0.0, rtol=0, atol=1e-6)  # in the very corner
    # by inner lengths the corner adds heat: the outer face is the longer one
    bay = linear_transmittance(plain.assembly, "stud").clear
    assert corner.coupling[0, 1] > 2.0 * bay
    assert corner.coupling[0, 1] < 2.0 * bay + 0.5  # common practice: under 0.2 W/(m K)


def test_rim_between_two_equal_storeys():
    # a floor with its rim, walls above and below mirrored: both rooms lose the same
    rim = [
        Body(0, 1, 0.10, 0.12, -1.0, 1.0, 0.13, "sheathing"),
        Body(0, 1, 0.06, 0.10, -0.12, 0.12, 0.12, "rim joist"),
        Body(0, 1, -0.6, 0.06, -0.12, 0.12, 0.6, "floor"),
        Body(0, 1, 0.0, 0.10, 0.12, 1.0, 0.04, "wall above"),
        Body(0, 1, 0.0, 0.10, -1.0, -0.12, 0.04, "wall below"),
    ]
    spaces = [
        Space(0, 1, -FAR, 0.0, 0.12, 1.0, "upstairs", 0.13),
        Space(0, 1, -FAR, 0.0, -1.0, -0.12, "downstairs", 0.13),
        Space(0, 1, 0.12, FAR, -1.0, 1.0, "outside", 0.04),
    ]
    field = solve_field(rim, spaces, cells=20_000)
    names = field.environments
    up, down, out = (names.index(n) for n in ("upstairs", "downstairs", "outside"))
    assert_allclose(field.coupling[up, out], field.coupling[down, out], rtol=1e-6, atol=0)
    assert_allclose(field.coupling, field.coupling.T, rtol=1e-5, atol=1e-9)  # exact: reciprocity
    clear = 0.88 / (0.13 + 0.10 / 0.04 + 0.02 / 0.13 + 0.04)
    assert field.coupling[up, out] > clear
    theta = {"upstairs": 20.0, "downstairs": 20.0, "outside": -20.0}
    both = np.array([field.coldest(n, theta).temperature for n in ("upstairs", "downstairs")])
    assert_allclose(both[0], both[1], rtol=0, atol=1e-6)
