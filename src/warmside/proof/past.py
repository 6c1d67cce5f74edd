"""The hours before a picture: air on both sides and sun, and what of them nobody knows.

The wall is marched through them by the responses of its regions; what is not known becomes
disturbances of known shape and of a size of its own, whose marks on the picture are fitted along.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
import numpy.typing as npt

from warmside.physics.assembly import Layer, Role, Stack
from warmside.physics.conduction import ISO_FILMS, Response, strip_response
from warmside.proof.conditions import LONGEST, Colour, Conditions

Floats = npt.NDArray[np.float64]

STEP = 0.5  # [h]
OUTER = 25.0  # [W/(m2 K)] outside film, ISO 6946
SUN_DOUBT = 0.25  # [-] of sun that was noted: haze, shade, how far off it was measured; own figure
# [-] of the sun that a face takes up, and its standard deviation. EN ISO 52016-1, as ISO 13790
# before it, has light 0.3, intermediate 0.6, dark 0.9 (from memory); a colour is told from the next
# half way between, and a wall of which nobody noted it may be any
TAKEN_UP: dict[Colour | None, tuple[float, float]] = {
    "light": (0.3, 0.09), "middling": (0.6, 0.09), "dark": (0.9, 0.09), None: (0.6, 0.17),
}  # fmt: skip
BRIGHT = 350.0  # [W/m2] on a wall that faces the sun, mean of a clear half day; common practice
SUNNY = 6.0  # [h] that such a wall is sunlit at most
READING = 0.7, 0.3  # [K] of a reading outdoors and indoors by itself
WANDER = 0.35, 0.1  # [K/h^0.5] that air goes its own way between two readings; own figures
WARMED = 2.0  # [K] by which a room may have been warmed that nobody wrote down
FILM_DOUBT = 0.10  # [-] of the inside film about 0.13 m2 K/W; own figure
# [-] conductivity of old framing about the table's, one standard deviation: twelve species of
# framing lumber have 0.10 to 0.15 W/(m K) (Wood Handbook, 2010, table 4-7; from memory) and are off
# the table's 0.12 by 0.146 of it. It goes with density, k = 0.2429 G + 0.0186, and so does what
# wood stores: a share more of one is so many of the other
WOOD_DOUBT, WOOD_STORED = 0.146, 1.18
# [-] conductivity of foam about the usual: evenly between 0.76 and 0.97 of a row's (`USUAL_FOAM`)
FOAM_DOUBT = 0.07
# [-] of the heat a layer stores. Tables differ by as much: gypsum board 640 to 900 kg/m3, cladding
# of wood 0.47 to 0.80 MJ/(m3 K) (ASHRAE, EN ISO 10456; from memory)
STORED: tuple[tuple[float, tuple[Role, ...]], ...] = (
    (0.20, ("finish", "board")), (0.20, ("foam", "fill")), (0.25, ("sheathing", "cladding")),
)  # fmt: skip

Side = Literal["outside", "inside"]
State = Literal["closed", "open bays"]
Change = tuple[Side, Floats]  # of air on one side, with time


@dataclass(frozen=True, eq=False)
class Strip:
    """A wall from its usual stud to its usual bay, by the rows of its layers and otherwise.

    ``film`` has an inside film better by `FILM_DOUBT`, ``wood`` wood that conducts more by
    `WOOD_DOUBT` and is as much denser, ``foam`` foam that does by `FOAM_DOUBT`, each of ``stores``
    layers that store more heat by `STORED`.
    ``still`` has air in it that carries nothing along the wall, the least that
    `air_layer_sideways` may be.
    """

    usual: Response
    film: Response
    wood: Response
    foam: Response
    still: Response
    stores: tuple[Response, ...]

    @classmethod
    def of(
        cls, wood: Stack, bay: Stack, widths: tuple[float, float], state: State = "closed"
    ) -> Strip:
        """As `strip_response` takes it."""
        better = replace(ISO_FILMS, inside=ISO_FILMS.inside / (1.0 + FILM_DOUBT))

        def other(density: float, conductivity: float, *roles: Role) -> Response:
            how = {"density": density, "conductivity": conductivity}
            stacks = changed(wood, roles, **how), changed(bay, roles, **how)
            return strip_response(*stacks, widths, state=state)

        return cls(
            strip_response(wood, bay, widths, state=state),
            strip_response(wood, bay, widths, state=state, films=better),
            other(1.0 + WOOD_STORED * WOOD_DOUBT, 1.0 + WOOD_DOUBT, "wood"),
            other(1.0, 1.0 + FOAM_DOUBT, "foam"),
            strip_response(wood, bay, widths, state=state, still=True),
            tuple(other(1.0 + more, 1.0, *roles) for more, roles in STORED),
        )


def changed(
    stack: Stack, roles: Sequence[Role], *, density: float = 1.0, conductivity: float = 1.0
) -> Stack:
    """A stack whose layers of these roles are so many times as dense, and conduct as many."""

    def other(layer: Layer) -> Layer:
        if layer.role not in roles or not layer.conductivity:
            return layer
        return replace(
            layer,
            density=layer.density * density,
            conductivity=layer.conductivity * conductivity,
        )

    return replace(stack, layers=tuple(other(layer) for layer in stack.layers))


@dataclass(frozen=True, eq=False)
class Late:
    """What the hours before a picture still do to places [K]: rows of (5 + d, ...).

    The first is what is known of them; then what room, outdoors, the inside film and wood do, one
    standard deviation off, beyond what that does to a wall at rest; then doubts of their own: of
    the past alone, and of the foam, at rest and since.
    """

    rows: Floats

    @property
    def known(self) -> Floats:
        """Known, (...)."""
        return np.asarray(self.rows[0])

    @property
    def room(self) -> Floats:
        """Of the room's air now, (...)."""
        return np.asarray(self.rows[1])

    @property
    def outside(self) -> Floats:
        """Of the air outdoors now, (...)."""
        return np.asarray(self.rows[2])

    @property
    def film(self) -> Floats:
        """Of the inside film, (...)."""
        return np.asarray(self.rows[3])

    @property
    def wood(self) -> Floats:
        """Of wood that conducts more by `WOOD_DOUBT`, (...)."""
        return np.asarray(self.rows[4])

    @property
    def own(self) -> Floats:
        """Of the past alone, and of the foam, (d, ...)."""
        return self.rows[5:]


