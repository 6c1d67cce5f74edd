"""One wall through one year, hour by hour: ours against general-purpose integrators.

All three integrate the same finite volumes (80 cells, hourly weather of Sand Point, Alaska) with
the same compiled functions. Accuracy is the largest difference in relative humidity, over all hours
after the first day and all cells inside the cladding, from our own run at tolerances 100 times
tighter. Times are of one core (process time), compilation left out. The physical limit is what a
core could do at best: the additions and multiplications of the run at the pace of a product of
matrices that stay in its cache.
"""

from __future__ import annotations

import sys
import time
from pathlib import Path

import numpy as np
import pvlib
from scipy.integrate import solve_ivp
from scipy.sparse import diags

from record import record
from warmside.catalog import load
from warmside.physics.assembly import Layer, Stack
from warmside.physics.climate import Facade, facade_weather, indoor_en15026
from warmside.physics.moisture import (
    Forcing,
    Settings,
    mesh,
    right_hand_side,
    simulate,
    slabs_of,
)
from warmside.physics.moisture._potential import humidity_of_u
from warmside.weather import read_weather

WALL = (
    ("latex-paint", "finish", 0.0001),
    ("gypsum-board", "finish", 0.0127),
    ("air", "gap", 0.013),
    ("closed-cell", "foam", 0.076),
    ("board-sheathing", "sheathing", 0.019),
    ("building-paper", "paper", 0.0003),
    ("wood-bevel-siding", "cladding", 0.013),
)


def wall() -> Stack:
    from warmside.options import layer_of

    catalog = load()
    layers: list[Layer] = []
    for name, role, thickness in WALL:
        row = catalog.foams.get(name) or catalog.materials[name]
        layers.append(layer_of(row, role, thickness, thickness))
    return Stack("bay", 1.0, tuple(layers), ())


def problem(hours: int):
    data = Path(pvlib.__file__).parent / "data" / "703165TY.csv"
    year = read_weather(data.read_bytes()).part(0, min(hours + 1, 8760))
    outside, inside = facade_weather(year, Facade(0.0)), indoor_en15026(year)

    def series(values):
        return np.resize(np.append(values, values[-1]), hours + 1)

    forcing = Forcing(
        series(inside.temperature), series(inside.vapour_pressure), series(outside.temperature),
        series(outside.vapour_pressure), out_film=series(outside.film),
        out_transfer=series(outside.vapour_film), absorbed=series(outside.absorbed),
        rain=series(outside.rain), pressure=series(outside.pressure),
    )  # fmt: skip
    cells = mesh(tuple(slab for slab, _ in slabs_of(wall())), 80)
    return cells, forcing


# Additions, multiplications and divisions a cell, counted in the source: laws of the material 80
# (four cubics, an exponential), fluxes 40, residual and its tests 30, the solve 26; a step's own
# weights, guesses, ends and error estimate; derivatives and their elimination.
EACH_EVALUATION, EACH_STEP, EACH_FACTORISATION = 176, 130, 230

START = {"temperature": 10.0, "humidity": 0.6}


def ours(cells, forcing, hours, settings=Settings(), watch=None, repeat=1):  # noqa: B008
    best = np.inf
    for _ in range(repeat):
        start = time.process_time()
        run = simulate(cells, forcing, hours, watch=watch, settings=settings, **START)
        best = min(best, time.process_time() - start)
    return run, best


def general(cells, forcing, hours, method, rtol):
    rhs, y0 = right_hand_side(cells, forcing, hours, **START)
    rhs(0.0, y0)
    more = {"lband": 3, "uband": 3}
    if method == "BDF":
        n = y0.size
        more = {"jac_sparsity": diags([np.ones(n - abs(k)) for k in range(-3, 4)], range(-3, 4))}
    start = time.process_time()
    found = solve_ivp(
        rhs, (0.0, hours * 3600.0), y0, method=method, rtol=rtol, atol=rtol, max_step=3600.0,
        t_eval=np.arange(1, hours + 1) * 3600.0, **more,
    )  # fmt: skip
    spent = time.process_time() - start
    if not found.success:
        raise SystemExit(f"{method}: {found.message}")
    return humidity_of_u(found.y[0::2].T, found.y[1::2].T), spent, found.nfev


def at_best(run):
    """Seconds [s] of the run's additions and multiplications, and how many there are."""
    size = 256
    square = np.random.default_rng(1).random((size, size))
    spent = []
    for _ in range(50):
        start = time.process_time()
        square @ square
        spent.append(time.process_time() - start)
    each = EACH_EVALUATION, EACH_STEP, EACH_FACTORISATION
    counts = [run.counts[name] for name in ("evaluations", "steps", "factorisations")]
    done = run.mesh.width.size * float(np.dot(each, counts))
    return done * min(spent) / (2.0 * size**3), done


def main() -> None:
    hours = int(sys.argv[1]) if len(sys.argv) > 1 else 8760
    rtol = float(sys.argv[2]) if len(sys.argv) > 2 else 1e-4
    cells, forcing = problem(hours)
    inside = np.flatnonzero(cells.layer < len(WALL) - 1)
    exact, _ = ours(cells, forcing, hours, Settings(1e-4, 3e-3, 0.01))
    at_faces = np.array([int(cells.cells(k)[0]) for k in range(1, len(WALL))])
    run, spent = ours(cells, forcing, hours, watch=at_faces, repeat=5)
    everywhere, _ = ours(cells, forcing, hours)

    def error(humidity):
        return np.abs(humidity - exact.humidity)[24:, inside].max()

    balance = max(run.balance.water_error, run.balance.heat_error)
    print(f"{hours} hours, {cells.width.size} cells, balance {balance:.0e}")
    print(f"{'method':24}{'s':>9}{'times ours':>12}{'RH error':>11}{'evaluations':>13}")
    print(
        f"{'ours':24}{spent:9.3f}{1.0:12.1f}{error(everywhere.humidity):11.5f}{run.counts['evaluations']:13}"
    )
    limit, done = at_best(run)
    name, many = "limit of the core", f"{done / 1e6:.0f} M operations"
    print(f"{name:24}{limit:9.3f}{limit / spent:12.2f}  {many}")
    record("a wall-year hour by hour, 80 cells", spent * 8760 / hours, "s", target="<= 0.15",
           ratio=spent / limit, against="its operations at the pace of a product")  # fmt: skip
    record("error of relative humidity", error(everywhere.humidity), "-", target="<= 0.002")
    for method, label in (("LSODA", "LSODA, banded"), ("BDF", "BDF, sparse")):
        humidity, slow, count = general(cells, forcing, hours, method, rtol)
        record(f"the same wall by {label}", slow, "s", target=">= 30 or 100", ratio=slow / spent,
               against=f"times ours; scipy {method}")  # fmt: skip
        print(f"{label:24}{slow:9.3f}{slow / spent:12.1f}{error(humidity):11.5f}{count:13}")


if __name__ == "__main__":
    main()
