"""The list of jobs, searching it, beginning a job, taking one in."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from shutil import copyfileobj
from tempfile import NamedTemporaryFile
from typing import Any, BinaryIO

from fastapi import APIRouter, Request
from fastapi.responses import Response

from warmside import survey
from warmside.catalog import country_of
from warmside.errors import Fault, InputError, UnknownRowError
from warmside.fence import FILES, SECONDS, fenced
from warmside.store import Job, import_into
from warmside.web import cached
from warmside.web.catalogs import built_in, offered
from warmside.web.forms import Form, Sent
from warmside.web.pages import page, then
from warmside.web.web import Web, caller_of, web_of
from warmside.web.writing import KEY, USUAL

router = APIRouter(include_in_schema=False)
_LARGEST_SURVEY = 1 << 22  # [byte] of a text that is looked at at all
# what a job file may take beyond any other file, by its own size [byte]
_BYTES_A_SECOND, _MEMORY_A_BYTE, _MOST_MEMORY = 2e6, 12, 768 << 20
# keys of the house that a new job asks for; all else stands in the template
_ASKED = ("name", "place", "client", "climate", "year_built", "volume", "floor_area")


@router.get("/")
def jobs(request: Request, q: str = "", put_away: bool = False) -> Response:
    """All jobs, or those that a search finds."""
    web, caller = web_of(request), caller_of(request)
    crew = None if caller.is_office else caller.name
    found: list[tuple[Any, tuple[str, ...]]]
    if q.strip() and caller.is_office:
        hits = web.store.search(q, archived=put_away)
        found = [(hit.job, tuple(dict.fromkeys(map(_called, hit.parts)))) for hit in hits]
    else:
        found = [(job, ()) for job in web.store.jobs(archived=put_away, crew=crew)]
    return page(request, "jobs", found=found, q=q[:200], put_away=put_away)


def _called(part: str) -> str:
    """A part of a job as a person calls it: ``photo/14f2`` is a photo."""
    return {"survey": "the survey"}.get(part, part.partition("/")[0])


@router.get("/new")
def new(request: Request) -> Response:
    """A form for a job of one's own."""
    return _new_page(request)


def _new_page(
    request: Request,
    typed: Mapping[str, str] | None = None,
    faults: tuple[Fault, ...] = (),
    status: int = 200,
) -> Response:
    """The form, each fault beside its field as well."""
    keys = {fault.path[-1]: fault for fault in faults if fault.path[:1] == ("house",)}
    wrong = {key: keys.get(key) for key in _ASKED}
    return page(
        request, "new", status, typed=typed or {}, faults=faults, wrong=wrong, known=offered()
    )


@router.post("/new")
def begin(request: Request, form: Form) -> Response:
    """Begin a job: the template with the house's own facts, or a survey text."""
    web = web_of(request)
    try:
        text = form.get("text") or _from_template(form)
        job = web.store.new_job(text, caller_of(request).name)
        _settle(web, caller_of(request).name, job.id)
    except InputError as error:
        return _new_page(request, form.texts, error.faults, 422)
    return then(f"/jobs/{job.id}")


@router.post("/take-in")
def take_in(request: Request, form: Form) -> Response:
    """Take in a job from the file of another store; a survey file begins a new one."""
    web, who = web_of(request), caller_of(request).name
    try:
        file = form.upload("file")
        if file.read(2) == b"PK":
            job = _taken_in(web, file, who, as_copy=bool(form.get("copy")))
        else:
            file.seek(0)
            job = web.store.new_job(_decoded(file.read(_LARGEST_SURVEY)), who)
            _settle(web, who, job.id)
    except InputError as error:
        return _new_page(request, {}, error.faults, 422)
    return then(f"/jobs/{job.id}")


def _taken_in(web: Web, file: BinaryIO, who: str, as_copy: bool) -> Job:
    """A job from the file of another store, opened and kept behind the fence.

    A job of many photos and texts takes the more time and memory the larger its file is, so a
    small file gets little of both, whatever it swells to.
    """
    with NamedTemporaryFile() as copy:
        file.seek(0)
        copyfileobj(file, copy)
        size = copy.tell()
        copy.flush()
        return fenced(
            import_into, web.store.address, Path(copy.name), who, as_copy, place="the job file",
            lane=FILES,
            seconds=SECONDS + size / _BYTES_A_SECOND,
            memory=min(FILES.memory + size * _MEMORY_A_BYTE, _MOST_MEMORY),
        )  # fmt: skip


def _settle(web: Web, person: str, job: str) -> None:
    """Write as the country of a first job writes, unless the person has chosen a way."""
    if web.store.settings.get(KEY, person) is not None:
        return
    store = web.store
    survey, rows = (store.text(kind, job).text for kind in ("survey", "catalog"))
    country = country_of(cached.climate(survey, rows))
    if country is not None and country.id in USUAL:
        web.set_writing(person, USUAL[country.id])


def _decoded(data: bytes) -> str:
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        fault = Fault("the file", "neither of the two", "a job's zip file, or a survey as text")
        raise InputError([fault]) from None


def _from_template(form: Sent) -> str:
    changes: dict[tuple[str | int, ...], Any] = {
        ("house", key): text for key in _ASKED if (text := form.get(key))
    }
    year = form.get("year_built")
    if year.isascii() and year.isdecimal() and len(year) < 6:
        changes["house", "year_built"] = int(year)
    missing = [key for key in ("name", "climate", "year_built", "volume") if not form.get(key)]
    if missing:
        raise InputError(
            [
                Fault(key.replace("_", " "), "nothing", "filled in", path=("house", key))
                for key in missing
            ]
        )
    changes |= {path: None for path in _of_the_template_alone() if path not in changes}
    begun = survey.template()
    try:
        country = country_of(built_in().climate(form.get("climate")))
    except UnknownRowError:  # a row of the shop's own, or none: the survey's check tells
        country = None
    fuel = tomllib.loads(begun)["house"]["heating"]["fuel"]
    if country is not None and fuel in country.fuels:
        changes["house", "heating", "fuel"] = country.fuels[fuel]
    return survey.update(begun, changes)


@cache
def _of_the_template_alone() -> tuple[tuple[str | int, ...], ...]:
    """What was measured or found at the template's house, and nowhere else."""
    gone = ("place", "client", "design_temperature", "floor_area", "indoor_humidity", "fan_test")
    tables = tomllib.loads(survey.template())
    lists: list[tuple[tuple[str | int, ...], Any]] = [
        (("hazard",), tables.get("hazard", [])),
        (("option",), tables.get("option", [])),
        *((("wall", n, "reading"), w.get("reading", [])) for n, w in enumerate(tables["wall"])),
    ]
    rows = ((*path, n) for path, found in lists for n in range(len(found)))
    return (*(("house", key) for key in gone), *rows)
