"""From the entries of a proof to what was measured of one wall."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime

import numpy as np
import numpy.typing as npt

from warmside.catalog import Catalog
from warmside.errors import Fault, InputError
from warmside.framing import Frame
from warmside.options import Option
from warmside.physics.airflow import FanTestResult, PowerLaw
from warmside.physics.climate import sun_on_wall
from warmside.physics.thermography import Camera
from warmside.proof.appearance import Look, look
from warmside.proof.comparison import ThermalProof, compare
from warmside.proof.conditions import LONGEST, Conditions, Reading
from warmside.proof.fan_pictures import FanPicture, fan_picture
from warmside.proof.file import MoistureEntry, PictureEntry, WallEntry
from warmside.proof.foam import Probed, Rule, thickness_proof
from warmside.proof.lengths import millimetres
from warmside.proof.looks import Hints
from warmside.proof.measured import LostPicture, MeasuredWall, bay_foam
from warmside.proof.meter import MeterReading, TrueReading, against_drying, corrected
from warmside.proof.mosaic import fused, one_visit
from warmside.proof.picture import Picture, read_matrix, read_toned
from warmside.proof.prediction import Prediction, predict
from warmside.proof.rectify import Lens, Mark
from warmside.proof.regions import Region
from warmside.survey import FanTest, Hazard, Wall, fan_law
from warmside.weather import SUN_GUESSED, Station, read_weather

Floats = npt.NDArray[np.float64]
Load = Callable[[str], bytes]  # the bytes of a file by its name
_STATION = 24  # hours that a station's file must hold before a picture
_MASONRY = ("brick", "stone", "stucco", "concrete")


@dataclass(frozen=True, eq=False)
class Drying:
    """Wood moisture foretold for the days since a wall was closed."""

    closed: date
    days: Floats | None = None  # (n,)
    moisture: Floats | None = None  # (n,) [-]


def measured_wall(
    entry: WallEntry,
    option: Option,
    wall: Wall,
    frame: Frame,
    catalog: Catalog,
    load: Load,
    *,
    hazards: Iterable[Hazard] = (),
    rule: Rule = "average with tolerance",
    drying: Drying | None = None,
    near: Station | None = None,
) -> MeasuredWall:
    """What was measured of one wall.

    Parameters
    ----------
    entry : WallEntry
        As written down.
    option : Option
        What was built.
    wall, frame, catalog, hazards
        As `warmside.options.apply` takes them.
    load : callable
        Gives the bytes of a picture by its name.
    rule : str
        How thickness was sold.
    drying : Drying, optional
        For moisture readings.
    near : Station, optional
        The house, for a station's file that names no place or another zone.

    Returns
    -------
    MeasuredWall
        Pictures, probes and readings judged, and the foam of every bay. A picture that cannot be
        used is named with its reason, and the others of the wall count.

    Raises
    ------
    InputError
        Entries that cannot be; pictures of which none can be used.
    """
    probes = [Probed(p.thickness, p.bay, p.x, p.z) for p in entry.probe]
    _refuse_bays(probes, frame, wall)
    area = sum(b.rect.area for b in frame.bays)
    sold = option.thickness
    thick = thickness_proof(wall.name, probes, sold, rule, area, catalog) if probes else None
    probed = dict(thick.by_bay) if thick else {}
    hints = _hints(entry, wall)
    looks, lost = _looks(entry, option, wall, frame, catalog, tuple(hazards), load, near)
    fans = tuple(_fans(looks))
    leaks = tuple(place for fan in fans for place in fan.leaks)
    hints = Hints(hints.moisture, hints.warm, leaks)
    pictures = tuple(_compared(visit, wall, probed, hints) for visit in _visits(looks))
    return MeasuredWall(
        wall=wall.name,
        option=option.id,
        bays=bay_foam(frame, option.thickness, probed, pictures),
        pictures=pictures,
        fan_pictures=fans,
        thickness=thick,
        moisture=_moisture(entry, wall, drying),
        lost=lost,
    )


def fan_result(test: FanTest) -> FanTestResult | PowerLaw:
    """The law of a fan test as the survey or the proof writes it down."""
    return fan_law(test)


@dataclass(frozen=True, eq=False)
class _Looked:
    """A picture of a wall, laid over it."""

    entry: PictureEntry
    conditions: Conditions
    camera: Camera
    prediction: Prediction
    found: Look


def _looks(
    entry: WallEntry,
    option: Option,
    wall: Wall,
    frame: Frame,
    catalog: Catalog,
    hazards: tuple[Hazard, ...],
    load: Load,
    near: Station | None,
) -> tuple[list[_Looked], tuple[LostPicture, ...]]:
    """Pictures laid over the wall, and those that cannot be; a picture with the fan running is lost
    with the only one without it."""
    predictions: dict[bool, Prediction] = {}
    looks: list[_Looked] = []
    faults: list[Fault] = []
    lost: list[LostPicture] = []
    for n, one in enumerate(entry.picture, 1):
        place = f'wall "{wall.name}", picture {n} ({one.file})'
        if one.open_bays not in predictions:
            predictions[one.open_bays] = predict(
                option, wall, frame, catalog, hazards=hazards,
                state="open bays" if one.open_bays else "closed",
            )  # fmt: skip
        try:
            if lost and not one.still and not any(look.entry.still for look in looks):
                read = "the picture without the fan before it cannot be used"
                raise InputError([Fault("fan picture", read, "a picture without the fan first")])
            looks.append(_looked(one, predictions[one.open_bays], load, near))
        except InputError as error:
            mine = [Fault(f"{place}, {f.place}", f.read, f.allowed, f.line) for f in error.faults]
            faults += mine
            lost.append(LostPicture(one.file, "; ".join(str(f) for f in error.faults)))
    if faults and not looks:
        raise InputError(faults)
    return looks, tuple(lost)


def picture_of(one: PictureEntry, data: bytes) -> Picture:
    """The picture in ``data`` by what was noted of it: with its scale's ends an ordinary one."""
    if one.coldest is not None and one.warmest is not None:
        return read_toned(data, one.coldest, one.warmest)
    return read_matrix(data, one.unit, one.gain, one.offset)


