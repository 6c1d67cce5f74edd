"""The day record: what may be written down, by the same rules for a form, a program and a file.

Every entry is one record of the job, never altered: an amendment is a new record that ``replaces``
the old one. ``kind`` names the model; ``wall`` of the record is the wall's name, "" for the house.
Stored numbers are SI, the unit in their name. In a text a bare number has the unit of its label
("21" is 21 °C), any other unit may be written out ("70 F").

======================  ==========================================================================
kind                    data
======================  ==========================================================================
``day``                 `DayStart`: date, crew with certificates, foam, lots, weather
``reading``             `Reading`: air, surface, wood, drums, hose, pressures
``probe``               `Probe`: thickness in a bay
``core``                `Core`: mass and displaced volume
``adhesion``            `Adhesion`: how a cut sample broke
``use``                 `UseEntry`: board feet sprayed and sets used
``deviation``           `Deviation`: what was done otherwise, and why
``joint``               `JointDone`: a run of the joint map sealed
``gate``                `GateEntry`: a gate signed; with ``checks`` and ``passed`` added when kept
``override``            `Override`: a failed gate passed by name and reason
``signature``           `Signature`: drawn strokes, or the typed name
``re-entry``            `ReEntryNote`: what listing, label and clearance reading say
``take-back``           `TakeBack`: an entry made by mistake, no longer counted, still shown
``forecast``            `Forecast`: hours for the workable days
``plan``                `PlanChoice`: sealing before or after, people, the work area
======================  ==========================================================================
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import UTC, date, datetime, timedelta
from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, model_validator

from warmside.survey.quantities import Reader

FUTURE = timedelta(minutes=10)  # a phone's clock may be fast by this
EARLIEST = datetime(2000, 1, 1, tzinfo=UTC)
_BARE = re.compile(r"[-+−]?\d+(?:[.,]\d+)?")


class Bare:
    """Gives a number written alone, as text, the unit of its label."""

    def __init__(self, unit: str) -> None:
        self.unit = unit

    def __call__(self, value: Any) -> Any:
        """The text with its unit; anything else as it is."""
        if isinstance(value, str) and _BARE.fullmatch(value.strip()):
            return f"{value.strip().replace('−', '-')} {self.unit}"
        return value


def _moment(value: Any) -> Any:
    """A time without a zone, as a form sends it, is the computer's own."""
    if isinstance(value, str):
        try:
            value = datetime.fromisoformat(value.strip().replace("Z", "+00:00"))
        except ValueError:
            return value
    if isinstance(value, datetime):
        try:
            return value.astimezone(UTC).replace(microsecond=0)
        except (OverflowError, OSError, ValueError):
            return None
    return value


def _lines(value: Any) -> Any:
    """One text, a part a line, as a list."""
    if isinstance(value, str):
        return [part.strip() for part in re.split(r"[\n;]", value) if part.strip()]
    return value


def _member(value: Any) -> Any:
    """``Kim Roy, CI-1234`` is short for a name and a certificate."""
    if isinstance(value, str):
        name, _, certificate = value.partition(",")
        return {"name": name.strip(), "certificate": certificate.strip()}
    return value


def _number_text(value: Any) -> Any:
    """A decimal comma is a decimal point, where no unit stands."""
    if isinstance(value, str) and _BARE.fullmatch(value.strip()):
        return value.strip().replace("−", "-").replace(",", ".")
    return value


def _ranged(low: float, high: float) -> Any:
    return Field(ge=low, le=high, allow_inf_nan=False)


Moment = Annotated[datetime, BeforeValidator(_moment, json_schema_input_type=str)]
Name = Annotated[str, Field(min_length=1, max_length=80, pattern=r"^[^\x00-\x1f\x7f-\x9f]+$")]
Line = Annotated[str, Field(max_length=200, pattern=r"^[^\x00-\x1f\x7f-\x9f]*$")]
Note = Annotated[str, Field(max_length=2000, pattern=r"^[^\x00-\x09\x0b-\x1f\x7f-\x9f]*$")]
Lots = Annotated[tuple[Name, ...], Field(max_length=20), BeforeValidator(_lines)]

_temperature = (BeforeValidator(Reader("temperature")), BeforeValidator(Bare("C")))
_share = (BeforeValidator(Reader("share")), BeforeValidator(Bare("%")))
_pressure = (BeforeValidator(Reader("pressure")), BeforeValidator(Bare("psi")))
AirC = Annotated[float, _ranged(-60, 60), *_temperature]
SurfaceC = Annotated[float, _ranged(-60, 90), *_temperature]
DrumC = Annotated[float, _ranged(-40, 60), *_temperature]
HoseC = Annotated[float, _ranged(-40, 95), *_temperature]
Humidity = Annotated[float, _ranged(0.01, 1), *_share]
Moisture = Annotated[
    float, _ranged(0.01, 2), BeforeValidator(Reader("moisture content")), BeforeValidator(Bare("%"))
]
Wind = Annotated[float, _ranged(0, 60), BeforeValidator(Reader("speed")),
                 BeforeValidator(Bare("m/s"))]  # fmt: skip
