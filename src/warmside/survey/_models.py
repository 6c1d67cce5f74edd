"""The survey as typed, validated data.

A wall is seen from the room: ``x`` runs from its left end, ``z`` from the underside of its bottom
plate (balloon frame: from the top of the sill), both in metres. Every number is SI (temperatures in
degrees Celsius); text with trade units is accepted wherever a quantity stands.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal, Self

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, model_validator

from warmside.survey._problems import problems, refuse
from warmside.survey.quantities import (
    Alarms,
    Area,
    Azimuth,
    Barometer,
    Bedrooms,
    Burning,
    Cables,
    CalibrationDoubt,
    Conductance,
    Date,
    Day,
    Density,
    Depth,
    Efficiency,
    FanFlow,
    Flow,
    FuelAmount,
    Heaters,
    Length,
    LumberSize,
    MoistureContent,
    MoistureRate,
    Money,
    Name,
    People,
    Position,
    Power,
    Pressure,
    Reason,
    Resistance,
    RoomTemperature,
    Share,
    SmallPressure,
    Spacing,
    Storey,
    Storeys,
    Temperature,
    Text,
    Thickness,
    Volume,
    WallHeight,
    WallLength,
    Wind,
    Year,
)

# The file names a table by what one of them is; the attribute holds them all. Only here.
FILE_NAMES = {
    "walls": "wall",
    "hazards": "hazard",
    "options": "option",
    "openings": "opening",
    "partitions": "partition",
    "braces": "brace",
    "boxes": "box",
    "pipes": "pipe",
    "readings": "reading",
    "points": "point",
    "appliances": "appliance",
    "bills": "bill",
    "parts": "part",
}


def _file_name(name: str) -> str:
    return FILE_NAMES.get(name, name)


def _one_as_list(value: Any) -> Any:
    return [value] if isinstance(value, (str, dict)) else value


class _Record(BaseModel):
    """Frozen, closed to unknown keys."""

    model_config = ConfigDict(
        defer_build=True,  # where a survey is only handed on, nothing is read
        frozen=True,
        extra="forbid",
        str_strip_whitespace=True,
        alias_generator=_file_name,
        validate_by_name=True,
        validate_by_alias=True,
    )

    @model_validator(mode="after")
    def _hangs_together(self) -> Self:
        refuse(problems(self))
        return self


def _either_spelling(value: Any) -> Any:
    """British or American; anything else is refused, never guessed."""
    return value.replace("ize", "ise") if isinstance(value, str) else value


class FanPoint(_Record):
    """One point of a fan test: house pressure [Pa] and fan flow [m3/s]."""

    pressure: Pressure
    flow: Flow


class FanTest(_Record):
    """A fan test already made: a single flow at 50 Pa [m3/s], or its points.

    ``opposite`` are points with the fan turned round. ``zero_flow`` are pressures with the fan
    covered, indoors less outdoors, some before and some after. ``instrument`` names fan and gauge:
    two tests with the same one share its ``calibration``, the standard uncertainty of all flows.
    """

    flow_50: Flow | None = None
    points: tuple[FanPoint, ...] = ()
    opposite: tuple[FanPoint, ...] = ()
    direction: Annotated[
        Literal["depressurise", "pressurise"], BeforeValidator(_either_spelling)
    ] = "depressurise"
    indoor_temperature: Temperature = 20.0
    outdoor_temperature: Temperature = 0.0
    zero_flow: tuple[SmallPressure, ...] = ()
    wind: Wind | None = None
    barometer: Barometer | None = None
    instrument: Text = ""
    calibration: CalibrationDoubt | None = None
    day: Day = ""


class Heating(_Record):
    """The heating appliance; ``fuel`` is a row of the catalog.

    ``yearly_use`` is what the bills say, with its unit; ``night_temperature`` what the room
    is held at from 23 to 6 o'clock.
    """

    appliance: Literal["furnace", "boiler", "stove", "electric baseboard", "heat pump", "other"] = (
        "furnace"
    )
    fuel: Name = "natural-gas"
    efficiency: Efficiency = 0.78
    venting: Literal["natural draft", "induced draft", "sealed", "none"] = "natural draft"
    yearly_use: FuelAmount | None = None
    night_temperature: RoomTemperature | None = None


class Around(_Record):
    """What wind meets around the house, what it stands on, and a flue that always stands open.

    ``open_flue`` is the top of that flue above the lowest floor [m]; ``shelter`` the published
    classes of shelter from wind, 1 to 5.
    """

    terrain: Literal["city centre", "suburb or woods", "open", "over water"] = "suburb or woods"
    shelter: Literal["none", "isolated", "across the street", "large lots", "side by side"] = (
        "across the street"
    )
    foundation: Literal["basement or slab", "crawl space"] = "basement or slab"
    open_flue: WallHeight | None = None


class Exhaust(_Record):
    """Fans that blow out, by flow [m3/s], "0 cfm" where there is none; unknown where left out.

    ``bath`` is all bath fans together; ``other`` what else runs, such as a workshop or a stove fan.
    """

    hood: FanFlow | None = None
    bath: FanFlow | None = None
    dryer: FanFlow | None = None
    other: FanFlow = 0.0


class Appliance(_Record):
    """A flame beside the heating: water heater, fireplace, stove."""

    name: Name
    venting: Literal["natural draft", "induced draft", "sealed", "none"] = "natural draft"


class Listing(_Record):
    """What the listing of the foam on the truck says; only what was read in it.

    ``flame_spread`` and ``smoke_developed`` are its burning figures [-], ``density`` that of its
    report [kg/m3].
    """

    number: Text = ""
    standard: (
        Literal[
            "CAN/ULC-S705.1", "CAN/ULC-S712.1", "ASTM C1029", "evaluation report", "kit foam",
            "none",
        ]
        | None
    ) = None  # fmt: skip
    flame_spread: Burning | None = None
    smoke_developed: Burning | None = None
    density: Density | None = None


PartKind = Literal["attic", "rim", "basement", "windows"]
BASEMENT_HEIGHT = 2.1  # [m] floor to joists, old houses; common practice, no source
BASEMENT_DEPTH = 1.5  # [m] of that in the ground; the same


class HousePart(_Record):
    """A part of the house beside its walls, and what another trade offers for it.

    ``resistance`` is as found and ``better`` with the work offered [m2 K/W]; ``seals`` the share of
    the house's leakage that it takes away [-]; ``price`` that trade's, taxes included. Of a
    basement the walls count: ``below_ground`` is how deep its floor lies [m].
    """

    kind: PartKind
    area: Area
    resistance: Resistance
    better: Resistance | None = None
    below_ground: Depth | None = None
    seals: Share = 0.0
    price: Money | None = None

    @property
    def depth(self) -> float:
        """How deep its floor lies below the ground [m]; 0 of what stands above it."""
        usual = BASEMENT_DEPTH if self.kind == "basement" else 0.0
        return usual if self.below_ground is None else self.below_ground

    @property
    def loss(self) -> float:
        """Transmission as found [W/K]."""
        return self._loss(self.resistance)

    @property
    def spared(self) -> float:
        """Transmission that the offer takes away [W/K]."""
        return self.loss - self._loss(self.better or self.resistance)

    def _loss(self, resistance: float) -> float:
        if self.depth <= 0.0:
            return self.area / resistance
        from warmside.physics.energy import buried_wall

        buried = min(self.depth / BASEMENT_HEIGHT, 1.0)
        below = buried * buried_wall(resistance, self.depth)
        return self.area * (below + (1.0 - buried) / resistance)


class Bill(_Record):
    """Fuel of one bill, or of one delivery up to the next; ``ends`` is the next one's first day.

    ``mean_temperature`` is that of those days outdoors, as many bills print it [degC].
    """

    begins: Date
    ends: Date
    used: FuelAmount
    mean_temperature: Temperature | None = None

    @property
    def days(self) -> int:
        """How many it covers."""
        return (self.ends - self.begins).days


STOREY_HEIGHT = 2.6  # [m] floor to floor, common practice, no source


class House(_Record):
    """The house as a whole; ``climate`` is a row of the catalog.

    ``mechanical_ventilation`` runs all the time and only exhausts; ``planned_ventilation`` is built
    with the work, balanced in and out. ``moisture_reason`` says why more water than usual is given
    off; without it no more than 15 kg a day is believed.

    ``alarm_distance`` is from the farthest bedroom's door to the nearest carbon monoxide alarm [m];
    ``other_flames`` says whether the appliances beside the heating were looked for.

    ``other_parts`` is the transmission of everything but the surveyed walls (roof, windows, floor)
    [W/K]: with it the season is reckoned for the whole house, with ``gains`` of people, appliances
    and sun [W]. ``cooling`` left out: rooms are taken as cooled where a month's mean is 24 degC.
    ``moisture_year``: the year that moisture is judged in hour by hour.

    ``bills`` are those of twelve or twenty-four months; those from ``work_done`` on show the house
    after the work. ``parts`` are those beside the walls, with other trades' prices.
    """

    name: Name
    place: Text = ""
    client: Text = ""
    climate: Name
    design_temperature: Temperature | None = None
    year_built: Year
    storeys: Storeys = 1
    floor_area: Area | None = None
    volume: Volume
    bedrooms: Bedrooms = 3
    people: People = 4
    indoor_temperature: RoomTemperature = 21.0
    indoor_humidity: Share | None = None
    moisture_production: MoistureRate | None = None
    moisture_reason: Text = ""
    mechanical_ventilation: FanFlow | None = None
    planned_ventilation: FanFlow | None = None
    other_parts: Conductance | None = None
    gains: Power | None = None
    heating: Heating = Heating()
    appliances: Annotated[tuple[Appliance, ...], Field(max_length=20)] = ()
    exhaust: Exhaust = Exhaust()
    around: Around = Around()
    other_flames: Literal["unknown", "listed", "none"] = "unknown"
    smoke_alarms: Alarms | None = None
    carbon_monoxide_alarms: Alarms | None = None
    alarm_distance: Length | None = None
    attached_garage: bool = False
    listing: Listing | None = None
    draughts: Literal["usual", "very draughty", "sealed before"] = "usual"
    cooling: Literal["rooms cooled", "none"] | None = None
    moisture_year: Literal["mean year", "severe year"] = "mean year"
    fan_test: FanTest | None = None
    bills: Annotated[tuple[Bill, ...], Field(max_length=60)] = ()
    work_done: Date | None = None
    parts: Annotated[tuple[HousePart, ...], Field(max_length=12)] = ()
    notes: Text = ""

    @property
    def bills_before(self) -> tuple[Bill, ...]:
        """Bills of the house as it was found."""
        done = self.work_done
        return tuple(bill for bill in self.bills if done is None or bill.ends <= done)

    @property
    def bills_after(self) -> tuple[Bill, ...]:
        """Bills of the house after the work; the one in which it was done counts in neither."""
        done = self.work_done
        return tuple(bill for bill in self.bills if done is not None and bill.begins >= done)

    @property
    def spill_free(self) -> bool:
        """Whether all its flames were looked for and none draws its air from the house."""
        known = bool(self.appliances) or self.other_flames != "unknown"
        kinds = {self.heating.venting, *(one.venting for one in self.appliances)}
        return known and kinds <= {"sealed", "none"}

    @property
    def floor(self) -> float:
        """Heated floor area [m2]: as measured, else the volume in storeys of usual height."""
        return self.floor_area or self.volume / STOREY_HEIGHT


class Opening(_Record):
    """A window or door by its rough opening; ``left`` and ``sill`` locate its lower left corner."""

    name: Name
    kind: Literal["window", "door"] = "window"
    left: Position
    sill: Position = 0.0
    width: Length
    height: Length
    header: Literal["doubled", "flat", "box", "none"] | None = None
    header_depth: LumberSize | None = None
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
    """An electrical box in the wall, or what else sits in a hole of the finish.

    ``rated`` is the label of a recessed light: what may touch it; ``clearance`` the least distance
    that is kept to it [m]. A box is ``reachable`` unless something covers it for good.
    """

    kind: Literal["outlet", "switch", "light", "panel", "recessed light", "duct"] = "outlet"
    x: Position
    z: Position
    rated: Literal["for foam", "for insulation", "no"] | None = None
    clearance: Position | None = None
    reachable: bool = True


class Pipe(_Record):
    """A pipe, cable or vent: through the wall at (x, z), or up a bay when ``run`` is 'vertical'.

    ``depth`` is from the room face of the studs to the pipe's middle [m].
    """

    kind: Literal["water", "drain", "vent", "cable", "gas", "duct"] = "cable"
    x: Position
    z: Position = 0.0
    run: Literal["through", "vertical"] = "through"
    depth: Position | None = None


class FoundLayer(_Record):
    """One continuous layer as found; ``material`` is a row of the catalog."""

    material: Name
    thickness: Thickness | None = None

    @model_validator(mode="before")
    @classmethod
    def _by_name(cls, value: Any) -> Any:
        """A name alone stands for the layer in its usual thickness."""
        return {"material": value} if isinstance(value, str) else value


Layers = Annotated[
    tuple[FoundLayer, ...],
    Field(max_length=12),
    BeforeValidator(_one_as_list, json_schema_input_type=str | list[str | FoundLayer]),
]


Plan = Literal["open", "off anyway", "stays"]


class AsFound(_Record):
    """The build-up as found, room side to outside; names are rows of the catalog.

    ``finish_plan`` and ``cladding_plan`` say whether they come off anyway, whatever is done to the
    wall, or must stay. ``flashing`` laps into the membrane at heads and sills, or is missing;
    ``cladding_clearance`` is from the ground to the cladding [m]. ``fill`` lies between the studs.
    ``fill_state`` says how it was found; ``fill_thickness`` how
    much of the depth it takes (all of it when not given); ``fill_missing`` which share of the
    bays' area holds none, as a camera showed (what is usual of its state when not given).
    """

    finish: Layers = ()
    vapour_control: Name | None = None
    fill: Name | None = None
    fill_thickness: Thickness | None = None
    fill_state: Literal["dry", "damp", "wet", "slumped", "hung loose", "missing in places"] = "dry"
    fill_missing: Share | None = None
    sheathing: Layers = ()
    paper: Name | None = None
    cladding: FoundLayer | None = None
    cladding_vented: bool = False
    flashing: Literal["lapped", "missing"] | None = None
    cladding_clearance: Position | None = None
    finish_plan: Plan = "open"
    cladding_plan: Plan = "open"

    @property
    def wet_fill(self) -> bool:
        """Whether the fill holds water."""
        return self.fill_state in ("damp", "wet")


class Reading(_Record):
    """A moisture-meter reading in wood, as shown by the meter (kg water per kg dry wood)."""

    where: Text
    x: Position | None = None
    z: Position | None = None
    moisture: MoistureContent
    wood: Text = "spruce"
    temperature: Temperature | None = None
    date: Day = ""


class Step(_Record):
    """From ``x`` on, the wall is ``height`` high (a gable or stair wall, stepped)."""

    x: Position
    height: WallHeight

    @model_validator(mode="before")
    @classmethod
    def _pair(cls, value: Any) -> Any:
        """``["12 ft", "14 ft"]`` is short for x and height."""
        if isinstance(value, (list, tuple)) and len(value) == 2:
            return dict(zip(("x", "height"), value, strict=True))
        return value


class Wanted(_Record):
    """An option that the client or contractor asked for, on every wall or one.

    ``kind`` is one of the kinds of option, ``foam``, ``fill`` and ``board`` are rows of the
    catalog; which keys a kind takes, it says itself. ``only`` leaves the usual set out.
    """

    kind: Name
    foam: Name | None = None
    thickness: Thickness | None = None
    furring: Thickness | None = None
    board: Name | None = None
    board_thickness: Thickness | None = None
    fill: Name | None = None
    seal_joints: bool = True
    only: bool = False
    walls: Annotated[tuple[Name, ...], Field(alias="walls", max_length=200)] = ()


class Wall(_Record):
    """One outside wall; ``comfort``: the client asks for warmth near it, whether it pays or not.

    ``rooms`` are those behind it, in the family's own words, for its offer.
    ``lot_line`` is from its outer face to the line of the lot [m]; ``rim_foam`` how thick foam is
    left or put at its rim joist or sill [m], 0 for none, and ``rim_cover`` what covers it there;
    ``cables_together`` the most loaded cables in one hole or bundle.
    """

    name: Name
    storey: Storey = 1
    year_built: Year | None = None
    faces: Azimuth
    frame: Literal["platform", "balloon"]
    length: WallLength
    height: WallHeight | None = None
    profile: Annotated[tuple[Step, ...], Field(max_length=200)] = ()
    stud: Literal["2x3", "2x4", "2x6"] = "2x4"
    stud_width: LumberSize | None = None
    stud_depth: LumberSize | None = None
    spacing: Spacing = 0.4064
    layout_from: Literal["left", "right"] = "left"
    corner_left: Literal["three-stud", "two-stud", "solid", "none"] = "three-stud"
    corner_right: Literal["three-stud", "two-stud", "solid", "none"] = "three-stud"
    partitions: Annotated[tuple[Partition, ...], Field(max_length=200)] = ()
    header: Literal["doubled", "flat", "box", "none"] | None = None
    braces: Annotated[tuple[Brace, ...], Field(max_length=200)] = ()
    floor_line: Position | None = None
    ribbon: bool = True
    joist_depth: LumberSize = 0.1905
    fire_blocks: Literal["present", "missing", "unknown"] = "unknown"
    lot_line: Length | None = None
    rim_foam: Position | None = None
    rim_cover: Literal["nothing", "gypsum", "structural panel", "mineral fibre"] = "nothing"
    cables_together: Cables | None = None
    openings: Annotated[tuple[Opening, ...], Field(max_length=200)] = ()
    boxes: Annotated[tuple[Box, ...], Field(max_length=200)] = ()
    pipes: Annotated[tuple[Pipe, ...], Field(max_length=200)] = ()
    radiators: Heaters = 0
    baseboard_heaters: Heaters = 0
    found: AsFound = AsFound()
    readings: Annotated[tuple[Reading, ...], Field(max_length=200)] = ()
    comfort: bool = False
    rooms: Text = ""
    notes: Text = ""

    @property
    def columns(self) -> tuple[tuple[float, float, float], ...]:
        """Stretches of equal height, left to right: from x, to x, height [m]."""
        if self.height is not None:
            return ((0.0, self.length, self.height),)
        ends = (*(step.x for step in self.profile[1:]), self.length)
        return tuple(
            (step.x, end, step.height) for step, end in zip(self.profile, ends, strict=True)
        )

    @property
    def open_through(self) -> bool:
        """Whether its bays run past a floor: nobody saw the blocks of a balloon frame."""
        return self.frame == "balloon" and self.fire_blocks != "present"

    @property
    def wettest(self) -> float:
        """Highest reading of its wood [kg/kg], 0 where nothing was read."""
        return max((reading.moisture for reading in self.readings), default=0.0)

    def height_between(self, x0: float, x1: float) -> float:
        """Least height [m] of the wall between ``x0`` and ``x1`` [m]."""
        return min(
            (top for left, right, top in self.columns if left <= x1 and right >= x0),
            default=0.0,
        )


class Hazard(_Record):
    """Something that stops work until a named person clears it."""

    kind: Name  # a hazard of the catalog, own rows included
    where: Text
    wall: Name | None = None
    state: Literal["suspected", "found", "cleared", "ruled out", "presumed"] = "suspected"
    cleared_by: Text = ""
    how: Text = ""
    date: Day = ""
    notes: Text = ""

    @property
    def open(self) -> bool:
        """Whether nobody cleared it or ruled it out."""
        return self.state not in ("cleared", "ruled out")

    @property
    def noted(self) -> bool:
        """Whether somebody saw or suspects it; one that is only presumed is a question."""
        return self.state in ("suspected", "found")

    @property
    def recorded(self) -> bool:
        """Whether a named person settled it on a day that is written down."""
        return not self.open and bool(self.cleared_by) and bool(self.date)


class Accepted(_Record):
    """A figure that looked unusual, looked at again and kept: the warning, what it said, and why.

    It holds for what the survey says at ``read`` alone; another figure is asked about anew.
    """

    warning: Name
    read: Text
    reason: Reason
    by: Text = ""
    date: Day = ""


class Survey(_Record):
    """Everything found at one house."""

    house: House
    walls: Annotated[tuple[Wall, ...], Field(min_length=1, max_length=200)]
    hazards: Annotated[tuple[Hazard, ...], Field(max_length=200)] = ()
    options: Annotated[tuple[Wanted, ...], Field(max_length=100)] = ()
    accepted: Annotated[tuple[Accepted, ...], Field(max_length=200)] = ()
