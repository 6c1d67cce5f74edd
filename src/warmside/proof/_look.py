"""A picture laid over the wall: rectified, corrected, refined against the framing, recognised."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from warmside.errors import Fault, InputError
from warmside.physics.thermography import Camera, apparent, surface_temperature
from warmside.proof._conditions import Conditions
from warmside.proof._picture import Picture
from warmside.proof._prediction import Prediction
from warmside.proof._rectify import Lens, Mark, View, homography, projected, sampled, view_of

Floats = npt.NDArray[np.float64]

SPOT = 0.8  # [pixel] standard deviation of what one pixel sees; common practice
_SPOTS = (0.5, 0.6, 0.7, 0.8, 0.9, 1.0, 1.1, 1.25, 1.5, 2.0)  # [pixel] that are tried
MARK_DOUBT = 2.0  # [pixel] how far off a mark is set
LEAST_SEEN = 0.02  # [-] of the wall
LEAST_LIKENESS = 0.45  # [-] correlation with the framing below which it is not this wall
_ROUNDS = 8
_COARSE_TO_FINE = (3.0, 1.0)  # [-] of the camera's own spot
_FEW = 6000  # places that the fit looks at
_DETAIL = 0.25  # [m] what is larger than this is not framing
_HUBER = 1.5
_CLIP = 1.0  # [K] beyond which a misfit is a fault of the wall, not of the spot
_ALIKE = 10.0  # places whose misfit is one and the same: drift spreads over many pixels
_EDGE = 3.0  # spots from the wall's outline within which its surroundings shine in


@dataclass(frozen=True, eq=False)
class Look:
    """Surface temperatures on the grid of the prediction, and how they were found.

    ``surface`` (nz, nx) [degC] is NaN where the picture shows no wall. ``likeness`` is the
    correlation of its detail with the framing's. ``shift`` [pixel] is how far refinement moved
    the marks, the farthest one.
    """

    surface: Floats
    view: View
    likeness: float
    shift: float
    spot: float  # [m] standard deviation of what one pixel sees, at the middle of what is seen

    @property
    def seen(self) -> npt.NDArray[np.bool_]:
        """Where there is a temperature."""
        return np.isfinite(self.surface)


def look(
    picture: Picture,
    marks: Sequence[Mark],
    prediction: Prediction,
    conditions: Conditions,
    *,
    camera: Camera | None = None,
    set_to: float = 1.0,
    lens: Lens | None = None,
    refine: bool = True,
) -> Look:
    """Lay a picture over the wall.

    Parameters
    ----------
    picture : Picture
        As the camera wrote it.
    marks : sequence of Mark
        Four or more places of the wall in it.
    prediction : Prediction
        Of that wall.
    conditions : Conditions
        Temperatures of the air on both sides.
    camera : Camera, optional
        Emissivity of the surface and what it reflects.
    set_to : float
        Emissivity that the camera was set to; 1 for apparent temperatures [-].
    lens : Lens, optional
        Its distortion.
    refine : bool
        Move the marks so that the framing lies where it shows itself.

    Returns
    -------
    Look
        Surface temperatures on the prediction's grid.

    Raises
    ------
    InputError
        Marks that cannot be, too little wall seen, or a picture that is not of this wall: of
        nothing, upside down, mirrored.
    """
    optics = camera or Camera()
    full = replace(picture, values=_corrected(picture.values, optics, set_to, conditions))
    if picture.reduced > 1:
        by = float(picture.reduced)
        marks = [replace(m, column=_block(m.column, by), row=_block(m.row, by)) for m in marks]
    view = view_of(marks, full.shape, lens)
    surface = as_marked = _surface(full, view, prediction)
    _refuse_little(surface, prediction)
    shift = 0.0
    if refine:
        better, moved = _refined(full, view, prediction, conditions)
        refined = _surface(full, better, prediction)
        if _likeness(refined, prediction, conditions) >= _likeness(surface, prediction, conditions):
            view, surface, shift = better, refined, moved
    likeness = _likeness(surface, prediction, conditions)
    if likeness < LEAST_LIKENESS:
        raise InputError([_unknown(as_marked, likeness, prediction, conditions)])
    return Look(surface, view, likeness, shift, _spot(surface, view, prediction, conditions))


def _spot(surface: Floats, view: View, prediction: Prediction, conditions: Conditions) -> float:
    """Standard deviation of what one pixel sees [m]: of a few, the one that fits best.

    It holds the camera's own blur, sampling, and what the marks are still off.
    """
    from scipy.ndimage import binary_dilation, binary_erosion, gaussian_filter

    rows, columns = np.nonzero(np.isfinite(surface))
    middle = prediction.x[int(np.median(columns))], prediction.z[int(np.median(rows))]
    side, pixel = view.footprint(*middle), float(prediction.x[1] - prediction.x[0])
    guess = _first_guess(surface, prediction, conditions, SPOT * side)
    told = conditions.difference * prediction.at(guess)
    clear = binary_erosion(np.isfinite(surface), iterations=round(_EDGE * side / pixel) + 1)
    near = clear & binary_dilation(prediction.reference, iterations=round(0.08 / pixel))
    if near.sum() < 100:
        return SPOT * side

    def misfit(spots: float) -> float:
        rest = (surface - gaussian_filter(told, spots * side / pixel))[near]
        return float(np.mean(np.minimum(abs(rest - np.median(rest)), _CLIP) ** 2))

    return min(_SPOTS, key=misfit) * side


def _block(pixel: float, by: float) -> float:
    """A pixel's place once ``by`` pixels are averaged into one."""
    return (pixel + 0.5) / by - 0.5