Pressure = Annotated[float, _ranged(0, 3e7), *_pressure]
Thickness = Annotated[float, _ranged(0, 0.6), BeforeValidator(Reader("length")),
                      BeforeValidator(Bare("in"))]  # fmt: skip
CoreMass = Annotated[float, _ranged(1e-4, 1), BeforeValidator(Reader("mass")),
                     BeforeValidator(Bare("g"))]  # fmt: skip
CoreVolume = Annotated[float, _ranged(1e-6, 0.01), BeforeValidator(Reader("volume")),
                       BeforeValidator(Bare("mL"))]  # fmt: skip
_counted = BeforeValidator(_number_text)
Hours = Annotated[float, _ranged(0, 1000), _counted]
BoardFeet = Annotated[float, _ranged(0.1, 200_000), _counted]
Cartridges = Annotated[float, _ranged(0, 10_000), _counted]
Sets = Annotated[float, _ranged(0.001, 100), _counted]
Count = Annotated[int, Field(ge=1, le=100)]
Stroke = Annotated[
    tuple[tuple[Annotated[int, Field(ge=0, le=1000)], Annotated[int, Field(ge=0, le=400)]], ...],
    Field(min_length=1, max_length=2000),
]


class Entry(BaseModel):
    """What every entry carries: when it happened, when it was written down, a note."""

    model_config = ConfigDict(
        defer_build=True, frozen=True, extra="forbid", str_strip_whitespace=True
    )

    at: Moment = Field(title="When")
    noted: Moment | None = Field(None, title="Written down")
    note: Note = Field("", title="Note")

    @model_validator(mode="before")
    @classmethod
    def _blank_is_missing(cls, data: Any) -> Any:
        if isinstance(data, Mapping):
            return {k: v for k, v in data.items() if not (isinstance(v, str) and not v.strip())}
        return data


class Member(BaseModel):
    """One of the crew, with the number of the installer's certificate."""

    model_config = ConfigDict(
        defer_build=True, frozen=True, extra="forbid", str_strip_whitespace=True
    )

    name: Name = Field(title="Name")
    certificate: Line = Field("", title="Certificate")


Crew = Annotated[
    tuple[Annotated[Member, BeforeValidator(_member)], ...],
    Field(min_length=1, max_length=20),
    BeforeValidator(_lines),
]


class DayStart(Entry):
    """The head of a day's record; ``foam`` is a row of the catalog, ``product`` its trade name."""

    day: date = Field(title="Day")
    crew: Crew = Field(title="Crew, one a line: name, certificate")
    foam: Name | None = Field(None, title="Foam")
    product: Line = Field("", title="Product on the drums")
    lots: Lots = Field((), title="Lot numbers, one a line")
    outdoor_c: AirC | None = Field(None, title="Outdoors, °C")
    sky: Line = Field("", title="Sky")


class Reading(Entry):
    """Conditions at one moment and place; three sets a day at least."""

    where: Line = Field("", title="Where")
    air_c: AirC | None = Field(None, title="Air, °C")
    humidity: Humidity | None = Field(None, title="Humidity, %")
    substrate_c: SurfaceC | None = Field(None, title="Surface, °C")
    wood_moisture: Moisture | None = Field(None, title="Wood moisture, %")
    wind_m_s: Wind | None = Field(None, title="Wind, m/s (outside work)")
    drum_a_c: DrumC | None = Field(None, title="Drum A core, °C")
    drum_b_c: DrumC | None = Field(None, title="Drum B core, °C")
    conditioned_h: Hours | None = Field(None, title="Drums kept warm, h")
    hose_c: HoseC | None = Field(None, title="Hose, °C")
    pressure_a_pa: Pressure | None = Field(None, title="Pressure A, psi")
    pressure_b_pa: Pressure | None = Field(None, title="Pressure B, psi")


class Probe(Entry):
    """Thickness of foam in a bay of the bay map."""

    bay: Name = Field(title="Bay")
    spot: Literal["mid-bay", "near stud", "top", "bottom"] = Field("mid-bay", title="Where in it")
    thickness_m: Thickness = Field(title="Thickness, in")


class Core(Entry):
    """A core for density by displacement, skins cut off."""

    bay: Name | None = Field(None, title="Bay")
    mass_kg: CoreMass = Field(title="Mass, g")
    volume_m3: CoreVolume = Field(title="Water displaced, mL")
    lifts: Count = Field(1, title="Passes seen in it")


