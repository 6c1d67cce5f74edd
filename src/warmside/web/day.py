"""The day record: written on a phone, kept there while there is no network, sent later in order."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace
from datetime import UTC, date, datetime
from typing import Annotated, Any
from uuid import uuid4

from fastapi import APIRouter, Path, Request
from fastapi.responses import Response
from pydantic import BaseModel, ConfigDict, Field

from warmside.errors import Fault, InputError
from warmside.store import Record
from warmside.web.crew import Crew, crew_of, fields_of, take, with_units
from warmside.web.crew_pages import show_hours, show_plan, show_wall
from warmside.web.files import edition, static
from warmside.web.forms import Form, Sent
from warmside.web.pages import page, then, writing_of
from warmside.web.problem import Problem
from warmside.web.web import caller_of, web_of
from warmside.wording import Style

router = APIRouter(include_in_schema=False)
api = APIRouter(prefix="/api")
JobId = Annotated[str, Path(max_length=64, description="Id of a job")]
# in the order of a day; each with what its form is called and whether it belongs to a wall
FORMS = (
    ("day", "Begin the day", False),
    ("reading", "Take a reading", True),
    ("probe", "Probe the thickness", True),
    ("core", "Weigh a core", True),
    ("adhesion", "Cut for adhesion", True),
    ("use", "Note drums used", True),
    ("deviation", "Note a deviation", True),
    ("re-entry", "Re-entry", False),
    ("signature", "Sign the day", False),
)
# what each kind of entry is called in the list of a day
CALLED = {
    "day": "Day begun", "reading": "Reading", "probe": "Probe", "core": "Core",
    "adhesion": "Adhesion", "use": "Drums used", "deviation": "Deviation", "joint": "Joints",
    "gate": "Gate", "override": "Gate overridden", "signature": "Signature",
    "re-entry": "Re-entry", "take-back": "Taken back", "plan": "How the work is wanted",
}  # fmt: skip
LISTED, DAYS = 100, 60  # entries of a day and days on one page; earlier ones by a link
_MEANT = {"token", "kind", "wall", "id", "replaces", "back"}


@router.get("/jobs/{job}/day")
def day_page(
    request: Request, job: str, on: str = "", amend: str = "", before: str = ""
) -> Response:
    """One day: what was noted (``before``: up to that entry), and a form for each thing to note."""
    return show_day(request, job, on=on, amend=amend, before=before)


def show_day(
    request: Request,
    job: str,
    on: str = "",
    amend: str = "",
    before: str = "",
    typed: Mapping[str, str] | None = None,
    faults: tuple[Fault, ...] = (),
    status: int = 200,
) -> Response:
    """The day's page, with what was typed where something was refused."""
    from warmside.site import day_sheet, signed_by

    store = web_of(request).store
    crew = crew_of(store, job)
    day, typed = _day(on), dict(typed or {})
    old = crew.log.get(amend) if amend else None
    if old is not None:
        typed = {"kind": old.kind, "wall": old.wall, "replaces": old.id} | _as_typed(old.entry)
    kind = typed.get("kind", "")
    sheet = day_sheet(crew.log, day)
    noted, earlier = _listed(crew, day, before)
    return page(
        request, "site_day", status, store.job(job), day=day, sheet=sheet, faults=faults,
        noted=[_shown(one, writing_of(request)) for one in noted], earlier=earlier, before=before,
        forms=[(name, words, of_wall, _form(name, typed if name == kind else None, day, crew,
                                            faults if name == kind else (), writing_of(request)))
               for name, words, of_wall in FORMS],
        typed=typed, walls=[plan.wall for plan in crew.plans], days=crew.log.days[:DAYS],
        bays=sorted({bay for plan in crew.plans for bay in plan.bay_depths}, key=_by_number),
        numbers=_numbers_of(crew), by=caller_of(request).name, re_entry=_re_entry(sheet),
        wanted=3, called=CALLED, signed_by=signed_by,
        taken_back={noted.id for noted in crew.log.of("take-back")},
    )  # fmt: skip


def _listed(crew: Crew, day: date, before: str) -> tuple[list[Any], int]:
    """Entries that the page of a day lists, and how many there are before them."""
    noted = [one for one in crew.log.on(day) if one.kind != "forecast"]
    end = next((n for n, one in enumerate(noted) if one.id == before), len(noted))
    begin = max(0, end - LISTED)
    return noted[begin:end], begin


def _day(on: str) -> date:
    try:
        return date.fromisoformat(on) if on else datetime.now().astimezone().date()
    except ValueError:
        raise Problem(404, "Not found", "A day is written such as 2026-11-25.") from None


def _by_number(bay: str) -> tuple[int, str]:
    number = bay.rpartition(" ")[2]
    return (int(number) if number.isdecimal() else 0, bay)


def _numbers_of(crew: Crew) -> dict[str, int]:
    return {plan.wall: len(crew.log.of("probe", plan.wall)) for plan in crew.plans}


