"""From the tilted picture to the plane of the wall: lens, homography, sampling.

Picture places are (column, row) in pixels, the centre of the first pixel at (0, 0); wall places
(x, z) in metres as the frame has them. Homography by the direct linear transformation, radial
distortion by its usual polynomial (both: Hartley & Zisserman, Multiple View Geometry, 2nd ed.,
sections 4.1 and 7.4; from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from warmside.errors import Fault, InputError

Floats = npt.NDArray[np.float64]
_ROUNDS = 20  # of the fixed point that undoes the lens; it gains a digit or more in each


@dataclass(frozen=True)
class Mark:
    """A place of the wall that was found in the picture."""

    column: float  # [pixel]
    row: float  # [pixel]
    x: float  # [m]
    z: float  # [m]


@dataclass(frozen=True)
class Lens:
    """Radial distortion: ``r' = r (1 + k1 r^2 + k2 r^4)``, r in half diagonals of the picture."""

    k1: float = 0.0
    k2: float = 0.0

    def __post_init__(self) -> None:
        if not (abs(self.k1) <= 0.5 and abs(self.k2) <= 0.5):
            raise InputError([Fault("lens", f"k1 {self.k1}, k2 {self.k2}", "-0.5 to 0.5 each")])

    def distorted(self, places: Floats, shape: tuple[int, int]) -> Floats:
        """Where the lens puts straight places (n, 2) of a picture of ``shape`` [pixel]."""
        if not (self.k1 or self.k2):
            return places
        centre, half = _middle(shape)
        out = places - centre
        r2 = (out**2).sum(axis=-1, keepdims=True) / half**2
        return np.asarray(centre + out * (1.0 + self.k1 * r2 + self.k2 * r2**2))

    def straight(self, places: Floats, shape: tuple[int, int]) -> Floats:
        """Places (n, 2) as a lens without distortion would show them [pixel]."""
        if not (self.k1 or self.k2):
            return places
        centre, half = _middle(shape)
        seen = places - centre
        out = seen.copy()
        for _ in range(_ROUNDS):
            r2 = (out**2).sum(axis=-1, keepdims=True) / half**2
            out = seen / (1.0 + self.k1 * r2 + self.k2 * r2**2)
        return np.asarray(centre + out)


def _middle(shape: tuple[int, int]) -> tuple[Floats, float]:
    rows, columns = shape
    centre = np.array([(columns - 1) / 2.0, (rows - 1) / 2.0])
    return centre, float(np.hypot(rows, columns) / 2.0)


@dataclass(frozen=True, eq=False)
class View:
    """How a picture sees the wall: homography from (x, z) to straight pixels, then the lens."""

    matrix: Floats  # (3, 3)
    lens: Lens
    shape: tuple[int, int]

    def pixels(self, x: Floats, z: Floats) -> Floats:
        """Pixels (..., 2) of wall places [m]."""
        flat = projected(self.matrix, np.stack([x, z], axis=-1))
        return self.lens.distorted(flat, self.shape)

    def places(self, pixels: Floats) -> Floats:
        """Wall places (..., 2) [m] of pixels (..., 2)."""
        return projected(
            np.asarray(np.linalg.inv(self.matrix), float), self.lens.straight(pixels, self.shape)
        )

    def footprint(self, x: float, z: float) -> float:
        """Side of the square of wall that one pixel covers there [m]."""
        step = 1e-3
        here, right, up = self.pixels(np.array([x, x + step, x]), np.array([z, z, z + step]))
        turn = np.array([right - here, up - here]) / step
        return float(1.0 / np.sqrt(abs(np.linalg.det(turn))))


def projected(matrix: Floats, places: Floats) -> Floats:
    """A homography (3, 3) applied to places (..., 2)."""
    ones = np.ones((*places.shape[:-1], 1))
    out = np.concatenate([places, ones], axis=-1) @ matrix.T
    return np.asarray(out[..., :2] / out[..., 2:])


