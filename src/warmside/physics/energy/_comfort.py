"""What a person feels near the wall: radiant temperature and the draught that falls from it."""

from __future__ import annotations

import math
from dataclasses import dataclass

from warmside.errors import Fault, InputError

KELVIN = 273.15


@dataclass(frozen=True)
class Seat:
    """Comfort at a seat in front of the middle of a wall."""

    radiant_temperature: float  # [degC] mean radiant temperature
    share_of_view: float  # [-] of the sphere around the person that the wall fills
    draught_speed: float  # [m/s] of the air that falls from the wall, at the floor


def seat(room: float, surface: float, width: float, height: float, distance: float = 1.0) -> Seat:
    """Radiant temperature and draught at a seat before a wall, all else at room temperature.

    ``Tr^4 = F Ts^4 + (1 - F) Tr0^4`` (kelvin), with F the share of the sphere that the wall fills.
    Draught: greatest speed in the air falling from a cold wall,
    ``v = 0.055 sqrt(dT h)`` nearer than 0.4 m, ``0.095 sqrt(dT h) / (x + 1.32)`` to 2 m,
    ``0.028 sqrt(dT h)`` beyond. Source: Heiselberg 1994 (from memory).

    Parameters
    ----------
    room : float
        Room temperature [degC].
    surface : float
        Area-weighted temperature of the wall's room face [degC].
    width, height : float
        Of the wall [m].
    distance : float
        From the wall [m].

    Returns
    -------
    Seat
        What is felt there.

    Raises
    ------
    InputError
        A size or distance of zero or less.
    """
    if min(width, height, distance) <= 0.0:
        read = f"{width:g} x {height:g} m at {distance:g} m"
        raise InputError([Fault("comfort, seat", read, "sizes above zero")])
    view = 4.0 * _solid_angle(width / 2.0, height / 2.0, distance) / (4.0 * math.pi)
    radiant = view * (surface + KELVIN) ** 4 + (1.0 - view) * (room + KELVIN) ** 4
    return Seat(radiant**0.25 - KELVIN, view, _draught(max(room - surface, 0.0), height, distance))


def _solid_angle(a: float, b: float, d: float) -> float:
    """Solid angle of a rectangle a x b seen from ``d`` before its corner [sr]."""
    return math.atan(a * b / (d * math.sqrt(a * a + b * b + d * d)))


def _draught(difference: float, height: float, distance: float) -> float:
    root = math.sqrt(difference * height)
    if distance < 0.4:
        return 0.055 * root
    if distance <= 2.0:
        return 0.095 * root / (distance + 1.32)
    return 0.028 * root