def _corrected(values: Floats, camera: Camera, set_to: float, c: Conditions) -> Floats:
    read = apparent(values, replace(camera, emissivity=set_to), c.room) if set_to < 1.0 else values
    there = np.isfinite(read)
    out = np.full(read.shape, np.nan)
    out[there] = surface_temperature(read[there], camera, c.room)
    return out


def _grid(prediction: Prediction) -> tuple[Floats, Floats]:
    x, z = np.meshgrid(prediction.x, prediction.z)
    return x, z


def _surface(picture: Picture, view: View, prediction: Prediction) -> Floats:
    x, z = _grid(prediction)
    values = sampled(picture.values, view.pixels(x, z))
    return np.where(prediction.seen, values, np.nan)


def _refuse_little(surface: Floats, prediction: Prediction) -> None:
    share = np.isfinite(surface).sum() / prediction.seen.sum()
    if share < LEAST_SEEN:
        read = f"{share:.0%} of the wall within the picture"
        allowed = "marks on the wall's corners, and a picture without empty places there"
        raise InputError([Fault("thermal picture", read, allowed)])


def _refined(
    picture: Picture, view: View, prediction: Prediction, conditions: Conditions
) -> tuple[View, float]:
    """The view whose picture fits the predicted one best, and how far its corners moved [pixel].

    Gauss-Newton on the pixel shifts of four corners, robust (Huber's weights), held near the
    marks by their own doubt, so that what the picture does not tell stays as marked. Slopes are
    those of the prediction: the picture's own carry its noise, which would draw the marks along.
    """
    from scipy.ndimage import gaussian_filter

    spot = SPOT * view.footprint(float(prediction.x.mean()), float(prediction.z.mean()))
    pixel = float(prediction.x[1] - prediction.x[0])
    thickness = _first_guess(_surface(picture, view, prediction), prediction, conditions)
    factor = prediction.at(thickness)
    corners = _corners(prediction)
    fit = _Fit(view, corners, projected(view.matrix, corners))
    shifts = np.zeros(8)
    for wider in _COARSE_TO_FINE:  # a wide spot first finds marks that are far off
        smooth = gaussian_filter(factor, wider * spot / pixel)
        given = _blurred(picture.values, SPOT * np.sqrt(wider**2 - 1.0))
        places = _places(picture, view, prediction, smooth, _EDGE * wider * spot)
        shifts = fit.best(given, places, shifts)
    moved = float(np.linalg.norm(shifts.reshape(4, 2), axis=1).max())
    return replace(view, matrix=fit.matrix(shifts)), moved


def _blurred(values: Floats, blur: float) -> Floats:
    """Values seen through a wider spot [pixel]; NaN stays where it is."""
    from scipy.ndimage import gaussian_filter

    if not blur:
        return values
    there = np.isfinite(values)
    whole = gaussian_filter(np.where(there, values, np.median(values[there])), blur)
    return np.where(there, whole, np.nan)


@dataclass(frozen=True, eq=False)
class _Places:
    """Places of the wall (n, 2), the factor predicted there (n,) and its slopes (n, 2)."""

    places: Floats
    told: Floats
    steep: Floats


@dataclass(frozen=True, eq=False)
class _Fit:
    """The pixel shifts of four corners that lay a picture over the prediction."""

    view: View
    corners: Floats
    start: Floats

    def matrix(self, shifts: Floats) -> Floats:
        """Homography with the corners moved by ``shifts`` (8,) [pixel]."""
        return homography(self.corners, self.start + shifts.reshape(4, 2))

    def best(self, values: Floats, at: _Places, shifts: Floats) -> Floats:
        """Shifts (8,) of least misfit, from ``shifts`` on."""
        for _ in range(_ROUNDS):
            step = self._step(values, at, shifts)
            shifts = shifts - np.clip(step, -2.0, 2.0)
            if abs(step).max() < 0.02:
                break
        return shifts

    def _step(self, values: Floats, at: _Places, shifts: Floats) -> Floats:
        now = replace(self.view, matrix=self.matrix(shifts))
        read = sampled(values, now.pixels(*at.places.T))
        use = np.isfinite(read)
        offset, slope = _line(at.told[use], read[use])
        rest = (read - offset - slope * at.told)[use]
        back, places = np.linalg.inv(now.matrix), at.places[use]
        moves = (projected(back @ self.matrix(shifts + e), places) - places for e in np.eye(8))
        slopes = slope * np.stack([(at.steep[use] * move).sum(axis=1) for move in moves], axis=1)
        scale = max(1.4826 * float(np.median(abs(rest))), 1e-3)
        weight = np.minimum(1.0, _HUBER * scale / np.maximum(abs(rest), 1e-12))
        weight /= _ALIKE * scale**2
        left = slopes.T @ (weight[:, None] * slopes) + np.eye(8) / MARK_DOUBT**2
        right = slopes.T @ (weight * rest) + shifts / MARK_DOUBT**2
        return np.asarray(np.linalg.solve(left, right))


