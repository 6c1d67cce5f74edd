"""Field types of the survey: SI floats inside, trade units parsed at this door."""

from __future__ import annotations

import re
from contextlib import suppress
from dataclasses import dataclass
from datetime import date, datetime, time
from typing import Annotated, Any

from pydantic import AfterValidator, BeforeValidator, Field, ValidationInfo
from pydantic_core import PydanticCustomError

from warmside import units
from warmside.errors import UnitError

FUEL_ALLOWED = (
    'a year\'s fuel with its unit, such as "2900 m3", "1020 therms", "1050 ccf", "2400 L", '
    '"635 US gal", "14000 kWh" or "4 cords"'
)
_YEARS = (1990, 2100)  # of bills
IN_FILE = "in a file"  # validation context: a number alone does not say its unit

# Control characters, surrogates and text-direction marks: never part of a name or a note
HIDDEN = re.compile(
    "[\x00-\x08\x0b-\x1f\x7f-\x9f\u200e\u200f\u202a-\u202e\u2066-\u2069\ud800-\udfff]"
)


@dataclass(frozen=True)
class Reader:
    """Reads one quantity: text in trade units, or (not in a file) a number in SI."""

    quantity: units.Quantity

    def __call__(self, value: Any, info: ValidationInfo) -> Any:
        """Return SI; raise what pydantic turns into a fault."""
        number = isinstance(value, (int, float)) and not isinstance(value, bool)
        if number and info.context == IN_FILE and units.needs_unit(self.quantity):
            raise PydanticCustomError("no_unit", "a number without its unit")
        try:
            return units.parse(value, self.quantity)
        except UnitError as error:
            raise PydanticCustomError("quantity", "{allowed}", {"allowed": error.allowed}) from None


def _number(value: Any) -> Any:
    if isinstance(value, bool):
        raise PydanticCustomError("not_a_number", "true and false are not numbers")
    return value


def _fuel(value: Any, info: ValidationInfo) -> Any:
    """An amount of fuel as the bill has it: "2900 m3", "1020 therms", "12000 kWh", "4 cords"."""
    if isinstance(value, str):
        text = re.sub(r"(?<=\d),(?=\d{3}\b)", "", value.strip())  # bills part thousands by commas
        for quantity in ("energy", "volume"):
            try:
                found = units.parse(text, quantity)
            except UnitError:
                continue
            if found > 0:
                return text
    number = isinstance(value, (int, float)) and not isinstance(value, bool)
    if number and info.context != IN_FILE and 0 < value < 1e9:
        return float(value)
    raise PydanticCustomError("quantity", "{allowed}", {"allowed": FUEL_ALLOWED})


def _visible(text: str) -> str:
    if HIDDEN.search(text):
        raise PydanticCustomError("hidden_character", "a character that cannot be seen")
    return text


def _day(value: Any) -> Any:
    """A TOML date is text like any other."""
    return value.isoformat() if isinstance(value, (date, datetime, time)) else value


def _date(value: Any) -> date:
    """A TOML date, or text with a date in it, of a year from 1990 to 2100."""
    day = value.date() if isinstance(value, datetime) else value
    if isinstance(value, str):
        with suppress(ValueError):
            day = date.fromisoformat(value.strip())
    if isinstance(day, date) and _YEARS[0] <= day.year <= _YEARS[1]:
        return day
    allowed = f"a date such as 2025-11-04, from {_YEARS[0]} to {_YEARS[1]}"
    raise PydanticCustomError("quantity", "{allowed}", {"allowed": allowed})


def _reads(quantity: units.Quantity) -> BeforeValidator:
    return BeforeValidator(Reader(quantity), json_schema_input_type=str | float)


