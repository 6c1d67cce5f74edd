"""Cells of a path: they fill its layers, and are finest where layers meet.

Exact throughout: what the docstring of ``mesh`` says.
"""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from warmside.errors import InputError
from warmside.physics.moisture import HygroMaterial, Slab, mesh
from warmside.physics.moisture._mesh import FINEST, THIN

ANY = HygroMaterial.from_functions(
    "any", density=400.0, specific_heat=1500.0, storage=lambda s: 50.0 / (1.0 + s / 1e8),
    permeability=lambda w: np.full_like(w, 1e-11), conductivity=0.12,
)  # fmt: skip


@pytest.mark.parametrize("cells", [4, 8, 9, 40])
def test_cells_fill_a_layer_and_are_finest_at_both_faces(cells):
    width = mesh((Slab(ANY, 0.09),), cells).width
    assert width.size == cells
    assert_allclose(width.sum(), 0.09, rtol=1e-12)
    assert_allclose(width, width[::-1], rtol=1e-12)
    ratio = width[1 : (cells + 1) // 2] / width[: (cells + 1) // 2 - 1]
    if cells == 4:  # growth ends at a factor of three
        assert_allclose(ratio, 3.0, rtol=1e-9)
    elif cells == 40:
        assert_allclose(width[0], FINEST, rtol=1e-9)
        assert_allclose(ratio, ratio[0], rtol=1e-9)
        assert 1.0 < ratio[0] < 3.0


@pytest.mark.parametrize(("thickness", "cells"), [(0.09, 3), (FINEST * 8, 8)])
def test_few_cells_or_a_thin_layer_are_divided_evenly(thickness, cells):
    assert_allclose(mesh((Slab(ANY, thickness),), cells).width, thickness / cells, rtol=1e-12)


def test_membranes_are_one_cell_and_the_rest_goes_by_the_root_of_thickness():
    parts = (Slab(ANY, 0.09), Slab(ANY, THIN), Slab(ANY, 0.01))
    made = mesh(parts, 41)
    # 40 cells left: sqrt(0.09) to sqrt(0.01) is 3 to 1
    assert np.bincount(made.layer).tolist() == [30, 1, 10]
    for k, part in enumerate(parts):
        assert_allclose(made.width[made.layer == k].sum(), part.thickness, rtol=1e-12)


@pytest.mark.parametrize("cells", [2, 5001])
def test_too_few_or_too_many_cells_are_refused(cells):
    with pytest.raises(InputError, match=f"{cells}.*3 to 5000"):
        mesh((Slab(ANY, 0.09),) * 3, cells)
