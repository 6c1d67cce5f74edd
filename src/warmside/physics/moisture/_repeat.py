"""Years of the same weather: run until a year repeats the one before."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from warmside.physics.moisture._mesh import Mesh
from warmside.physics.moisture._potential import FloatArray
from warmside.physics.moisture._simulation import Balance, Forcing, Run, simulate

# Change still to come, in humidity [-] and in water over dry mass [kg/kg]: the accuracy asked of
# the solver. On 75 paths of the demonstration house half of it changes no verdict, mould index, rot
# or greatest moisture, and the mean humidity of an interface by at most 0.0007.
SETTLED = 2e-3
SLOWEST = 0.5  # least ratio of the changes of successive years that is counted on [-]


@dataclass(frozen=True)
class Years:
    """How many years a run stands for: those after the ``computed`` ones repeat the last of them.

    What is no more than a function of the hour is worked out over the computed hours and told
    again; only what has memory (mould, rot) must run through all of them.

    Attributes
    ----------
    all, computed : int
        Years [-].
    hours : int
        Of one year [h].
    """

    all: int
    computed: int
    hours: int

    def told(self, series: FloatArray) -> FloatArray:
        """Series of all years from that of those computed."""
        again = self.all - self.computed
        return np.concatenate([series, *[series[-self.hours :]] * again]) if again > 0 else series


def simulate_years(
    cells: Mesh,
    forcing: Forcing,
    hours: int,
    years: int,
    *,
    humidity: FloatArray | float = 0.5,
    **how: Any,
) -> tuple[Run, Years]:
    """``simulate`` over ``years`` times the same ``hours``, and how many of them were computed.

    A wall under the same weather every year comes to a cycle. The changes d_n of the state from one
    autumn to the next then shrink by a ratio q, and what is still to come is the sum of their
    series, ``d_n q / (1 - q)``. Once that is below 0.002 in humidity and in water over dry mass in
    every cell, the remaining years are that year again: the run holds the series of the years
    computed and the balance of all.

    Parameters
    ----------
    cells, forcing, hours, humidity, how
        As for ``simulate``, of one year; the last hour's drivers are those of the first.
    years : int
        1 or more [-].
    """
    runs = [simulate(cells, forcing, hours, humidity=humidity, **how)]
    change = np.inf
    while len(runs) < years:
        last = runs[-1]
        how = how | {"temperature": last.final_temperature, "potential": last.final_potential}
        runs.append(simulate(cells, forcing, hours, **how))
        before, change = change, _change(last, runs[-1])
        ratio = max(change / before, SLOWEST)
        if ratio < 1.0 and change * ratio / (1.0 - ratio) <= SETTLED:
            break
    return _joined(runs, years), Years(years, len(runs), hours)


def _change(before: Run, after: Run) -> float:
    """Largest difference of the end states, in humidity or water over dry mass [-]."""
    density = np.array([slab.material.density for slab in after.mesh.slabs])[after.mesh.layer]
    humid = np.abs(after.final_humidity - before.final_humidity)
    water = np.abs(after.final_water - before.final_water) / density
    return float(max(humid.max(), water.max()))


def _joined(runs: Sequence[Run], years: int) -> Run:
    """One run with the series of ``runs``; its balance counts the last of them to the end."""
    if years == 1:
        return runs[0]
    balances = [run.balance for run in [*runs, *[runs[-1]] * (years - len(runs))]]

    def series(name: str) -> FloatArray:
        return np.concatenate([getattr(run, name) for run in runs])

    def total(name: str) -> float:
        return float(sum(getattr(one, name) for one in balances))

    return replace(
        runs[-1],
        temperature=series("temperature"),
        potential=series("potential"),
        crossed=series("crossed"),
        balance=Balance(
            total("water_in"), total("water_stored"), total("heat_in"), total("heat_stored"),
            max(one.water_error for one in balances), max(one.heat_error for one in balances),
        ),
        counts={name: sum(run.counts[name] for run in runs) for name in runs[0].counts},
    )  # fmt: skip
