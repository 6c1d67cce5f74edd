"""What a thermal camera reads, and what the surface is: the radiometric equation both ways.

``W_app = eps tau W_obj + (1 - eps) tau W_refl + (1 - tau) W_atm`` with W proportional to T^4
(broadband). Source: published thermography notes; the broadband form is the usual approximation.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from warmside.errors import Fault, InputError

Floats = NDArray[np.float64]
KELVIN = 273.15
LEAST_EMISSIVITY = 0.5  # [-] below it a reading says more of the reflection than of the surface


@dataclass(frozen=True)
class Camera:
    """How a surface is looked at.

    ``accuracy`` is that of an absolute reading: plus or minus 2 K or 2 % is typical of
    specifications (second-hand); differences within one image are good to about 0.1-0.3 K
    (from memory).
    """

    emissivity: float = 0.90  # [-] painted gypsum, published tables 0.90-0.95
    reflected: float | None = None  # [degC] reflected temperature; None: that of the room
    transmission: float = 1.0  # [-] of the air between; 1 within 5 m indoors (from memory)
    atmosphere: float = 20.0  # [degC] of that air
    accuracy: float = 2.0  # [K]
    contrast: float = 0.1  # [K] least difference seen within one image

    def __post_init__(self) -> None:
        faults = []
        if not LEAST_EMISSIVITY <= self.emissivity <= 1.0:
            allowed = (
                f"{LEAST_EMISSIVITY:g} to 1; shiny surfaces cannot be read: tape or paint a patch"
            )
            faults.append(Fault("camera, emissivity", f"{self.emissivity:g}", allowed))
        if not 0.1 <= self.transmission <= 1.0:
            faults.append(Fault("camera, transmission", f"{self.transmission:g}", "0.1 to 1"))
        for name in ("reflected", "atmosphere"):
            value = getattr(self, name)
            if value is not None and not -80.0 <= value <= 100.0:
                faults.append(Fault(f"camera, {name}", f"{value:g} C", "-80 to 100 C"))
        if faults:
            raise InputError(faults)


def apparent(surface: ArrayLike, camera: Camera, room: float) -> Floats:
    """Temperature that a camera set to emissivity 1 reads off a surface.

    Parameters
    ----------
    surface : array_like
        True surface temperature [degC].
    camera : Camera
        Emissivity, reflected temperature, air between.
    room : float
        Room temperature [degC]; the reflected one where the camera names none.

    Returns
    -------
    ndarray
        Apparent temperature [degC], shape of ``surface``.
    """
    own = camera.emissivity * _power(surface)
    mirrored = (1.0 - camera.emissivity) * _power(_reflected(camera, room))
    seen = camera.transmission * (own + mirrored)
    seen = seen + (1.0 - camera.transmission) * _power(camera.atmosphere)
    return np.asarray(seen**0.25 - KELVIN)


def surface_temperature(reading: ArrayLike, camera: Camera, room: float) -> Floats:
    """True surface temperature behind an apparent one: the inverse of ``apparent``.

    Parameters
    ----------
    reading : array_like
        Apparent temperature, read at emissivity 1 [degC].
    camera : Camera
        Emissivity, reflected temperature, air between.
    room : float
        Room temperature [degC].

    Returns
    -------
    ndarray
        Surface temperature [degC].

    Raises
    ------
    InputError
        Readings that no surface of this emissivity can give.
    """
    seen = (_power(reading) - (1.0 - camera.transmission) * _power(camera.atmosphere)) / (
        camera.transmission
    )
    own = (seen - (1.0 - camera.emissivity) * _power(_reflected(camera, room))) / camera.emissivity
    if np.any(own <= 0.0):
        raise InputError(
            [
                Fault(
                    "thermal reading", "colder than reflection alone", "check reflected temperature"
                )
            ]
        )
    return np.asarray(own**0.25 - KELVIN)


def _reflected(camera: Camera, room: float) -> float:
    return room if camera.reflected is None else camera.reflected


def _power(temperature: ArrayLike) -> Floats:
    return np.asarray((np.asarray(temperature, dtype=float) + KELVIN) ** 4)
