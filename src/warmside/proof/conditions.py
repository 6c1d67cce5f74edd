"""Were the conditions good enough for the picture to say anything?"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Literal, get_args

from warmside.catalog import Source
from warmside.errors import Fault, InputError

Colour = Literal["light", "middling", "dark"]  # of a face outside, as the sun meets it

DAY = 24.0  # [h]
SUNLIT = 50.0  # [W/m2] of sun on a wall, below which it counts as out of the sun; own figure
HELD = 1.0  # [K] within which a room counts as held
LONGEST = 72.0  # [h] before a picture that are marched
LEAST_DIFFERENCE = 3.0  # [K] below it a picture of heat says nothing at all; own figure
_PRACTICE = Source("A UK survey practice sheet to BS EN 13187:1999", "published")
_FRAME = Source("ASTM C1060, conditions for frame walls", "from memory")
_STEADY = Source("EN 13187, simplified test", "from memory")
_OWN = Source("Own figure: five times a foamed wall's slowest 2.4 h", "own figure")
_TRADE = Source("Camera makers' usual advice", "common practice")


@dataclass(frozen=True)
class Reading:
    """Air some hours before the picture; None where it was not noted."""

    hours_ago: float
    outside: float | None = None  # [degC]
    room: float | None = None  # [degC]
    sun: float | None = None  # [W/m2] on that wall

    def __post_init__(self) -> None:
        faults = []
        for name, low, high in (
            ("hours_ago", 0.0, LONGEST), ("outside", -60.0, 50.0), ("room", -10.0, 45.0),
            ("sun", 0.0, 1200.0),
        ):  # fmt: skip
            value = getattr(self, name)
            if value is not None and not low <= value <= high:
                place = f"past, {name.replace('_', ' ')}"
                faults.append(Fault(place, f"{value}", f"{low:g} to {high:g}"))
        if faults:
            raise InputError(faults)


@dataclass(frozen=True)
class Conditions:
    """The air on both sides while the picture was taken, and the hours before it.

    What is None was not noted. ``room_doubt`` and ``outside_doubt`` are standard uncertainties of
    the two temperatures.
    """

    room: float  # [degC]
    outside: float  # [degC]
    room_doubt: float = 0.5  # [K]
    outside_doubt: float = 1.0  # [K]
    wind: float | None = None  # [m/s]
    hours_without_sun: float | None = None  # [h] on the outside of the wall
    hours_dry: float | None = None  # [h] since the outside face was wet
    hours_steady: float | None = None  # [h] since the difference was last below 10 K
    hours_room_held: float | None = None  # [h] since the room was last warmed or cooled by 1 K
    outside_swing: float | None = None  # [K] change of the outside temperature meanwhile
    camera_on: float | None = None  # [min] that the camera had to warm up
    outside_colour: Colour | None = None
    past: tuple[Reading, ...] = ()

    def __post_init__(self) -> None:
        faults = []
        for name, low, high in _RANGES:
            value = getattr(self, name)
            if value is not None and not low <= value <= high:
                allowed = f"{low:g} to {high:g}"
                faults.append(Fault(f"conditions, {name.replace('_', ' ')}", f"{value}", allowed))
        if self.outside_colour not in (None, *get_args(Colour)):
            allowed = " or ".join(get_args(Colour))
            faults.append(Fault("conditions, outside colour", f"{self.outside_colour}", allowed))
        ago = sorted(reading.hours_ago for reading in self.past)
        if len(set(ago)) < len(ago):
            read = ", ".join(f"{hours:g}" for hours in ago)
            faults.append(Fault("conditions, past, hours ago", read, "every hour once"))
        if not faults and abs(self.difference) < LEAST_DIFFERENCE:
            read = f"{abs(self.difference):.1f} K between room and outside"
            allowed = f"{LEAST_DIFFERENCE:g} K or more; 10 K or more for a sure answer"
            faults.append(Fault("conditions", read, allowed))
        if faults:
            raise InputError(faults)

    @property
    def difference(self) -> float:
        """Room less outside [K]."""
        return self.room - self.outside

    def with_past(self) -> Conditions:
        """What was not noted by itself, where the readings before the picture tell it."""
        read = sorted(self.past, key=lambda r: r.hours_ago)
        out = [r.outside for r in read if r.outside is not None and r.hours_ago <= DAY]
        rooms = [(r.hours_ago, r.room) for r in read if r.room is not None]
        lit = [r.hours_ago for r in read if r.sun is not None and r.sun >= SUNLIT]
        told: dict[str, float] = {}
        if out and self.outside_swing is None:
            told["outside_swing"] = max(*out, self.outside) - min(*out, self.outside)
        if rooms and self.hours_room_held is None:
            other = (ago for ago, room in rooms if abs(room - self.room) > HELD)
            # it was changed between two readings, as late as it can have been
            first = next(other, None)
            since = [ago for ago, _ in rooms if first is None or ago < first]
            told["hours_room_held"] = max(since, default=0.0)
        if self.hours_without_sun is None and any(r.sun is not None for r in read):
            told["hours_without_sun"] = min(lit, default=max(r.hours_ago for r in read))
        return replace(self, **told) if told else self  # type: ignore[arg-type]


_RANGES = (
    ("room", -10.0, 45.0),
    ("outside", -60.0, 50.0),
    ("room_doubt", 0.0, 10.0),
    ("outside_doubt", 0.0, 10.0),
    ("wind", 0.0, 60.0),
    ("hours_without_sun", 0.0, 1000.0),
    ("hours_dry", 0.0, 10000.0),
    ("hours_steady", 0.0, 10000.0),
    ("hours_room_held", 0.0, 10000.0),
    ("outside_swing", 0.0, 60.0),
    ("camera_on", 0.0, 10000.0),
)


@dataclass(frozen=True)
class Rule:
    """One published condition, what was read, and whether it was met; None: not noted."""

    what: str
    read: str
    asked: str
    met: bool | None
    source: Source


def rules(conditions: Conditions, masonry_outside: bool = False) -> tuple[Rule, ...]:
    """Survey conditions held against published ones.

    Parameters
    ----------
    conditions : Conditions
        As noted on site.
    masonry_outside : bool
        Brick or stone outside: it keeps the sun's heat for longer.

    Returns
    -------
    tuple of Rule
        In the order in which they matter.
    """
    return tuple(_rules(conditions.with_past(), masonry_outside))


def _rules(c: Conditions, masonry: bool) -> Iterator[Rule]:
    yield Rule(
        "Temperature difference",
        f"{abs(c.difference):.1f} K",
        "at least 10 K",
        bool(abs(c.difference) >= 10.0),
        _PRACTICE,
    )
    sun = 8.0 if masonry else 3.0
    for what, value, unit, least, source in (
        ("Hours at that difference", c.hours_steady, "h", 4.0, _FRAME),
        ("Hours that the room was held", c.hours_room_held, "h", 12.0, _OWN),
        ("Hours without sun on the wall", c.hours_without_sun, "h", sun, _FRAME),
        ("Hours since the outside was wet", c.hours_dry, "h", 24.0 if masonry else 12.0, _PRACTICE),
        ("Camera switched on for", c.camera_on, "min", 10.0, _TRADE),
    ):
        met = None if value is None else bool(value >= least)
        read = "not noted" if value is None else f"{value:g} {unit}"
        yield Rule(what, read, f"at least {least:g} {unit}", met, source)
    for what, value, unit, most, source in (
        ("Wind", c.wind, "m/s", 5.0, _PRACTICE),
        ("Change of the outside temperature", c.outside_swing, "K", 5.0, _STEADY),
    ):
        met = None if value is None else bool(value <= most)
        read = "not noted" if value is None else f"{value:g} {unit}"
        yield Rule(what, read, f"at most {most:g} {unit}", met, source)


def weak(found: tuple[Rule, ...]) -> bool:
    """Whether a condition was not met, or not noted: the picture is then a hint, not a proof."""
    return any(rule.met is not True for rule in found)
