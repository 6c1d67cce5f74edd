"""The house's own page: facts, hazards, walls; its form; the survey as text; export."""

from __future__ import annotations

from collections.abc import Mapping
from tempfile import SpooledTemporaryFile
from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import Response, StreamingResponse
from starlette.background import BackgroundTask

from warmside.errors import Fault, InputError
from warmside.promises import presumed_hazards
from warmside.store import Draft, Job, Kept, StaleError, Store
from warmside.web import cached
from warmside.web.catalogs import offered
from warmside.web.edit import Both, Edit, merged
from warmside.web.fields import Layout, house_layout
from warmside.web.forms import Form
from warmside.web.fresh import freshen
from warmside.web.lengths import with_units
from warmside.web.pages import page, then, writing_of
from warmside.web.studies import standing
from warmside.web.web import caller_of, web_of

router = APIRouter(include_in_schema=False)
_IN_MEMORY = 8 << 20  # [byte] of a job file that is sent; a larger one waits on the disk


@router.get("/jobs/{job}")
def house(request: Request, job: str) -> Response:
    """What is known of the house, what stops work there, its walls."""
    return house_page(request, job)


def house_page(
    request: Request,
    job: str,
    typed: Mapping[str, str] | None = None,
    faults: tuple[Fault, ...] = (),
    status: int = 200,
) -> Response:
    """The house with a form for one more wall, filled with what was ``typed`` where refused."""
    store = web_of(request).store
    here = store.job(job)
    found = cached.read(store.text("survey", job).text)
    stands = standing(store, job) if caller_of(request).is_office else None
    walls = stands.dossier["walls"] if stands and stands.dossier else []
    studied = {wall["name"]: (n, wall["verdicts"]) for n, wall in enumerate(walls, 1)}
    known = cached.catalog(store.text("catalog", job).text)
    return page(
        request, "house", status, here, survey=found, hazards=known.hazards, stands=stands,
        presumed=presumed_hazards(found, known),
        studied=studied, typed=typed or {}, faults=faults,
        fault_fields={fault: str(fault.path[2]) for fault in faults if len(fault.path) > 2},
    )  # fmt: skip


@router.get("/jobs/{job}/house")
def house_form(request: Request, job: str, take_up: bool = False) -> Response:
    """The house's facts, to be changed."""
    store = web_of(request).store
    kept, draft, typed = text_and_draft(request, job, "house", take_up)
    edit = Edit(kept.text, ("house",), _layout(store, job))
    return _form_page(request, store.job(job), edit, kept.revision, typed, draft=draft)


@router.post("/jobs/{job}/house")
def save_house(request: Request, job: str, form: Form) -> Response:
    """Change the house's facts."""
    store, who = web_of(request).store, caller_of(request).name
    revision = form.number("revision")
    edit = Edit(store.text_at(job, "survey", revision), ("house",), _layout(store, job))
    typed = with_units(form.texts, _layout(store, job), writing_of(request))
    try:
        store.change_survey(job, edit.changes(typed), revision, who)
    except InputError as error:
        here = store.job(job)
        return _form_page(request, here, edit, revision, form.texts, error.faults, status=422)
    except StaleError as error:
        text, here = store.text_at(job, "survey", error.revision), store.job(job)
        now = Edit(text, ("house",), _layout(store, job))
        mine, both = merged(edit, now, typed)
        return _form_page(request, here, now, error.revision, mine, stale=error, both=both,
                          status=409)  # fmt: skip
    store.drafts.drop(who, "house", job)
    freshen(request, job)
    return then(f"/jobs/{job}?saved=1")


def _layout(store: Store, job: str) -> Layout:
    known = cached.catalog(store.text("catalog", job).text)
    return house_layout(tuple(known.hazards))


def _form_page(
    request: Request,
    job: Job,
    edit: Edit,
    revision: int,
    typed: dict[str, str] | None,
    faults: tuple[Fault, ...] = (),
    stale: StaleError | None = None,
    both: tuple[Both, ...] = (),
    draft: Draft | None = None,
    status: int = 200,
) -> Response:
    known = offered(web_of(request).store.text("catalog", job.id).text)
    return page(
        request, "house_form", status, job, form=edit.shown(typed, faults), revision=revision,
        fault_fields=edit.fields_of(faults, typed), both=both,
        faults=faults, stale=stale, draft=draft, known=known, draft_name="house",
    )  # fmt: skip