def homography(here: Floats, there: Floats) -> Floats:
    """The projective map (3, 3) from places (n, 2) to places (n, 2); least squares for n > 4.

    Both sets are first centred and scaled to a mean distance of sqrt 2, without which the
    equations are badly conditioned.
    """
    (a, here), (b, there) = _normal(here), _normal(there)
    rows = []
    for (x, y), (u, v) in zip(here, there, strict=True):
        rows.append([x, y, 1.0, 0.0, 0.0, 0.0, -u * x, -u * y, -u])
        rows.append([0.0, 0.0, 0.0, x, y, 1.0, -v * x, -v * y, -v])
    solution = np.linalg.svd(np.array(rows))[2][-1].reshape(3, 3)
    matrix = np.linalg.inv(b) @ solution @ a
    return np.asarray(matrix / matrix[2, 2])


def _normal(places: Floats) -> tuple[Floats, Floats]:
    centre = places.mean(axis=0)
    scale = np.sqrt(2.0) / np.linalg.norm(places - centre, axis=1).mean()
    matrix = np.array(
        [[scale, 0.0, -scale * centre[0]], [0.0, scale, -scale * centre[1]], [0.0, 0.0, 1.0]]
    )
    return matrix, (places - centre) * scale


def view_of(marks: Sequence[Mark], shape: tuple[int, int], lens: Lens | None = None) -> View:
    """How a picture sees the wall, from places marked in it.

    Parameters
    ----------
    marks : sequence of Mark
        Four or more, no three of the first four on one line.
    shape : (int, int)
        Rows and columns of the picture.
    lens : Lens, optional
        Its distortion; none when not given.

    Returns
    -------
    View
        Exact for four marks.

    Raises
    ------
    InputError
        Too few marks, marks on one line or crosswise, far outside the picture.
    """
    optics = lens or Lens()
    _refuse(marks, shape)
    pixels = optics.straight(np.array([(m.column, m.row) for m in marks]), shape)
    return View(homography(np.array([(m.x, m.z) for m in marks]), pixels), optics, shape)


def _refuse(marks: Sequence[Mark], shape: tuple[int, int]) -> None:
    if len(marks) < 4:
        read = f"{len(marks)} marks"
        raise InputError([Fault("marks", read, "four places of the wall, its corners for one")])
    numbers = np.array([(m.column, m.row, m.x, m.z) for m in marks], dtype=float)
    rows, columns = shape
    if not np.isfinite(numbers).all():
        raise InputError([Fault("marks", "places that are not numbers", "numbers")])
    beyond = (numbers[:, 0] < -columns) | (numbers[:, 0] > 2 * columns)
    beyond |= (numbers[:, 1] < -rows) | (numbers[:, 1] > 2 * rows)
    if beyond.any():
        read = f"mark {int(np.argmax(beyond)) + 1} far outside the picture"
        raise InputError([Fault("marks", read, f"columns 0 to {columns}, rows 0 to {rows}")])
    turns, wall_turns = _turns(numbers[:4, :2]), _turns(numbers[:4, 2:])
    if min(abs(turns)) < 1e-4 or min(abs(wall_turns)) < 1e-4:
        read = "three of four marks on one line"
        raise InputError([Fault("marks", read, "corners of a four-sided figure")])
    # rows run down and z runs up: the sense of every turn must change, or marks are crossed
    if not np.all(np.sign(turns) == -np.sign(wall_turns)):
        read = "marks in another order than their places on the wall, or a mirrored picture"
        allowed = "each mark with its own place, the wall seen from the room"
        raise InputError([Fault("marks", read, allowed)])


def _turns(corners: Floats) -> Floats:
    """Sine-like turn of every three of four corners, in units of their extent."""
    size = np.ptp(corners, axis=0).max() ** 2
    triples = ((0, 1, 2), (1, 2, 3), (2, 3, 0), (3, 0, 1))
    a, b, c = (np.array([corners[t[k]] for t in triples]) for k in range(3))
    one, two = b - a, c - a
    return np.asarray((one[:, 0] * two[:, 1] - one[:, 1] * two[:, 0]) / max(size, 1e-12))


def sampled(values: Floats, pixels: Floats) -> Floats:
    """Values at pixels (..., 2), linear between neighbours; NaN beyond the picture."""
    from scipy.ndimage import map_coordinates

    at = [pixels[..., 1], pixels[..., 0]]
    return np.asarray(map_coordinates(values, at, order=1, cval=np.nan))
