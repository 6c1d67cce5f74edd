"""The hourly model against solutions found without time stepping, and its orders of accuracy."""

from __future__ import annotations

import numpy as np
from numpy.testing import assert_allclose

from warmside.physics.moisture import Forcing, HygroMaterial, Mesh, Settings, Slab, mesh, simulate
from warmside.verify.moisture import annex_material, hamstad_2_run, hamstad_2_series, saturation

# --- EN 15026:2007 annex A: semi-infinite body, step in temperature and humidity ----------------
# Functions of the annex, as restated in secondary sources; written here on their own.


def test_annex_profiles_collapse():
    """Exact property: profiles at 7 and 28 days agree at equal x / sqrt(t)."""
    width = 1e-3 * 1.03 ** np.arange(180)
    cells = Mesh(
        (Slab(annex_material(), float(width.sum())),), width, np.zeros(width.size, dtype=np.int64)
    )
    warm = Forcing(30.0, 0.95 * float(saturation(30.0)), 20.0, 0.0, out_transfer=0.0)
    water = []
    for days in (7, 28):
        run = simulate(
            cells, warm, 24 * days,
            humidity=0.5, faces=("surface", "film"), watch=np.array([0]),
        )  # fmt: skip
        water.append(
            np.interp(np.array([0.008, 0.012, 0.04]) * np.sqrt(days), cells.centre, run.final_water)
        )
    assert_allclose(water[0], water[1], rtol=5e-3)


# --- HAMSTAD case 2: isothermal drying, a series ------------------------------------------------


def test_second_order_in_space():
    errors = []
    for cells in (20, 40, 80):
        run = hamstad_2_run(cells, 1000, Settings(1e-5, 1e-3, 0.01))
        exact = hamstad_2_series(run.mesh.centre, 3.6e6)
        errors.append(np.sqrt(np.mean((run.final_water - exact) ** 2)))
    order = np.log2(np.array(errors[:-1]) / np.array(errors[1:]))
    # finite volumes with central flows: 2; measured 1.9 to 2.1
    assert_allclose(order, 2.0, atol=0.15)


# --- limits in which one of the two stands still -------------------------------------------------


def inert(storage, diffusivity, permeability=1e-30):
    return HygroMaterial.from_functions(
        "limit",
        density=1000.0,
        specific_heat=1000.0,
        storage=storage,
        permeability=lambda w: np.full_like(w, permeability),
        conductivity=1.0,
        diffusivity=diffusivity,
    )


def test_steady_vapour_through_two_layers():
    """Exact: without heat and storage the flow is the drop over the sum of the resistances."""
    slab = [
        inert(lambda s: 1e-4 / (1.0 + s / 1e8), lambda w: np.zeros_like(w), d)
        for d in (2e-11, 5e-12)
    ]
    cells = mesh((Slab(slab[0], 0.05), Slab(slab[1], 0.02)), 40)
    room, out = 0.6 * float(saturation(20.0)), 0.3 * float(saturation(20.0))
    run = simulate(
        cells, Forcing(20.0, room, 20.0, out, room_transfer=2.5e-8, out_transfer=1e-7), 48
    )
    resistance = 1 / 2.5e-8 + 0.05 / 2e-11 + 0.02 / 5e-12 + 1 / 1e-7
    assert_allclose(run.crossed[-1, 0], (room - out) / resistance * 3600.0, rtol=2e-3)
    assert_allclose(run.crossed[-1, 0], -run.crossed[-1, 1], rtol=1e-4)


def test_air_through_a_layer_against_the_exponential_profile():
    """Exact: steady conduction with flow, T = (e^(Pe x/L) - 1) / (e^Pe - 1)."""
    layer = inert(lambda s: 0.1 / (1.0 + s / 1e8), lambda w: np.zeros_like(w), 2e-10)
    cells = mesh((Slab(layer, 0.1),), 200, uniform=True)
    run = simulate(
        cells,
        Forcing(20.0, 300.0, 0.0, 300.0, room_film=1e9, out_film=1e9, through=0.02),
        96,
        temperature=10.0,
    )
    peclet = 0.02 * 1006.0 * 0.1 / 1.0
    exact = 20.0 * (1.0 - np.expm1(peclet * cells.centre / 0.1) / np.expm1(peclet))
    assert_allclose(run.final_temperature, exact, atol=0.03)
