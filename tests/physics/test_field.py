"""The temperature field: accuracy, balance, symmetry, and what it refuses."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
import scipy.sparse.linalg
import skfem
from numpy.testing import assert_allclose
from skfem.helpers import dot, grad

from warmside.errors import InputError, SolverError
from warmside.physics.conduction import Body, Field, Space, solve_field, solve_refined
from warmside.physics.conduction._conductance import (
    bodies_of_cells,
    conductances,
    faces_of,
    matrix,
)
from warmside.physics.conduction._field import solve_grid
from warmside.physics.conduction._field_bodies import paint
from warmside.physics.conduction._grid import Grid, count, divide, grid_of
from warmside.physics.conduction._multigrid import COARSEST, build, cycle, grids_of, shares
from warmside.physics.conduction._solver import solve

FAR = 50.0
FOAM, WOOD, BOARD = 0.024, 0.12, 0.14
THETA = {"room": 23.0, "outside": -20.0}


def facing(depth: float, room: float = 0.13, outside: float = 0.04) -> list[Space]:
    """A room before y = 0 and the outside behind y = depth."""
    return [
        Space(-FAR, FAR, -FAR, 0, -FAR, FAR, "room", room),
        Space(-FAR, FAR, depth, FAR, -FAR, FAR, "outside", outside),
    ]


def bay(foam: float, width: float = 0.406, height: float = 1.0) -> tuple[list[Body], list[Space]]:
    """Half a stud and half a bay, open to the room, foam against the sheathing boards."""
    half, end, stud = 0.019, width / 2, 0.092
    bodies = [
        Body(0, half, 0, stud, 0, height, WOOD, "stud"),
        Body(0, end, stud, stud + 0.019, 0, height, BOARD, "boards"),
    ]
    if foam:
        bodies.append(Body(half, end, stud - foam, stud, 0, height, FOAM, "foam"))
    spaces = facing(stud + 0.019)
    if foam < stud:
        spaces.append(Space(half, end, 0, stud - foam, 0, height, "room", 0.13))
    return bodies, spaces


def stud_wall(length: float, height: float = 2.4) -> tuple[list[Body], list[Space]]:
    """Studs, plates, foam in part of the bays, closed by a board, without openings."""
    bodies, x = [Body(0, length, -0.0127, 0, 0, height, 0.16, "gypsum")], 0.0
    bodies += [Body(0, length, 0, 0.089, z, z + 0.038, WOOD, "plate") for z in (0, height - 0.038)]
    low, high = 0.038, height - 0.038
    while x < length - 0.1:
        bodies.append(Body(x, x + 0.038, 0, 0.089, low, high, WOOD, "stud"))
        end = min(x + 0.406, length)
        bodies.append(Body(x + 0.038, end, 0, 0.039, low, high, 0.039 / 0.18, "air gap"))
        bodies.append(Body(x + 0.038, end, 0.039, 0.089, low, high, FOAM, "foam"))
        x += 0.406
    bodies.append(Body(0, length, 0.089, 0.108, 0, height, BOARD, "boards"))
    room = Space(-FAR, FAR, -FAR, -0.0127, -FAR, FAR, "room", 0.13)
    return bodies, [room, Space(-FAR, FAR, 0.108, FAR, -FAR, FAR, "outside", 0.04)]


# accuracy


def test_layers_in_series_are_exact():
    layers = ((0.0127, 0.16), (0.089, 0.024), (0.011, 0.13))  # m, W/(m K)
    ends = np.cumsum([0.0, *(d for d, _ in layers)])
    bodies = [Body(0, 2, y, y + d, 0, 3, k) for (d, k), y in zip(layers, ends[:-1], strict=True)]
    field = solve_field(bodies, facing(ends[-1]), cells=60)
    assert field.grid.shape[0] == field.grid.shape[2] == 1  # 1-D is the thin case
    resistance = 0.13 + 0.04 + sum(d / k for d, k in layers)
    assert_allclose(field.coupling[0, 1], 6.0 / resistance, rtol=2e-7, atol=0)  # exact: A / R
    inside = field.temperature_at(1.0, 0.0, 1.5, THETA)
    assert_allclose(inside, 23 - 43 * 0.13 / resistance, rtol=0, atol=1e-5)  # exact
    between = field.temperature_at(1.0, 0.0127, 1.5, THETA)
    reached = 0.13 + 0.0127 / 0.16
    assert_allclose(between, 23 - 43 * reached / resistance, rtol=0, atol=1e-5)  # exact


def test_any_number_of_lines_coarsens_to_the_end():
    # five lines in one row can leave no fewer than three: more than the share asked for
    for a, b in [(1, n) for n in range(1, 40)] + [(n, 5) for n in range(2, 12)]:
        for narrow in (1.0, 1e-3):
            widths = np.ones(a), np.where(np.arange(b) % 3 == 1, narrow, 1.0)
            grids = grids_of(widths, length=5)
            # the idle ring taken off, and two colours in a row: at most COARSEST, rounded up
            rows, _, places = grids.shape[-1]
            assert (rows - 2) * (2 * places - 2) <= 2 * COARSEST + 2


def test_conductivity_along_each_axis():
    for axis in range(3):
        ends, lam = np.zeros((3, 2)), [1.0, 1.0, 1.0]
        ends[:, 1], lam[axis] = (2.0, 3.0, 4.0), 5.0
        low, high = ends.copy(), ends.copy()
        low[axis], high[axis] = (-1, 0), (ends[axis, 1], ends[axis, 1] + 1)
        field = solve_field(
            [Body(*ends.ravel(), (lam[0], lam[1], lam[2]))],
            [Space(*low.ravel(), "room", 0.1), Space(*high.ravel(), "outside", 0.1)],
            cells=8,
        )
        long, area = ends[axis, 1], 24.0 / ends[axis, 1]
        assert_allclose(field.coupling[0, 1], area / (0.2 + long / 5.0), rtol=1e-6, atol=0)  # exact


def test_second_order_on_a_smooth_problem():
    # manufactured: T = sin(pi x) sin(2 pi y) sin(pi z) in a unit cube with faces at 0, heat
    # source 6 pi2 T; observed order of the error in the cells
    cold = [
        Space(-FAR, FAR, -FAR, FAR, -FAR, FAR, "cold", 0.0),
        Space(1, FAR, 0, 1, 0, 1, "also cold", 0.0),
    ]
    blocks = paint([Body(0, 1, 0, 1, 0, 1, 1.0)], cold)
    edge = np.linspace(0, 1, 9) ** 1.2  # not uniform
    grid, errors, order = Grid(blocks, (edge, edge, edge)), [], (0, 1, 2)
    for _ in range(3):
        what = bodies_of_cells(grid, order)
        grids = build(conductances(grid, what, order, faces_of(grid, what, order)))
        steps = [grid.widths(axis) for axis in order]
        mid = [np.pad(0.5 * (e[1:] + e[:-1]), 1) for e in (grid.edges[axis] for axis in order)]
        exact = np.einsum(
            "i,j,k->ijk",
            np.sin(np.pi * mid[0]), np.sin(2 * np.pi * mid[1]), np.sin(np.pi * mid[2]),
        )  # fmt: skip
        volume = np.einsum("i,j,k->ijk", *steps)
        heat = np.where(what >= 0, 6 * np.pi**2 * exact * volume, 0.0)
        found = solve(grids, heat, tolerance=1e-10, limit=60)
        assert found.converged
        inner = what >= 0
        errors.append(math.sqrt(np.sum((volume * (found.x - exact) ** 2)[inner])))
        grid = grid.halved()
    orders = np.log2(np.array(errors[:-1]) / errors[1:])
    assert_allclose(orders, 2.0, rtol=0, atol=0.1)  # theory: finite volumes, order 2


def fem_heat(foam: float, refine: int) -> float:
    """Heat [W/(m K)] through half a stud and half a bay by quadratic finite elements."""
    xs, ys = np.array([0, 0.019, 0.203]), np.array([0, 0.092 - foam, 0.092, 0.111])

    def cut(line: np.ndarray, n: int) -> np.ndarray:
        return np.unique(
            [np.linspace(*ends, n + 1) for ends in pairwise(line) if ends[1] > ends[0]]
        )

    mesh = skfem.MeshQuad.init_tensor(cut(xs, 6 * refine), cut(ys, 4 * refine))
    mid = mesh.p[:, mesh.t].mean(axis=1)
    mesh = mesh.remove_elements(np.flatnonzero((mid[0] > 0.019) & (mid[1] < 0.092 - foam)))
    mid = mesh.p[:, mesh.t].mean(axis=1)
    lam = np.where(mid[1] > 0.092, BOARD, np.where(mid[0] < 0.019, WOOD, FOAM))
    element = skfem.ElementQuad2()
    basis = skfem.Basis(mesh, element)
    facets = mesh.boundary_facets()
    x, y = mesh.p[:, mesh.facets[:, facets]].mean(axis=1)
    outside = facets[y > 0.111 - 1e-9]
    room = facets[(y < 0.092 - foam + 1e-9) & (x > 1e-9) & (x < 0.203 - 1e-9)]
    at_room, at_out = (skfem.FacetBasis(mesh, element, facets=f) for f in (room, outside))
    stiff = skfem.BilinearForm(lambda u, v, w: w.lam * dot(grad(u), grad(v)))
    mass = skfem.BilinearForm(lambda u, v, _: u * v)
    load = skfem.LinearForm(lambda v, _: v)
    a = stiff.assemble(basis, lam=np.tile(lam[:, None], basis.dx.shape[1]))
    a = a + mass.assemble(at_room) / 0.13 + mass.assemble(at_out) / 0.04
    t = skfem.solve(a, load.assemble(at_room) / 0.13)
    return float(load.assemble(at_out) @ t / 0.04)


@pytest.mark.parametrize("foam", [0.05, 0.092])
def test_stud_section_against_finite_elements(foam: float):
    coarse, fine = fem_heat(foam, 2), fem_heat(foam, 4)
    assert_allclose(coarse, fine, rtol=1e-3, atol=0)  # the reference stands
    bodies, spaces = bay(foam)
    field = solve_field(bodies, spaces, cells=20_000)
    # other method: scikit-fem, quadratic elements
    assert_allclose(field.coupling[0, 1], fine, rtol=3e-3, atol=0)


# balance, symmetry, monotony


@pytest.fixture(scope="module")
def wall() -> Field:
    bodies, spaces = stud_wall(2.5)
    return solve_field(bodies, spaces, cells=60_000)


def test_heat_in_is_heat_out(wall: Field):
    assert wall.closure <= 1e-8
    assert wall.residual <= 1e-8
    assert max(wall.iterations) <= 15
    flows = wall.flows(THETA)
    assert_allclose(flows["room"] + flows["outside"], 0.0, rtol=0, atol=1e-8 * flows["room"])
    shares = wall.flow_by_label("outside", THETA)
    assert_allclose(sum(shares.values()), flows["outside"], rtol=1e-8, atol=0)


def test_linear(wall: Field):
    base = wall.temperature({"room": 1.0, "outside": 0.0})
    twice = wall.temperature({"room": 30.0, "outside": -10.0})
    inside = wall.body() >= 0
    assert_allclose(twice[inside], 40.0 * base[inside] - 10.0, rtol=0, atol=1e-10)
    both = wall.factor("room") + wall.factor("outside")
    assert_allclose(both[inside], 1.0, rtol=0, atol=1e-12)


def test_swapping_room_and_outside_mirrors_the_factor():
    bodies, spaces = stud_wall(1.0)
    swap = {"room": "outside", "outside": "room"}
    turned = [Body(b.x0, b.x1, -b.y1, -b.y0, b.z0, b.z1, b.conductivity, b.label) for b in bodies]
    facing_away = [
        Space(s.x0, s.x1, -s.y1, -s.y0, s.z0, s.z1, swap[s.environment], s.film) for s in spaces
    ]
    one = solve_field(bodies, spaces, cells=20_000)
    two = solve_field(turned, facing_away, cells=20_000)
    assert_allclose(one.factor("room"), two.factor("outside")[:, ::-1], rtol=0, atol=1e-6)
    assert_allclose(one.coupling[0, 1], two.coupling[0, 1], rtol=1e-7, atol=0)


def test_more_foam_never_warms_the_sheathing():
    # a fact of physics: with more resistance on its warm side every point of it gets colder
    warmest = []
    for foam in (0.0, 0.025, 0.05, 0.075, 0.092):
        bodies, spaces = bay(foam)
        field = solve_field(bodies, spaces, cells=4_000)
        warmest.append(field.plane("y", 0.092).factor[0].max())
    assert np.all(np.diff(warmest) < 0.0)


def test_maximum_principle(wall: Field):
    t = wall.temperature(THETA)
    assert t.min() >= -20.0
    assert t.max() <= 23.0


def test_open_bay_with_foam_is_warm_to_look_at():
    # common practice, no source: closed-cell foam 50 mm in an open 2x4 bay at 23 / -20 degC;
    # the foam face within about 2 K of room air, studs within a few kelvin of it. The saying
    # has the studs below the foam; computed, a stud that stands out of the foam is warmed on
    # three sides, so that its face is warmer, and it is coldest where it meets the foam.
    bodies, spaces = bay(0.05)
    field = solve_field(bodies, spaces, cells=10_000)
    seen = field.surface("room", "y", -1)
    face = 23.0 * seen.factor[0, :, 0] - 20.0 * seen.factor[1, :, 0]
    assert_allclose(face[-1], 21.0, rtol=0, atol=1.0)
    assert_allclose(face[0], face[-1], rtol=0, atol=3.0)
    coldest = field.coldest("room", THETA)
    assert_allclose([coldest.x, coldest.y], [0.019, 0.042], rtol=0, atol=1e-9)


def test_surface_shows_the_nearest_face_with_its_depth():
    bodies, spaces = bay(0.05)
    field = solve_field(bodies, spaces, cells=4_000)
    seen = field.surface("room", "y", -1)
    on_stud = seen.u[1:] <= 0.019 + 1e-9
    assert_allclose(seen.depth[on_stud], 0.0, rtol=0, atol=1e-12)  # geometry
    assert_allclose(seen.depth[~on_stud], 0.042, rtol=0, atol=1e-12)  # geometry
    assert seen.seen.all()
    assert not field.surface("room", "y", 1).seen.any()


# grid, and work shared out


@pytest.mark.parametrize("first", [1e-4, 0.003, 0.02, 0.5])
def test_cells_grow_away_from_every_face(first: float):
    line = np.array([0.0, 0.0001, 0.038, 0.4, 2.4])
    edges = divide(line, first)
    assert edges.size == count(line, first) + 1
    assert np.isin(line, edges).all()  # geometry: a line on every face
    for low, high in pairwise(line):
        widths = np.diff(edges[(edges >= low) & (edges <= high)])
        assert_allclose(widths, widths[::-1], rtol=1e-9, atol=1e-12)  # alike from both faces
        assert np.all(np.abs(np.log(widths[1:] / widths[:-1])) <= math.log(1.5) + 1e-9)


@pytest.mark.parametrize("cells", [20_000, 100_000])
def test_no_more_cells_than_asked(cells: int):
    grid = grid_of(paint(*stud_wall(2.5)), cells, (False, False, False))
    assert 0.6 * cells < grid.cells <= cells


@pytest.mark.parametrize(("rows", "cores"), [(50, 1), (34, 2), (131, 4)])
def test_every_row_is_worked_on_once(rows: int, cores: int):
    parts = shares(rows, cores)
    for step in range(3):
        done = np.concatenate([np.arange(*part) for part in parts[:, step]])
        assert_allclose(np.sort(done), np.arange(1, rows - 1), rtol=0, atol=0)  # exact


def test_two_cores_do_what_one_does():
    grid, order = grid_of(paint(*stud_wall(4.0)), 120_000, (False, False, False)), (2, 1, 0)
    what = bodies_of_cells(grid, order)
    grids = build(conductances(grid, what, order, faces_of(grid, what, order)))
    heat = np.random.default_rng(7).random(grids.start[1]).astype(np.float32)
    answers, work = [], []
    for cores in (1, 2):
        grids.x[:] = 0.0
        grids.rhs[: heat.size] = np.where(grids.pivot[: heat.size] > 0.0, heat, 0.0)
        work.append(cycle(grids, cores))
        answers.append(grids.x[: heat.size].copy())
    top = np.abs(answers[0]).max()
    assert_allclose(answers[1], answers[0], rtol=0, atol=1e-5 * top)  # same sums, other order
    assert_allclose(work[1], work[0], rtol=1e-4, atol=0)


# what it takes, and what it refuses


@pytest.mark.parametrize("pair", [(1e-4, 400.0), (400.0, 1e-4)])
def test_extreme_conductivities_match_a_direct_solution(pair: tuple[float, float]):
    inner, outer = pair
    bodies = [
        Body(0, 0.3, 0, 0.1, 0, 0.3, outer),
        Body(0.3, 0.302, 0, 0.1, 0, 0.3, inner),
        Body(0.302, 0.6, 0, 0.1, 0, 0.3, outer),
        Body(0, 0.6, 0.1, 0.101, 0, 0.3, inner),
    ]
    grid = grid_of(paint(bodies, facing(0.101)), 6_000, (False, False, True))
    field = solve_grid(grid)
    order = (0, 1, 2)
    what = bodies_of_cells(grid, order)
    faces = faces_of(grid, what, order)
    heat = np.bincount(faces.cell, faces.conductance * (faces.environment == 0), what.size)
    used = what.ravel() >= 0
    a = matrix(conductances(grid, what, order, faces), what.shape[2])
    direct = np.zeros(what.size)
    direct[used] = scipy.sparse.linalg.spsolve(a.tocsc(), heat[used])  # other method
    expected = direct.reshape(what.shape)[1:-1, 1:-1, 1:-1]
    assert_allclose(field.factor("room"), expected, rtol=0, atol=2e-5)
    assert field.closure <= 1e-8


def test_a_wall_thirty_metres_long():
    bodies, spaces = stud_wall(30.0)
    field = solve_field(bodies, spaces, cells=120_000)
    short = solve_field(*stud_wall(2.0 * 0.406 * 3), cells=60_000)
    assert max(field.iterations) <= 15
    per_metre = field.coupling[0, 1] / 30.0, short.coupling[0, 1] / (6 * 0.406)
    assert_allclose(per_metre[0], per_metre[1], rtol=0.01, atol=0)  # regular wall: same per metre


def test_one_cell_thick():
    field = solve_field([Body(0, 1, 0, 0.1, 0, 1, 0.1)], facing(0.1), cells=1)
    assert_allclose(field.coupling[0, 1], 1.0 / (0.13 + 1.0 + 0.04), rtol=1e-6, atol=0)  # exact


def test_overlap_of_one_material_is_one_body():
    wall = [Body(0, 0.6, 0, 0.1, 0, 1, 0.12), Body(0.4, 1, 0, 0.1, 0, 1, 0.12)]
    field = solve_field(wall, facing(0.1), cells=500)
    exact = 1.0 / (0.13 + 0.1 / 0.12 + 0.04)
    assert_allclose(field.coupling[0, 1], exact, rtol=1e-6, atol=0)


PLAIN = Body(0, 1, 0, 0.1, 0, 1, 0.12, "wood")


@pytest.mark.parametrize(
    ("bodies", "spaces", "match"),
    [
        ([], facing(0.1), "no body"),
        ([PLAIN], [], "environments"),
        ([PLAIN], facing(0.1)[:1], "two environments"),
        ([PLAIN, Body(0.5, 2, 0, 0.1, 0, 1, 0.024, "foam")], facing(0.1), "overlap with .*wood"),
        ([PLAIN, Body(1, 2, 0.1, 0.1, 0, 1, 0.024, "foil")], facing(0.1), "'foil', y"),
        ([PLAIN, Body(2, 1, 0, 0.1, 0, 1, 0.024)], facing(0.1), "body 2, x"),
        ([Body(0, 1, 0, 0.1, 0, math.nan, 0.12)], facing(0.1), "body 1, z"),
        ([Body(0, 1, 0, 0.1, 0, math.inf, 0.12)], facing(0.1), "body 1, z"),
        ([Body(0, 1, 0, 0.1, 0, 1, 0.0)], facing(0.1), "conductivity"),
        ([Body(0, 1, 0, 0.1, 0, 1, math.nan)], facing(0.1), "conductivity"),
        ([Body(0, 1, 0, 0.1, 0, 1, 1e6)], facing(0.1), "conductivity"),
        ([Body(0, 1, 0, 0.1, 0, 1, "wood")], facing(0.1), "conductivity"),
        ([PLAIN], facing(0.1, room=-0.1), "film"),
        ([PLAIN], facing(0.1, room=math.nan), "film"),
        ([PLAIN, Body(3, 4, 0.03, 0.05, 0, 1, 0.1, "stray")], facing(0.1), "'stray'.*no environ"),
        ([PLAIN], [*facing(0.1), Space(5, 6, 0, 1, 0, 1, "attic", 0.1)], "attic"),
    ],
)  # fmt: skip
def test_refuses(bodies: list[Body], spaces: list[Space], match: str):
    with pytest.raises(InputError, match=match):
        solve_field(bodies, spaces, cells=100)


@pytest.mark.parametrize("cells", [0, -5, 10**9, 1.5, True, math.nan])
def test_refuses_numbers_of_cells(cells):
    with pytest.raises(InputError, match="cells"):
        solve_field([PLAIN], facing(0.1), cells=cells)


def test_refuses_temperatures_places_and_names(wall: Field):
    with pytest.raises(InputError, match="outside"):
        wall.flows({"room": 20.0})
    with pytest.raises(InputError, match="room"):
        wall.flows({"room": math.nan, "outside": 0.0})
    with pytest.raises(InputError, match="point in a body"):
        wall.temperature_at(1.0, 5.0, 1.0, THETA)
    with pytest.raises(InputError, match="x, y or z"):
        wall.plane("w", 0.0)
    with pytest.raises(InputError, match="one of room, outside"):
        wall.coldest("attic", THETA)


def test_unsolved_is_told(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr("warmside.physics.conduction._field.LIMIT", 2)
    bodies, spaces = stud_wall(1.0)
    with pytest.raises(SolverError, match=r"residual .* try fewer cells"):
        solve_field(bodies, spaces, cells=20_000)
    left = solve_field(bodies, spaces, cells=20_000, throw=False)
    assert not left.converged
    assert 1e-8 < left.residual < 1.0


def test_refines_until_doubling_changes_little():
    bodies, spaces = bay(0.05)
    refined = solve_refined(bodies, spaces, cells=60)
    # ISO 10211, from memory: heat flow within 1 %, temperature factor within 0.005
    assert 0.0 < refined.flow_change < 0.01
    assert 0.0 < refined.factor_change < 0.005
    assert refined.cells[1] == 4 * refined.cells[0]  # 2-D: both directions doubled
    fine = solve_field(bodies, spaces, cells=20_000)
    assert_allclose(refined.field.coupling[0, 1], fine.coupling[0, 1], rtol=0.01, atol=0)


def test_refining_gives_up_loudly():
    bodies, spaces = bay(0.05)
    with pytest.raises(SolverError, match="allow more cells"):
        solve_refined(bodies, spaces, cells=60, limit=100)
    with pytest.raises(InputError, match="limit of cells"):
        solve_refined(bodies, spaces, cells=60, limit=0)
