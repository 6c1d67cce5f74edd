"""What a solved wall looks like inside: which piece fills each cell, and how warm its faces are."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from warmside.physics.assembly import Assembly
from warmside.physics.conduction._field import Field
from warmside.physics.conduction._field_bodies import triple
from warmside.physics.conduction._field_wall import ROOM, wall_field
from warmside.physics.conduction._slivers import without_slivers
from warmside.physics.conduction._solids import Solid, solids

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Inside:
    """A wall in cells with edges ``x``, ``y`` and ``z`` [m], ``y`` from the room outwards.

    ``solid`` (nx, ny, nz) numbers ``solids``, -1 in openings. ``factor`` (nx, ny + 1, nz) is the
    temperature factor [-] of the faces across ``y``: a place is at outside + (room - outside) *
    factor. It is not a number where there is no wall on either side.
    """

    x: Floats
    y: Floats
    z: Floats
    solid: npt.NDArray[np.int32]
    factor: Floats
    solids: tuple[Solid, ...]


def wall_inside(assembly: Assembly, *, cells: int, tolerance: float) -> Inside:
    """Solve a closed wall and keep the temperatures of its layers' faces.

    Between two cells the face is where the heat through both halves is the same,
    (K1 t1 + K2 t2) / (K1 + K2) with K = 2 k / d; on the room side and outside the film lies before
    it. This is the finite volumes' own temperature of a face (S. V. Patankar, Numerical Heat
    Transfer and Fluid Flow, 1980, sec. 4.2, from memory).

    Parameters
    ----------
    assembly : Assembly
        The wall.
    cells : int
        About how many cells at most.
    tolerance : float
        Of the true relative residual [-].
    """
    field = wall_field(assembly, cells=cells, tolerance=tolerance).field
    body = field.body()
    x, y, z = field.grid.edges
    filled = np.flatnonzero((body >= 0).any(axis=(0, 2)))
    first, last = int(filled[0]), int(filled[-1]) + 1
    return Inside(
        x=x,
        y=y[first : last + 1],
        z=z,
        solid=np.where(body >= 0, body, -1)[:, first:last],
        factor=_faces(field, body)[:, first : last + 1],
        solids=solids(without_slivers(assembly)),
    )


def _faces(field: Field, body: npt.NDArray[np.int32]) -> Floats:
    """Temperature factors of all faces across y, (nx, ny + 1, nz)."""
    along = np.array([triple(one.conductivity)[1] for one in field.grid.blocks.bodies])
    half = np.diff(field.grid.edges[1])[None, :, None] / 2.0
    conductance = np.where(body >= 0, along[np.maximum(body, 0)] / half, 0.0)
    edge = ((0, 0), (1, 1), (0, 0))
    theta = np.pad(field.factor(ROOM), edge)
    conductance = np.pad(conductance, edge)
    before, after = conductance[:, :-1], conductance[:, 1:]
    with np.errstate(invalid="ignore"):
        found: Floats = (before * theta[:, :-1] + after * theta[:, 1:]) / (before + after)
    faces = field.faces
    across = faces.axis == 1
    i, j, k = field.columns(faces.cell[across])
    film, within = faces.film[across], faces.within[across]
    air = (faces.environment[across] == field.environments.index(ROOM)).astype(float)
    drop = air - theta[i, j + 1, k]
    found[i, j + (faces.side[across] > 0), k] = air - drop * film / (film + within)
    return found