@dataclass(frozen=True, eq=False)
class Past:
    """What air on both sides did up to the picture, ``hours`` (n,) rising to 0, and its doubts.

    ``outside`` and ``room`` (n,) [K] are differences from the air of the picture; outside with the
    sun's share ``a q / h_e``. Every doubt is a change of the air of one standard deviation,
    independent of the others; ``now`` are those that the air of the picture makes, room and
    outside, rising from the last reading before it. ``rise`` [K] is of the room now over outdoors.
    """

    hours: Floats
    outside: Floats
    room: Floats
    now: tuple[Floats, Floats]
    doubts: tuple[Change, ...]
    rise: float

    def late(self, strip: Strip) -> Late:
        """What the past still does to the surface of a strip, place by place."""

        def felt(side: Side, change: Floats) -> Floats:
            share = strip.usual.steady if side == "inside" else 1.0 - strip.usual.steady
            return np.asarray(strip.usual.late(side, self.hours, change) + share * change[-1])

        def known(response: Response) -> Floats:
            sunny = (1.0 - response.steady) * self.outside[-1]
            inside = response.late("inside", self.hours, self.room)
            return np.asarray(response.late("outside", self.hours, self.outside) + inside + sunny)

        usual, (room, outside) = known(strip.usual), self.now
        return Late(np.array([
            usual,
            strip.usual.late("inside", self.hours, room),
            strip.usual.late("outside", self.hours, outside),
            known(strip.film) - usual,
            known(strip.wood) - usual,
            known(strip.foam) - usual + self.rise * (strip.foam.steady - strip.usual.steady),
            *(felt(side, change) for side, change in self.doubts),
            *(known(other) - usual for other in strip.stores),
        ]))  # fmt: skip