@router.get("/jobs/{job}/survey")
def survey_text(request: Request, job: str, take_up: bool = False) -> Response:
    """The whole survey as text, to be changed in any way."""
    store = web_of(request).store
    kept, draft, typed = text_and_draft(request, job, "survey", take_up)
    return page(
        request, "survey", job=store.job(job), text=typed["text"] if typed else kept.text,
        revision=kept.revision, faults=(), stale=None, draft=draft,
    )  # fmt: skip


def text_and_draft(
    request: Request, job: str, form: str, take_up: bool
) -> tuple[Kept, Draft | None, dict[str, str] | None]:
    """The survey, the caller's draft of a form, and what was typed there if it is taken up.

    A draft goes on from the revision that it was begun at, so that a save tells what others
    changed since.
    """
    store, who = web_of(request).store, caller_of(request).name
    kept, draft = store.text("survey", job), store.drafts.get(who, form, job)
    if draft is None or not take_up:
        return kept, draft, None
    typed = {key: value for key, value in draft.data.items() if isinstance(value, str)}
    begun = typed.get("revision", "")
    if begun.isascii() and begun.isdecimal() and 0 < int(begun[:18]) < kept.revision:
        kept = Kept("survey", store.text_at(job, "survey", int(begun)), int(begun))
    return kept, None, typed if form != "survey" or "text" in typed else None


@router.post("/jobs/{job}/survey")
def save_survey(request: Request, job: str, form: Form) -> Response:
    """Put the text in the place of the survey."""
    store, who = web_of(request).store, caller_of(request).name
    text, revision = form.texts.get("text", ""), form.number("revision")
    shown: dict[str, Any] = {"text": text, "revision": revision, "draft": None}
    try:
        store.save("survey", text, revision, who, job)
    except InputError as error:
        here = store.job(job)
        return page(request, "survey", 422, here, **shown, faults=error.faults, stale=None)
    except StaleError as error:
        here, shown = store.job(job), shown | {"revision": error.revision}
        return page(request, "survey", 409, here, **shown, faults=(), stale=error)
    store.drafts.drop(who, "survey", job)
    return then(f"/jobs/{job}")


@router.post("/jobs/{job}/draft")
def keep_draft(request: Request, job: str, form: Form) -> Response:
    """Keep a half-filled form as it is; a page's script sends it while one types."""
    store, who = web_of(request).store, caller_of(request).name
    name = form.get("draft")
    if form.get("drop"):
        store.drafts.drop(who, name, job)
    else:
        typed = {k: v for k, v in form.texts.items() if k not in ("token", "draft", "back")}
        store.drafts.keep(who, name, typed, job)
    if form.get("quiet"):
        return Response(status_code=204)
    back = form.get("back")
    inside = back.startswith(f"/jobs/{job}") and back.isprintable() and "\\" not in back
    return then(back if inside else f"/jobs/{job}")


@router.post("/jobs/{job}/put-away")
def put_away(request: Request, job: str, form: Form) -> Response:
    """Put a job away, or take it up again."""
    take_up = bool(form.get("take_up"))
    web_of(request).store.archive(job, caller_of(request).name, archived=not take_up)
    return then("/")


@router.get("/jobs/{job}/export.zip")
def export(request: Request, job: str) -> Response:
    """The whole job as one file: survey, prices, photos, records, history."""
    file = SpooledTemporaryFile(max_size=_IN_MEMORY)  # noqa: SIM115  # closed once it is sent
    web_of(request).store.export_job(job, file)  # type: ignore[arg-type]
    size = file.tell()
    file.seek(0)
    name = f'attachment; filename="warmside-{job}.zip"'
    headers = {"content-disposition": name, "content-length": str(size)}
    pieces = iter(lambda: file.read(1 << 16), b"")
    return StreamingResponse(pieces, media_type="application/zip", headers=headers,
                             background=BackgroundTask(file.close))  # fmt: skip
