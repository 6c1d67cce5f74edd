"""The job's own hours of weather: a file put in, what is in it, taken out again."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import Response

from warmside.catalog import completed
from warmside.errors import Fault, InputError
from warmside.fence import FILES, fenced
from warmside.store import StaleError
from warmside.web import cached
from warmside.web.forms import Form
from warmside.web.pages import page, then
from warmside.web.problem import Problem
from warmside.web.web import caller_of, web_of

router = APIRouter(include_in_schema=False)


@router.get("/jobs/{job}/weather")
def weather_page(request: Request, job: str) -> Response:
    """What hours the job is studied by."""
    return _shown(request, job)


@router.post("/jobs/{job}/weather")
def save_weather(request: Request, job: str, form: Form) -> Response:
    """Put a file in the place of the hours, or take it out."""
    from warmside.weather import text_of

    store, who = web_of(request).store, caller_of(request).name
    try:
        text = "" if form.get("without") else text_of(form.file("file"))
        store.save("weather", text, form.number("revision"), who, job)
    except InputError as error:
        return _shown(request, job, error.faults, 422)
    except StaleError as error:
        raise Problem(409, "Somebody else changed the hours meanwhile", str(error)) from None
    return then(f"/jobs/{job}/weather")


@router.post("/jobs/{job}/weather/place")
def add_place(request: Request, job: str, form: Form) -> Response:
    """Make a climate row of the job's own from one official download, and study the house there."""
    from warmside.weather import row_of_file, station_of

    store, who = web_of(request).store, caller_of(request).name
    kept, survey = store.text("catalog", job), store.text("survey", job)
    try:
        house = cached.read(survey.text).house
        near = station_of(cached.catalog(kept.text).climate(house.climate))
        words = form.get("name"), form.get("region"), form.get("source")
        row = fenced(row_of_file, form.file("file"), near, *words, lane=FILES, place="the file")
        store.save("catalog", f"{kept.text.rstrip()}\n\n{row}".lstrip(), kept.revision, who, job)
        id = tomllib.loads(row)["climates"][0]["id"]
        store.change_survey(job, {("house", "climate"): id}, survey.revision, who)
    except InputError as error:
        return _shown(request, job, error.faults, 422, form.texts)
    except StaleError as error:
        raise Problem(409, "Somebody else changed the job meanwhile", str(error)) from None
    return then(f"/jobs/{job}/weather")


def _shown(
    request: Request,
    job: str,
    faults: tuple[Fault, ...] = (),
    status: int = 200,
    typed: Mapping[str, str] | None = None,
) -> Response:
    from warmside.weather import FORMATS

    store = web_of(request).store
    kept = store.text("weather", job)
    house = cached.read(store.text("survey", job).text).house
    place = completed(cached.catalog(store.text("catalog", job).text).climate(house.climate))
    found = _facts(kept.text, house.climate, store.text("catalog", job).text) if kept.text else None
    return page(
        request, "weather", status, store.job(job), found=found, place=place,
        revision=kept.revision, faults=faults, formats=FORMATS,
        severe=house.moisture_year == "severe year", typed=typed or {},
    )  # fmt: skip


def _facts(text: str, climate: str, rows: str) -> dict[str, Any]:
    """What a person reads of the file: its kind, place, span, what it lacks."""
    from warmside.weather import cached_weather, format_of, station_of, whole_year

    near = station_of(cached.catalog(rows).climate(climate))
    year, kind = whole_year(cached_weather(text, near)), format_of(text)
    return {
        "kind": kind.name if kind else "",
        "name": year.name,
        "latitude": year.latitude,
        "longitude": year.longitude,
        "zone": year.utc_offset,
        "year": year.time0.year,
        "mean": float(year.temperature.mean()),
        "coldest": float(year.temperature.min()),
        "rain": float(year.rain.sum()),
        "notes": year.notes,
    }