def _places(
    picture: Picture, view: View, prediction: Prediction, factor: Floats, edge: float
) -> _Places:
    """A few thousand places of the wall within the picture.

    They keep ``edge`` [m] off the outline, where floor, ceiling and corners shine in.
    """
    from scipy.ndimage import binary_erosion

    x, z = _grid(prediction)
    size = 2 * round(edge / float(prediction.x[1] - prediction.x[0])) + 1
    inside = binary_erosion(prediction.seen, np.ones((size, size)))
    inside &= np.isfinite(sampled(picture.values, view.pixels(x, z)))
    chosen = np.flatnonzero(inside)
    chosen = chosen[:: max(1, chosen.size // _FEW)]
    up, along = np.gradient(factor, prediction.z, prediction.x)
    places, steep = (np.stack([a.ravel()[chosen], b.ravel()[chosen]], axis=1)
                     for a, b in ((x, z), (along, up)))  # fmt: skip
    return _Places(places, factor.ravel()[chosen], steep)


def _corners(prediction: Prediction) -> Floats:
    wide, high = prediction.frame.length, prediction.frame.height
    return np.array([(0.0, 0.0), (wide, 0.0), (wide, high), (0.0, high)])


def _line(told: Floats, values: Floats) -> tuple[float, float]:
    """Offset and slope of ``values`` over ``told``, robust."""
    weight = np.ones(told.size)
    offset = slope = 0.0
    for _ in range(5):
        mean_t, mean_v = np.average(told, weights=weight), np.average(values, weights=weight)
        spread = float(np.average((told - mean_t) ** 2, weights=weight))
        slope = float(np.average((told - mean_t) * (values - mean_v), weights=weight))
        slope /= max(spread, 1e-12)
        offset = float(mean_v - slope * mean_t)
        rest = abs(values - offset - slope * told)
        scale = max(1.4826 * float(np.median(rest)), 1e-6)
        weight = np.minimum(1.0, _HUBER * scale / np.maximum(rest, 1e-12))
    return offset, slope


def _first_guess(
    surface: Floats, prediction: Prediction, conditions: Conditions, spot: float = 0.0
) -> Floats:
    """Thickness of every bay (n_bays,) [m], good enough to know the picture by."""
    from warmside.proof._estimate import estimated

    thickness = estimated(surface, prediction, conditions, spot=spot).thickness
    return np.where(np.isfinite(thickness), thickness, prediction.planned)


def _detail(values: Floats, pixel: float) -> Floats:
    """Values less their surroundings of ``_DETAIL``; NaN stays."""
    from scipy.ndimage import uniform_filter

    there = np.isfinite(values)
    size = max(3, round(_DETAIL / pixel))
    share = uniform_filter(there.astype(float), size)
    mean = uniform_filter(np.where(there, values, 0.0), size) / np.maximum(share, 1e-9)
    return np.where(there & (share > 0.3), values - mean, np.nan)


def _likeness(surface: Floats, prediction: Prediction, conditions: Conditions) -> float:
    """Correlation of the picture's detail with that of the wall it tells of [-]."""
    pixel = float(prediction.x[1] - prediction.x[0])
    factor = prediction.at(_first_guess(surface, prediction, conditions))
    told = _detail(np.where(np.isfinite(surface), factor, np.nan), pixel)
    read = _detail(surface, pixel)
    both = np.isfinite(told) & np.isfinite(read)
    if both.sum() < 100 or read[both].std() < 1e-9 or told[both].std() < 1e-9:
        return 0.0
    likeness = float(np.corrcoef(told[both], read[both])[0, 1])
    return likeness if conditions.difference > 0 else -likeness


def _unknown(
    surface: Floats, likeness: float, prediction: Prediction, conditions: Conditions
) -> Fault:
    """Why a picture is not of this wall: of another, or turned."""
    for turned, how in ((surface[::-1, ::-1], "upside down"), (surface[:, ::-1], "mirrored"),
                        (surface[::-1], "upside down and mirrored")):  # fmt: skip
        whole = np.where(prediction.seen, turned, np.nan)
        if _likeness(whole, prediction, conditions) >= max(LEAST_LIKENESS, likeness + 0.15):
            read = f"a picture that fits this wall only {how}"
            return Fault("thermal picture", read, "the wall as seen from the room")
    read = f"no framing of this wall in the picture (likeness {likeness:.2f})"
    allowed = (
        f"this wall, its corners marked, likeness {LEAST_LIKENESS:g} or more; with a difference "
        f"of {abs(conditions.difference):.0f} K the framing may also be too faint"
    )
    return Fault("thermal picture", read, allowed)
