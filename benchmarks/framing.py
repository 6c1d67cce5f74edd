"""From a surveyed wall to its framing and its solids: milliseconds for the demonstration house.

No general-purpose library does this; the ratio is to building a k-d tree (scipy) over as many
points as the walls have solids, in the same run.
"""

from __future__ import annotations

import statistics
import time

import numpy as np
from scipy.spatial import cKDTree

from record import record
from warmside.catalog import load
from warmside.demo import survey_text
from warmside.framing import frame_wall
from warmside.options import apply, offered
from warmside.physics.conduction import solids
from warmside.survey import read

RUNS = 7


def median(call) -> float:
    times = []
    for _ in range(RUNS):
        start = time.process_time()
        call()
        times.append(time.process_time() - start)
    return statistics.median(times)


def main() -> None:
    survey, catalog = read(survey_text()), load()
    print(f"{'wall':16s} {'framing ms':>11s} {'solids':>7s} {'solids ms':>10s} {'k-d trees':>10s}")
    ratios, spent = [], 0.0
    for wall in survey.walls:
        frame = frame_wall(wall, survey.house, catalog.lumber)
        option = next(o for o in offered(wall, survey.house, catalog) if o.id.startswith("furring"))
        built = apply(option, wall, frame, catalog)
        boxes = solids(built.assembly)
        points = np.random.default_rng(1).random((len(boxes), 3))
        framing = median(lambda w=wall: frame_wall(w, survey.house, catalog.lumber))
        boxing = median(lambda b=built: solids(b.assembly))
        tree = median(lambda p=points: cKDTree(p)) or 1e-6
        ratios.append((framing + boxing) / tree)
        spent += framing + boxing
        print(
            f"{wall.name:16s} {framing * 1e3:11.1f} {len(boxes):7d} {boxing * 1e3:10.1f} "
            f"{(framing + boxing) / tree:10.0f}"
        )
    record("framing and solids, all walls", spent, "s", ratio=statistics.median(ratios),
           against="scipy k-d tree of as many points")  # fmt: skip


if __name__ == "__main__":
    main()
