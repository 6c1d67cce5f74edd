"""Ten years of every wall, option and path of the demonstration house, hour by hour.

``./bench dry_house [years]``. Paths that are alike (the same layers, start, room and leak on walls
that look the same way) are run once. Beside the time it prints what the trade says about water in
walls and what the model says, on the house's own north wall.
"""

from __future__ import annotations

import sys
import time
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from multiprocessing import get_context

from record import record
from warmside.catalog import load
from warmside.demo import survey_text
from warmside.framing import frame_wall
from warmside.options import apply, offered
from warmside.physics.climate import normals_of, synthesise
from warmside.physics.moisture import warm
from warmside.promises import (
    PATHS,
    dry_years,
    exposure_of,
    house_air,
    house_tight,
    room_of,
    seals_joints,
    trade_sayings,
    worst_joint,
)
from warmside.survey import read

LIMIT = 60.0  # [s] on two cores, for ten years


def house():
    """The house with its weather, its air and its room today and tight."""
    survey, catalog = read(survey_text()), load()
    weather = synthesise(normals_of(catalog.climate(survey.house.climate)))
    room = room_of(survey.house, catalog.climate(survey.house.climate))
    frames = [frame_wall(wall, survey.house, catalog.lumber) for wall in survey.walls]
    air = house_air(survey.house, survey.walls, frames, catalog, weather, room)
    after = house_tight(survey.house, air, [wall.removed for wall in air.walls.values()])
    tight = replace(room, humidity=max(room.humidity, after.humidity_after))
    return survey, catalog, frames, air, room, tight


def facing(years, number, of):
    """Run every ``of``-th wall-and-option; options of walls that look the same way share paths."""
    survey, catalog, frames, air, room, tight = house()
    groups = {}
    for wall, frame in zip(survey.walls, frames, strict=True):
        groups.setdefault((wall.faces, exposure_of(wall, air.weather).start), []).append(
            (wall, frame)
        )
    warm()
    begun, spent, done, runs, bad = time.perf_counter(), time.process_time(), 0, 0, 0
    for k, walls in enumerate(groups.values()):
        if k % of != number:
            continue
        known = {}
        for wall, frame in walls:
            exposure = exposure_of(wall, air.weather)
            for option in offered(wall, survey.house, catalog, survey.options):
                build_up = apply(option, wall, frame, catalog, survey.hazards)
                if not build_up.can_be_built:
                    continue
                found = dry_years(
                    build_up, exposure, tight if seals_joints(build_up) else room, years=years,
                    paths=PATHS, joint=worst_joint(build_up, wall, air), known=known,
                )  # fmt: skip
                done += len(found.paths)
                bad += sum(f.key.startswith("unsolved") for f in found.findings)
        runs += len(known)
    return time.perf_counter() - begun, time.process_time() - spent, done, runs, bad


def main() -> int:
    years = int(sys.argv[1]) if len(sys.argv) > 1 else 10
    begun = time.perf_counter()
    with ProcessPoolExecutor(2, mp_context=get_context("spawn")) as pool:
        shares = list(pool.map(facing, [years] * 2, range(2), [2] * 2))
    whole = time.perf_counter() - begun
    loop = max(share[0] for share in shares)
    cpu = sum(share[1] for share in shares)
    done, runs, bad = (sum(share[k] for share in shares) for k in (2, 3, 4))
    rows = (
        ("years", years, "d"), ("paths judged", done, "d"), ("of these different, run", runs, "d"),
        ("not got through", bad, "d"), ("wall-years told", runs * years, "d"),
        ("processor time of both [s]", cpu, ".1f"), ("... per wall-year [s]",
         cpu / (runs * years), ".3f"), ("longer of the two processes [s]", loop, ".1f"),
        ("all, with start [s]", whole, ".1f"),
    )  # fmt: skip
    for name, value, shape in rows:
        print(f"{name:34s}{value:>10{shape}}")
    record(f"{years} years of the demonstration house, every path", cpu / 2.0, "s",
           target="<= 60 at 10")  # fmt: skip
    print(f"limit {LIMIT:g} s for ten years on two cores; a year that repeats is not run again")
    air = house()[3]
    print("\nWhat the trade says (common practice, no source) and what the model says")
    for saying in trade_sayings(air):
        print(f"- {saying.said}: {saying.verdict}. {saying.reason}")
    return 0 if loop <= LIMIT else 1


if __name__ == "__main__":
    sys.exit(main())