class Adhesion(Entry):
    """How a cut and pried sample broke: in the foam or the wood is good, peeled clean is not."""

    bay: Name | None = Field(None, title="Bay")
    broke: Literal["in the foam", "tore wood fibre", "peeled clean", "between passes"] = Field(
        title="How it broke"
    )

    @property
    def good(self) -> bool:
        """Whether the bond is stronger than the foam or the wood."""
        return self.broke in ("in the foam", "tore wood fibre")


class UseEntry(Entry):
    """Foam sprayed against drums used."""

    foam: Name = Field(title="Foam")
    lot: Line = Field("", title="Lot")
    board_feet: BoardFeet = Field(title="Board feet sprayed, net")
    sets: Sets = Field(title="Drum sets used")
    substrate_c: SurfaceC | None = Field(None, title="Surface, °C")


class Deviation(Entry):
    """What was done otherwise than planned."""

    what: Line = Field(title="What was done otherwise", min_length=3)
    why: Line = Field(title="Why", min_length=3)
    agreed_with: Line = Field("", title="Agreed with")


class JointDone(Entry):
    """A run of the joint map, sealed or found open again."""

    run: Name = Field(title="Run")
    state: Literal["sealed", "open again"] = Field("sealed", title="State")


class GateEntry(Entry):
    """A gate signed. Whether it passed is reckoned from the reading, never taken from the sender.

    ``reading`` is the id of a ``reading`` record, for gates that readings decide. ``hours`` and
    ``cartridges`` teach the next price, where they were noted. The record as kept has two keys
    more: ``checks``, a list of key, name, figure, low, high, unit, state; and ``passed``.
    """

    gate: Name = Field(title="Gate")
    name: Name = Field(title="Who signs")
    certificate: Line = Field("", title="Certificate or licence")
    reading: Line = Field("", title="Reading")
    hours: Hours | None = Field(None, title="Hours it took, everybody's together")
    cartridges: Cartridges | None = Field(None, title="Sealant used, cartridges of 300 ml")


class Override(Entry):
    """A failed gate passed all the same: by whom, and why. Printed in the close-out papers."""

    gate_record: Name = Field(title="Failed gate")
    name: Name = Field(title="Who decides", min_length=2)
    reason: Annotated[str, Field(min_length=10, max_length=500)] = Field(title="Reason")


class Signature(Entry):
    """A name under a day: drawn, or typed where drawing is not possible.

    ``strokes`` are lists of points, 0 to 1000 across and 0 to 400 down.
    """

    day: date = Field(title="Day")
    role: Literal["installer", "helper", "crew lead", "client", "inspector"] = Field(title="As")
    name: Name = Field(title="Name")
    strokes: Annotated[tuple[Stroke, ...], Field(max_length=200)] = Field((), title="Signature")

    @property
    def drawn(self) -> bool:
        """Whether it was drawn rather than typed."""
        return bool(self.strokes)


class ReEntryNote(Entry):
    """What decides when people may come back; times of the last spraying and of the reading."""

    sprayed: Moment = Field(title="Last spraying ended")
    listing_h: Hours | None = Field(None, title="Product listing, hours")
    label_h: Hours | None = Field(None, title="Label, hours")
    clearance: Moment | None = Field(None, title="Clearance reading below the limits at")
    read_by: Line = Field("", title="Read by")


class TakeBack(Entry):
    """An entry that was made by mistake: it no longer counts, and stays in the record with why."""

    record: Name = Field(title="Entry")
    why: Line = Field(title="Why it is taken back", min_length=3)


class Forecast(Entry):
    """Hours of the coming days as CSV text; see ``read_forecast``."""

    text: Annotated[str, Field(min_length=10, max_length=60_000)] = Field(title="Forecast (CSV)")


class PlanChoice(Entry):
    """How the contractor wants the work done; the last one counts."""

    sealing: Literal["before", "after"] = Field("before", title="Sealing before or after foam")
    people: Annotated[int, Field(ge=1, le=20), _counted] = Field(2, title="People")
    volume_m3: Annotated[float, _ranged(1, 5000), BeforeValidator(Reader("volume")),
                         BeforeValidator(Bare("m3"))] | None = Field(
        None, title="Work area, m³"
    )  # fmt: skip
    room_c: Annotated[float, _ranged(0, 40), *_temperature] = Field(
        20.0, title="Work area heated to, °C"
    )


ENTRIES: dict[str, type[Entry]] = {
    "day": DayStart,
    "reading": Reading,
    "probe": Probe,
    "core": Core,
    "adhesion": Adhesion,
    "use": UseEntry,
    "deviation": Deviation,
    "joint": JointDone,
    "gate": GateEntry,
    "override": Override,
    "signature": Signature,
    "re-entry": ReEntryNote,
    "take-back": TakeBack,
    "forecast": Forecast,
    "plan": PlanChoice,
}
