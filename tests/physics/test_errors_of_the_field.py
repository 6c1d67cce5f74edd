"""What a wall's figures are known to: resistance and coldest places against far finer fields."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from warmside.catalog import load
from warmside.demo import survey_text
from warmside.errors import InputError, SolverError
from warmside.framing import frame_wall
from warmside.geometry import Rect, RegionKind
from warmside.options import apply, offered
from warmside.physics.assembly import Assembly, Layer, Stack
from warmside.physics.conduction import (
    ISO_FILMS,
    ISO_SURFACE_FILMS,
    air_layer_resistance,
    air_layer_sideways,
    check_bounds,
    coldest_places,
    isothermal_planes,
    parallel_path,
    section_resistance,
    solved_wall,
    wall_field,
)
from warmside.physics.conduction._field import solve_grid
from warmside.physics.conduction._places import at_nodes, graded, touching
from warmside.survey import read

CATALOG = load()
HEIGHT = 0.5
FINER = 0.0015  # [-] what the finest field here still leaves open of a factor; by halving it


def _layer(name: str, thickness: float, conductivity: float | None) -> Layer:
    return Layer(name, name, "fill", thickness, conductivity, 1e-11, 1e-11, 500.0, 1500.0, 0.9)


def _assembly(strips: list[tuple[RegionKind, float]], foam: float, finish: float) -> Assembly:
    """A strip of wall that is alike at every height: members of wood, bays with foam, hollows."""
    inner, outer = _layer("plaster", 0.016, finish), _layer("boards", 0.02, 0.12)
    between: dict[RegionKind, float | None] = {"stud": 0.12, "bay": foam, "pocket": None}
    rects: dict[RegionKind, list[Rect]] = {}
    x = 0.0
    for kind, width in strips:
        rects.setdefault(kind, []).append(Rect(x, 0.0, x + width, HEIGHT))
        x += width
    stacks = tuple(
        Stack(
            kind, sum(r.area for r in places),
            (inner, _layer(kind, 0.09, between[kind]), outer), tuple(places),
        )
        for kind, places in rects.items()
    )  # fmt: skip
    regions = {kind: tuple(places) for kind, places in rects.items()}
    return Assembly(stacks, regions, (Rect(0.0, 0.0, x, HEIGHT),), (), 0.09, -0.016)


def _lowest(assembly: Assembly, cells: int) -> tuple[float, dict[RegionKind, float]]:
    """Resistance, and the lowest factor of each kind, on one fine grid."""
    straight = wall_field(assembly, cells=cells, tolerance=1e-6)
    wall = wall_field(assembly, cells=cells, tolerance=1e-6, films=ISO_SURFACE_FILMS)
    seen = wall.room_surface
    nodes, there = at_nodes(seen.factor[0], seen.seen, seen.u, seen.v)
    lowest = {
        kind: float(nodes[touching(wall.kind == n) & there].min())
        for n, kind in enumerate(wall.kinds)
    }
    return straight.resistance, lowest


WIDTHS: dict[RegionKind, tuple[float, float]] = {
    "stud": (0.035, 0.09), "bay": (0.08, 0.5), "pocket": (0.03, 0.15)
}  # fmt: skip


@st.composite
def walls(draw: st.DrawFn) -> Assembly:
    """Walls of three to seven members and bays, no two neighbours alike."""
    strips: list[tuple[RegionKind, float]] = []
    for _ in range(draw(st.integers(3, 7))):
        others = [kind for kind in WIDTHS if not strips or kind != strips[-1][0]]
        kind = draw(st.sampled_from(others))
        strips.append((kind, draw(st.floats(*WIDTHS[kind]))))
    return _assembly(strips, draw(st.floats(0.022, 0.06)), draw(st.floats(0.16, 0.5)))


@given(walls())
@settings(max_examples=12, deadline=None)
def test_refinement_moves_nothing_by_more_than_its_error(assembly: Assembly):
    # the same equations on 30 times as many cells
    heat = solved_wall(assembly, cells=10_000, tolerance=1e-5)
    resistance, lowest = _lowest(assembly, 60_000)
    assert heat.resistance_error is not None
    assert 0.0 <= heat.resistance_error < 0.01 * heat.resistance
    # finite volumes end a little above the truth: 0.1 % on this grid
    assert_allclose(heat.resistance, resistance, rtol=1e-3, atol=heat.resistance_error)
    for place in heat.places:
        assert place.error <= 0.0085
        assert_allclose(place.factor, lowest[place.kind], rtol=0, atol=place.error + FINER)


@given(walls())
@settings(max_examples=20, deadline=None)
def test_a_closed_wall_lies_within_its_rigorous_bounds(assembly: Assembly):
    # Rayleigh's monotonicity: planes conduct best, paths worst (ISO 6946's limits, from memory)
    low, high = (m(assembly.stacks, ISO_FILMS) for m in (isothermal_planes, parallel_path))
    for value in (
        wall_field(assembly, cells=4_000).resistance,
        section_resistance(assembly).value,
    ):
        assert low * (1 - 1e-4) <= value <= high * (1 + 1e-4)


def test_a_resistance_outside_its_bounds_is_refused():
    assembly = _assembly([("bay", 0.3), ("stud", 0.04), ("bay", 0.3)], 0.025, 0.2)
    low, high = (m(assembly.stacks, ISO_FILMS) for m in (isothermal_planes, parallel_path))
    for bad in (0.98 * low, 1.02 * high):
        with pytest.raises(SolverError, match="outside its bounds"):
            check_bounds(assembly, bad, ISO_FILMS)
    check_bounds(assembly, 0.5 * (low + high), ISO_FILMS)


def test_a_wall_alike_everywhere_is_its_straight_path():
    # exact: R = 0.13 + sum d / lambda + 0.04, f = 1 - 0.25 / (R + 0.12)
    assembly = _assembly([("bay", 0.8)], 0.03, 0.2)
    whole = 0.17 + 0.016 / 0.2 + 0.09 / 0.03 + 0.02 / 0.12
    assert_allclose(section_resistance(assembly).value, whole, rtol=1e-9, atol=0)
    heat = solved_wall(assembly, cells=2_000, tolerance=1e-8)
    (place,) = heat.places
    assert_allclose(place.factor, 1 - 0.25 / (whole + 0.12), rtol=0, atol=place.error)


def test_the_place_of_an_unknown_kind_is_refused():
    heat = solved_wall(_assembly([("bay", 0.8)], 0.03, 0.2), cells=500, tolerance=1e-6)
    with pytest.raises(InputError, match="bay"):
        heat.place("sill")


def test_only_the_hollow_pocket_is_colder_than_its_edge():
    # the surface has one temperature where two kinds meet: the edge of both
    assembly = _assembly([("bay", 0.4), ("stud", 0.04), ("pocket", 0.06), ("stud", 0.04),
                          ("bay", 0.4)], 0.025, 0.2)  # fmt: skip
    wall = wall_field(assembly, cells=10_000)
    places = {place.kind: place for place in coldest_places(assembly, wall)}
    edge = places["stud"]
    assert_allclose(min(abs(edge.x - 0.44), abs(edge.x - 0.5)), 0.0, rtol=0, atol=1e-3)
    assert places["pocket"].factor < edge.factor < places["bay"].factor
    assert 0.44 < places["pocket"].x < 0.5


# the air layer sideways


@pytest.mark.parametrize("thickness", [0.005, 0.02, 0.04, 0.09, 0.3])
def test_air_conducts_less_along_than_across(thickness: float):
    # still air 0.025 W/(m K) (ISO 6946, from memory) and the value across bound it
    resistance = air_layer_resistance(thickness)
    along = air_layer_sideways(thickness, resistance)
    assert 0.025 <= along <= thickness / resistance * (1 + 1e-12)


def test_the_end_of_an_air_layer_takes_up_what_it_radiates():
    # other method: a strip of the layer as a fin, both faces held, its end held 1 K warmer;
    # fin of conductivity k along, cooled over half its thickness: q = (2 / d) sqrt(k k_across)
    thickness = 0.04
    resistance = air_layer_resistance(thickness)
    across = thickness / resistance
    radiated = 0.818 * 4 * 5.67e-8 * 283.15**3  # E 4 sigma T^3, faces of 0.9
    along = air_layer_sideways(thickness, resistance) - 0.025
    taken = 2.0 / thickness * np.sqrt(along * across)
    assert_allclose(taken, radiated, rtol=1e-3, atol=0)


# the parts


@given(st.lists(st.floats(0.01, 1.0), min_size=1, max_size=8), st.floats(-1.0, 2.0))
def test_graded_edges_keep_every_line(steps: list[float], at: float):
    lines = np.concatenate(([0.0], np.cumsum(steps)))
    edges = graded(lines, at, 0.006, 0.5)
    assert np.all(np.diff(edges) > 0.0)
    assert np.isin(lines, edges).all()
    middle = 0.5 * (edges[1:] + edges[:-1])
    assert np.all(np.diff(edges) <= 1.5 * (0.006 + 0.5 * abs(middle - at)) + 1e-12)


def test_nodes_carry_a_plane_exactly():
    # exact: interpolation along both axes is linear
    u, v = np.array([0.0, 0.1, 0.15, 0.4]), np.array([0.0, 0.3, 0.5])
    x, z = (0.5 * (e[1:] + e[:-1]) for e in (u, v))
    values = 1.0 + 2.0 * x[:, None] - 3.0 * z
    nodes, there = at_nodes(values, np.ones(values.shape, bool), u, v)
    exact = 1.0 + 2.0 * u[:, None] - 3.0 * v
    assert there.all()
    assert_allclose(nodes[1:-1, 1:-1], exact[1:-1, 1:-1], rtol=1e-12, atol=0)


# walls of the demonstration


DEMONSTRATION = [
    ("south back", "cc-51"), ("north front", "leave"), ("west side", "cc-51"),
    ("kitchen north", "cc-full"), ("kitchen west", "cc-full"),
]  # fmt: skip


@pytest.mark.slow
@pytest.mark.parametrize(("name", "id"), DEMONSTRATION)
def test_walls_of_the_demonstration_against_three_million_cells(name: str, id: str):
    assembly = _demonstration(name, id)
    heat = solved_wall(assembly, cells=60_000, tolerance=1e-5)
    assert heat.resistance_error is not None
    by_film = {}
    for films in (ISO_FILMS, ISO_SURFACE_FILMS):
        wall = wall_field(assembly, cells=400_000, tolerance=1e-5, films=films)
        by_film[films.inside] = wall, solve_grid(wall.field.grid.halved(), tolerance=1e-5)
    coarse, fine = by_film[ISO_FILMS.inside]
    theta = {"room": 1.0, "outside": 0.0}
    resistance = coarse.net_area / fine.flows(theta)["room"]
    limit = resistance + 0.7 * (resistance - coarse.resistance)  # order between 1 and 2
    give = heat.resistance_error + 0.4 * abs(resistance - coarse.resistance)
    assert_allclose(heat.resistance, limit, rtol=0, atol=give)
    wall, fine = by_film[ISO_SURFACE_FILMS.inside]
    seen = fine.surface("room", "y", -1)
    nodes, there = at_nodes(seen.factor[0], seen.seen, seen.u, seen.v)
    u, v = (0.5 * (e[1:] + e[:-1]) for e in (seen.u, seen.v))
    edges = wall.field.grid.edges
    kind = wall.kind[np.ix_(*(np.searchsorted(edges[a], m) - 1 for a, m in ((0, u), (2, v))))]
    for number, place in enumerate(heat.places):
        lowest = float(nodes[touching(kind == number) & there].min())
        assert_allclose(place.factor, lowest, rtol=0, atol=place.error + FINER)


def _demonstration(name: str, id: str) -> Assembly:
    survey = read(survey_text())
    wall = next(w for w in survey.walls if w.name == name)
    frame = frame_wall(wall, survey.house, CATALOG.lumber)
    option = next(o for o in offered(wall, survey.house, CATALOG) if o.id == id)
    return apply(option, wall, frame, CATALOG, survey.hazards).assembly


def test_mirrored_walls_are_equally_cold():
    # exact: nothing depends on left and right
    strips: list[tuple[RegionKind, float]] = [
        ("stud", 0.04), ("pocket", 0.08), ("stud", 0.04), ("bay", 0.37), ("stud", 0.04)
    ]  # fmt: skip
    one, other = (_assembly(s, 0.025, 0.2) for s in (strips, strips[::-1]))
    assert_allclose(section_resistance(one).value, section_resistance(other).value, rtol=1e-4)
    lowest = [
        {p.kind: p.factor for p in coldest_places(a, wall_field(a, cells=10_000))}
        for a in (one, other)
    ]
    for kind, factor in lowest[0].items():
        assert_allclose(lowest[1][kind], factor, rtol=0, atol=5e-4)


def test_better_foam_makes_no_kind_colder_at_equal_wood():
    # Rayleigh: with less through the bays, no more leaves the wall
    strips: list[tuple[RegionKind, float]] = [("bay", 0.4), ("stud", 0.04), ("bay", 0.4)]
    poor, good = (section_resistance(_assembly(strips, k, 0.2)).value for k in (0.05, 0.025))
    assert good > 1.3 * poor
    assert replace(_assembly(strips, 0.05, 0.2)).net_area == pytest.approx(0.42, rel=1e-12)
