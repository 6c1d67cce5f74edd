"""What every wall that is worked on takes: made safe, read, warmed, proved with smoke."""

from __future__ import annotations

import math
from collections.abc import Callable
from types import MappingProxyType

from warmside.catalog import Source
from warmside.options import BuildUp, Gate, Quantity, Task
from warmside.survey import Wall
from warmside.wording import Figure, Sentence, say
from warmside.works._item import Counts, Work

BAYS_A_READING = 3  # a meter is set in the bottom plate of every third bay
FOAM_A_DAY = 4.72  # [m3] of foam in place that two people spray a day in an old house
_LOCK = Source("once for each wall", "common practice")
_METER = Source("every third bay, below every window, and where the survey read", "common practice")
_DAY = Source("2,000 board ft a day for two in an old house, of 1,500 to 3,000", "from memory")
_JOINTS = Source("joints of the framing", "computed")


def _once(build_up: BuildUp, wall: Wall) -> Counts:  # noqa: ARG001
    how = say("circuits, gas and water of the wall")
    return (Quantity("wall", "Walls to make safe", 1.0, "each", how, _LOCK, priced=False),)


def _readings(build_up: BuildUp, wall: Wall) -> Counts:
    bays = math.ceil(len(build_up.frame.bays) / BAYS_A_READING)
    windows = sum(hole.kind == "window" for hole in build_up.frame.holes)
    number = bays + windows + len(wall.readings)
    how = say("{bays} in bays, {windows} below windows, {again} where it was read before",
              bays=str(bays), windows=str(windows), again=str(len(wall.readings)))  # fmt: skip
    return (Quantity("wood_reading", "Places to read the wood", float(number), "each", how, _METER,
                     priced=False),)  # fmt: skip


def _warm_days(build_up: BuildUp, wall: Wall) -> Counts:  # noqa: ARG001
    """Days on which the work area is heated and outdoor air is let in."""
    volume = sum(
        stack.area * layer.thickness
        for stack in build_up.stacks
        for layer in stack.layers
        if layer.role == "foam"
    )
    if volume <= 0:
        return ()
    how = say("{volume} of foam / {day} a day", volume=Figure(volume, "foam"),
              day=Figure(FOAM_A_DAY, "foam"))  # fmt: skip
    return (Quantity("heated_day", "Temporary heat and make-up air", volume / FOAM_A_DAY, "day",
                     how, _DAY),)  # fmt: skip


def _smoked(build_up: BuildUp, wall: Wall) -> Counts:  # noqa: ARG001
    option = build_up.option
    if not option.seal_joints:
        return ()
    reach = option.kind.reaches
    metres = sum(j.length for j in build_up.frame.joints if reach is None or j.kind in reach)
    if metres <= 0:
        return ()
    how = say("{length} of joints", length=Figure(metres, "span"))
    return (Quantity("smoked", "Joints to go over with smoke", metres, "m", how, _JOINTS,
                     priced=False),)  # fmt: skip


def _says(*lines: str) -> Callable[[Counts], tuple[str | Sentence, ...]]:
    def do(counts: Counts) -> tuple[str | Sentence, ...]:  # noqa: ARG001
        return lines

    return do


def _read(counts: Counts) -> tuple[str | Sentence, ...]:
    places = Figure(round(counts[0].amount), "count", noun="place")
    return (say("{places} to read, each written on the wall.", places=places),)


MAKE_SAFE = Work(
    key="make-safe",
    name="Made safe",
    causes=(),
    tasks=(Task("make_safe", "Make safe", "wall", "each", "make-safe"),),
    counted=_once,
    do=_says(),
    gate=Gate("crew lead", "Tested dead."),
    accepted="Tested dead, ways out clear.",
    warranty="None: it is of the day.",
    host="make-safe",
)
READINGS = Work(
    key="wood-readings",
    name="Wood read dry",
    causes=(
        "wood_moisture_kg_kg",
        "hazard_wet_wood",
        "hazard_bulk_water",
        "hazard_rot",
        "found_wet",
        "canada-nbc-2020:ca.outside-water",
        "us-irc-2021:us.outside-water",
    ),
    tasks=(Task("wood_reading", "Read the wood", "wood_reading", "each", "dry"),),
    counted=_readings,
    do=_read,
    gate=Gate("crew lead", "Every reading written down, with a photo of the meter."),
    accepted="Every place at the limit or below, on the day that it is covered.",
    warranty="Wood was dry when it was covered; later leaks are not covered.",
    host="dry",
)
HEAT_AND_AIR = Work(
    key="heat-and-air",
    name="Temporary heat, make-up air",
    causes=("work_air_m3_s", "isocyanate"),
    tasks=(Task("heat_and_air", "Set up and tend heat and air", "heated_day", "day",
                "heat-and-air"),),
    bought=MappingProxyType({"heated_day": "day"}),
    counted=_warm_days,
    do=_says(
        "Work area closed off, heated without an open flame, exhaust fan on; outdoor air let in "
        "far from the exhaust and warmed.",
    ),
    gate=Gate("crew lead", "Air, surface and pressure read and written down; photo taken."),
    accepted="Held from before the first pass until the time before re-entry.",
    warranty="None: it is of the day; its log is handed over.",
)  # fmt: skip
SMOKE = Work(
    key="smoke",
    name="Joints gone over with smoke",
    causes=(
        "wall_leakage_m2", "joints_sealed", "joint_condensate_kg_m2",
    ),
    tasks=(Task("smoke", "Go over the joints with smoke", "smoked", "m", "seal-rest"),),
    counted=_smoked,
    do=_says("House at 25 Pa below outdoors, every number of the map gone over."),
    gate=Gate("crew lead", "Photo of what was sealed again."),
    accepted="No joint of the map draws smoke at 25 Pa.",
    warranty="Joints that open within the term of the work's warranty are sealed again.",
    host="seal-rest",
)  # fmt: skip
