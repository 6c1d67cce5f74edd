"""The proof: pictures, marks, readings taken in; the difference, the verdicts, the papers."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict, fields, replace
from datetime import date
from typing import TYPE_CHECKING, Any

from fastapi import APIRouter, Request
from fastapi.responses import Response

from warmside import units
from warmside.errors import Fault, InputError, UnitError
from warmside.fence import FILES, fenced
from warmside.store import Record, Store
from warmside.web import cached
from warmside.web.forms import Form, Sent
from warmside.web.pages import page, then
from warmside.web.problem import Problem
from warmside.web.proof_ahead import foreseen, planned
from warmside.web.proof_files import Proofs, Shot, ask_proof, packed, paper_key, proofs_of, toned
from warmside.web.studies import standing
from warmside.web.web import caller_of, web_of

if TYPE_CHECKING:
    from warmside.survey import Wall
    from warmside.weather import Station

router = APIRouter(include_in_schema=False)
_PAPERS = {
    "pdf": "application/pdf",
    "json": "application/json",
    "csv": "text/csv; charset=utf-8",
}
# what was noted of a picture: name, label, kind of quantity ("" a plain number), needed, hint
CONDITIONS = (
    ("room", "Room", "temperature", True, "air, such as 21 C"),
    ("outside", "Outside", "temperature", True, "air, such as -6 C"),
    ("wind", "Wind, m/s", "", False, "at most 5 asked"),
    ("hours_without_sun", "Hours without sun on the wall", "", False, "at least 3 asked"),
    ("hours_dry", "Hours since the outside was wet", "", False, "at least 12 asked"),
    ("hours_steady", "Hours at that difference", "", False, "at least 4 asked"),
    ("hours_room_held", "Hours that the room was held", "", False, "at least 12 asked"),
    ("outside_swing", "Change of the outside temperature, K", "", False, "at most 5 asked"),
    ("camera_on", "Camera switched on for, min", "", False, "at least 10 asked"),
    ("emissivity", "Emissivity of the surface", "", False, "0.90 for painted board"),
    ("set_to", "Camera set to emissivity", "", False, "1 where it shows apparent temperatures"),
    ("reflected", "Reflected temperature", "temperature", False, "that of the room if not said"),
    ("lens_k1", "Lens, k1", "", False, "0: found from the picture"),
    ("contrast", "Camera tells apart, K", "", False, "0.1 for a good one"),
    ("pressure", "Fan running, house below outside by", "pressure", False, "only with the fan on"),
)
# the air before: name, label, kind; each with the hours ago and the key of a reading
PAST = tuple(
    (f"{key}_{ago}", f"{label} {ago} h ago", "temperature", False, "marched through the wall")
    for key, label in (("outside", "Outside"), ("room", "Room"))
    for ago in (6, 12, 24)
)
COLOUR = "outside_colour"
MOST_REGIONS, SPARE = 20, 4
SIDES = ("left", "top", "right", "bottom")
_CORNERS = ("lower left", "lower right", "upper right", "upper left")


@router.get("/jobs/{job}/proof")
def proof_page(request: Request, job: str) -> Response:
    """What was measured, what it comes to, and the forms that take more."""
    return _page(request, job)


def _page(
    request: Request,
    job: str,
    typed: Mapping[str, str] | None = None,
    faults: tuple[Fault, ...] = (),
    status: int = 200,
) -> Response:
    from warmside.proof import RULES, SCATTER

    store = web_of(request).store
    found, walls = proofs_of(store, job), cached.read(store.text("survey", job).text).walls
    return page(
        request, "proof", status, store.job(job), found=found, walls=[w.name for w in walls],
        typed=typed or {}, faults=faults, conditions=CONDITIONS + PAST, rules=RULES,
        shots=[Shot.of(record) for record in found.records["thermal"]],
        fault_fields={fault: str(fault.path[-1]) for fault in faults if fault.path},
        plans=_plans(request, job), studied=standing(store, job).fresh,
        foreseen=foreseen(request, job, found), planned=planned(request)[0],
        built=_built(store, job, found), scatter=SCATTER, query_planned=bool(request.query_params),
    )  # fmt: skip


def _built(store: Store, job: str, found: Proofs) -> dict[str, list[str]]:
    """What a proof file says was built, by the option's name: the walls."""
    stands = standing(store, job)
    studied = stands.study["walls"] if stands.dossier else ()
    names = {w["name"]: {o["id"]: o["name"] for o in w["options"]} for w in studied}
    walls: dict[str, list[str]] = {}
    for wall, option in found.said.get("built", {}).items():
        walls.setdefault(names.get(wall, {}).get(option, option), []).append(wall)
    return walls


