"""Inside a solved wall: temperatures of the layers' faces against series resistances."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.testing import assert_allclose

from warmside.catalog import load
from warmside.framing import frame_wall
from warmside.options import LEAVE, apply
from warmside.physics.conduction import ISO_FILMS, wall_field, wall_inside
from warmside.survey import read, template

CELLS, TOLERANCE = 40_000, 1e-9


def assembly(closed: bool = False):
    """The template's first wall as it stands; ``closed``: wood in the place of everything else."""
    survey, catalog = read(template()), load()
    wall = survey.walls[0]
    found = apply(LEAVE, wall, frame_wall(wall, survey.house, catalog.lumber), catalog, ())
    if not closed:
        return found.assembly
    stacks = tuple(
        replace(stack, layers=tuple(replace(layer, conductivity=0.12) for layer in stack.layers))
        for stack in found.assembly.stacks
    )
    return replace(found.assembly, stacks=stacks)


def test_faces_of_a_wall_of_one_material_are_those_of_resistances_in_series() -> None:
    """ISO 6946:2017, 6.7.1: heat goes straight through; a face lies at the share behind it."""
    inside = wall_inside(assembly(closed=True), cells=CELLS, tolerance=TOLERANCE)
    depth = inside.y - inside.y[0]
    resistance = ISO_FILMS.inside + depth[-1] / 0.12 + ISO_FILMS.outside
    share = 1.0 - (ISO_FILMS.inside + depth / 0.12) / resistance
    here = (inside.solid >= 0).all(axis=1)
    assert here.any()
    assert not here.all()  # openings are left out
    for j, expected in enumerate(share):
        assert_allclose(inside.factor[:, j][here], expected, rtol=0, atol=1e-6)
    assert np.isnan(inside.factor[:, 0][~here]).all()


def test_the_room_side_is_the_surface_that_is_judged() -> None:
    whole = assembly()
    surface = wall_field(whole, cells=CELLS, tolerance=TOLERANCE).room_surface
    inside = wall_inside(whole, cells=CELLS, tolerance=TOLERANCE)
    n = list(surface.factor[:, surface.seen].sum(axis=1)).index(
        max(surface.factor[:, surface.seen].sum(axis=1))
    )
    assert_allclose(
        inside.factor[:, 0][surface.seen], surface.factor[n][surface.seen], rtol=0, atol=1e-9
    )


def test_each_face_lies_between_its_neighbours_and_every_cell_has_its_piece() -> None:
    inside = wall_inside(assembly(), cells=CELLS, tolerance=TOLERANCE)
    x, y, z = ((e[1:] + e[:-1]) / 2 for e in (inside.x, inside.y, inside.z))
    for i, j, k in np.argwhere(inside.solid >= 0)[::997]:
        piece = inside.solids[inside.solid[i, j, k]]
        assert piece.x0 <= x[i] <= piece.x1
        assert piece.y0 <= y[j] <= piece.y1
        assert piece.z0 <= z[k] <= piece.z1
    clear = (inside.solid >= 0).all(axis=1)
    fall = np.diff(np.moveaxis(inside.factor, 1, -1)[clear], axis=-1)
    # heat goes outwards everywhere in a wall between a warm room and a cold outdoors
    assert fall.max() < 0
    assert inside.factor[:, 0][clear].max() < 1
    assert inside.factor[:, -1][clear].min() > 0
