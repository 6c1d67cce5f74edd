"""How the demonstration's thermal pictures were made: no camera took them.

A wall's field is solved with one bay left empty and cold air put along its foot, and a camera with
noise, drift, offset, blur and tilt is made up to look at it. ``python -m warmside.demo.pictures``
writes them anew beside this file.
"""

from __future__ import annotations

from importlib import resources
from pathlib import Path

import numpy as np

from warmside.catalog import load
from warmside.demo import survey_text
from warmside.framing import frame_wall
from warmside.options import as_built, offered
from warmside.physics.conduction import wall_field, wall_heat
from warmside.proof import Faults, Picture, Prediction, Stand, corners_seen, pictured, predict
from warmside.proof.prediction import CELLS, TOLERANCE, resampled, usual_foam
from warmside.survey import read

OPTION = "cc-51"
EMPTY = {"kitchen north": "bay 14"}  # the bay that was forgotten
ROOM, OUTSIDE = 21.0, -6.0  # [degC]
LEAK = 1.6  # [K] by which the foot of a bay is colder with the fan running
FAULTS = Faults(noise=0.08, drift=0.06, offset=-0.9, blur=0.7)
STANDS = {
    "kitchen north": Stand(2.44, 1.2, 5.2, turned=14.0, raised=3.0, columns=200, rows=150),
    "kitchen west": Stand(1.8, 1.2, 3.8, turned=-9.0, raised=2.0, columns=200, rows=150),
}


def pictures(wall_name: str) -> tuple[dict[str, Picture], str]:
    """The pictures of one wall by the names of their files, and the marks of its corners."""
    survey, catalog = read(survey_text()), load()
    wall = next(w for w in survey.walls if w.name == wall_name)
    frame = frame_wall(wall, survey.house, catalog.lumber)
    option = next(o for o in offered(wall, survey.house, catalog) if o.id == OPTION)
    p = predict(option, wall, frame, catalog, hazards=survey.hazards)
    rng = np.random.default_rng(7)
    foam = {
        b.name: float(np.clip(option.thickness + 0.002 * rng.standard_normal(), 0.0, b.depth))
        for b in frame.bays
    }
    if wall_name in EMPTY:
        foam[EMPTY[wall_name]] = 0.0
    built = usual_foam(as_built(option, wall, frame, catalog, foam, survey.hazards), catalog)
    heat = wall_heat(wall_field(built.assembly, cells=2 * CELLS, tolerance=TOLERANCE))
    surface = OUTSIDE + (ROOM - OUTSIDE) * resampled(heat, p.x, p.z).astype(float)
    stem = wall_name.replace(" ", "-")
    found = {f"{stem}.csv": _shot(surface, p, STANDS[wall_name], 1)}
    if wall_name in EMPTY:
        found[f"{stem}-fan.csv"] = _shot(_with_draught(surface, p), p, STANDS[wall_name], 2)
    return found, marks(wall_name, p)


def _shot(surface: np.ndarray, p: Prediction, stand: Stand, seed: int) -> Picture:
    return pictured(surface, p, stand, room=ROOM, faults=FAULTS, around=ROOM - 1.5, seed=seed)


def _with_draught(surface: np.ndarray, p: Prediction) -> np.ndarray:
    bay = next(b for b in p.frame.bays if b.name == "bay 2").rect
    blown = surface.copy()
    here = np.ix_(p.z < 0.09, (p.x > bay.x0) & (p.x < bay.x1))
    blown[here] -= LEAK
    return blown


def marks(wall_name: str, p: Prediction) -> str:
    """Where the corners of a wall are in its pictures, as rows of the proof file."""
    return "\n".join(
        f"    {{ column = {m.column:.1f}, row = {m.row:.1f}, "
        f'x = "{m.x:.4f} m", z = "{m.z:.4f} m" }},'
        for m in corners_seen(STANDS[wall_name], p, error=0.6, seed=3)
    )


def main() -> None:
    """Write the pictures beside this file, and print their marks."""
    folder = Path(str(resources.files("warmside.demo"))) / "proof"
    for wall in STANDS:
        found, corners = pictures(wall)
        for name, picture in found.items():
            rows = "\n".join(",".join(f"{v:.2f}" for v in row) for row in picture.values)
            (folder / name).write_text(rows + "\n", encoding="ascii")
        print(f"# {wall}\n{corners}")  # noqa: T201


if __name__ == "__main__":
    main()