def _plans(request: Request, job: str) -> list[tuple[str, list[tuple[str, str]]]]:
    """Where to probe, wall by wall."""
    from warmside.proof import sampling_plan

    store = web_of(request).store
    text, rows = store.text("survey", job).text, store.text("catalog", job).text
    known, plans = cached.catalog(rows), []
    for number, wall in enumerate(cached.read(text).walls, 1):
        try:
            places = sampling_plan(cached.frame(text, rows, number), known)
        except InputError:  # its own page tells why it cannot be framed
            continue
        plans.append((wall.name, [(p.bay, f"{p.where}, {p.x:.2f} m, {p.z:.2f} m up")
                                  for p in places]))  # fmt: skip
    return plans


@router.post("/jobs/{job}/proof")
def ask(request: Request, job: str, form: Form) -> Response:  # noqa: ARG001
    """Ask for the judging."""
    ask_proof(web_of(request).store, job, caller_of(request).name)
    return then(f"/jobs/{job}/proof")


@router.post("/jobs/{job}/proof/pictures")
def add_picture(request: Request, job: str, form: Form) -> Response:
    """Take in a thermal picture; what it is is told by its content."""
    try:
        wall = _wall(request, job, form.get("wall"))
        data = _picture(form, wall.faces, _house(request, job))
        who = caller_of(request).name
        record = web_of(request).store.records.add(job, "thermal", data, who, wall.name)
    except InputError as error:
        return _page(request, job, form.texts, error.faults, 422)
    return then(f"/jobs/{job}/proof/pictures/{record.id}")


def _picture(form: Sent, faces: float, near: Station) -> dict[str, Any]:
    from warmside.proof import read_matrix, read_toned

    faults: list[Fault] = []
    entry: dict[str, Any] = {
        name: value
        for name, label, kind, needed, _ in CONDITIONS
        if (value := _number(form, name, label, kind, needed, faults)) is not None
    }
    scale = {
        name: _number(form, name, name, "temperature", False, faults)
        for name in ("coldest", "warmest")
    }
    counts = {name: _number(form, name, name, "", False, faults) for name in ("gain", "offset")}
    past: dict[int, dict[str, float]] = {}
    for name, label, kind, needed, _ in PAST:
        if (value := _number(form, name, label, kind, needed, faults)) is not None:
            key, _, ago = name.rpartition("_")
            past.setdefault(int(ago), {"hours_ago": float(ago)})[key] = value
    if faults:
        raise InputError(faults)
    if colour := form.get(COLOUR):
        entry[COLOUR] = colour
    before = [*past.values(), *_of_station(form, faces, near, set(past))]
    entry = _judgeable(entry | ({"past": before} if before else {}))
    content = form.file("picture")
    if scale["coldest"] is not None and scale["warmest"] is not None:
        ends = (scale["coldest"], scale["warmest"])
        picture = fenced(read_toned, content, *ends, lane=FILES, place="picture")
    else:
        unit = form.get("unit", "C")
        given = (unit, counts["gain"], counts["offset"] or 0.0)
        picture = fenced(read_matrix, content, *given, lane=FILES, place="picture")
    return entry | packed(picture) | {"marked": False}


def _of_station(form: Sent, faces: float, near: Station, typed: set[int]) -> list[dict[str, float]]:
    """Air and sun of the hours before, read off a station's file where one was picked."""
    from warmside.proof import station_readings

    if not form.has_file("station"):
        return []
    given = form.file("station"), form.get("taken_at"), faces, near
    try:
        hourly = fenced(station_readings, *given, lane=FILES, place="station")
    except InputError as error:
        fields = {"taken at": "taken_at"}
        raise InputError(
            [replace(f, path=(fields.get(f.place, "station"),)) for f in error.faults]
        ) from None
    told = ({k: v for k, v in asdict(one).items() if v is not None} for one in hourly)
    return [one for one in told if one["hours_ago"] not in typed]


def _judgeable(entry: dict[str, Any]) -> dict[str, Any]:
    """What was noted of a picture with all that was not, as the judging will read it.

    Refused here, beside its field, what the judging would refuse minutes later.
    """
    from warmside.proof import Conditions, proof_of

    corners = [{"column": 0.0, "row": 0.0, "x": 0.0, "z": 0.0}] * 4  # they are marked later
    picture = entry | {"file": "picture", "marks": corners}
    file = _accepted({"wall": [{"name": "wall", "picture": [picture]}]}, proof_of)
    shot = file.wall[0].picture[0]
    known = {field.name for field in fields(Conditions)} & entry.keys()
    known -= {"past"}
    _accepted({name: entry[name] for name in known}, lambda data: Conditions(**data))
    kept = {name for name, *_ in CONDITIONS} | {"past", COLOUR}
    return dict(shot.model_dump(mode="json", include=kept))