Length = Annotated[float, Field(gt=0, le=100, allow_inf_nan=False), _reads("length")]  # [m]
Position = Annotated[float, Field(ge=0, le=100, allow_inf_nan=False), _reads("length")]  # [m]
Depth = Annotated[float, Field(ge=0, le=6, allow_inf_nan=False), _reads("length")]  # [m]
WallLength = Annotated[float, Field(ge=0.3, le=100, allow_inf_nan=False), _reads("length")]  # [m]
WallHeight = Annotated[float, Field(ge=0.3, le=20, allow_inf_nan=False), _reads("length")]  # [m]
LumberSize = Annotated[float, Field(ge=0.01, le=0.6, allow_inf_nan=False), _reads("length")]  # [m]
Spacing = Annotated[float, Field(ge=0.1, le=3, allow_inf_nan=False), _reads("length")]  # [m]
Thickness = Annotated[float, Field(gt=0, le=1, allow_inf_nan=False), _reads("length")]  # [m]
Area = Annotated[float, Field(gt=0, le=10_000, allow_inf_nan=False), _reads("area")]  # [m2]
Volume = Annotated[float, Field(gt=0, le=100_000, allow_inf_nan=False), _reads("volume")]  # [m3]
Temperature = Annotated[
    float, Field(ge=-70, le=60, allow_inf_nan=False), _reads("temperature")
]  # [degC]
RoomTemperature = Annotated[
    float, Field(ge=5, le=35, allow_inf_nan=False), _reads("temperature")
]  # [degC]
Share = Annotated[float, Field(ge=0, le=1, allow_inf_nan=False), _reads("share")]  # [-]
Efficiency = Annotated[float, Field(gt=0, le=6, allow_inf_nan=False), _reads("share")]  # [-]
MoistureContent = Annotated[
    float, Field(ge=0, le=3, allow_inf_nan=False), _reads("moisture content")
]  # [kg/kg]
MoistureRate = Annotated[
    float, Field(ge=0, le=1e-2, allow_inf_nan=False), _reads("moisture rate")
]  # [kg/s]
Flow = Annotated[float, Field(gt=0, le=50, allow_inf_nan=False), _reads("flow")]  # [m3/s]
FanFlow = Annotated[float, Field(ge=0, le=50, allow_inf_nan=False), _reads("flow")]  # [m3/s]
Pressure = Annotated[float, Field(gt=0, le=200, allow_inf_nan=False), _reads("pressure")]  # [Pa]
Draught = Annotated[float, Field(ge=0, le=200, allow_inf_nan=False), _reads("pressure")]  # [Pa]
SmallPressure = Annotated[
    float, Field(ge=-30, le=30, allow_inf_nan=False), _reads("pressure")
]  # [Pa] of either sign
Barometer = Annotated[
    float, Field(ge=50_000, le=110_000, allow_inf_nan=False), _reads("pressure")
]  # [Pa]
Wind = Annotated[float, Field(ge=0, le=30, allow_inf_nan=False), _reads("speed")]  # [m/s]
CalibrationDoubt = Annotated[
    float, Field(ge=0, le=0.3, allow_inf_nan=False), _reads("share")
]  # [-]
Azimuth = Annotated[
    float, Field(ge=0, lt=360, allow_inf_nan=False), _reads("azimuth")
]  # [deg] clockwise from north

Conductance = Annotated[
    float, Field(ge=0, le=1e5, allow_inf_nan=False), BeforeValidator(_number)
]  # [W/K]
Resistance = Annotated[
    float, Field(gt=0, le=50, allow_inf_nan=False), _reads("thermal resistance")
]  # [m2 K/W]
Money = Annotated[float, Field(ge=0, le=1e7, allow_inf_nan=False), BeforeValidator(_number)]
Power = Annotated[float, Field(ge=0, le=1e6, allow_inf_nan=False), BeforeValidator(_number)]  # [W]
FuelAmount = Annotated[
    float | str,
    Field(union_mode="left_to_right"),
    BeforeValidator(_fuel, json_schema_input_type=str),
]  # as billed, with its unit; a number in the fuel's own

Year = Annotated[int, Field(ge=1700, le=2100), BeforeValidator(_number)]
Name = Annotated[
    str, Field(min_length=1, max_length=80, pattern=r"^[^\n\t]*$"), AfterValidator(_visible)
]
Text = Annotated[str, Field(max_length=2000), AfterValidator(_visible)]
Reason = Annotated[str, Field(min_length=3, max_length=400), AfterValidator(_visible)]
Day = Annotated[str, Field(max_length=40), AfterValidator(_visible), BeforeValidator(_day)]
Date = Annotated[date, BeforeValidator(_date)]
Storeys = Annotated[float, Field(ge=1, le=4, allow_inf_nan=False), BeforeValidator(_number)]
Storey = Annotated[int, Field(ge=0, le=4), BeforeValidator(_number)]
Bedrooms = Annotated[int, Field(ge=0, le=20), BeforeValidator(_number)]
Alarms = Annotated[int, Field(ge=0, le=100), BeforeValidator(_number)]
Cables = Annotated[int, Field(ge=1, le=100), BeforeValidator(_number)]
# flame spread and smoke of a listing [-]
Burning = Annotated[float, Field(ge=0, le=2000, allow_inf_nan=False), BeforeValidator(_number)]
Density = Annotated[float, Field(gt=0, le=200, allow_inf_nan=False), _reads("density")]  # [kg/m3]
Heaters = Annotated[int, Field(ge=0, le=20), BeforeValidator(_number)]
People = Annotated[int, Field(ge=0, le=40), BeforeValidator(_number)]