def _form(
    kind: str,
    typed: Mapping[str, str] | None,
    day: date,
    crew: Crew,
    faults: tuple[Fault, ...],
    write: Style,
) -> Any:
    from warmside.documents import reading_limits

    foams = sorted({plan.foam for plan in crew.plans if plan.foam})
    family = next((plan.family for plan in crew.plans if plan.family), "")
    usual = {"day": day.isoformat(), "foam": foams[0] if len(foams) == 1 else ""}
    fields = fields_of(kind, usual | dict(typed or {}), faults, write=write)
    if kind != "reading" or not family:
        return fields
    limits = reading_limits(family, crew.catalog)
    return [
        replace(field, hint=write.part(limits[field.name]) if field.name in limits else "")
        for field in fields
    ]


def _as_typed(entry: Any) -> dict[str, str]:
    """An entry as its form would hold it: SI numbers with their unit."""
    from warmside.site import typed_again

    return typed_again(entry)


def _shown(noted: Any, write: Style) -> Any:
    from warmside.site import entry_lines

    return noted, entry_lines(noted, write)


def _re_entry(sheet: Any) -> Any:
    """When people may come back, by what was noted that day."""
    from warmside.site import re_entry

    note = sheet.re_entry
    if note is None:
        return None
    hours = [None if h is None else h * 3600 for h in (note.listing_h, note.label_h)]
    return re_entry(note.sprayed, hours[0], hours[1], note.clearance)


@router.post("/jobs/{job}/entries")
def note_entry(request: Request, job: str, form: Form) -> Response:
    """Keep an entry of a form."""
    store, who, role = web_of(request).store, caller_of(request).name, caller_of(request).role
    kind, wall, back = form.get("kind"), form.get("wall"), _back(job, form.get("back"))
    data: dict[str, Any] = {k: v for k, v in with_units(form.texts).items() if k not in _MEANT}
    data["at"] = form.get("at") or datetime.now(UTC).isoformat()
    if upload := form.files.get("file"):
        data["text"] = upload[0].file.read(60_001).decode("utf-8", "replace") or form.get("text")
    data.pop("strokes", None)  # drawn only with scripts
    try:
        take(store, job, who, kind, wall, data, form.get("id") or uuid4().hex,
             form.get("replaces"), role)  # fmt: skip
    except InputError as error:
        return _refused(request, job, form, error.faults)
    return then(back)


def _back(job: str, path: str) -> str:
    """A page of this job; anything else leads to the day."""
    here = f"/jobs/{job}/"
    plain = path.startswith(here) and not re.search(r"\.\.|\\|//", path) and path.isprintable()
    return path if plain else f"{here}day"


def _refused(request: Request, job: str, form: Sent, faults: tuple[Fault, ...]) -> Response:
    """The page that the form came from, with what was typed."""
    back = _back(job, form.get("back"))
    typed = dict(form.texts)
    if back.endswith("/crew"):
        return show_plan(request, job, typed, faults, 422)
    if back.partition("?")[0].endswith("/hours"):
        return show_hours(request, job, "", typed, faults, 422)
    last = back.partition("?")[0].rpartition("/")
    if last[0].endswith("/crew") and last[2].isascii() and last[2].isdecimal():
        return show_wall(request, job, int(last[2][:6]), typed, faults, 422)
    return show_day(request, job, typed=typed, faults=faults, status=422)


class EntryIn(BaseModel):
    """An entry as it is sent; its ``id`` is chosen by the sender, so that twice is once."""

    model_config = ConfigDict(extra="forbid")

    id: str = Field(min_length=8, max_length=40, pattern="^[a-z0-9-]+$")
    kind: str = Field(max_length=32)
    wall: str = Field("", max_length=200)
    replaces: str = Field("", max_length=40)
    data: dict[str, Any]


class EntryOut(EntryIn):
    """An entry as it is kept: when it was received, from whom, whether it counts as late."""

    received: datetime
    who: str
    late: str
    amended_by: str


@api.post("/jobs/{job}/entries", status_code=201)
def send(request: Request, job: JobId, body: EntryIn) -> EntryOut:
    """Keep an entry of the day record. Sent again with the same id, it is kept once."""
    store, who, role = web_of(request).store, caller_of(request).name, caller_of(request).role
    record = take(store, job, who, body.kind, body.wall, body.data, body.id, body.replaces, role)
    return _out(record, "", "")


@api.get("/jobs/{job}/entries")
def entries_of(request: Request, job: JobId) -> list[EntryOut]:
    """The whole day record, in the order in which it was received, amended entries too."""
    from warmside.site import read_log

    store = web_of(request).store
    records = store.records.of(job, corrected=True)
    log = read_log(records)
    found = []
    for record in records:
        noted = log.get(record.id)
        if noted is not None:
            found.append(_out(record, noted.late, noted.amended_by))
    return found


def _out(record: Record, late: str, amended_by: str) -> EntryOut:
    return EntryOut(
        id=record.id, kind=record.kind, wall=record.wall, replaces=record.replaces,
        data=dict(record.data), received=record.at, who=record.who, late=late,
        amended_by=amended_by,
    )  # fmt: skip


@router.get("/day-worker.js")
def worker() -> Response:
    """The script that opens the crew's pages without a network; at the root, for its scope."""
    answer = static(edition(), "day-worker.js")
    answer.headers["cache-control"] = "no-cache"
    return answer