def past_of(conditions: Conditions) -> Past:
    """The past of a picture from what was noted of it.

    Air runs straight between readings and is held before the first. Sun counts as noted where any
    reading has it.
    """
    conditions = conditions.with_past()
    read = sorted(conditions.past, key=lambda r: -r.hours_ago)
    hours = np.arange(-LONGEST, STEP / 2.0, STEP)
    out = _known([(-r.hours_ago, r.outside) for r in read], conditions.outside)
    room = _known([(-r.hours_ago, r.room) for r in read], conditions.room)
    lit = _sun([(-r.hours_ago, r.sun) for r in read])
    sun = np.interp(hours, *lit) if lit else np.zeros_like(hours)
    warmth = TAKEN_UP[conditions.outside_colour][0] * sun / OUTER
    doubts = [
        *(("outside", c) for c in _wandering(hours, out, 0, conditions)),
        *(("inside", c) for c in _wandering(hours, room, 1, conditions)),
        *(("outside", c) for c in _by_sun(hours, warmth if lit else None, conditions)),
    ]
    return Past(
        hours,
        np.interp(hours, *out) - conditions.outside + warmth,
        np.interp(hours, *room) - conditions.room,
        (_of_now(hours, room, conditions.room_doubt),
         _of_now(hours, out, conditions.outside_doubt)),
        tuple((side, change) for side, change in doubts if abs(change).max() > 0.0),  # type: ignore[misc]
        conditions.difference,
    )  # fmt: skip


_Readings = tuple[Floats, Floats]  # hours (n,), values (n,)


def _known(values: list[tuple[float, float | None]], now: float) -> _Readings:
    there = [(t, v) for t, v in values if v is not None and t < 0.0] + [(0.0, now)]
    return np.array([t for t, _ in there]), np.array([v for _, v in there])


def _of_now(hours: Floats, read: _Readings, doubt: float) -> Floats:
    """What the last of all readings being off makes of the air's course [K]."""
    nodes = np.zeros(read[0].size)
    nodes[-1] = doubt
    return np.asarray(np.interp(hours, read[0], nodes))


def _sun(values: list[tuple[float, float | None]]) -> _Readings | None:
    there = [(t, v) for t, v in values if v is not None]
    return (np.array([t for t, _ in there]), np.array([v for _, v in there])) if there else None


def _wandering(hours: Floats, read: _Readings, side: int, c: Conditions) -> Iterator[Floats]:
    """Doubts of the air on one side: every reading's own, and what lies between two of them."""
    at, values = read
    for n in range(at.size - 1):  # that of the last is in the doubt of the air now
        nodes = np.zeros(at.size)
        nodes[n] = READING[side]
        yield np.interp(hours, at, nodes)
        gap = float(at[n + 1] - at[n])
        # a room changed between two readings may have been so early or late
        size = float(
            np.hypot(WANDER[side] * np.sqrt(gap), 0.3 * side * (values[n + 1] - values[n]))
        )
        middle = [at[n], (at[n] + at[n + 1]) / 2.0, at[n + 1]]
        yield np.where((hours >= at[n]), np.interp(hours, middle, [0.0, size, 0.0]), 0.0)
    before = float(at[0])
    if before <= -48.0:
        return
    if side == 0:
        # hat after hat backwards: what the day did that nobody wrote down
        swing = 5.0 if c.outside_swing is None else c.outside_swing
        for back in (3.0, 6.0, 12.0, 24.0):
            middle = [before - 2.0 * back, before - back, before]
            yield np.interp(hours, middle, [0.0, 0.3 * swing, 0.0], left=0.0, right=0.0)
    else:
        changed = 0.0 if c.hours_room_held is None else c.hours_room_held
        ended = min(before, -changed)
        yield np.interp(hours, [ended - 2.0, ended - 1e-3], [-WARMED, 0.0])


def _by_sun(hours: Floats, warmth: Floats | None, c: Conditions) -> Iterator[Floats]:
    taken, unsure = TAKEN_UP[c.outside_colour]
    if warmth is not None:
        yield float(np.hypot(SUN_DOUBT, unsure / taken)) * warmth
        return
    ended = -(0.0 if c.hours_without_sun is None else c.hours_without_sun)
    for day in (0.0, 24.0, 48.0):
        up = (hours > ended - day - SUNNY) & (hours <= ended - day)
        yield np.where(up, 0.5 * taken * BRIGHT / OUTER, 0.0)
