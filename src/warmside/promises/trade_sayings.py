"""What the trade says about water in walls, beside what the same physics gives."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from warmside.catalog import Catalog
from warmside.options import layer_of, permeance
from warmside.physics.airflow import STANDARD_DENSITY
from warmside.physics.humid_air import saturation_pressure
from warmside.physics.moisture import deposit, hole_flow, round_hole
from warmside.promises.air import HouseAir
from warmside.units import HOUR

_SEASON = 0.0  # [degC] hours colder than this count as the season
_PRESSURE = 4.0  # [Pa] steady, as leakage areas are told
_SHEET = 1.0  # [m2] of painted gypsum board around the hole
_HOLE = 0.02  # [m] in the sheet, the best-known picture of it
_BARRIER = 57e-12  # [kg/(m2 s Pa)] most of a vapour barrier: 1 perm, 57 ng


@dataclass(frozen=True)
class Saying:
    """A saying of the trade held against a computation."""

    said: str
    figure: float
    unit: str
    verdict: Literal["holds", "does not hold", "holds from a thickness on"]
    reason: str
    basis: str = "common practice, no source; beside it computed"


def trade_sayings(air: HouseAir, catalog: Catalog) -> tuple[Saying, ...]:
    """Three sayings over the house's own winter and room.

    Parameters
    ----------
    air : HouseAir
        Weather and room.
    catalog : Catalog
        Paint, gypsum board and foam.

    Returns
    -------
    tuple of Saying
        Each with its figure and the reason why it holds or not.
    """
    return _by_air(air, catalog), _through_a_hole(air), _own_barrier(catalog)


def _winter(air: HouseAir) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    return np.asarray(air.weather.temperature[air.weather.temperature < _SEASON])


def _by_air(air: HouseAir, catalog: Catalog) -> Saying:
    """A hole of 20 mm in a square metre of painted board, against diffusion through the board."""
    cold, room = _winter(air), air.room.vapour_pressure
    sheets = [
        layer_of(catalog.material(name), "finish", thickness, thickness)
        for name, thickness in (("latex-paint", 1e-4), ("gypsum-board", 0.0127))
    ]
    left = deposit(1.0, room, cold)
    by_air = float((hole_flow(round_hole(_HOLE), _PRESSURE) * left).sum() * HOUR)
    drop = np.maximum(room - np.asarray(saturation_pressure(cold)), 0.0)
    through = float(drop.sum() * HOUR * permeance(sheets) * _SHEET)
    share = by_air / (by_air + through)
    agrees = share >= 0.9
    return Saying(
        "98 % of the water in a wall comes with air, 2 % by diffusion",
        share,
        "-",
        "holds" if agrees else "does not hold",
        f"A hole of {_HOLE * 1000:.0f} mm at {_PRESSURE:.0f} Pa brings {by_air:.1f} kg in hours "
        f"below {_SEASON:.0f} °C, a square metre of painted board {through:.1f} kg: "
        f"{share:.0%} by air. It turns on the hole, the paint and the area: one share fits no two "
        "walls.",
    )


def _through_a_hole(air: HouseAir) -> Saying:
    cold = _winter(air)
    water = deposit(hole_flow(round_hole(0.002), _PRESSURE), air.room.vapour_pressure, cold)
    litres = float(water.sum() * HOUR)
    grams = float(hole_flow(round_hole(0.002), _PRESSURE)) * STANDARD_DENSITY * 1000.0
    holes = 30.0 / max(litres, 1e-9)
    return Saying(
        "30 litres of water go through a 2 mm hole in a season",
        litres,
        "kg",
        "holds" if 15.0 <= litres <= 60.0 else "does not hold",
        f"At a steady {_PRESSURE:.0f} Pa it passes {grams * 1000:.1f} mg of air a second; it can "
        f"leave {litres:.2f} kg in {cold.size} hours below {_SEASON:.0f} °C, if all stays. About "
        f"{holes:.0f} such holes, or one of {2.0 * holes**0.5:.0f} "
        "mm, would leave 30.",
    )


def _own_barrier(catalog: Catalog) -> Saying:
    foam = catalog.foam("closed-cell")
    thick = np.arange(0.010, 0.200, 0.0005)
    passes = np.array([foam.permeability(float(t)) / t for t in thick])
    least = float(thick[np.flatnonzero(passes <= _BARRIER)[0]])
    return Saying(
        "Closed-cell foam is its own vapour barrier",
        least,
        "m",
        "holds from a thickness on",
        f"Its permeance falls to 57 ng/(Pa s m²), a barrier, at {least * 1000:.0f} mm; a thinner "
        "layer lets more through, and the studs beside it are bare at any thickness.",
    )
