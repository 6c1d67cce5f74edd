"""The crew's plan: the whole job, one wall with its joint map and gates, the sheet, the hours."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from functools import lru_cache
from typing import TYPE_CHECKING, Any, Literal

from fastapi import APIRouter, Request
from fastapi.responses import Response

from warmside.errors import Fault, InputError
from warmside.store import Store
from warmside.web import cached
from warmside.web.crew import Crew, crew_of, fields_of
from warmside.web.forms import Form
from warmside.web.letterhead import price_text_of
from warmside.web.pages import page, then, writing_of
from warmside.web.price_sheet import task_names
from warmside.web.problem import Problem
from warmside.web.web import caller_of, web_of
from warmside.wording import PAPER, Language, Style

if TYPE_CHECKING:
    from warmside.documents import CrewView
    from warmside.site import GateStanding, Hour, Log, Use, WallPlan, WorkHour

router = APIRouter(include_in_schema=False)
_FRESH = timedelta(hours=4)
_PASSED = ("passed", "overridden")


@router.get("/jobs/{job}/crew")
def plan_page(request: Request, job: str) -> Response:
    """The job's work: what is done to each wall, the air, the order, how it is wanted."""
    return show_plan(request, job)


def show_plan(
    request: Request,
    job: str,
    typed: Mapping[str, str] | None = None,
    faults: tuple[Fault, ...] = (),
    status: int = 200,
) -> Response:
    """The plan page, with what was typed where something was refused."""
    from warmside.documents import spray_day
    from warmside.options import WHY_SEALING
    from warmside.site import typed_again
    from warmside.works import house_works

    store, write = web_of(request).store, writing_of(request)
    crew = crew_of(store, job)
    family = next((plan.family for plan in crew.plans if plan.family), "")
    said = crew.log.plan_choice()
    usual = {"people": "2", "room_c": write(20.0, "temperature")}
    shown = typed or (typed_again(said) if said else usual)
    return page(
        request, "site_plan", status, store.job(job), crew=crew, faults=faults,
        gates={plan.wall: _progress(plan, crew) for plan in crew.plans},
        day=spray_day(_air(store, job, crew), family, crew.catalog) if family else None,
        reminders=crew.catalog.reminders, signs_to_hang=crew.catalog.signs,
        fields=fields_of("plan", shown, faults, ("at", "note"), write),
        of_house=[
            (work.step, crew.log.standing("", work.step))
            for work in house_works(bool(family), crew.flames)
        ],
        signer=fields_of("gate", typed, faults, ("at", "gate", "reading")), typed=typed or {},
        overrides=crew.log.overrides(), sealing=WHY_SEALING,
        numbers=_numbers(store, job),
    )  # fmt: skip


def _numbers(store: Store, job: str) -> dict[str, int]:
    """Number of each wall in the survey, for its address."""
    walls = cached.read(store.text("survey", job).text).walls
    return {wall.name: number for number, wall in enumerate(walls, 1)}


def _air(store: Store, job: str, crew: Crew) -> Any:
    from warmside.site import work_air, work_area

    said = crew.log.plan_choice()
    volume = said.volume_m3 if said and said.volume_m3 else None
    house = cached.read(store.text("survey", job).text).house
    volume = volume or max(work_area(plan.frame) for plan in crew.plans)
    return work_air(house, volume, crew.catalog)


def _progress(plan: WallPlan, crew: Crew) -> tuple[int, int, str]:
    """Gates passed, gates in all, and the step that is next."""
    standings = [crew.log.standing(plan.wall, step) for step in plan.steps]
    done = sum(standing.state in _PASSED for standing in standings)
    following = _following(plan, standings)
    titles = [step.title for step in plan.steps if step.id == following]
    return done, len(standings), titles[0] if titles else ""


def _following(plan: WallPlan, standings: Sequence[GateStanding]) -> str:
    """Id of the first step whose gate is not passed; "" when all are."""
    for step, standing in zip(plan.steps, standings, strict=True):
        if standing.state not in _PASSED:
            return step.id
    return ""


