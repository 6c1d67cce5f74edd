"""The fields of the house's and the walls' forms, by the survey's own keys."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache, lru_cache
from typing import Any, Literal, get_args

from warmside.survey import (
    Around,
    AsFound,
    Box,
    Hazard,
    Heating,
    House,
    HousePart,
    Listing,
    Opening,
    Partition,
    Pipe,
    Wall,
)

Kind = Literal["text", "choice", "check", "names", "long"]

_QUANTITIES = {
    **dict.fromkeys(
        ("length", "height", "stud_width", "stud_depth", "spacing", "floor_line", "joist_depth",
         "fill_thickness", "left", "sill", "width", "at", "x", "z", "lot_line", "rim_foam",
         "cladding_clearance", "clearance", "alarm_distance", "open_flue", "depth"), "length",
    ),
    **dict.fromkeys(("temperature", "indoor_temperature"), "temperature"),
    "floor_area": "area",
    "volume": "volume",
}  # fmt: skip


@dataclass(frozen=True)
class Field:
    """One field: ``path`` below the form's table, what to call it, what may be chosen."""

    path: tuple[str, ...]
    label: str
    hint: str = ""
    kind: Kind = "text"
    choices: tuple[str, ...] = ()
    known: str = ""  # list of the catalog to offer while typing
    needed: bool = False
    bare: Literal["in", "ft"] = "in"  # unit of a length's number alone, for who writes inches

    @property
    def name(self) -> str:
        """Name in the form."""
        return ".".join(self.path)

    @property
    def quantity(self) -> str:
        """Kind of quantity that it holds, where each person writes it in a way of their own."""
        return _QUANTITIES.get(self.path[-1], "")


@dataclass(frozen=True)
class Group:
    """Fields that belong together under one heading."""

    title: str
    fields: tuple[Field, ...]


@dataclass(frozen=True)
class Rows:
    """A list of tables below the form's table: openings, boxes, hazards."""

    key: str
    title: str
    one: str  # what one row is called
    fields: tuple[Field, ...]
    of_survey: bool = False  # stands beside the form's table, not below it


@dataclass(frozen=True)
class Layout:
    """A whole form."""

    groups: tuple[Group, ...]
    rows: tuple[Rows, ...]


def _choices(model: Any, name: str) -> tuple[str, ...]:
    """What the survey allows for a field of ``model``."""
    found: list[str] = []
    left = [model.model_fields[name].annotation]
    while left:
        for item in get_args(left.pop(0)):
            if isinstance(item, str):
                found.append(item)
            elif get_args(item):
                left.append(item)
    return tuple(found)


def _pick(model: Any, label: str, *path: str, needed: bool = False) -> Field:
    return Field(path, label, "", "choice", _choices(model, path[-1]), needed=needed)


@cache
def wall_layout() -> Layout:
    """The form of one wall."""
    shape = Group(
        "Shape",
        (
            Field(("name",), "Name", "as you call it on site", needed=True),
            Field(("faces",), "Faces", "N, SSW or 225 deg", needed=True),
            _pick(Wall, "Frame", "frame", needed=True),
            Field(("length",), "Length", "24 ft", needed=True, bare="ft"),
            Field(("height",), "Height", "8 ft 1-1/2 in", bare="ft"),
            Field(("storey",), "Storey", "1 for the ground floor"),
            Field(("year_built",), "Year built", "if it is not the house's"),
            Field(("rooms",), "Rooms behind it", "parlour, hall: the offer names them"),
            Field(("comfort",), "The client asks for warmth here", "", "check"),
        ),
    )
    framing = Group(
        "Framing",
        (
            _pick(Wall, "Studs", "stud"),
            Field(("stud_width",), "Stud width, measured", "1-3/4 in"),
            Field(("stud_depth",), "Stud depth, measured", "3-3/4 in"),
            Field(("spacing",), "Spacing on centres", "16 in"),
            _pick(Wall, "Layout starts", "layout_from"),
            _pick(Wall, "Left corner", "corner_left"),
            _pick(Wall, "Right corner", "corner_right"),
            _pick(Wall, "Headers", "header"),
            Field(
                ("floor_line",),
                "Upper floor at",
                "balloon frame: underside of the joists",
                bare="ft",
            ),
            Field(("joist_depth",), "Joist depth", "7-1/2 in"),
            _pick(Wall, "Fire blocks", "fire_blocks"),
            Field(("lot_line",), "Lot line from the outer face", "5 ft", bare="ft"),
            Field(("rim_foam",), "Foam at the rim", "3 in; 0 in: none"),
            _pick(Wall, "It is covered by", "rim_cover"),
            Field(("cables_together",), "Most cables in one hole", "2"),
        ),
    )
    found = Group(
        "What is in it, room side to outside",
        (
            Field(("found", "finish"), "Finish", "room side first, commas between", "names",
                  known="materials"),
            Field(("found", "vapour_control"), "Vapour control", known="materials"),
            Field(("found", "fill"), "Fill", "left out: empty", known="materials"),
            Field(("found", "fill_thickness"), "Fill thickness", "left out: full depth"),
            Field(("found", "fill_state"), "State of the fill", "", "choice",
                  _choices(AsFound, "fill_state")),
            Field(("found", "fill_missing"), "Share of the bays without it", "left out: as usual"),
            Field(("found", "sheathing"), "Sheathing", "commas between", "names",
                  known="materials"),
            Field(("found", "paper"), "Paper", known="materials"),
            Field(("found", "cladding"), "Cladding", known="materials"),
            Field(("found", "flashing"), "Flashing at heads and sills", "", "choice",
                  _choices(AsFound, "flashing")),
            Field(("found", "cladding_clearance"), "Cladding above the ground", "8 in"),
            Field(("found", "finish_plan"), "Finish stays or goes", "", "choice",
                  _choices(AsFound, "finish_plan")),
            Field(("found", "cladding_plan"), "Cladding stays or goes", "", "choice",
                  _choices(AsFound, "cladding_plan")),
            Field(("notes",), "Notes", "", "long"),
        ),
    )  # fmt: skip
    return Layout((shape, framing, found), _wall_rows())