def _looked(one: PictureEntry, prediction: Prediction, load: Load, near: Station | None) -> _Looked:
    picture = picture_of(one, load(one.file))
    conditions = Conditions(
        room=one.room,
        outside=one.outside,
        wind=one.wind,
        hours_without_sun=one.hours_without_sun,
        hours_dry=one.hours_dry,
        hours_steady=one.hours_steady,
        hours_room_held=one.hours_room_held,
        outside_swing=one.outside_swing,
        camera_on=one.camera_on,
        outside_colour=one.outside_colour,
        past=past_readings(one, prediction.wall, load, near),
    )
    contrast = max(one.contrast, picture.quantum)
    camera = Camera(emissivity=one.emissivity, reflected=one.reflected, contrast=contrast)
    marks = [Mark(m.column, m.row, m.x, m.z) for m in one.marks]
    lens = Lens(one.lens_k1, one.lens_k2) if one.lens_k1 or one.lens_k2 else None
    regions = [Region(r.left, r.top, r.right, r.bottom, r.cause) for r in one.region]
    found = look(
        picture, marks, prediction, conditions, camera=camera, set_to=one.set_to, lens=lens,
        regions=regions,
    )  # fmt: skip
    return _Looked(one, conditions, camera, prediction, found)


def past_readings(
    one: PictureEntry, wall: Wall, load: Load, near: Station | None = None
) -> tuple[Reading, ...]:
    """Air and sun before a picture: as typed, and hour by hour from a station where one is named.

    Typed readings of the very same time go before those of the station.
    """
    typed = tuple(Reading(p.hours_ago, p.outside, p.room, p.sun) for p in one.past)
    if not one.station:
        return typed
    known = {round(r.hours_ago, 3) for r in typed}
    hourly = station_readings(load(one.station), one.taken_at, float(wall.faces), near)
    return (*typed, *(r for r in hourly if round(r.hours_ago, 3) not in known))


def station_readings(
    data: bytes, taken_at: str, faces: float, near: Station | None = None
) -> tuple[Reading, ...]:
    """Air outdoors, and sun on a wall that ``faces`` [deg] so, of the three days before a picture.

    Parameters
    ----------
    data : bytes
        Hours of a station, in any of the open formats.
    taken_at : str
        When the picture was taken, local standard time: "2026-11-20 06:30".
    faces : float
        Where the wall looks, clockwise from north [deg].
    near : Station, optional
        The house: its place and zone where the file names none, or another.

    Returns
    -------
    tuple of Reading
        One for each hour, standing in its middle. Sun that the file does not have is not read.

    Raises
    ------
    InputError
        No such time, or fewer than ``_STATION`` hours of the file before it.
    """
    try:
        taken = datetime.fromisoformat(taken_at)
    except ValueError:
        allowed = "a time such as 2026-11-20 06:30, local standard time, beside station"
        raise InputError([Fault("taken at", f"'{taken_at}'", allowed)]) from None
    if taken.tzinfo is not None:
        raise InputError([Fault("taken at", taken_at, "local standard time, no zone")])
    weather = read_weather(data, near)
    ago = (taken - weather.time0).total_seconds() / 3600.0 - 0.5
    hours = ago - np.arange(weather.temperature.size)
    there = np.flatnonzero((hours > 0.0) & (hours <= LONGEST))
    if there.size < _STATION:
        read = f"{there.size} hours of the station's file within three days before {taken_at}"
        raise InputError([Fault("station", read, f"{_STATION} hours or more")])
    sun: list[float | None] = [float(q) for q in sun_on_wall(weather, faces)]
    if SUN_GUESSED in weather.notes:
        sun = [None] * len(sun)
    return tuple(Reading(float(hours[n]), float(weather.temperature[n]), sun=sun[n]) for n in there)


