"""Two pictures of one wall, before and while a fan draws on the house: what grew colder leaks.

What does not change between them (framing, foam, camera) falls out of their difference, so that
joints beside openings can be judged too.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from warmside.errors import Fault, InputError
from warmside.physics.thermography import Camera
from warmside.proof.appearance import Look
from warmside.proof.comparison import joints_along
from warmside.proof.looks import Hints, JointLook
from warmside.proof.prediction import Prediction

Floats = npt.NDArray[np.float64]

SURE = 3.0  # standard deviations from which a place has grown colder
SHARED = 0.5  # [-] of the camera's contrast that a difference of two of its pictures keeps
LEAST_PASCAL = 5.0  # [Pa] below it a fan tells less than the wind


@dataclass(frozen=True, eq=False)
class FanPicture:
    """What grew colder while the fan ran.

    ``change`` (nz, nx) [K] is during less before, what the whole wall shares taken off; negative
    where cold air comes in. ``bays`` grew colder over their whole middle: air runs behind or
    through their foam.
    """

    wall: str
    pressure: float  # [Pa]
    change: Floats
    joints: tuple[JointLook, ...]
    bays: tuple[str, ...]
    shared: float  # [K]

    @property
    def leaks(self) -> tuple[tuple[float, float], ...]:
        """Places (x, z) [m] of the joints that grew colder."""
        return tuple(joint.at for joint in self.joints if joint.at is not None)


def fan_picture(
    before: Look,
    during: Look,
    prediction: Prediction,
    pressure: float,
    difference: float,
    camera: Camera | None = None,
) -> FanPicture:
    """Find leaks in the difference of two pictures.

    Parameters
    ----------
    before, during : Look
        The same wall without the fan, and after it has run for some minutes.
    prediction : Prediction
        For the wall and its grid.
    pressure : float
        By which the house was lower than outside [Pa].
    difference : float
        Room less outside [K].
    camera : Camera, optional
        For its contrast.

    Returns
    -------
    FanPicture
        Joints and bays that grew colder (warmer in summer, when warm air comes in).

    Raises
    ------
    InputError
        Too little pressure, or pictures that do not show the same part of the wall.
    """
    if not LEAST_PASCAL <= pressure <= 100.0:
        allowed = f"{LEAST_PASCAL:g} to 100 Pa below outside"
        raise InputError([Fault("fan picture, pressure", f"{pressure:g} Pa", allowed)])
    change = (during.surface - before.surface) * np.sign(difference)
    there = np.isfinite(change)
    if there.sum() < 0.02 * prediction.seen.sum():
        read = "two pictures without a common part of the wall"
        raise InputError([Fault("fan picture", read, "the same wall from about the same place")])
    shared = float(np.median(change[there]))
    change = change - shared
    contrast = SHARED * (camera or Camera()).contrast
    spot = max(before.spot, during.spot)
    joints = joints_along(change, prediction, contrast, Hints(), spot=spot, sure=SURE)
    return FanPicture(
        wall=prediction.wall.name,
        pressure=pressure,
        change=change,
        joints=joints,
        bays=_colder_bays(change, prediction, SURE * contrast),
        shared=shared,
    )


def _colder_bays(change: Floats, prediction: Prediction, limit: float) -> tuple[str, ...]:
    found = []
    for j, bay in enumerate(prediction.frame.bays):
        mine = change[prediction.core & (prediction.bay == j) & np.isfinite(change)]
        if mine.size >= 12 and float(np.median(mine)) < -limit:
            found.append(bay.name)
    return tuple(found)
