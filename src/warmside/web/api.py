"""The same use cases for programs: JSON in and out, described by OpenAPI.

Refusals have one shape, ``{"error": {"status", "title", "text", "faults"}}``.
"""

from __future__ import annotations

import gzip
from datetime import datetime
from typing import Annotated, Any, Literal

from fastapi import APIRouter, Path, Query, Request
from fastapi.openapi.utils import get_openapi
from pydantic import BaseModel, ConfigDict, Field

from warmside import survey
from warmside.catalog import sources
from warmside.errors import Fault
from warmside.fence import fenced
from warmside.store import Change, Job, StaleError, Task
from warmside.web.catalogs import built_in
from warmside.web.history import take_back
from warmside.web.problem import Problem
from warmside.web.studies import ask, standing
from warmside.web.web import caller_of, web_of

REFUSALS: dict[int | str, dict[str, Any]] = {
    status: {"description": words, "content": {"application/json": {}}}
    for status, words in {
        400: "Not readable", 401: "Sign in first", 403: "Not for your role", 404: "Not found",
        409: "Changed by another meanwhile", 415: "Not JSON", 422: "Faults to mend",
    }.items()
}  # fmt: skip
router = APIRouter(prefix="/api", responses=REFUSALS)
JobId = Annotated[str, Path(max_length=64, description="Id of a job")]
Number = Annotated[int, Field(ge=0, le=2**53)]


class _Body(BaseModel):
    model_config = ConfigDict(extra="forbid", from_attributes=True)


class JobOut(_Body):
    """A job as the list shows it."""

    id: str
    name: str
    place: str
    client: str
    walls: tuple[str, ...]
    created: datetime
    changed: datetime
    changed_by: str
    revision: int
    archived: bool


class SurveyText(_Body):
    """A survey as text (TOML)."""

    text: str = Field(max_length=1 << 20)


class SurveyKept(SurveyText):
    """A survey with the revision that a save starts from."""

    revision: Number


class ChangeOut(_Body):
    """One change: when (UTC), who, which part, what."""

    number: int
    at: datetime
    who: str
    part: str
    what: str
    undoes: int | None
    undone_by: int | None


class TaskOut(_Body):
    """Work in the background; ``done`` of ``total`` steps."""

    id: str
    job: str
    kind: str
    state: Literal["waiting", "running", "done", "failed", "cancelled"]
    step: str
    done: int
    total: int
    error: str


class FaultOut(_Body):
    """One thing to mend."""

    place: str
    read: str
    allowed: str
    line: int | None


class SourceOut(_Body):
    """Where a figure of the catalog comes from."""

    kind: str
    row: str
    name: str
    figures: str
    text: str
    tag: str
    note: str


@router.get("/jobs")
def jobs(
    request: Request,
    q: Annotated[str, Query(max_length=200, description="Words that must all stand there")] = "",
    archived: bool = False,
) -> list[JobOut]:
    """Jobs that the caller may see, the last changed first."""
    store, caller = web_of(request).store, caller_of(request)
    crew = None if caller.is_office else caller.name
    found = store.jobs(archived=archived, crew=crew)
    if q.strip() and caller.is_office:
        found = tuple(hit.job for hit in store.search(q, archived=archived))
    return [_job(job, caller.is_office) for job in found]


@router.post("/jobs", status_code=201)
def begin(request: Request, body: SurveyText) -> JobOut:
    """Begin a job with a survey."""
    return _job(web_of(request).store.new_job(body.text, caller_of(request).name), True)


@router.get("/jobs/{job}")
def job(request: Request, job: JobId) -> JobOut:
    """One job."""
    return _job(web_of(request).store.job(job), caller_of(request).is_office)


@router.get("/jobs/{job}/survey")
def read_survey(request: Request, job: JobId) -> SurveyKept:
    """The survey as it stands."""
    kept = web_of(request).store.text("survey", job)
    return SurveyKept(text=kept.text, revision=kept.revision)


@router.put("/jobs/{job}/survey")
def save_survey(request: Request, job: JobId, body: SurveyKept) -> SurveyKept:
    """Put a text in the place of the survey that was read at ``revision``."""
    store = web_of(request).store
    store.save("survey", body.text, body.revision, caller_of(request).name, job)
    return read_survey(request, job)


@router.get("/jobs/{job}/history")
def history(
    request: Request,
    job: JobId,
    before: Annotated[int | None, Query(ge=0, le=2**53)] = None,
) -> list[ChangeOut]:
    """Changes, the newest first; up to a hundred older than ``before``."""
    return [_change(change) for change in web_of(request).store.history(job, before=before)]


@router.post("/jobs/{job}/history/{number}/undo")
def undo(request: Request, job: JobId, number: Annotated[int, Path(ge=0, le=2**53)]) -> ChangeOut:
    """Take back a change that is the last of its part."""
    try:
        return _change(take_back(web_of(request).store, job, number, caller_of(request).name))
    except StaleError as error:
        raise Problem(409, "A later change stands on this one", str(error)) from None


@router.post("/check")
def check(body: SurveyText) -> list[FaultOut]:
    """The faults of a survey text; none when it is fine. Nothing is kept."""
    faults = fenced(_faults, body.text, place="the text")
    return [FaultOut.model_validate(fault) for fault in faults]


def _faults(text: str) -> tuple[Fault, ...]:
    return survey.check(text).faults


@router.post("/jobs/{job}/study", status_code=202)
def ask_study(request: Request, job: JobId) -> TaskOut:
    """Ask for the study of the job as it stands; the same that is under way already is given."""
    return TaskOut.model_validate(ask(web_of(request).store, job, caller_of(request).name))


@router.get("/jobs/{job}/study")
def study(request: Request, job: JobId) -> dict[str, Any]:
    """The last study as data, and whether it is of the job as it stands (``fresh``)."""
    import json

    store = web_of(request).store
    store.job(job)
    stands = standing(store, job)
    data = store.results.get(store.results.key("json", stands.shown)) if stands.shown else None
    if data is None:
        raise Problem(404, "Not studied yet")
    return {"fresh": stands.fresh, "study": json.loads(gzip.decompress(data))}


@router.get("/tasks/{task}")
def task(request: Request, task: Annotated[str, Path(max_length=64)]) -> TaskOut:
    """How far a task is."""
    return TaskOut.model_validate(_task(request, task))


@router.delete("/tasks/{task}")
def cancel(request: Request, task: Annotated[str, Path(max_length=64)]) -> TaskOut:
    """Stop a task."""
    found = _task(request, task)
    return TaskOut.model_validate(web_of(request).store.tasks.cancel(found.id))


@router.get("/sources")
def all_sources() -> list[SourceOut]:
    """Every source of every figure of the catalog."""
    return [SourceOut.model_validate(line) for line in sources(built_in())]


@router.get("/openapi.json", include_in_schema=False)
def openapi(request: Request) -> dict[str, Any]:
    """This description."""
    from warmside import __version__

    return get_openapi(
        title="Warmside",
        version=__version__,
        description="Jobs, surveys, studies and sources for programs.",
        routes=request.app.routes,
    )


def _job(job: Job, office: bool) -> JobOut:
    out = JobOut.model_validate(job)
    return out if office else out.model_copy(update={"client": ""})


def _change(change: Change) -> ChangeOut:
    return ChangeOut.model_validate(change, from_attributes=True)


def _task(request: Request, id: str) -> Task:
    return web_of(request).store.tasks.get(id)
