"""Ten years of every wall, option and path of the demonstration house, hour by hour.

``./bench dry_house [years]``. Paths that are alike (the same layers, start, room and leak on walls
that look the same way) are run once. The clock runs from the moment both processes are
ready to the last answer; on a machine with other work it says less than the processor time beside
it. Then it prints what the trade says about water in walls and what the model says, on the house's
own north wall.
"""

from __future__ import annotations

import os
import sys
import time
from concurrent.futures import ProcessPoolExecutor
from functools import cache
from multiprocessing import get_context
from multiprocessing.synchronize import Barrier

from record import record
from warmside.catalog import load
from warmside.demo import survey_text
from warmside.framing import frame_wall
from warmside.options import apply, offered
from warmside.physics.moisture import warm
from warmside.promises import (
    PATHS,
    dry_years,
    exposure_of,
    house_air,
    room_after,
    seals_joints,
    trade_sayings,
    worst_joint,
)
from warmside.survey import read
from warmside.weather import made_year

LIMIT = 60.0  # [s] by the clock on two cores, for ten years
CORES = 2


@cache
def house():
    """The house with its weather, its air and its room today and tight."""
    survey, catalog = read(survey_text()), load()
    weather = made_year(catalog.climate(survey.house.climate))
    frames = [frame_wall(wall, survey.house, catalog.lumber) for wall in survey.walls]
    air = house_air(survey.house, survey.walls, frames, catalog, weather)
    removed = sum(wall.removed.best for wall in air.walls.values())
    tight = room_after(survey.house, air, removed, catalog)
    return survey, catalog, frames, air, air.room, tight


def ready(together: Barrier) -> None:
    """Load what a process needs, compiled loops too, and wait for the other one."""
    house()
    warm()
    together.wait()


def faced(survey, frames, air):
    """Walls with their frames, those together that look the same way and start alike."""
    groups = {}
    for wall, frame in zip(survey.walls, frames, strict=True):
        key = wall.faces, exposure_of(wall, air.weather).start
        groups.setdefault(key, []).append((wall, frame))
    return sorted(groups.values(), key=len, reverse=True)


def judged(years, number, path):
    """Judge one path of every option of the walls of group ``number``; they share what is alike."""
    begun, spent, done, bad, known = time.monotonic(), time.process_time(), 0, 0, {}
    survey, catalog, frames, air, room, tight = house()
    for wall, frame in faced(survey, frames, air)[number]:
        exposure = exposure_of(wall, air.weather)
        for option in offered(wall, survey.house, catalog, survey.options):
            build_up = apply(option, wall, frame, catalog, survey.hazards)
            if not build_up.can_be_built:
                continue
            found = dry_years(
                build_up, exposure, tight if seals_joints(build_up) else room, years=years,
                paths=(path,), joint=worst_joint(build_up, wall, air), known=known,
            )  # fmt: skip
            done += len(found.paths)
            bad += sum(f.key.startswith("unsolved") for f in found.findings)
    return begun, time.monotonic(), time.process_time() - spent, done, len(known), bad


def main() -> int:
    years = int(sys.argv[1]) if len(sys.argv) > 1 else 10
    begun = time.monotonic()
    survey, _, frames, air, _, _ = house()
    groups = range(len(faced(survey, frames, air)))
    spawn = get_context("spawn")
    with ProcessPoolExecutor(
        CORES, mp_context=spawn, initializer=ready, initargs=(spawn.Barrier(CORES),)
    ) as pool:
        # handed out one at a time, the walls with most options first, so that both end together
        shares = [
            share.result()
            for share in [pool.submit(judged, years, k, path) for k in groups for path in PATHS]
        ]
    whole = time.monotonic() - begun
    clock = max(share[1] for share in shares) - min(share[0] for share in shares)
    cpu, done, runs, bad = (sum(share[k] for share in shares) for k in (2, 3, 4, 5))
    rows = (
        ("years", years, "d"), ("paths judged", done, "d"), ("of these different, run", runs, "d"),
        ("not got through", bad, "d"), ("wall-years told", runs * years, "d"),
        ("processor time of both [s]", cpu, ".1f"), ("... per wall-year [s]",
         cpu / (runs * years), ".3f"), ("by the clock on two cores [s]", clock, ".1f"),
        ("all, with start [s]", whole, ".1f"), ("load of the machine, last minute",
         os.getloadavg()[0], ".1f"),
    )  # fmt: skip
    for name, value, shape in rows:
        print(f"{name:34s}{value:>10{shape}}")
    what = f"{years} years of the demonstration house, every path"
    record(f"{what}, by the clock", clock, "s", target="<= 60 at 10")
    record(f"{what}, processor time", cpu, "s")
    print(f"limit {LIMIT:g} s for ten years on two cores; a year that repeats is not run again")
    print("\nWhat the trade says (common practice, no source) and what the model says")
    for saying in trade_sayings(air, load()):
        print(f"- {saying.said}: {saying.verdict}. {saying.reason}")
    return 0 if clock <= LIMIT else 1


if __name__ == "__main__":
    sys.exit(main())