def _fans(looks: Sequence[_Looked]) -> Iterable[FanPicture]:
    """Every picture with the fan running, against the last one without."""
    still: _Looked | None = None
    for one in looks:
        if one.entry.still:
            still = one
        elif still is None:
            read = f"{one.entry.file} with the fan running, none without before it"
            raise InputError([Fault("fan picture", read, "a picture without the fan first")])
        else:
            yield fan_picture(
                still.found, one.found, one.prediction, one.entry.pressure or 0.0,
                one.conditions.difference, one.camera,
            )  # fmt: skip


def _visits(looks: Sequence[_Looked]) -> list[list[_Looked]]:
    """Pictures without the fan, those of one visit together."""
    visits: list[list[_Looked]] = []
    for one in (one for one in looks if one.entry.still):
        alike = (
            visit for visit in visits
            if visit[0].prediction is one.prediction
            and one_visit(visit[0].conditions, one.conditions)
        )  # fmt: skip
        same = next(alike, None)
        if same is None:
            visits.append([one])
        else:
            same.append(one)
    return visits


def _compared(
    visit: Sequence[_Looked], wall: Wall, probed: dict[str, float], hints: Hints
) -> ThermalProof:
    cladding = wall.found.cladding.material if wall.found.cladding else ""
    first = visit[0]
    found = fused([one.found for one in visit], first.prediction, first.conditions)
    camera = max((one.camera for one in visit), key=lambda camera: camera.contrast)
    return compare(
        found, first.prediction, first.conditions, camera, known=probed, hints=hints,
        masonry_outside=any(word in cladding for word in _MASONRY),
    )  # fmt: skip


def _hints(entry: WallEntry, wall: Wall) -> Hints:
    def true(m: MoistureEntry) -> float:
        return m.moisture if m.corrected_by_meter else corrected(m.moisture, m.temperature, m.wood)

    wet = [(m.x, m.z, true(m)) for m in entry.moisture if m.x is not None and m.z is not None]
    warm = [(p.x, p.z + 0.5, f"a {p.kind} pipe") for p in wall.pipes if p.kind in ("water", "duct")]
    warm += [(b.x, b.z, "a duct") for b in wall.boxes if b.kind == "duct"]
    return Hints(moisture=tuple(wet), warm=tuple(warm))


def _moisture(entry: WallEntry, wall: Wall, drying: Drying | None) -> tuple[TrueReading, ...]:
    readings = [
        MeterReading(
            m.where, m.moisture, _day(m.day, wall), m.wood, m.temperature, wall.name, m.x, m.z,
            m.corrected_by_meter,
        )
        for m in entry.moisture
    ]  # fmt: skip
    if not readings:
        return ()
    told = drying or Drying(min(r.day for r in readings))
    return against_drying(readings, told.closed, told.days, told.moisture)


def _day(text: str, wall: Wall) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        place = f'wall "{wall.name}", moisture, day'
        raise InputError([Fault(place, f"'{text}'", "a day such as 2026-10-05")]) from None


def _refuse_bays(probes: Sequence[Probed], frame: Frame, wall: Wall) -> None:
    depths = {bay.name: bay.depth for bay in frame.bays}
    faults = []
    for n, probe in enumerate(probes, 1):
        place = f'wall "{wall.name}", probe {n}'
        if probe.bay not in depths:
            faults.append(Fault(place, f"'{probe.bay}'", f"bay 1 to bay {len(depths)}"))
        elif probe.thickness > depths[probe.bay] + 0.01:
            read = millimetres(probe.thickness)
            faults.append(Fault(place, read, f"up to {millimetres(depths[probe.bay])}"))
    if faults:
        raise InputError(faults)