@router.get("/jobs/{job}/crew/{wall}")
def wall_page(request: Request, job: str, wall: int) -> Response:
    """One wall: joint map, passes, steps and gates."""
    return show_wall(request, job, wall)


def show_wall(
    request: Request,
    job: str,
    wall: int,
    typed: Mapping[str, str] | None = None,
    faults: tuple[Fault, ...] = (),
    status: int = 200,
) -> Response:
    """The wall's page, with what was typed where something was refused."""
    store = web_of(request).store
    crew = crew_of(store, job)
    names = {number: name for name, number in _numbers(store, job).items()}
    plan = next((plan for plan in crew.plans if plan.wall == names.get(wall)), None)
    if plan is None:
        raise Problem(404, "Nothing is done here", "No option is put forward for this wall yet.")
    sealed = crew.log.sealed(plan.wall)
    wide, small, view = _drawn(plan, sealed, crew.rows)
    numbers = _numbers(store, job)
    standings = [crew.log.standing(plan.wall, step) for step in plan.steps]
    return page(
        request, "site_wall", status, store.job(job), plan=plan, view=view, number=wall,
        numbers=numbers, walls=[p.wall for p in crew.plans], wide=wide, small=small, sealed=sealed,
        sealings=crew.log.sealings(plan.wall),
        following=_following(plan, standings),
        steps=list(zip(plan.steps, standings, strict=True)),
        today=date.today(), bay_map=_probed(plan, crew, writing_of(request)),
        readings=_fresh_readings(crew, plan.wall), photos=crew.photos.get(plan.wall, 0),
        typed=typed or {}, faults=faults, by=caller_of(request).name,
        signer=fields_of("gate", typed, faults, ("at", "gate", "reading")),
        overrider=fields_of("override", typed, faults, ("at", "gate_record")),
    )  # fmt: skip


@lru_cache(maxsize=64)
def _drawn(plan: WallPlan, sealed: frozenset[str], rows: str) -> tuple[str, str, Any]:
    """The joint map for a desk and a phone, and the wall as text."""
    from warmside import drawings
    from warmside.documents import wall_view

    wide, small = (
        drawings.joint_map(plan.frame, plan.runs, sealed, width=width, max_height=height)
        for width, height in ((760.0, 420.0), (drawings.PHONE, 420.0))
    )
    return wide, small, wall_view(plan, cached.catalog(rows))


def _probed(plan: WallPlan, crew: Crew, write: Style) -> str:
    """The bay map with the probes read so far; "" before the first."""
    from warmside import drawings
    from warmside.site import Probe

    notes: dict[str, list[str]] = {}
    for probe in crew.log.entries_as(Probe, plan.wall):
        notes.setdefault(probe.bay, []).append(write(probe.thickness_m, "length"))
    told = {bay: "/".join(read) for bay, read in notes.items()}
    return drawings.bay_map(plan.frame, told) if told else ""


def _fresh_readings(crew: Crew, wall: str) -> list[tuple[str, str]]:
    """Readings that a gate may rest on now, the last first."""
    now = datetime.now().astimezone()
    found = [
        (noted.id, f"{noted.at.astimezone():%H:%M}, {noted.wall or 'house'}, {noted.who}")
        for noted in crew.log.of("reading")
        if noted.wall in ("", wall) and now - noted.at <= _FRESH
    ]
    return found[::-1]


@router.get("/jobs/{job}/crew-sheet.pdf")
def sheet(request: Request, job: str, language: Literal["", "en", "es"] = "") -> Response:
    """The crew sheet; in the reader's language unless another is asked for."""
    from warmside.documents import crew_view, powers_of, workable

    store = web_of(request).store
    crew = crew_of(store, job)
    if not crew.plans:
        raise Problem(404, "Nothing is planned yet", "The office puts an option forward first.")
    survey = cached.read(store.text("survey", job).text)
    house, powers = survey.house, powers_of(survey, crew.plans, crew.catalog)
    windows = workable(crew.plans, _forecast(crew), crew.catalog, _room(crew))
    air = _air(store, job, crew)
    chosen: Language = language or writing_of(request).language
    view = crew_view(house, crew.plans, air, crew.catalog, date.today(), windows, powers=powers)
    pdf = _typeset(view, chosen)
    headers = {"content-disposition": f'inline; filename="crew-sheet-{job}.pdf"'}
    return Response(pdf, media_type="application/pdf", headers=headers)