def _wall_rows() -> tuple[Rows, ...]:
    spot = (Field(("x",), "From left", "3 ft"), Field(("z",), "Height", "21 in"))
    return (
        Rows("opening", "Windows and doors", "opening", (
            Field(("name",), "Name"),
            _pick(Opening, "Kind", "kind"),
            Field(("left",), "From left", "5 ft 2 in"),
            Field(("sill",), "Sill", "38 in"),
            Field(("width",), "Width", "34 in"),
            Field(("height",), "Height", "62 in"),
            _pick(Opening, "Header", "header"),
            Field(("weight_pockets",), "Sash weights", "", "check"),
        )),
        Rows("partition", "Inside walls that meet it", "inside wall", (
            Field(("at",), "From left", "11 ft 4 in"),
            _pick(Partition, "Post", "post"),
        )),
        Rows("box", "Boxes and holes", "box", (
            _pick(Box, "Kind", "kind"), *spot,
            _pick(Box, "Label of a light allows", "rated"),
            Field(("clearance",), "Kept free around a light", "3 in"),
        )),
        Rows("pipe", "Pipes, cables, ducts", "pipe", (
            _pick(Pipe, "Kind", "kind"), *spot, _pick(Pipe, "Run", "run"),
            Field(("depth",), "Depth from the studs' room face", "1-1/2 in"),
        )),
        Rows("reading", "Moisture readings", "reading", (
            Field(("where",), "Where"),
            Field(("moisture",), "Moisture", "24 %"),
            Field(("wood",), "Wood", "spruce"),
            *spot,
            Field(("temperature",), "Temperature", "9 C"),
            Field(("date",), "Date", "2026-03-04"),
        )),
    )  # fmt: skip


