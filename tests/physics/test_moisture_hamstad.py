"""HAMSTAD cases 1, 3, 4 and 5: they run, close, converge, and have the published shape.

Their material functions and boundaries are from memory, and their climate files and result tables
were not at hand; nothing here is compared with their printed results. Case 2 stands in
``test_moisture_exact``.
"""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from warmside.physics.moisture import Forcing, HygroMaterial, Settings, Slab, mesh, simulate
from warmside.verify.moisture import annex_material, saturation

RV_T = 461.5 * 293.15
TIGHT = Settings(2e-3, 0.05, 0.01)


def material(name, rho, c, lam, lam_wet, w, mu, w_sat, a, b, k=None):
    """Vapour as ``26.1e-6 / mu (1 - w/ws) / (a (1 - w/ws)^2 + b)`` over R_v T."""

    def delta(water):
        v = np.maximum(1.0 - water / w_sat, 1e-4)
        return 26.1e-6 / mu / RV_T * v / (a * v**2 + b)

    return HygroMaterial.from_functions(
        name, density=rho, specific_heat=c, storage=w, permeability=delta, conductivity=lam,
        conductivity_wet=lam_wet, liquid_conductivity=k, permeability_over_t=1.0,
    )  # fmt: skip


def head(s):
    return s / 9810.0


def poly(*coefficients):
    return lambda w: np.exp(sum(c * (w / 1000.0) ** n for n, c in enumerate(coefficients)))


BRICK = material(
    "brick", 1600.0, 1000.0, 0.682, 0.0,
    lambda s: 373.5 * (0.46 * (1 + (0.47 * head(s)) ** 1.5) ** (-1 / 3)
                       + 0.54 * (1 + (0.2 * head(s)) ** 3.8) ** (-(1 - 1 / 3.8))),
    7.5, 373.5, 0.2, 0.8, poly(-36.484, 461.325, -5240.0, 2.907e4, -7.41e4, 6.997e4),
)  # fmt: skip
MORTAR = material(
    "mortar", 230.0, 920.0, 0.6, 0.00056,
    lambda s: 700.0 * (0.2 * (1 + (0.5 * head(s)) ** 1.5) ** (-1 / 3)
                       + 0.8 * (1 + (0.004 * head(s)) ** 3.8) ** (-(1 - 1 / 3.8))),
    50.0, 700.0, 0.2, 0.8, poly(-40.425, 83.319, -175.961, 123.863),
)  # fmt: skip
CAPILLARY = material(
    "insulation", 212.0, 1000.0, 0.06, 0.00056,
    lambda s: 871.0 * (0.41 * (1 + (0.006 * head(s)) ** 2.5) ** -0.6
                       + 0.59 * (1 + (0.012 * head(s)) ** 2.4) ** (-(1 - 1 / 2.4))),
    5.6, 871.0, 0.2, 0.8, poly(-46.245, 294.506, -1439.0, 3249.0, -3370.0, 1305.0),
)  # fmt: skip


def case_5(cells, days=60):
    """Inside first: insulation 40 mm, mortar 15 mm, brick 365 mm."""
    slabs = (Slab(CAPILLARY, 0.04), Slab(MORTAR, 0.015), Slab(BRICK, 0.365))
    forcing = Forcing(
        20.0, 0.6 * saturation(20.0), 0.0, 0.8 * 610.5, room_film=8.0, room_transfer=5.8823e-8,
        out_film=25.0, out_transfer=1.8382e-7,
    )  # fmt: skip
    return simulate(
        mesh(slabs, cells), forcing, 24 * days, temperature=25.0, humidity=0.6, settings=TIGHT
    )


def test_case_5_capillary_active_inside_insulation():
    coarse, fine = case_5(90), case_5(180)
    assert fine.balance.water_error < 1e-9
    x = np.array([0.01, 0.03, 0.038, 0.047, 0.06, 0.1, 0.3])
    at = [np.interp(x, run.mesh.centre, run.final_humidity) for run in (coarse, fine)]
    assert_allclose(at[0], at[1], atol=0.012)
    humidity = fine.final_humidity
    inner = fine.mesh.layer == 0
    # published shape: humidity climbs through the insulation to its cold side, where water gathers;
    # brick behind stays drier
    assert (np.diff(humidity[inner]) > 0.0).all()
    assert humidity[inner][-1] > 0.9
    assert humidity[fine.mesh.layer == 2][-1] < humidity[inner][-1]
    # steady heat by hand within a tenth: 20 K over films, 40 mm (somewhat wet), 15 mm, 365 mm
    by_hand = 20.0 / (1 / 8 + 0.04 / 0.075 + 0.015 / 0.65 + 0.365 / 0.682 + 1 / 25)
    flow = fine.crossed[-24:, 5].mean() / 3600.0
    assert_allclose(flow, by_hand, rtol=0.15)


