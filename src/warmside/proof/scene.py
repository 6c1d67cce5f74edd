"""What a camera would see of a wall: the forward way, to plan a picture and to try the way back."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from warmside.errors import Fault, InputError
from warmside.physics.thermography import Camera, apparent
from warmside.proof.picture import Picture
from warmside.proof.prediction import Prediction
from warmside.proof.rectify import Lens, Mark, View, sampled

Floats = npt.NDArray[np.float64]
_FINER = 2  # samples along each side of a pixel


@dataclass(frozen=True)
class Stand:
    """Where the camera stands and what it is: it looks at (``x``, ``z``) of the wall.

    ``turned`` [deg] is how far it stands to the left of square on, ``raised`` [deg] how far above.
    """

    x: float  # [m]
    z: float  # [m]
    distance: float  # [m]
    turned: float = 0.0  # [deg]
    raised: float = 0.0  # [deg]
    columns: int = 320
    rows: int = 240
    opening_angle: float = 60.0  # [deg] across the columns
    lens: Lens = Lens()  # noqa: RUF009

    def __post_init__(self) -> None:
        if not (self.distance > 0.0 and abs(self.turned) < 80.0 and abs(self.raised) < 80.0):
            read = f"{self.distance:g} m, {self.turned:g} and {self.raised:g} deg"
            allowed = "before the wall, less than 80 deg off"
            raise InputError([Fault("camera's stand", read, allowed)])

    @property
    def view(self) -> View:
        """How it sees the plane of the wall."""
        a, b = np.radians(self.turned), np.radians(self.raised)
        ahead = np.array([np.sin(a) * np.cos(b), np.cos(a) * np.cos(b), -np.sin(b)])
        right = np.array([np.cos(a), -np.sin(a), 0.0])
        up = np.cross(right, ahead)
        eye = np.array([self.x, 0.0, self.z]) - self.distance * ahead
        focal = self.columns / 2.0 / np.tan(np.radians(self.opening_angle) / 2.0)
        centre = ((self.columns - 1) / 2.0, (self.rows - 1) / 2.0)
        inner = np.array([[focal, 0.0, centre[0]], [0.0, focal, centre[1]], [0.0, 0.0, 1.0]])
        axes = np.array([right, -up, ahead])
        outer = np.column_stack([axes[:, 0], axes[:, 2], -axes @ eye])
        return View(inner @ outer, self.lens, (self.rows, self.columns))


@dataclass(frozen=True)
class Faults:
    """What is wrong with every real camera.

    ``noise`` differs from pixel to pixel, ``drift`` from place to place over about an eighth of
    the picture, ``offset`` is the same everywhere; ``blur`` is the standard deviation of its spot.
    """

    noise: float = 0.0  # [K]
    drift: float = 0.0  # [K]
    offset: float = 0.0  # [K]
    blur: float = 0.7  # [pixel]


PERFECT = Faults(blur=0.0)


def pictured(
    surface: Floats,
    prediction: Prediction,
    stand: Stand,
    *,
    room: float,
    camera: Camera | None = None,
    faults: Faults = PERFECT,
    around: float | None = None,
    seed: int = 0,
) -> Picture:
    """The picture that a camera takes of a wall.

    Parameters
    ----------
    surface : ndarray
        Temperatures of the room side on the grid of ``prediction`` (nz, nx) [degC].
    prediction : Prediction
        For its grid.
    stand : Stand
        Where the camera stands.
    room : float
        Room temperature [degC].
    camera : Camera, optional
        Emissivity and reflected temperature; the usual ones when not given.
    faults : Faults
        What the camera adds.
    around : float, optional
        Temperature of everything but the wall [degC]; that of the room when not given.
    seed : int
        Of its noise.

    Returns
    -------
    Picture
        Apparent temperatures, read at emissivity 1 [degC].
    """
    from scipy.ndimage import gaussian_filter

    rows, columns = stand.rows, stand.columns
    fine = (np.arange(_FINER) + 0.5) / _FINER - 0.5
    at = np.stack(
        np.meshgrid(
            (np.arange(columns)[:, None] + fine).ravel(), (np.arange(rows)[:, None] + fine).ravel()
        ),
        axis=-1,
    )
    x, z = np.moveaxis(stand.view.places(at), -1, 0)
    step = prediction.x[1] - prediction.x[0], prediction.z[1] - prediction.z[0]
    grid = np.stack([(x - prediction.x[0]) / step[0], (z - prediction.z[0]) / step[1]], axis=-1)
    seen = sampled(surface, grid)
    seen = np.where(np.isnan(seen), room if around is None else around, seen)
    read = apparent(seen, camera or Camera(), room)
    read = read.reshape(rows, _FINER, columns, _FINER).mean(axis=(1, 3))
    if faults.blur:
        read = gaussian_filter(read, faults.blur)
    return Picture(np.asarray(read + _added(faults, (rows, columns), seed)))


def _added(faults: Faults, shape: tuple[int, int], seed: int) -> Floats:
    from scipy.ndimage import gaussian_filter

    rng = np.random.default_rng(seed)
    noise = faults.noise * rng.standard_normal(shape)
    drift = gaussian_filter(rng.standard_normal(shape), max(shape) / 16.0, mode="wrap")
    return np.asarray(noise + faults.drift * drift / drift.std() + faults.offset)


def corners_seen(
    stand: Stand, prediction: Prediction, error: float = 0.0, seed: int = 0
) -> tuple[Mark, ...]:
    """The wall's four corners as marks, each off by about ``error`` [pixel] either way."""
    frame = prediction.frame
    places = np.array(
        [(0.0, 0.0), (frame.length, 0.0), (frame.length, frame.height), (0.0, frame.height)]
    )
    pixels = stand.view.pixels(places[:, 0], places[:, 1])
    pixels = pixels + error * np.random.default_rng(seed).standard_normal(pixels.shape)
    return tuple(
        Mark(float(c), float(r), float(x), float(z))
        for (c, r), (x, z) in zip(pixels, places, strict=True)
    )
