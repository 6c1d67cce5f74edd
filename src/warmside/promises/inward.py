"""Dry in summer: damp that outdoor air and wet cladding drive towards a cooled room."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from warmside.catalog import Source
from warmside.options import BuildUp
from warmside.physics.assembly import Stack
from warmside.physics.climate import COOLED_FROM, COOLED_HUMIDITY, COOLED_TO
from warmside.physics.conduction import Films
from warmside.physics.humid_air import saturation_pressure, vapour_pressure
from warmside.physics.moisture import MONTHS, VapourPlane, vapour_planes
from warmside.promises.finding import Finding
from warmside.promises.room import Outside, Room
from warmside.wording import Figure, say

DAMP, WET = 0.80, 1.0  # [-] of a month's mean: mould can grow; water stands
# Cladding that holds rain, by row of the catalog; siding of wood, vinyl and metal holds little
RESERVOIRS = frozenset({"brick-veneer", "stucco"})
SUNLIT = (35.0, 0.90)  # [degC], [-] behind wet brick or stucco with the sun on it
_ROOM = COOLED_TO, COOLED_HUMIDITY * float(saturation_pressure(COOLED_TO))
_BEHIND = Films(0.12, 0.0, "no film behind the cladding")  # [m2 K/W]
_DAMP = Source(
    "Mean of a month at most 80 %: ISO 13788 and ASHRAE 160-2009 for mould on surfaces",
    "from memory",
)
_SUN = Source(
    "Solar-driven vapour behind cladding that holds rain: Building Science Corporation, RR-0104; "
    "35 °C and 90 % behind it",
    "second-hand",
)


def inward(build_up: BuildUp, room: Room, outside: Outside) -> list[Finding]:
    """What summer drives into the wall; nothing is said of a wall that neither cooling nor wet
    cladding concerns.

    Parameters
    ----------
    build_up : BuildUp
        The option applied to the wall.
    room : Room
        Cooled in summer, or not.
    outside : Outside
        Climate.

    Returns
    -------
    list of Finding
        Up to two: the month's humidity behind the finish, and the sun on wet cladding.
    """
    found = [_summer(build_up, outside)] if room.cooled else []
    return [*found, _sunlit(build_up)] if _holds_rain(build_up) else found


def _holds_rain(build_up: BuildUp) -> bool:
    """Whether the cladding holds rain and no open gap lies behind it."""
    return any(
        layer.role == "cladding" and layer.material in RESERVOIRS and not layer.vented
        for stack in build_up.stacks
        for layer in stack.layers
    )


def _paths(build_up: BuildUp) -> Iterator[Stack]:
    """Paths between the studs; wood is where it was, whatever stands in the bays."""
    bays = [stack for stack in build_up.stacks if stack.kind == "bay"]
    return (replace(stack, layers=stack.sheets, rects=()) for stack in bays or build_up.stacks[:1])


def _towards_room(planes: tuple[VapourPlane, ...]) -> VapourPlane | None:
    """The dampest interface in the half towards the room; the other is as damp as outdoors."""
    inner = [plane for plane in planes if plane.share < 0.5]
    return max(inner, key=lambda plane: plane.humidity, default=None)


def _where(plane: VapourPlane) -> str:
    inner, outer = plane.between
    return f"within {inner}" if inner == outer else f"between {inner} and {outer}"


def summer_plane(stack: Stack, outside: Outside) -> tuple[int, VapourPlane] | None:
    """Month (1 = January) and interface at which a cooled wall is dampest towards its room."""
    climate, found = outside.climate, []
    for month, (t, humidity) in enumerate(zip(climate.mean, climate.humidity, strict=True), 1):
        if t > COOLED_FROM:
            planes, _ = vapour_planes(stack, _ROOM, (t, float(vapour_pressure(t, humidity))))
            plane = _towards_room(planes)
            found += [(month, plane)] if plane else []
    return max(found, key=lambda one: one[1].humidity, default=None)


def _summer(build_up: BuildUp, outside: Outside) -> Finding:
    found = [one for one in (summer_plane(s, outside) for s in _paths(build_up)) if one]
    month, plane = max(found, key=lambda one: one[1].humidity, default=(0, None))
    humidity = plane.humidity if plane else 0.0
    holds = humidity <= DAMP
    reason = say("No month is warm enough to drive damp into a cooled wall.")
    if plane is not None:
        reason = say(
            "With the room at 24 °C and 50 %, the mean of {month} {where} is {humidity}{wet}.",
            month=MONTHS[month - 1],
            where=_where(plane),
            humidity=Figure(min(humidity, WET), "share"),
            wet=": damp outdoor air condenses there" if humidity > WET else "",
        )
    return Finding(
        promise="dry",
        key="inward_humidity",
        name="Damp that summer drives inwards",
        figure=humidity,
        unit="-",
        limit=DAMP,
        limit_is="most",
        verdict="holds" if holds else "falls short",
        reason=reason,
        change=say(
            ""
            if holds
            else "No polyethylene, foil or vinyl paper on the room side: paint over gypsum lets it "
            "dry inwards; closed-cell foam on the sheathing keeps it out."
        ),
        source=_DAMP,
    )


def sunlit(stack: Stack) -> tuple[VapourPlane | None, float]:
    """Dampest interface, and what condenses [kg/(m2 s)], behind sunlit wet cladding."""
    behind = replace(
        stack, layers=tuple(x for x in stack.layers if x.role != "cladding" and not x.vented)
    )
    damp = SUNLIT[0], float(vapour_pressure(*SUNLIT))
    planes, rate = vapour_planes(behind, _ROOM, damp, _BEHIND)
    return _towards_room(planes), rate


def _sunlit(build_up: BuildUp) -> Finding:
    found = [sunlit(stack) for stack in _paths(build_up)]
    plane, rate = max(found, key=lambda one: (one[1], one[0].humidity if one[0] else 0.0))
    humidity = plane.humidity if plane else 0.0
    holds = humidity <= WET
    hour = 1000.0 * 3600.0 * rate
    return Finding(
        promise="dry",
        key="inward_sun_kg_m2_s",
        name="Sun on wet brick or stucco",
        figure=rate,
        unit="kg/(m2 s)",
        limit=None,
        limit_is="none",
        verdict="holds" if holds else "needs a person",
        reason=say(
            "Damp that the sun drives out of wet cladding passes to the room and dries there."
        )
        if holds
        else say(
            "After rain the sun drives damp inwards: about {rate} g/m² condense in an hour "
            "{where}, and run down on the plate.",
            rate=f"{hour:.1f}",
            where=_where(plane) if plane else "",
        ),
        change=say(
            ""
            if holds
            else "Whoever looks at the cladding finds whether a drained, open gap of 25 mm lies "
            "behind it; without one, closed-cell foam on the sheathing and no sheet inside."
        ),
        source=_SUN,
    )
