"""Several pictures of one wall, taken at one visit, put together on its grid.

Each lies where its own marks and the framing put it. Cameras drift from picture to picture, so
every picture keeps its own offset and drift in the estimate; here they are only aligned, so that
one surface can be shown and its joints followed across the seams.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from warmside.errors import Fault, InputError
from warmside.proof.appearance import Look
from warmside.proof.conditions import Conditions
from warmside.proof.estimate import estimated
from warmside.proof.prediction import Prediction
from warmside.proof.smear import Smear

Floats = npt.NDArray[np.float64]

ONE_VISIT = 0.5  # [K] within which air on both sides is the same: a reading's own doubt
MOST = 6  # pictures of one wall
_OVERLAP = 400  # places of the grid by which two pictures are aligned


def one_visit(first: Conditions, other: Conditions) -> bool:
    """Whether two pictures were taken of the same state of a wall."""
    alike = abs(first.room - other.room) <= ONE_VISIT
    return alike and abs(first.outside - other.outside) <= ONE_VISIT and first.past == other.past


def fused(looks: Sequence[Look], prediction: Prediction, conditions: Conditions) -> Look:
    """One look at a wall from several.

    Parameters
    ----------
    looks : sequence of Look
        Pictures of one visit, laid over the wall.
    prediction, conditions
        Of that wall, and while they were taken.

    Returns
    -------
    Look
        Where pictures overlap their mean, weighted by the distance from their edges, each moved by
        a constant onto those before it: by the median over what both show, where that is little by
        the offset that its own studs tell. ``likeness`` is the least of all, ``spot`` and ``shift``
        the largest, ``misplaced`` their root mean square.

    Raises
    ------
    InputError
        None, or more than ``MOST``.
    """
    if not 1 <= len(looks) <= MOST:
        read = f"{len(looks)} pictures of one visit"
        raise InputError([Fault("thermal pictures", read, f"1 to {MOST} of one wall")])
    if len(looks) == 1:
        return looks[0]
    after = prediction.after(conditions)
    total, weights = np.zeros(looks[0].surface.shape), np.zeros(looks[0].surface.shape)
    own = [estimated(one.surface, after, conditions, smear=one.smear).offset for one in looks]
    for n, one in enumerate(looks):
        here = np.where(weights > 0.0, total / np.maximum(weights, 1e-12), np.nan)
        off = one.surface - here
        common = np.isfinite(off)
        move = float(np.median(off[common])) if common.sum() >= _OVERLAP else own[n] - own[0]
        weight = _inside(one.seen)
        total += np.where(one.seen, weight * (np.nan_to_num(one.surface) - (move if n else 0.0)), 0)
        weights += weight
    return replace(
        looks[0],
        surface=np.where(weights > 0.0, total / np.maximum(weights, 1e-12), np.nan),
        likeness=min(one.likeness for one in looks),
        shift=max(one.shift for one in looks),
        misplaced=float(np.sqrt(np.mean([one.misplaced**2 for one in looks]))),
        smear=Smear.even(max(one.spot for one in looks), prediction),
        regions=tuple(region for one in looks for region in one.regions),
        together=tuple(looks),
    )


def _inside(seen: npt.NDArray[np.bool_]) -> Floats:
    """Distance from the edge of what is seen [places of the grid], 0 outside."""
    from scipy.ndimage import distance_transform_edt

    return np.asarray(distance_transform_edt(np.pad(seen, 1)), float)[1:-1, 1:-1]
