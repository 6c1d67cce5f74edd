"""The view moved until the framing lies where the picture shows it.

Gauss-Newton on the pixel shifts of the wall's four corners and, where it is not known, on the
lens; held near the marks by their own doubt, so that what the picture does not tell stays as
marked. Only detail is compared: the camera's drift is wider than framing and, left in, would pull
the view along. Places far off (leaks, trim, faults) count for nothing (Tukey's weights).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from warmside.proof.conditions import Conditions
from warmside.proof.lay import detail, first_guess, laid, outline
from warmside.proof.picture import Picture
from warmside.proof.prediction import Prediction
from warmside.proof.rectify import Mark, View, homography, projected, sampled

Floats = npt.NDArray[np.float64]

SPOT = 0.8  # [pixel] standard deviation of what one pixel sees; common practice
MARK_DOUBT = 2.0  # [pixel] how far off a mark is set
LENS_DOUBT = 0.1  # [-] k1 of a lens of which nothing is known; own figure
UNTOLD = 0.003  # [m] what drift, wood and foam that differ still move; measured by the benchmark
_COARSE_TO_FINE = (3.0, 1.0, 1.0)  # [-] of the camera's own spot
_ROUNDS = 8
_STEP = np.array([2.0] * 8 + [0.03])  # [pixel], and of k1 [-]: no step goes farther
_DONE = np.array([0.02] * 8 + [2e-4])  # of the last spot; a wider one need not be so sure
_TUKEY = 3.0  # standard deviations beyond which a place shows a fault of the wall
_ALIKE = 4.0  # places of the grid whose misfit is one and the same
_EDGE = 2.5  # spots from the wall's outline within which its surroundings shine in
_DETAIL = 0.4  # [m] the spacing of studs: what is wider than this is drift
_EVERY = 2  # of the grid's rows and columns that the fit looks at
_BLOCK = 0.4  # [m] of wall whose misfits are not taken for independent


@dataclass(frozen=True, eq=False)
class Refined:
    """The view that fits best.

    ``shift`` [pixel] is how far it lies from the farthest mark, ``misfit`` [K] the robust standard
    deviation of what the framing does not explain, ``misplaced`` [m] the standard uncertainty of a
    place of the wall, root mean square over what is seen.
    """

    view: View
    shift: float
    misfit: float
    misplaced: float


def refined(
    picture: Picture,
    view: View,
    marks: Sequence[Mark],
    prediction: Prediction,
    conditions: Conditions,
    *,
    any_lens: bool = False,
) -> Refined:
    """The view whose picture fits the predicted one best.

    Parameters
    ----------
    picture : Picture
        Corrected for emissivity.
    view : View
        As marked.
    marks : sequence of Mark
        What holds it, each within ``MARK_DOUBT``.
    prediction, conditions
        Of that wall, and while the picture was taken.
    any_lens : bool
        Find the lens too, from that of ``view`` on.

    Returns
    -------
    Refined
        Best in the sense of least squares of the detail's misfit, weighted by
        ``(1 - (r / 3 s)^2)^2``, plus the marks'.
    """
    from scipy.ndimage import gaussian_filter

    spot = SPOT * view.footprint(float(prediction.x.mean()), float(prediction.z.mean()))
    pixel = float(prediction.x[1] - prediction.x[0])
    pose = _Pose(view, _corners(prediction), marks, any_lens)
    unknowns = pose.start
    for wider in _COARSE_TO_FINE:  # a wide spot first finds marks that are far off
        now = pose.view(unknowns)
        thickness = first_guess(laid(picture, now, prediction), prediction, conditions)
        told = gaussian_filter(prediction.at(thickness), wider * spot / pixel)
        clear = outline(prediction, _EDGE * wider * spot) & prediction.seen
        fit = _fit(pose, unknowns, prediction, told, clear)
        given = _blurred(picture.values, SPOT * np.sqrt(wider**2 - 1.0))
        unknowns = fit.best(given, unknowns, wider)
    return Refined(
        view=pose.view(unknowns),
        shift=float(np.linalg.norm(pose.off_marks(unknowns).reshape(-1, 2), axis=1).max()),
        misfit=fit.misfit(given, unknowns)[2],
        misplaced=float(np.hypot(fit.doubt(given, unknowns), UNTOLD)),
    )


@dataclass(frozen=True, eq=False)
class _Pose:
    """Views by their unknowns (8,) or (9,): shifts of four corners [pixel], k1 of the lens [-]."""

    marked: View
    corners: Floats  # (4, 2) [m]
    marks: Sequence[Mark]
    any_lens: bool

    @property
    def start(self) -> Floats:
        lens = [self.marked.lens.k1] if self.any_lens else []
        return np.array([0.0] * 8 + lens)

    def view(self, unknowns: Floats) -> View:
        straight = projected(self.marked.matrix, self.corners) + unknowns[:8].reshape(4, 2)
        lens = replace(self.marked.lens, k1=float(unknowns[8])) if self.any_lens else None
        matrix = homography(self.corners, straight)
        return replace(self.marked, matrix=matrix, lens=lens or self.marked.lens)

    def off_marks(self, unknowns: Floats) -> Floats:
        """How far a view lies off its marks (2 n,) [pixel]."""
        x, z, column, row = np.array([(m.x, m.z, m.column, m.row) for m in self.marks]).T
        pixels = self.view(unknowns).pixels(x, z)
        return np.asarray((pixels - np.stack([column, row], axis=-1)).ravel())

    def moves(self, unknowns: Floats, x: Floats, z: Floats) -> Floats:
        """Change of the pixels of places (..., n) with each of n unknowns, (..., 2, n)."""
        here = self.view(unknowns).pixels(x, z)
        small = np.array([0.1] * 8 + [1e-3])[: unknowns.size]
        moved = [(self.view(unknowns + e).pixels(x, z) - here) / e.max() for e in np.diag(small)]
        return np.stack(moved, axis=-1)

    def held(self, unknowns: Floats) -> tuple[Floats, Floats]:
        """What marks (and a usual lens) ask for: the normal matrix, and its right side."""
        x, z = np.array([(m.x, m.z) for m in self.marks]).T
        slopes = self.moves(unknowns, x, z).reshape(-1, unknowns.size)
        left, right = slopes.T @ slopes, slopes.T @ self.off_marks(unknowns)
        left, right = left / MARK_DOUBT**2, right / MARK_DOUBT**2
        if self.any_lens:
            left[8, 8] += 1.0 / LENS_DOUBT**2
            right[8] += unknowns[8] / LENS_DOUBT**2
        return left, right


def _fit(
    pose: _Pose,
    unknowns: Floats,
    prediction: Prediction,
    told: Floats,
    clear: npt.NDArray[np.bool_],
) -> _Fit:
    cut = (slice(None, None, _EVERY),) * 2
    x, z = (g[cut] for g in np.meshgrid(prediction.x, prediction.z))
    up = np.gradient(told, prediction.z, axis=0)[cut]
    along = np.gradient(told, prediction.x, axis=1)[cut]
    view, step, pixel = pose.view(unknowns), 1e-3, _EVERY * float(prediction.x[1] - prediction.x[0])
    here = view.pixels(x, z)
    turn = np.stack([view.pixels(x + step, z) - here, view.pixels(x, z + step) - here], -1) / step
    on_wall = np.asarray(np.linalg.solve(turn, pose.moves(unknowns, x, z)), float)  # [m]
    slopes = along[..., None] * on_wall[..., 0, :] + up[..., None] * on_wall[..., 1, :]
    shown = clear[cut]
    each = (np.where(shown, s, np.nan) for s in np.moveaxis(slopes, -1, 0))
    slopes = np.stack([detail(s, pixel, _DETAIL) for s in each], axis=-1)
    return _Fit(pose, x, z, told[cut], slopes, on_wall, shown, pixel)


@dataclass(frozen=True, eq=False)
class _Fit:
    """One spot's worth of it: places of the wall (nz, nx), and what is told there.

    ``slopes`` (nz, nx, n) are of the told detail, ``on_wall`` (nz, nx, 2, n) of the place itself.
    """

    pose: _Pose
    x: Floats
    z: Floats
    told: Floats
    slopes: Floats
    on_wall: Floats
    shown: npt.NDArray[np.bool_]
    pixel: float

    def best(self, values: Floats, unknowns: Floats, wider: float) -> Floats:
        """Unknowns of least misfit, from ``unknowns`` on, through a spot so many times as wide."""
        n, done = unknowns.size, wider**2 * _DONE
        for _ in range(_ROUNDS):
            left, right, _ = self._equations(values, unknowns)
            step = np.linalg.solve(left, right)
            unknowns = unknowns - np.clip(step, -_STEP[:n], _STEP[:n])
            if n > 8:
                unknowns[8] = np.clip(unknowns[8], -0.4, 0.4)
            if (abs(step) < done[:n]).all():
                break
        return unknowns

    def misfit(self, values: Floats, unknowns: Floats) -> tuple[Floats, float, float]:
        """What the told detail leaves (nz, nx) [K], its slope [K] and robust spread [K]."""
        read = sampled(values, self.pose.view(unknowns).pixels(self.x, self.z))
        read = np.where(self.shown, read, np.nan)
        told = detail(np.where(np.isfinite(read), self.told, np.nan), self.pixel, _DETAIL)
        read = detail(read, self.pixel, _DETAIL)
        use = np.isfinite(read) & np.isfinite(told)
        offset, slope = line(told[use], read[use])
        rest = read - offset - slope * told
        return rest, slope, max(1.4826 * float(np.nanmedian(abs(rest))), 1e-3)

    def _equations(self, values: Floats, unknowns: Floats) -> tuple[Floats, Floats, Floats]:
        """Normal matrix, right side, and the pull of every place on the unknowns (nz, nx, n)."""
        rest, slope, scale = self.misfit(values, unknowns)
        weight = np.maximum(1.0 - (rest / (_TUKEY * scale)) ** 2, 0.0) ** 2 / (_ALIKE * scale**2)
        there = np.isfinite(rest) & np.isfinite(self.slopes).all(axis=-1)
        slopes = np.where(there[..., None], slope * self.slopes, 0.0)
        weight, rest = np.where(there, weight, 0.0), np.where(there, rest, 0.0)
        pull = slopes * (weight * rest)[..., None]
        left, right = self.pose.held(unknowns)
        flat = slopes.reshape(-1, unknowns.size)
        left = left + flat.T @ (weight.ravel()[:, None] * flat)
        return left, right + pull.sum(axis=(0, 1)), pull

    def doubt(self, values: Floats, unknowns: Floats) -> float:
        """Standard uncertainty of a place of the wall [m].

        ``C = A^-1 (sum g g^T + P) A^-1`` with g the pull of a block of wall and P what holds the
        marks: misfits within a block may be as much alike as they like (White's estimate by
        clusters; from memory).
        """
        left, _, pull = self._equations(values, unknowns)
        size, n = max(1, round(_BLOCK / self.pixel)), unknowns.size
        rows, columns = (np.arange(m) // size for m in pull.shape[:2])
        block = rows[:, None] * (columns[-1] + 1) + columns
        g = np.zeros((block.max() + 1, n))
        np.add.at(g, block.ravel(), pull.reshape(-1, n))
        back = np.linalg.inv(left)
        spread = back @ (g.T @ g + self.pose.held(unknowns)[0]) @ back
        moves = self.on_wall[self.shown]
        return float(np.sqrt(np.einsum("pin,nm,pim->p", moves, spread, moves).mean()))


def _blurred(values: Floats, blur: float) -> Floats:
    """Values seen through a wider spot [pixel]; NaN stays where it is."""
    from scipy.ndimage import gaussian_filter

    if not blur:
        return values
    there = np.isfinite(values)
    whole = gaussian_filter(np.where(there, values, np.median(values[there])), blur)
    return np.where(there, whole, np.nan)


def _corners(prediction: Prediction) -> Floats:
    wide, high = prediction.frame.length, prediction.frame.height
    return np.array([(0.0, 0.0), (wide, 0.0), (wide, high), (0.0, high)])


def line(told: Floats, values: Floats) -> tuple[float, float]:
    """Offset and slope of ``values`` over ``told``, robust (Huber's weights)."""
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
        weight = np.minimum(1.0, 1.5 * scale / np.maximum(rest, 1e-12))
    return offset, slope
