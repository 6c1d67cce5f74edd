"""Comfort at a seat before the wall, and the floor that a thicker wall takes."""

from __future__ import annotations

from dataclasses import dataclass, replace

from warmside.catalog import Source
from warmside.options import BuildUp
from warmside.physics.conduction import ISO_FILMS
from warmside.physics.energy import Seat, seat
from warmside.promises.finding import Finding
from warmside.promises.room import Outside, Room
from warmside.survey import STOREY_HEIGHT
from warmside.wording import Figure, say

SEAT = 1.0  # [m] from the wall
ROOM_LENGTH, ROOM_HEIGHT = 4.0, 2.4  # [m] of wall that a person in a room sees at most
_SEAT = Source("Radiant temperature by view factor; draught by Heiselberg 1994", "from memory")


@dataclass(frozen=True)
class Comfort:
    """A seat 1 m from the wall on the design night, before and after, and the floor lost."""

    before: Seat
    after: Seat
    surface_before: float  # [degC] mean of the wall's room face
    surface_after: float  # [degC]
    floor_lost: float  # [m2] by furring and finish, over all storeys of the wall
    findings: tuple[Finding, ...]


def comfort(
    build_up: BuildUp,
    as_found: BuildUp,
    transmittances: tuple[float, float],
    room: Room,
    outside: Outside,
) -> Comfort:
    """Judge comfort of one option on one wall.

    Parameters
    ----------
    build_up, as_found : BuildUp
        The option applied, and the wall as found.
    transmittances : tuple of float
        U as found and after [W/(m2 K)].
    room, outside : Room, Outside
        The two airs; outside at its design temperature.

    Returns
    -------
    Comfort
        Temperatures [degC], draughts [m/s], floor [m2].
    """
    frame = build_up.frame
    drop = (room.temperature - outside.design) * ISO_FILMS.inside
    before, after = (room.temperature - drop * u for u in transmittances)
    size = min(frame.length, ROOM_LENGTH), min(frame.height, ROOM_HEIGHT)
    there, then = (seat(room.temperature, surface, *size, SEAT) for surface in (before, after))
    storeys = max(1, round(frame.height / STOREY_HEIGHT))
    lost = max(as_found.y0 - build_up.y0, 0.0) * frame.length * storeys
    found = Comfort(there, then, before, after, lost, ())
    if not build_up.option.kind.worked:
        return found
    return replace(found, findings=_findings(found, outside))


def _findings(found: Comfort, outside: Outside) -> tuple[Finding, ...]:
    before, after = found.before, found.after
    felt = Finding(
        promise="worth it",
        key="radiant_temperature_c",
        name="What is felt 1 m from the wall on the design night",
        figure=after.radiant_temperature,
        unit="degC",
        limit=before.radiant_temperature,
        limit_is="least",
        verdict="holds"
        if after.radiant_temperature >= before.radiant_temperature
        else "falls short",
        reason=say(
            "At {outside} outside the radiant temperature there is {after}, before {before}; the "
            "air that falls from the wall moves at {draught}, before {draught_before}. Windows are "
            "not counted.",
            outside=Figure(outside.design, "temperature"),
            after=Figure(after.radiant_temperature, "temperature"),
            before=Figure(before.radiant_temperature, "temperature"),
            draught=Figure(after.draught_speed, "speed"),
            draught_before=Figure(before.draught_speed, "speed"),
        ),
        change=say(""),
        source=_SEAT,
    )
    if found.floor_lost < 0.01:
        return (felt,)
    floor = Finding(
        promise="worth it",
        key="floor_lost_m2",
        name="Floor that the thicker wall takes",
        figure=found.floor_lost,
        unit="m2",
        limit=None,
        limit_is="none",
        verdict="holds",
        reason=say(
            "Furring and finish take {floor} of floor along this wall.",
            floor=Figure(found.floor_lost, "area"),
        ),
        change=say(""),
        source=Source("geometry of the wall", "computed"),
    )
    return felt, floor