_HOUSE = Group(
    "House",
    (
        Field(("name",), "Name of the job", needed=True),
        Field(("place",), "Place"),
        Field(("client",), "Client"),
        Field(("climate",), "Climate", "a place, a ZIP code, or latitude, longitude",
              known="climates", needed=True),
        Field(("year_built",), "Year built", "1931", needed=True),
        Field(("storeys",), "Storeys", "1,5 or 1.5"),
        Field(("floor_area",), "Floor area", "1100 ft2"),
        Field(("volume",), "Heated volume", "9900 ft3", needed=True),
        Field(("bedrooms",), "Bedrooms"),
        Field(("people",), "People"),
        Field(("indoor_temperature",), "Indoors", "21 C"),
        Field(("indoor_humidity",), "Humidity indoors", "26 %"),
        Field(("smoke_alarms",), "Smoke alarms"),
        Field(("carbon_monoxide_alarms",), "Carbon monoxide alarms"),
        Field(("alarm_distance",), "Farthest bedroom door from one", "12 ft", bare="ft"),
        Field(("attached_garage",), "Garage attached", "", "check"),
        Field(("moisture_reason",), "Reason for more water", "humidifier, laundry, cellar"),
        Field(("notes",), "Notes", "", "long"),
    ),
)  # fmt: skip
_HEATING = Group(
    "Heating, fan test and surroundings",
    (
        Field(("heating", "appliance"), "Appliance", "", "choice",
              _choices(Heating, "appliance")),
        Field(("heating", "fuel"), "Fuel", known="fuels"),
        Field(("heating", "efficiency"), "Efficiency", "80 %"),
        Field(("heating", "venting"), "Venting", "", "choice", _choices(Heating, "venting")),
        Field(("other_flames",), "Other flames: water heater, stove", "", "choice",
              _choices(House, "other_flames")),
        Field(("listing", "standard"), "Foam's listing: standard", "", "choice",
              _choices(Listing, "standard")),
        Field(("listing", "number"), "Number of the listing"),
        Field(("listing", "flame_spread"), "Flame spread", "400"),
        Field(("listing", "smoke_developed"), "Smoke developed", "450"),
        Field(("listing", "density"), "Density in its report", "2 pcf"),
        Field(("heating", "yearly_use"), "Fuel of a year, by the bills",
              "2900 m3, 1020 therms, 635 US gal"),
        Field(("work_done",), "Day the work was done", "bills after it show what it saved"),
        Field(("fan_test", "flow_50"), "Fan test at 50 Pa", "3350 CFM50"),
        Field(("exhaust", "hood"), "Kitchen hood", "190 cfm; 0 cfm: none"),
        Field(("exhaust", "bath"), "Bath fans together", "50 cfm"),
        Field(("exhaust", "dryer"), "Clothes dryer", "110 cfm"),
        Field(("mechanical_ventilation",), "Fan that runs all the time", "60 cfm"),
        Field(("planned_ventilation",), "Ventilation built with the work", "60 cfm"),
        Field(("draughts",), "Draughts, without a fan test", "", "choice",
              _choices(House, "draughts")),
        Field(("moisture_year",), "Moisture is judged in", "", "choice",
              _choices(House, "moisture_year")),
        Field(("cooling",), "Rooms in summer", "", "choice", _choices(House, "cooling")),
        Field(("around", "terrain"), "Land around", "", "choice", _choices(Around, "terrain")),
        Field(("around", "shelter"), "Neighbouring houses", "", "choice",
              _choices(Around, "shelter")),
        Field(("around", "foundation"), "Stands on", "", "choice",
              _choices(Around, "foundation")),
        Field(("around", "open_flue"), "Top of an open flue",
              "above the lowest floor; left out: none", bare="ft"),
    ),
)  # fmt: skip
_BILLS = Rows("bill", "Fuel bills, 12 or 24 months", "bill", (
    Field(("begins",), "From", "2025-01-08"),
    Field(("ends",), "To, the next bill's first day", "2025-02-06"),
    Field(("used",), "Fuel", "385 m3, 120 therms, 90 US gal"),
    Field(("mean_temperature",), "Outdoors, if the bill says", "-11 C"),
))  # fmt: skip
_PARTS = Rows("part", "Attic, rim, basement, windows, and offers for them", "part", (
    _pick(HousePart, "Part", "kind"),
    Field(("area",), "Area", "1100 ft2"),
    Field(("resistance",), "As found", "R-12"),
    Field(("below_ground",), "Basement floor below the ground", "left out: 5 ft", bare="ft"),
    Field(("better",), "As offered", "R-50"),
    Field(("seals",), "Share of the house's leaks it closes", "8 %"),
    Field(("price",), "That trade's price, taxes included", "2400"),
))  # fmt: skip


@lru_cache(maxsize=16)
def house_layout(hazards: tuple[str, ...]) -> Layout:
    """The form of the house and its hazards, of the kinds that the catalog has."""
    rows = Rows("hazard", "Hazards: what stops work until a named person clears it", "hazard", (
        Field(("kind",), "Kind", "", "choice", hazards),
        Field(("where",), "Where"),
        Field(("wall",), "Wall", "left out: the house"),
        _pick(Hazard, "State", "state"),
        Field(("cleared_by",), "Cleared or ruled out by"),
        Field(("how",), "How"),
        Field(("date",), "Date", "2026-05-04"),
        Field(("notes",), "Notes"),
    ), of_survey=True)  # fmt: skip
    return Layout((_HOUSE, _HEATING), (_BILLS, _PARTS, rows))