LOOSE = material(
    "roof insulation", 73.9, 1000.0, 0.033, 0.0,
    lambda s: 900.0 * (1 + (2e-4 * s) ** 2) ** -0.5, 9.6, 900.0, 0.503, 0.497,
)  # fmt: skip


def case_1(cells, years=1):
    """Inside first: insulation 50 mm, wet load-bearing layer 100 mm, tight outside."""
    hours = 8760 * years
    hour = np.arange(hours + 1)
    # the climate file is not at hand: a yearly and a daily wave instead
    out = 9.0 - 10.0 * np.cos(2 * np.pi * hour / 8760) - 4.0 * np.cos(2 * np.pi * hour / 24)
    grid = mesh((Slab(LOOSE, 0.05), Slab(annex_material(), 0.1)), cells)
    start = np.where(grid.layer == 0, 0.5, 0.994)
    return simulate(
        grid,
        Forcing(20.0, 0.45 * saturation(20.0), out, 600.0, room_film=7.0, room_transfer=2e-8,
                out_film=25.0, out_transfer=0.0),
        hours, temperature=10.0, humidity=start, settings=TIGHT, watch=np.array([0]),
    )  # fmt: skip


def test_case_1_wet_roof_dries_inwards():
    coarse, fine = case_1(50), case_1(100)
    assert fine.balance.water_error < 1e-9
    gone = [-run.crossed[:, 0].sum() for run in (coarse, fine)]
    assert_allclose(gone[0], gone[1], rtol=0.01)
    # published shape: the load-bearing layer loses water over the years, all of it to the room
    assert gone[1] > 0.3
    assert_allclose(fine.crossed[:, 1:5].sum(), 0.0, atol=1e-15)
    before = 0.1 * 145.5  # about 145 kg/m3 at the start
    bearing = fine.mesh.layer == 1
    left = (fine.final_water * fine.mesh.width)[bearing].sum()
    assert_allclose(left, before - gone[1], rtol=0.05)


# Case 3's material functions are not known: a light fibrous layer stands in.
FIBROUS = HygroMaterial.from_functions(
    "fibrous", density=65.0, specific_heat=1000.0,
    storage=lambda s: 0.78 / (1.12 + s / 1.353e8) + 900.0 / (1.0 + s / 3e4) ** 2,
    permeability=lambda w: np.full_like(w, 1.3e-10), conductivity=0.035, conductivity_wet=1.4e-4,
)  # fmt: skip


def case_3(cells):
    hours = 24 * 100
    day = np.arange(hours + 1) / 24.0
    pressure = np.interp(day, [0.0, 20.0, 21.0, 100.0], [30.0, 30.0, -30.0, -30.0])
    flow = 1.2 * 3e-5 * pressure / 30.0 * 100.0  # [kg/(m2 s)], about 3 mm/s at 30 Pa
    return simulate(
        mesh((Slab(FIBROUS, 0.2),), cells, uniform=True),
        Forcing(20.0, 0.7 * saturation(20.0), 2.0, 0.8 * saturation(2.0), room_film=10.0,
                room_transfer=2e-7, out_film=10.0, out_transfer=7.38e-12, through=flow),
        hours, temperature=20.0, humidity=0.7, settings=TIGHT,
    )  # fmt: skip


def test_case_3_air_out_wets_air_in_dries():
    coarse, fine = case_3(40), case_3(80)
    assert fine.balance.water_error < 1e-8
    assert fine.balance.heat_error < 1e-8
    water = np.array([fine.water_content(c) for c in range(80)]).mean(axis=0)
    # published shape: water gathers while air flows out (20 days), and dries after it turns
    assert water[24 * 20 - 1] > 1.5 * water[23]
    assert water[-1] < 0.25 * water[24 * 20 - 1]
    # and the middle is warmer with air from the room than with air from outside
    assert fine.temperature[24 * 19, 40] > fine.temperature[-1, 40] + 3.0
    other = np.array([coarse.water_content(c) for c in range(40)]).mean(axis=0)
    assert_allclose(other[24 * 20 - 1], water[24 * 20 - 1], rtol=0.08)