@lru_cache(maxsize=8)
def _typeset(view: CrewView, language: Language) -> bytes:
    from warmside.documents import crew_sheet

    return crew_sheet(view, replace(PAPER, language=language))


@router.get("/jobs/{job}/hours")
def hours_page(request: Request, job: str, wall: str = "") -> Response:
    """Which hours of the coming days can be worked on one wall."""
    return show_hours(request, job, wall)


def show_hours(
    request: Request,
    job: str,
    wall: str = "",
    typed: Mapping[str, str] | None = None,
    faults: tuple[Fault, ...] = (),
    status: int = 200,
) -> Response:
    """The page of hours: by the last forecast, else by the station's usual year."""
    from warmside.site import rules_of, warmest_need, windows, work_hours

    store = web_of(request).store
    crew = crew_of(store, job)
    sprayed = [plan for plan in crew.plans if plan.family]
    plan = next((plan for plan in sprayed if plan.wall == wall), sprayed[0] if sprayed else None)
    house = cached.read(store.text("survey", job).text).house
    forecast = _forecast(crew)
    file = store.text("weather", job).text
    hours = forecast or _usual(house.climate, crew.rows, file, date.today())
    rules = rules_of(plan, _room(crew)) if plan else None
    judged = work_hours(hours, rules, crew.catalog) if rules else ()
    return page(
        request, "site_hours", status, store.job(job), known=forecast is not None, rules=rules,
        faults=faults, days=_by_day(judged), windows=windows(judged), plan=plan,
        walls=[plan.wall for plan in sprayed], place=crew.catalog.climate(house.climate).name,
        own=bool(file.strip()), typed=typed or {},
        need=warmest_need(hours, rules, crew.catalog) if rules else None,
        forecast=next(iter(crew.log.of("forecast")[::-1]), None),
    )  # fmt: skip


def _forecast(crew: Crew) -> tuple[Hour, ...] | None:
    """Hours of the last forecast from now on; None where there is none, or it is over."""
    from warmside.site import Forecast, read_forecast

    kept = crew.log.entries_as(Forecast)
    if not kept:
        return None
    now = datetime.now().replace(minute=0, second=0, microsecond=0)
    return tuple(hour for hour in read_forecast(kept[-1].text) if hour.at >= now) or None


@lru_cache(maxsize=8)
def _usual(climate: str, rows: str, file: str, today: date) -> tuple[Hour, ...]:
    """The coming week in the job's own hours, or else in the station's usual year."""
    from warmside.site import climate_hours
    from warmside.weather import cached_weather, station_of, usual_year, whole_year

    place = cached.catalog(rows).climate(climate)
    own = whole_year(cached_weather(file, station_of(place))) if file.strip() else None
    return climate_hours(own or usual_year(place), today, 7)


def _room(crew: Crew) -> float:
    """What the work area is heated to [degC]."""
    said = crew.log.plan_choice()
    return said.room_c if said else 20.0


def _by_day(judged: Sequence[WorkHour]) -> list[tuple[date, list[WorkHour]]]:
    days: dict[date, list[WorkHour]] = {}
    for one in judged:
        if one.in_hours:
            days.setdefault(one.hour.at.date(), []).append(one)
    return list(days.items())