def _accepted(data: dict[str, Any], read: Callable[[dict[str, Any]], Any]) -> Any:
    """What ``read`` makes of ``data``; its faults in the words of the form, with their fields."""
    labels = {name: label for name, label, *_ in CONDITIONS}
    labels |= {COLOUR: "Colour of the outside", "indoor_humidity": "humidity"}
    try:
        return read(data)
    except InputError as error:
        told = []
        for fault in error.faults:
            last = fault.place.rpartition(", ")[2].replace(" ", "_")
            place = labels.get(last, last.replace("_", " "))
            path = (last,) if last in labels else ()
            told.append(replace(fault, place=place, path=path))
        raise InputError(told) from None


def _number(
    form: Sent, name: str, label: str, kind: str, needed: bool, faults: list[Fault]
) -> float | None:
    text = form.get(name)
    if not text:
        if needed:
            faults.append(Fault(label, "nothing", f"a {kind or 'number'}", path=(name,)))
        return None
    try:
        if kind:
            return units.parse(text, kind)  # type: ignore[arg-type]
        value = float(text.replace(",", "."))
        if -1e6 < value < 1e6:
            return value
        faults.append(Fault(label, text[:40], "a number", path=(name,)))
    except UnitError as error:
        faults.append(Fault(label, error.read, error.allowed, path=(name,)))
    except ValueError:
        faults.append(Fault(label, repr(text)[:40], "a number", path=(name,)))
    return None


def _house(request: Request, job: str) -> Station:
    from warmside.weather import station_of

    store = web_of(request).store
    catalog = cached.catalog(store.text("catalog", job).text)
    return station_of(catalog.climate(cached.read(store.text("survey", job).text).house.climate))


def _wall(request: Request, job: str, name: str) -> Wall:
    walls = cached.read(web_of(request).store.text("survey", job).text).walls
    for wall in walls:
        if wall.name == name:
            return wall
    raise InputError([Fault("wall", repr(name)[:60], ", ".join(w.name for w in walls))])


def _thermal(request: Request, job: str, record: str) -> Record:
    found = web_of(request).store.records.get(job, record)
    if found.kind != "thermal":
        raise Problem(404, "Not found", "No such picture.")
    return found


@router.get("/jobs/{job}/proof/pictures/{record}")
def marks_page(request: Request, job: str, record: str) -> Response:
    """One picture, on which the wall's corners are marked."""
    return _marks(request, job, record)


def _marks(
    request: Request, job: str, record: str, faults: tuple[Fault, ...] = (), status: int = 200
) -> Response:
    store = web_of(request).store
    found = _thermal(request, job, record)
    wall = next(
        (w for w in cached.read(store.text("survey", job).text).walls if w.name == found.wall),
        None,
    )
    if wall is None:
        raise Problem(404, "Not found", "The survey has no such wall any more.")
    from warmside.proof import CAUSES

    columns, rows = int(found.data["columns"]), int(found.data["rows"])
    high = wall.height_between(0.0, wall.length)
    places = ((0.0, 0.0), (wall.length, 0.0), (wall.length, high), (0.0, high))
    inset = ((0.08, 0.92), (0.92, 0.92), (0.92, 0.08), (0.08, 0.08))
    marks = found.data.get("marks") or [
        {"column": round(a * columns), "row": round(b * rows), "x": x, "z": z}
        for (a, b), (x, z) in zip(inset, places, strict=True)
    ]
    return page(
        request, "proof_marks", status, store.job(job), record=found, faults=faults,
        marks=list(zip(_CORNERS, marks, strict=False)), columns=columns, rows=rows,
        regions=_rows_of(found.data.get("region") or ()), causes=CAUSES,
    )  # fmt: skip


@router.post("/jobs/{job}/proof/pictures/{record}/marks")
def set_marks(request: Request, job: str, record: str, form: Form) -> Response:
    """Keep where the corners are, and what is no wall; the record is replaced, never altered."""
    from warmside.proof import Mark, view_of

    found, faults = _thermal(request, job, record), list[Fault]()
    values: list[dict[str, float]] = []
    for n, corner in enumerate(_CORNERS):
        one = {
            key: _number(form, f"{key}-{n}", f"{corner}, {key}", kind, True, faults)
            for key, kind in (("column", ""), ("row", ""), ("x", "length"), ("z", "length"))
        }
        values.append({key: value or 0.0 for key, value in one.items()})
    regions = _regions(form, faults)
    try:
        if faults:
            raise InputError(faults)
        view_of([Mark(**one) for one in values], (found.data["rows"], found.data["columns"]))
    except InputError as error:
        return _marks(request, job, record, error.faults, 422)
    store, who = web_of(request).store, caller_of(request).name
    data = dict(found.data) | {"marks": values, "region": regions, "marked": True}
    store.records.add(job, "thermal", data, who, found.wall, replaces=record)
    return then(f"/jobs/{job}/proof")


