"""The survey as typed, validated data.

A wall is seen from the room: ``x`` runs from its left end, ``z`` from the underside of its bottom
plate (balloon frame: from the top of the sill), both in metres. Every number is SI (temperatures in
degrees Celsius); text with trade units is accepted wherever a quantity stands.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field

from warmside.survey._quantities import (
    Area,
    Azimuth,
    Flow,
    Length,
    MoistureContent,
    MoistureRate,
    Position,
    Pressure,
    Share,
    Temperature,
    Volume,
)

Name = Annotated[str, Field(min_length=1, max_length=80)]
Text = Annotated[str, Field(max_length=2000)]


class _Record(BaseModel):
    """Frozen, closed to unknown keys."""

    model_config = ConfigDict(frozen=True, extra="forbid", str_strip_whitespace=True)


class FanPoint(_Record):
    """One point of a fan test: house pressure [Pa] and fan flow [m3/s]."""

    pressure: Pressure
    flow: Flow


class FanTest(_Record):
    """A fan test already made: a single flow at 50 Pa [m3/s], or its points."""

    flow_50: Flow | None = None
    points: tuple[FanPoint, ...] = ()
    indoor_temperature: Temperature = 20.0
    outdoor_temperature: Temperature = 0.0


class Heating(_Record):
    """The heating appliance; ``fuel`` is a row of the catalog."""

    appliance: Literal["furnace", "boiler", "stove", "electric baseboard", "heat pump", "other"] = (
        "furnace"
    )
    fuel: Name = "natural-gas"
    efficiency: Annotated[float, Field(gt=0, le=6, allow_inf_nan=False)] = 0.78
    venting: Literal["natural draft", "induced draft", "sealed", "none"] = "natural draft"


class House(_Record):
    """The house as a whole; ``climate`` is a row of the catalog."""

    name: Name
    place: Text = ""
    client: Text = ""
    climate: Name
    design_temperature: Temperature | None = None
    year_built: Annotated[int, Field(ge=1700, le=2100)]
    storeys: Annotated[float, Field(ge=1, le=4, allow_inf_nan=False)] = 1
    floor_area: Area | None = None
    volume: Volume
    bedrooms: Annotated[int, Field(ge=0, le=20)] = 3
    people: Annotated[int, Field(ge=0, le=40)] = 4
    indoor_temperature: Annotated[float, Field(ge=5, le=35, allow_inf_nan=False)] = 21.0
    indoor_humidity: Share | None = None
    moisture_production: MoistureRate | None = None
    mechanical_ventilation: Flow | None = None
    heating: Heating = Heating()
    fan_test: FanTest | None = None
    notes: Text = ""


class Opening(_Record):
    """A window or door by its rough opening; ``left`` and ``sill`` locate its lower left corner."""

    name: Name
    kind: Literal["window", "door"] = "window"
    left: Position
    sill: Position = 0.0
    width: Length
    height: Length
    header: Literal["doubled", "flat", "box", "none"] | None = None
    header_depth: Length | None = None
    weight_pockets: bool = False


class Partition(_Record):
    """Where an inside wall meets this one: centre of its backing post."""

    at: Position
    post: Literal["three-stud", "two-stud", "ladder", "none"] = "two-stud"


class Brace(_Record):
    """A 1x4 let into the outer face of the studs, from (x, z) to (x, z)."""

    from_x: Position
    from_z: Position
    to_x: Position
    to_z: Position


class Box(_Record):
    """An electrical box in the wall, or what else sits in a hole of the finish."""

    kind: Literal["outlet", "switch", "light", "panel", "recessed light", "duct"] = "outlet"
    x: Position
    z: Position


class Pipe(_Record):
    """A pipe, cable or vent: through the wall at (x, z), or up a bay when ``run`` is 'vertical'."""

    kind: Literal["water", "drain", "vent", "cable", "gas", "duct"] = "cable"
    x: Position
    z: Position = 0.0
    run: Literal["through", "vertical"] = "through"


class FoundLayer(_Record):
    """One continuous layer as found; ``material`` is a row of the catalog."""

    material: Name
    thickness: Length | None = None


class AsFound(_Record):
    """The build-up as found, room side to outside; names are rows of the catalog.

    ``fill`` lies between the studs. ``fill_state`` says how it was found; ``fill_thickness`` how
    much of the depth it takes (all of it when not given).
    """

    finish: tuple[FoundLayer, ...] = ()
    vapour_control: Name | None = None
    fill: Name | None = None
    fill_thickness: Length | None = None
    fill_state: Literal["dry", "damp", "wet", "slumped", "missing in places"] = "dry"
    sheathing: tuple[FoundLayer, ...] = ()
    paper: Name | None = None
    cladding: FoundLayer | None = None
    cladding_vented: bool = False


class Reading(_Record):
    """A moisture-meter reading in wood, as shown by the meter (kg water per kg dry wood)."""

    where: Text
    x: Position | None = None
    z: Position | None = None
    moisture: MoistureContent
    wood: Text = "spruce"
    temperature: Temperature | None = None
    date: Text = ""


class Step(_Record):
    """From ``x`` on, the wall is ``height`` high (a gable or stair wall, stepped)."""

    x: Position
    height: Length


class Wanted(_Record):
    """An option that the client or contractor asked for, on every wall or one."""

    kind: Literal[
        "leave",
        "batt and poly",
        "closed-cell",
        "open-cell",
        "foam and batt",
        "furring and foam",
        "foam and board",
        "from outside",
    ]
    foam: Name | None = None
    thickness: Length | None = None
    furring: Length | None = None
    board: Name | None = None
    board_thickness: Length | None = None
    seal_joints: bool = True
    walls: tuple[Name, ...] = ()


class Wall(_Record):
    """One outside wall."""

    name: Name
    storey: Annotated[int, Field(ge=0, le=4)] = 1
    year_built: Annotated[int, Field(ge=1700, le=2100)] | None = None
    faces: Azimuth
    frame: Literal["platform", "balloon"]
    length: Length
    height: Length | None = None
    profile: tuple[Step, ...] = ()
    stud: Literal["2x3", "2x4", "2x6"] = "2x4"
    stud_width: Length | None = None
    stud_depth: Length | None = None
    spacing: Length = 0.4064
    layout_from: Literal["left", "right"] = "left"
    corner_left: Literal["three-stud", "two-stud", "solid", "none"] = "three-stud"
    corner_right: Literal["three-stud", "two-stud", "solid", "none"] = "three-stud"
    partitions: tuple[Partition, ...] = ()
    header: Literal["doubled", "flat", "box", "none"] | None = None
    braces: tuple[Brace, ...] = ()
    floor_line: Position | None = None
    ribbon: bool = True
    joist_depth: Length = 0.1905
    fire_blocks: Literal["present", "missing", "unknown"] = "unknown"
    openings: tuple[Opening, ...] = ()
    boxes: tuple[Box, ...] = ()
    pipes: tuple[Pipe, ...] = ()
    found: AsFound = AsFound()
    readings: tuple[Reading, ...] = ()
    notes: Text = ""


class Hazard(_Record):
    """Something that stops work until a named person clears it."""

    kind: Literal[
        "knob-and-tube wiring",
        "energised old wiring",
        "vermiculite",
        "asbestos",
        "lead paint",
        "rot",
        "bulk water",
        "chimney",
        "recessed light",
        "combustion appliance",
        "urea-formaldehyde foam",
        "duct in the wall",
    ]
    where: Text
    wall: Name | None = None
    state: Literal["suspected", "found", "cleared"] = "suspected"
    cleared_by: Text = ""
    notes: Text = ""


class Survey(_Record):
    """Everything found at one house."""

    house: House
    walls: Annotated[tuple[Wall, ...], Field(min_length=1, max_length=200)]
    hazards: tuple[Hazard, ...] = ()
    options: tuple[Wanted, ...] = ()
