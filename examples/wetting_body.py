"""A dry body whose face turns warm and damp: heat and moisture together.

Problem: the case of EN 15026 annex A. A half-space at 20 °C and 50 % relative humidity; its face is
held at 30 °C and 95 %. Profiles depend on x / sqrt(t) alone: 7 and 28 days fall on one curve.

Source: EN 15026:2007 annex A, functions second-hand; the expected water content and temperature
from the similarity solution found by a boundary-value solver, without time stepping (other method).
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import numpy.typing as npt
from _compared import Compared, compared, show

from warmside.physics.humid_air import saturation_pressure
from warmside.physics.moisture import Forcing, HygroMaterial, Mesh, Run, Slab, simulate

Array = npt.NDArray[np.float64]
OTHER = "similarity solution by scipy.integrate.solve_bvp [other method]"
COLLAPSE = "profiles depend on x / sqrt(t) alone [exact]"
# depth [m] after 7 days: water content [kg/m3], temperature [degC] of the similarity solution
EXPECTED = {0.005: (80.29, 29.976), 0.01: (51.90, 29.946), 0.1: (42.94, 29.322)}


def storage(suction: Array) -> Array:
    """Water content [kg/m3] at ``suction`` [Pa]."""
    return np.asarray(146.0 / (1.0 + (8e-8 * suction) ** 1.6) ** 0.375)


def liquid(water: Array) -> Array:
    """Liquid conductivity [kg/(m s Pa)]."""
    powers = (-39.2619, 0.0704, -1.7420e-4, -2.7953e-6, -1.1566e-7, 2.5969e-9)
    return np.asarray(np.exp(np.polynomial.polynomial.polyval(water - 73.0, powers)))


def vapour(water: Array) -> Array:
    """Vapour permeability at 20 degC [kg/(m s Pa)]."""
    v = 1.0 - water / 146.0
    return np.asarray(26.1e-6 / 200.0 / (461.5 * 293.15) * v / (0.503 * v**2 + 0.497))


MATERIAL = HygroMaterial.from_functions(
    "annex A", density=1824.0, specific_heat=1000.0, storage=storage, permeability=vapour,
    conductivity=1.5, conductivity_wet=0.0158, liquid_conductivity=liquid, permeability_over_t=1.0,
)  # fmt: skip


def run(days: int) -> Run:
    """The half-space after ``days``; cells grow from 1 mm at the face to 8 m of depth."""
    width = np.asarray(1e-3 * 1.03 ** np.arange(190), dtype=np.float64)
    cells = Mesh((Slab(MATERIAL, float(width.sum())),), width, np.zeros(width.size, dtype=np.int64))
    face = 0.95 * float(saturation_pressure(30.0))
    return simulate(
        cells, Forcing(30.0, face, 20.0, 0.0, out_transfer=0.0), 24 * days, temperature=20.0,
        humidity=0.5, faces=("surface", "film"), watch=np.array([0]),
    )  # fmt: skip


def main(folder: Path | None = None) -> list[Compared]:  # noqa: ARG001 - draws nothing
    """Compare three depths after 7 days, and 28 days with 7."""
    week, month = run(7), run(28)
    rows = []
    for depth, (water, temperature) in EXPECTED.items():
        at = float(np.interp(depth, week.mesh.centre, week.final_water))
        later = float(np.interp(2 * depth, month.mesh.centre, month.final_water))
        warm = float(np.interp(depth, week.mesh.centre, week.final_temperature))
        name = f"{depth * 1000:.0f} mm"
        rows += [
            compared(f"water at {name}, kg/m³", at, water, 0.01 * water, OTHER),
            compared(f"temperature at {name}, °C", warm, temperature, 0.03, OTHER),
            compared(f"at twice {name}, 28 days", later, at, 0.005 * at, COLLAPSE),
        ]
    return rows


if __name__ == "__main__":
    show(main)