BEARING_4 = material(
    "case 4 load-bearing", 2005.0, 840.0, 0.5, 0.0045,
    lambda s: 157.0 * (0.3 * (1 + (1.25e-5 * s) ** 1.65) ** -0.39
                       + 0.7 * (1 + (1.8e-5 * s) ** 6) ** -0.83),
    30.0, 157.0, 0.503, 0.497,
)  # fmt: skip
FINISHING_4 = material(
    "case 4 finishing", 790.0, 870.0, 0.2, 0.0045,
    lambda s: 209.0 * (1 + (2e-6 * s) ** 1.27) ** -0.21, 3.0, 209.0, 0.503, 0.497,
)  # fmt: skip


def case_4(cells):
    """Inside first: finishing 20 mm, load-bearing 100 mm; rain on two days, sun on three."""
    hour = np.arange(121)
    sun = np.where((hour % 24 > 8) & (hour % 24 < 17) & (hour > 48), 400.0, 0.0)
    rain = np.where((hour > 20) & (hour < 30), 3e-5, 0.0)
    return simulate(
        mesh((Slab(FINISHING_4, 0.02), Slab(BEARING_4, 0.1)), cells),
        Forcing(20.0, 0.4 * saturation(20.0), 10.0, 0.7 * saturation(10.0), room_film=8.0,
                room_transfer=3e-8, out_film=25.0, out_transfer=2e-7, absorbed=sun, rain=rain),
        120, temperature=20.0, humidity=0.4, settings=TIGHT,
    )  # fmt: skip


def test_case_4_rain_then_sun():
    """Liquid conductivity and climate are not known: vapour alone, invented rain and sun."""
    coarse, fine = case_4(60), case_4(120)
    assert fine.balance.water_error < 1e-9
    surface = fine.humidity[:, -1]
    assert surface[30] > 0.95
    assert surface[-24:].min() < 0.8
    assert_allclose(coarse.temperature[:, -1], fine.temperature[:, -1], atol=0.25)
    # sun warms the outer face well above the air, as the case's name "response" has it
    assert fine.temperature[:, -1].max() > 16.0


def test_second_order_on_the_annex_material_too():
    """Grid convergence with coupled heat and moisture: errors fall as the square of the cell."""
    ends = []
    for cells in (20, 40, 80, 320):
        run = simulate(
            mesh((Slab(annex_material(), 0.1),), cells, uniform=True),
            Forcing(30.0, 0.8 * saturation(30.0), 20.0, 0.5 * saturation(20.0)), 24 * 30,
            temperature=20.0, humidity=0.5, faces=("surface", "surface"),
            settings=Settings(1e-4, 1e-2, 1e-3), watch=np.array([0]),
        )  # fmt: skip
        ends.append(float((run.final_water * run.mesh.width).sum()))
    errors = np.abs(np.array(ends[:-1]) - ends[-1])
    assert_allclose(np.log2(errors[:-1] / errors[1:]), 2.0, atol=0.4)


@pytest.mark.parametrize("cells", [1, 2, 3, 4, 5, 8, 81])
def test_block_elimination(cells):
    """Reference library: the dense solve of numpy."""
    from warmside.physics.moisture._blocks import factorise, substitute

    rng = np.random.default_rng(cells)
    J = 0.2 * rng.normal(size=(3, cells, 4))
    J[1] += [3.0, 0.0, 0.0, 3.0]
    J[0, 0] = J[2, -1] = 0.0
    full = np.zeros((2 * cells, 2 * cells))
    for i in range(cells):
        for side in (-1, 0, 1):
            if 0 <= i + side < cells:
                full[2 * i : 2 * i + 2, 2 * (i + side) : 2 * (i + side) + 2] = J[
                    side + 1, i
                ].reshape(2, 2)
    right = rng.normal(size=(2, cells))
    found = right.copy()
    factorise(J)
    substitute(J, found)
    assert_allclose(found.T.ravel(), np.linalg.solve(full, right.T.ravel()), atol=1e-12)
