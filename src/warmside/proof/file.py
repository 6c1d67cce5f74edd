"""The proof file: what was measured after the work, written down in TOML with trade units."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from warmside.errors import Fault, InputError
from warmside.proof.conditions import Colour
from warmside.proof.foam import Rule
from warmside.proof.regions import InTheWay
from warmside.survey import FanTest
from warmside.survey.quantities import (
    IN_FILE,
    Day,
    Draught,
    MoistureContent,
    Name,
    Position,
    RoomTemperature,
    Share,
    Temperature,
    Text,
    Thickness,
)
from warmside.toml import parse

LARGEST = 1 << 20  # [byte]
Number = Annotated[float, Field(ge=-1e6, le=1e6, allow_inf_nan=False)]
Some = Annotated[float, Field(ge=0, le=1e5, allow_inf_nan=False)]


class _Entry(BaseModel):
    """Frozen, closed to unknown keys."""

    model_config = ConfigDict(
        defer_build=True, frozen=True, extra="forbid", str_strip_whitespace=True
    )


class MarkEntry(_Entry):
    """A place of the wall in a picture: pixels from its upper left corner, metres on the wall."""

    column: Number
    row: Number
    x: Position
    z: Position


class PastEntry(_Entry):
    """Air some hours before a picture, and sun on that wall [W/m2]."""

    hours_ago: Annotated[float, Field(gt=0, le=72, allow_inf_nan=False)]
    outside: Temperature | None = None
    room: RoomTemperature | None = None
    sun: Annotated[float, Field(ge=0, le=1200, allow_inf_nan=False)] | None = None


class RegionEntry(_Entry):
    """A rectangle of a picture that shows no wall, in its pixels, and what stands there."""

    left: Number
    top: Number
    right: Number
    bottom: Number
    cause: InTheWay = "other"


class PictureEntry(_Entry):
    """A thermal picture and how it was taken; see ``Conditions`` and ``Camera``.

    ``coldest`` and ``warmest`` are the scale of an ordinary picture. With ``pressure`` above 0 the
    fan was drawing on the house, and the picture before it in the file is the one without.
    ``station`` names a file of hourly weather, ``taken_at`` the local standard time in it.
    """

    file: Annotated[str, Field(min_length=1, max_length=200)]
    unit: Literal["C", "F", "K"] = "C"
    gain: Number | None = None
    offset: Number = 0.0
    coldest: Temperature | None = None
    warmest: Temperature | None = None
    marks: Annotated[tuple[MarkEntry, ...], Field(min_length=4, max_length=20)]
    region: Annotated[tuple[RegionEntry, ...], Field(max_length=50)] = ()
    lens_k1: Number = 0.0
    lens_k2: Number = 0.0
    set_to: Annotated[float, Field(ge=0.1, le=1, allow_inf_nan=False)] = 1.0
    emissivity: Annotated[float, Field(ge=0.5, le=1, allow_inf_nan=False)] = 0.90
    reflected: Temperature | None = None
    contrast: Annotated[float, Field(ge=0.01, le=2, allow_inf_nan=False)] = 0.1
    room: RoomTemperature
    outside: Temperature
    wind: Some | None = None
    hours_without_sun: Some | None = None
    hours_dry: Some | None = None
    hours_steady: Some | None = None
    hours_room_held: Some | None = None
    outside_swing: Some | None = None
    camera_on: Some | None = None
    outside_colour: Colour | None = None
    pressure: Draught | None = None
    taken: Day = ""
    past: Annotated[tuple[PastEntry, ...], Field(max_length=100)] = ()
    station: Annotated[str, Field(max_length=200)] = ""
    taken_at: Annotated[str, Field(max_length=40)] = ""
    open_bays: bool = False

    @property
    def still(self) -> bool:
        """Whether no fan was drawing on the house."""
        return not self.pressure


class ProbeEntry(_Entry):
    """A reading of a thickness probe."""

    thickness: Thickness
    bay: Name
    x: Position | None = None
    z: Position | None = None


class MoistureEntry(_Entry):
    """A reading of a moisture meter."""

    where: Text
    moisture: MoistureContent
    day: Day
    wood: Text = "spruce"
    temperature: Temperature | None = None
    x: Position | None = None
    z: Position | None = None
    corrected_by_meter: bool = False


class CoreEntry(_Entry):
    """A core of foam: grams, and millilitres of water before and after it was sunk."""

    mass_g: Annotated[float, Field(gt=0, le=1000, allow_inf_nan=False)]
    before_ml: Annotated[float, Field(ge=0, le=10_000, allow_inf_nan=False)]
    after_ml: Annotated[float, Field(gt=0, le=10_000, allow_inf_nan=False)]
    bay: str = ""


class WallEntry(_Entry):
    """What was measured of one wall."""

    name: Name
    option: Annotated[str, Field(max_length=60)] = ""  # "": the one put forward
    picture: Annotated[tuple[PictureEntry, ...], Field(max_length=20)] = ()
    probe: Annotated[tuple[ProbeEntry, ...], Field(max_length=500)] = ()
    moisture: Annotated[tuple[MoistureEntry, ...], Field(max_length=200)] = ()


class ProofFile(_Entry):
    """Everything in a proof file."""

    closed: Day = ""
    acceptance: Literal["average", "average with tolerance", "minimum"] = "average with tolerance"
    indoor_humidity: Share | None = None
    synthetic: bool = False
    re_entry: Text = ""
    fan_test_after: FanTest | None = None
    wall: Annotated[tuple[WallEntry, ...], Field(max_length=200)] = ()
    core: Annotated[tuple[CoreEntry, ...], Field(max_length=50)] = ()
    notes: Annotated[tuple[Text, ...], Field(max_length=50)] = ()

    @property
    def rule(self) -> Rule:
        """How thickness was sold."""
        return self.acceptance


def read_proof(text: str) -> ProofFile:
    """The proof in ``text``.

    Parameters
    ----------
    text : str
        TOML with trade units, as the survey file takes them.

    Returns
    -------
    ProofFile
        Every number SI, but grams and millilitres of cores.

    Raises
    ------
    InputError
        Every fault found, each with its place, what was read and what is allowed.
    """
    data = parse(text, "proof file", LARGEST, 'lines such as closed = "2026-10-05"')
    return proof_of(data, in_file=True)


def proof_of(data: Mapping[str, Any], in_file: bool = False) -> ProofFile:
    """The proof in plain tables; raises InputError.

    In a file every quantity names its unit; numbers that the store keeps are SI.
    """
    try:
        return ProofFile.model_validate(data, context=IN_FILE if in_file else None)
    except ValidationError as error:
        raise InputError(list(_told(error))[:50]) from None


def _told(error: ValidationError) -> Iterator[Fault]:
    for one in error.errors(include_url=False):
        place = ", ".join(
            str(part + 1) if isinstance(part, int) else str(part).replace("_", " ")
            for part in one["loc"]
        )
        context = one.get("ctx", {})
        if one["type"] == "problems":
            for problem in context["problems"]:
                yield Fault(f"proof, {place}", str(problem.read or "values"), problem.allowed)
            continue
        allowed = str(context.get("allowed", _allowed(one["type"], one["msg"], context)))
        yield Fault(f"proof, {place}", _shown(one.get("input")), allowed)


def _allowed(kind: str, message: str, context: Mapping[str, Any]) -> str:
    if kind == "missing":
        return "this key"
    if kind == "extra_forbidden":
        return "no key of that name"
    if "expected" in context:
        return str(context["expected"])
    return message.removeprefix("Input should be ").removeprefix("Value error, ")


def _shown(value: object) -> str:
    if isinstance(value, (dict, list, tuple)):
        return "a table" if isinstance(value, dict) else "a list"
    text = str(value)
    return f"'{text[:60]}'" if isinstance(value, str) else text[:60]