def _rows_of(regions: Sequence[Mapping[str, Any]]) -> list[Mapping[str, Any]]:
    """What was painted out, and empty rows for more."""
    more = min(SPARE, MOST_REGIONS - len(regions))
    return [*regions, *({} for _ in range(more))]


def _regions(form: Sent, faults: list[Fault]) -> list[dict[str, Any]]:
    """Rectangles that were painted out; rows without a number are none."""
    from warmside.proof import Region

    found = []
    for n in range(MOST_REGIONS):
        if not any(form.get(f"{side}-{n}") for side in SIDES):
            continue
        mine: list[Fault] = []
        sides = {
            side: _number(form, f"{side}-{n}", f"painted out {n + 1}, {side}", "", True, mine)
            for side in SIDES
        }
        faults += mine
        if mine:
            continue
        one: dict[str, Any] = {side: value or 0.0 for side, value in sides.items()}
        one["cause"] = form.get(f"cause-{n}") or "other"
        try:
            Region(**one)
        except InputError as error:
            faults += [replace(f, place=f"painted out {n + 1}") for f in error.faults]
        found.append(one)
    return found


@router.get("/jobs/{job}/proof/pictures/{record}/picture.png")
def picture_file(request: Request, job: str, record: str) -> Response:
    """The picture in tones: cold dark, warm light."""
    return Response(toned(_thermal(request, job, record).data), media_type="image/png")


@router.post("/jobs/{job}/proof/withdraw")
def withdraw(request: Request, job: str, form: Form) -> Response:
    """Take a picture or a reading back; it stays in the history."""
    store = web_of(request).store
    record = store.records.get(job, form.get("record"))
    if record.kind not in ("thermal", "fan-test", "meter"):
        raise Problem(404, "Not found", "Only pictures and readings of the proof.")
    store.records.withdraw(job, record.id, caller_of(request).name)
    return then(f"/jobs/{job}/proof")


@router.post("/jobs/{job}/proof/fan-test")
def fan_test(request: Request, job: str, form: Form) -> Response:
    """Take in the fan test after the work: a pressure and a flow a line."""
    from pydantic import ValidationError

    from warmside.survey import FanTest

    faults: list[Fault] = []
    points, opposite = (
        [_point(line, n, faults) for n, line in enumerate(form.get(name).split("\n"), 1)
         if line.strip()]
        for name in ("points", "opposite")
    )  # fmt: skip
    temperatures = {
        name: _number(form, name, name.replace("_", " "), "temperature", True, faults)
        for name in ("indoor_temperature", "outdoor_temperature")
    }
    try:
        if not points and not faults:
            faults.append(Fault("fan test", "nothing", "lines such as: 50 Pa, 1500 CFM"))
        if faults:
            raise InputError(faults)
        try:
            given = {"points": points, "opposite": opposite, **temperatures, **_noted(form, faults)}
            if faults:
                raise InputError(faults)
            test = FanTest.model_validate(given)
        except ValidationError as error:
            read = str(error.errors(include_url=False)[0]["msg"])
            raise InputError([Fault("fan test", read, "1 to 200 Pa and flows above 0")]) from None
        from warmside.proof import fan_result

        fan_result(test)
    except InputError as error:
        return _page(request, job, form.texts, error.faults, 422)
    store, who = web_of(request).store, caller_of(request).name
    store.records.add(job, "fan-test", test.model_dump(mode="json"), who)
    return then(f"/jobs/{job}/proof")


def _noted(form: Sent, faults: list[Fault]) -> dict[str, Any]:
    """What was noted round a fan test; what was not is left out."""
    given: dict[str, Any] = {
        name: _number(form, name, name, kind, False, faults)
        for name, kind in (("wind", "speed"), ("barometer", "pressure"), ("calibration", "share"))
    }
    zeros = [part.strip() for part in re.split(r"[;\n]", form.get("zero_flow")) if part.strip()]
    try:
        given["zero_flow"] = [units.parse(text, "pressure") for text in zeros]
    except UnitError as error:
        faults.append(Fault("zero-flow pressures", error.read, error.allowed, path=("zero_flow",)))
    given |= {name: form.get(name) for name in ("instrument", "direction")}
    return {name: value for name, value in given.items() if value not in (None, "", [])}