@router.get("/jobs/{job}/calendar.ics")
def calendar_file(
    request: Request,
    job: str,
    first: date | None = None,
    rig: date | None = None,
    start: int = 7,
    end: int = 15,
) -> Response:
    """The steps of every wall as a calendar, from a day on; lots are those of the day record."""
    from warmside.site import ENTRIES, Terms, book, calendar

    store = web_of(request).store
    name, crew = store.job(job).name, crew_of(store, job)
    said = crew.log.plan_choice()
    heads = crew.log.entries_as(ENTRIES["day"])
    lots = [lot for day in heads for lot in getattr(day, "lots", ())]
    foam = next((crew.catalog.foam(plan.foam) for plan in crew.plans if plan.foam), None)
    wait = foam.occupancy_wait if foam is not None else None
    terms = Terms(
        first or date.today() + timedelta(days=1), said.people if said else 2, start, end, rig,
        re_entry=None if wait is None else wait / 3600, lots=tuple(dict.fromkeys(lots)),
    )  # fmt: skip
    data = calendar(book(crew.plans, terms, crew.flames), name, datetime.now(UTC), terms)
    headers = {"content-disposition": f'attachment; filename="calendar-{job}.ics"'}
    return Response(data, media_type="text/calendar; charset=utf-8", headers=headers)


@router.get("/jobs/{job}/yield")
def yield_page(request: Request, job: str) -> Response:
    """What the contractor's own records teach: foam from drums, hours of tasks, sealant."""
    from warmside.estimate import read_prices
    from warmside.site import hours_of_tasks, learned, sealant_of_joints

    store = web_of(request).store
    foams = cached.catalog(store.text("catalog", job).text).foams
    uses = _uses(store)
    found = [(foams[id], learned(uses, foams[id])) for id in dict.fromkeys(u.foam for u in uses)
             if id in foams]  # fmt: skip
    prices = price_text_of(store, job)
    jobs = _finished(store, prices)
    return page(request, "site_yield", job=store.job(job), found=found,
                revision=store.text("catalog", job).revision,
                hours=hours_of_tasks(jobs), sealant=sealant_of_joints(jobs), names=task_names(),
                listed=read_prices(prices), price_revision=store.text("prices", job).revision,
                )  # fmt: skip


def _finished(store: Store, prices: str) -> list[tuple[tuple[WallPlan, ...], Log]]:
    """Plans and logs of every job with a gate that was closed, planned by one price list."""
    jobs = dict.fromkeys(job.id for job in (*store.jobs(), *store.jobs(archived=True)))
    found = []
    for id in jobs:
        if store.records.of(id, "gate"):
            with suppress(InputError):  # a survey that was kept before its faults were known
                crew = crew_of(store, id, prices)
                found.append((crew.plans, crew.log))
    return found


def _uses(store: Store) -> tuple[Use, ...]:
    """Foam used on every job: the waste is the contractor's, not the house's."""
    from warmside.site import read_log

    jobs = (*store.jobs(), *store.jobs(archived=True))
    ids = dict.fromkeys(job.id for job in jobs)
    return tuple(use for id in ids for use in read_log(store.records.of(id)).uses())


@router.post("/jobs/{job}/yield")
def learn(request: Request, job: str, form: Form) -> Response:
    """Put the contractor's own waste into the job's foam row, or own hours into its prices."""
    from warmside.catalog import with_foam_waste
    from warmside.site import learned, own_foam

    store, id = web_of(request).store, form.get("foam")
    if not id:
        return _learn_prices(store, job, form.number("revision"), caller_of(request).name)
    kept = store.text("catalog", job)
    foams = cached.catalog(kept.text).foams
    if id not in foams:
        raise InputError([Fault("foam", repr(id)[:60], ", ".join(foams))])
    own = own_foam(foams[id], learned(_uses(store), foams[id]))
    text = with_foam_waste(kept.text, own)
    store.save("catalog", text, form.number("revision"), caller_of(request).name, job)
    return then(f"/jobs/{job}/yield")


def _learn_prices(store: Store, job: str, revision: int, who: str) -> Response:
    from warmside.estimate import table_of, text_of
    from warmside.site import hours_of_tasks, own_prices, sealant_of_joints

    prices = price_text_of(store, job)
    jobs = _finished(store, prices)
    rows = own_prices(table_of(prices), hours_of_tasks(jobs), sealant_of_joints(jobs))
    store.save("prices", text_of(rows), revision, who, job)
    return then(f"/jobs/{job}/yield")
