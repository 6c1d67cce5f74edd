"""A picture on the grid of the prediction, and what of it is framing."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from warmside.proof.conditions import Conditions
from warmside.proof.estimate import estimated
from warmside.proof.picture import Picture
from warmside.proof.prediction import Prediction
from warmside.proof.rectify import View, sampled
from warmside.proof.smear import Smear

Floats = npt.NDArray[np.float64]

DETAIL = 0.25  # [m] what is larger than this is not framing


def laid(picture: Picture, view: View, prediction: Prediction) -> Floats:
    """Values of a picture (nz, nx) on the grid of a prediction; NaN where it shows no wall."""
    x, z = np.meshgrid(prediction.x, prediction.z)
    return np.where(prediction.seen, sampled(picture.values, view.pixels(x, z)), np.nan)


def first_guess(
    surface: Floats, prediction: Prediction, conditions: Conditions, smear: Smear | None = None
) -> Floats:
    """Thickness of every bay (n_bays,) [m], good enough to know the picture by."""
    thickness = estimated(surface, prediction, conditions, smear=smear).thickness
    return np.where(np.isfinite(thickness), thickness, prediction.planned)


def detail(values: Floats, pixel: float, wide: float = DETAIL) -> Floats:
    """Values less their surroundings of ``wide`` [m]; NaN stays.

    The camera's drift and what is off for a whole bay are wider than that and fall out.
    """
    from scipy.ndimage import uniform_filter

    there = np.isfinite(values)
    size = max(3, round(wide / pixel))
    share = uniform_filter(there.astype(float), size)
    mean = uniform_filter(np.where(there, values, 0.0), size) / np.maximum(share, 1e-9)
    return np.where(there & (share > 0.3), values - mean, np.nan)


def outline(prediction: Prediction, inset: float = 0.0) -> npt.NDArray[np.bool_]:
    """Where there is wall (nz, nx), openings filled in, ``inset`` [m] off its edge."""
    from scipy.ndimage import minimum_filter  # row by row: erosion looks at every place of a square

    x, z = prediction.x, prediction.z
    inside = np.zeros(prediction.seen.shape, bool)
    for column in prediction.frame.outline:
        tall = (z > column.z0) & (z < column.z1)
        inside |= ((x > column.x0) & (x < column.x1)) & tall[:, None]
    size = 2 * round(inset / float(x[1] - x[0])) + 1
    return np.asarray(minimum_filter(inside, size, mode="constant", cval=False))
