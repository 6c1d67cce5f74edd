"""How fast wet wood dries: a slab by a series, and the sheathing behind new foam.

Problem: (1) a slab 200 mm thick at 95 % relative humidity dries between air of 45 % and of 65 %, a
linear problem. (2) Sheathing at 30 % is foamed over in October; when is it below 19 % for good?

Source: (1) HAMSTAD benchmark 2 (second-hand), its series (exact). (2) The start is what the meter
showed (exact). By next autumn the wood must be back at 10 to 19 %, its usual moisture in outside
walls (common practice, no source).
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
from _compared import Compared, compared, show
from _wall import foamed, largest_bay

from warmside.catalog import load
from warmside.drawings import Course, wood_years
from warmside.physics import moisture
from warmside.physics.climate import Facade, indoor_fixed
from warmside.physics.humid_air import saturation_pressure
from warmside.weather import made_year

SERIES, METER = "Fourier series of HAMSTAD 2 [exact]", "what the meter showed [exact]"
USUAL = "10 to 19 % in outside walls [common practice]"
PULL = 1000.0 * 461.5 * 293.15  # [Pa] suction = -PULL ln(humidity)


def water(suction: np.ndarray) -> np.ndarray:
    """Water content [kg/m3] of the slab at ``suction`` [Pa]."""
    return np.asarray(116.0 / (1.0 + suction / PULL / 0.118) ** 0.869)


def slab(depth: float, hours: int) -> tuple[float, float]:
    """Water content [kg/m3] at ``depth`` [m] from the drier face: computed, and by the series."""
    inert = moisture.HygroMaterial.from_functions(
        "slab", density=525.0, specific_heat=800.0, storage=water, conductivity=0.15,
        permeability=lambda w: np.full_like(w, 1e-15), diffusivity=lambda w: np.full_like(w, 6e-10),
    )  # fmt: skip
    air = float(saturation_pressure(20.0))
    forcing = moisture.Forcing(20.0, 0.45 * air, 20.0, 0.65 * air)
    cells = moisture.mesh((moisture.Slab(inert, 0.2),), 240)
    run = moisture.simulate(cells, forcing, hours, humidity=0.95, faces=("surface", "surface"))
    start, dry, damp = water(-PULL * np.log([0.95, 0.45, 0.65]))
    k = np.arange(1, 4000) * np.pi
    waves = 2 / k * ((start - dry) - (start - damp) * np.cos(k)) * np.sin(k * depth / 0.2)
    fading = waves @ np.exp(-6e-10 * (k / 0.2) ** 2 * hours * 3600.0)
    exact = float(dry + (damp - dry) * depth / 0.2 + fading)
    return float(np.interp(depth, run.mesh.centre, run.final_water)), exact


def main(folder: Path | None = None) -> list[Compared]:
    """Dry the slab, then the wall."""
    rows = []
    for depth, hours in ((0.05, 100), (0.1, 1000)):
        computed, exact = slab(depth, hours)
        name, most = f"slab, {depth * 1000:.0f} mm, {hours} h, kg/m³", 0.005 * exact
        rows.append(compared(name, computed, exact, most, SERIES))
    known = load()
    bay, year = largest_bay(foamed(3, known)), made_year(known.climates["ottawa"]).from_autumn()
    air = indoor_fixed(year, 21.0, 0.35)
    wet = moisture.WetStart(0.30)
    dried = moisture.wall_years(bay, year, air, Facade(0.0, rain_exposure=0.1), wet=wet)
    wood = next(layer for layer in dried.wood if layer.role == "sheathing")
    if folder:
        title = f"Sheathing foamed over at 30 %: below 19 % after {wood.drying_days or 0:.0f} days"
        days = [Course("board sheathing", wood.mean[::24].tolist())]
        picture = wood_years(days, first_month=10, title=title)
        (folder / "wet_sheathing.svg").write_text(picture, encoding="utf-8")
    return [
        *rows,
        compared("sheathing on the first day, kg/kg", float(wood.mean[0]), 0.30, 0.01, METER),
        compared("sheathing a year later, kg/kg", float(wood.mean[-1]), 0.145, 0.045, USUAL),
    ]


if __name__ == "__main__":
    show(main)