def _point(line: str, n: int, faults: list[Fault]) -> dict[str, float]:
    parts = [part.strip() for part in re.split(r"[,;\t]", line) if part.strip()]
    try:
        if len(parts) == 2:
            return {
                "pressure": units.parse(parts[0], "pressure"),
                "flow": units.parse(parts[1], "flow"),
            }
    except UnitError:
        pass
    faults.append(Fault(f"fan test, line {n}", repr(line)[:60], "such as: 50 Pa, 1500 CFM"))
    return {}


@router.post("/jobs/{job}/proof/meter")
def meter(request: Request, job: str, form: Form) -> Response:
    """Take in a moisture reading."""
    faults: list[Fault] = []
    moisture = _number(form, "moisture", "moisture", "share", True, faults)
    temperature = _number(
        form, "wood_temperature", "wood temperature", "temperature", False, faults
    )
    try:
        wall = _wall(request, job, form.get("wall")).name
        day = _day(form.get("day"), faults)
        if moisture is not None and not 0.0 < moisture <= 1.5:
            faults.append(Fault("moisture", f"{moisture:.0%}", "above 0 % up to 150 %"))
        if faults:
            raise InputError(faults)
        from warmside.proof import corrected, proof_of

        corrected(moisture or 0.0, temperature, form.get("wood"))
        data = {
            "where": form.get("where")[:200] or "the wall",
            "moisture": moisture,
            "day": day,
            "wood": form.get("wood")[:60] or "spruce",
            "temperature": temperature,
            "corrected_by_meter": form.get("corrected_by_meter") == "yes",
        }
        _accepted({"wall": [{"name": wall, "moisture": [data]}]}, proof_of)
    except InputError as error:
        return _page(request, job, form.texts, error.faults, 422)
    web_of(request).store.records.add(job, "meter", data, caller_of(request).name, wall)
    return then(f"/jobs/{job}/proof")


def _day(text: str, faults: list[Fault]) -> str:
    try:
        return date.fromisoformat(text).isoformat()
    except ValueError:
        faults.append(Fault("day", repr(text)[:40], "a day such as 2026-10-05", path=("day",)))
        return ""


@router.post("/jobs/{job}/proof/rule")
def rule(request: Request, job: str, form: Form) -> Response:
    """Note the rule that thickness was sold by, when the walls were closed, and who came back."""
    from warmside.proof import RULES, proof_of

    faults: list[Fault] = []
    humidity = _number(form, "indoor_humidity", "indoor humidity", "share", False, faults)
    if form.get("acceptance") not in RULES:
        faults.append(Fault("rule", repr(form.get("acceptance"))[:40], ", ".join(RULES)))
    if humidity is not None and not 0.0 <= humidity <= 1.0:
        faults.append(Fault("indoor humidity", f"{humidity:.0%}", "0 to 100 %"))
    closed = _day(form.get("closed"), faults) if form.get("closed") else ""
    if faults:
        return _page(request, job, form.texts, tuple(faults), 422)
    store = web_of(request).store
    before = proofs_of(store, job).records["proof"]
    data = {
        "acceptance": form.get("acceptance"),
        "closed": closed,
        "indoor_humidity": humidity,
        "re_entry": " ".join(form.get("re_entry").split())[:500],  # a line of the file
        "synthetic": bool(before and before[-1].data.get("synthetic")),
    }
    try:
        _accepted({k: v for k, v in data.items() if v not in (None, "")}, proof_of)
    except InputError as error:
        return _page(request, job, form.texts, error.faults, 422)
    if before:
        data["built"] = before[-1].data.get("built", {})
    replaces = before[-1].id if before else ""
    store.records.add(job, "proof", data, caller_of(request).name, replaces=replaces)
    return then(f"/jobs/{job}/proof")


@router.get("/jobs/{job}/close-out.{kind}")
def paper(request: Request, job: str, kind: str) -> Response:
    """The close-out as PDF, JSON or CSV."""
    store = web_of(request).store
    store.job(job)
    key = paper_key(store, proofs_of(store, job).key, kind) if kind in _PAPERS else ""
    data = store.results.get(key) if key else None
    if data is None:
        raise Problem(404, "Not judged yet", "The close-out comes from the proof: judge it first.")
    headers = {"content-disposition": f'inline; filename="close-out.{kind}"'}
    return Response(data, media_type=_PAPERS[kind], headers=headers)
