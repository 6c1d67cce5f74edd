"""What was seen on a bay or a joint, and what may have caused it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Seen = Literal["as predicted", "colder", "warmer", "not seen"]
Kind = Literal[
    "missing foam", "thin foam", "air leak", "hollow pocket", "wet", "moisture", "thicker foam",
    "heat in the bay", "camera limits",
]  # fmt: skip


@dataclass(frozen=True)
class Cause:
    """One likely cause; ``weight`` of all causes of a place add up to 1 [-]."""

    kind: Kind
    weight: float
    why: str


@dataclass(frozen=True)
class Hints:
    """What else is known of the wall.

    ``moisture`` are readings (x, z, moisture [-]); ``warm`` places (x, z, what) that give off
    heat; ``leaks`` places (x, z) that grew colder while a fan drew on the house.
    """

    moisture: tuple[tuple[float, float, float], ...] = ()
    warm: tuple[tuple[float, float, str], ...] = ()
    leaks: tuple[tuple[float, float], ...] = ()


@dataclass(frozen=True)
class BayLook:
    """One bay: what was seen against what was predicted, and the foam that would explain it.

    Temperatures [degC] are medians of the bay's middle; ``deviation`` [K] is measured less
    predicted, what the whole picture shares taken off, and ``sure`` how many standard deviations
    it lies off. ``low`` and ``high`` are the 90 % band of ``thickness``. ``part`` are the heights
    (z0, z1) [m] of a part that is colder than the rest of its bay.
    """

    bay: str
    seen: Seen
    measured: float | None = None
    predicted: float | None = None
    deviation: float | None = None
    sure: float | None = None
    planned: float = 0.0  # [m]
    thickness: float | None = None  # [m]
    low: float | None = None  # [m]
    high: float | None = None  # [m]
    part: tuple[float, float] | None = None
    least: float | None = None  # [m] of missing foam that would have been told
    chance: float | None = None  # [-] that it would have been told, were half of its foam missing
    causes: tuple[Cause, ...] = ()
    why: str = ""  # where it is not seen


@dataclass(frozen=True)
class JointLook:
    """One joint: the coldest stretch of it against its surroundings, prediction taken off [K]."""

    joint: str
    kind: str
    seen: Seen
    streak: float | None = None  # [K]
    length: float = 0.0  # [m] that is colder
    at: tuple[float, float] | None = None  # (x, z) [m] of the coldest stretch
    causes: tuple[Cause, ...] = ()
