"""A wall's page: its framing drawn beside the form that describes it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import Response

from warmside import survey
from warmside.errors import Fault, InputError
from warmside.store import Draft, Job, StaleError, Store
from warmside.web import cached
from warmside.web.catalogs import offered
from warmside.web.drawn import Picture, elevation, picture
from warmside.web.edit import Both, Edit, Path, merged
from warmside.web.fields import wall_layout
from warmside.web.forms import Form
from warmside.web.fresh import freshen
from warmside.web.houses import house_page, text_and_draft
from warmside.web.lengths import with_units
from warmside.web.pages import page, then, writing_of
from warmside.web.pieces import in_the_form, photo_pieces
from warmside.web.problem import Problem
from warmside.web.studies import standing
from warmside.web.web import caller_of, web_of

router = APIRouter(include_in_schema=False)


@router.get("/jobs/{job}/walls/{wall}")
def wall_page(request: Request, job: str, wall: int, take_up: bool = False) -> Response:
    """One wall: elevation, form, photos."""
    store = web_of(request).store
    kept, draft, typed = text_and_draft(request, job, f"wall-{wall}", take_up)
    known_wall(kept.text, wall)
    here = store.job(job)
    return _page(request, store, here, kept.text, wall, kept.revision, typed, draft=draft)


@router.post("/jobs/{job}/walls/{wall}")
def save_wall(request: Request, job: str, wall: int, form: Form) -> Response:
    """Change the wall as the form says."""
    store, who = web_of(request).store, caller_of(request).name
    revision = form.number("revision")
    base = store.text_at(job, "survey", revision)
    known_wall(base, wall)
    typed = with_units(form.texts, wall_layout(), writing_of(request))
    changes = Edit(base, ("wall", wall - 1), wall_layout()).changes(typed)
    changes |= _renamed(base, wall - 1, changes)
    shown: dict[str, Any] = {"typed": form.texts, "base": base}
    now = store.text("survey", job)
    try:
        store.change_survey(job, changes, revision, who)
    except InputError as error:
        return _page(request, store, store.job(job), now.text, wall, revision,
                     faults=error.faults, status=422, **shown)  # fmt: skip
    except StaleError as error:
        text, place = store.text_at(job, "survey", error.revision), ("wall", wall - 1)
        known_wall(text, wall)
        begun, stands = Edit(base, place, wall_layout()), Edit(text, place, wall_layout())
        mine, both = merged(begun, stands, typed)
        return _page(request, store, store.job(job), text, wall, error.revision, typed=mine,
                     base=text, stale=error, both=both, status=409)  # fmt: skip
    store.drafts.drop(who, f"wall-{wall}", job)
    freshen(request, job)
    return then(f"/jobs/{job}/walls/{wall}?saved=1")


@router.post("/jobs/{job}/walls/{wall}/drawing")
def draw_wall(request: Request, job: str, wall: int, form: Form) -> Response:
    """The wall as the form would have it: drawn, not kept."""
    base = web_of(request).store.text_at(job, "survey", form.number("revision"))
    known_wall(base, wall)
    edit = Edit(base, ("wall", wall - 1), wall_layout())
    typed = with_units(form.texts, wall_layout(), writing_of(request))
    changes = edit.changes(typed)
    text = survey.update(base, changes) if changes else base
    shown = _picture(request, job, text, wall)
    rows = edit.row_numbers(typed)
    found = in_the_form(shown.pieces, rows)
    by = [(*line, rows.get(row, row)) for *line, row in shown.stands]
    return page(request, "wall_drawing", picture=shown, pieces=found, stands=by)


@router.get("/jobs/{job}/walls/{wall}/pieces")
def wall_pieces(request: Request, job: str, wall: int) -> Response:
    """Every piece of the framing as a list: what it is, how large, where."""
    store = web_of(request).store
    text = store.text("survey", job).text
    known_wall(text, wall)
    here = cached.read(text).walls[wall - 1]
    shown = (
        *photo_pieces(store.photos.of(job, here.name), writing_of(request)),
        *_picture(request, job, text, wall).pieces,
    )
    return page(request, "pieces", job=store.job(job), wall=here, number=wall, pieces=shown)


@router.get("/jobs/{job}/walls/{wall}/elevation.svg")
def wall_elevation(request: Request, job: str, wall: int) -> Response:
    """The framing alone, small, to point at."""
    store = web_of(request).store
    text = store.text("survey", job).text
    known_wall(text, wall)
    rows, metric = store.text("catalog", job).text, writing_of(request).metric_lengths
    return Response(elevation(text, rows, wall, metric, None), media_type="image/svg+xml")


def _picture(request: Request, job: str, text: str, wall: int) -> Picture:
    rows = web_of(request).store.text("catalog", job).text
    return picture(text, rows, wall, writing_of(request))


@router.post("/jobs/{job}/walls")
def add_wall(request: Request, job: str, form: Form) -> Response:
    """Add a wall with a name and a size; the rest is filled in on its page."""
    store = web_of(request).store
    kept = store.text("survey", job)
    count = len(cached.read(kept.text).walls)
    asked = ("name", "faces", "frame", "length", "height")
    typed = with_units(form.texts, wall_layout(), writing_of(request))
    new = {key: text for key in asked if (text := typed.get(key, "").strip())}
    try:
        store.change_survey(job, {("wall", count): new}, kept.revision, caller_of(request).name)
    except InputError as error:
        return house_page(request, job, form.texts, error.faults, 422)
    return then(f"/jobs/{job}/walls/{count + 1}")


@router.post("/jobs/{job}/walls/{wall}/remove")
def remove_wall(request: Request, job: str, wall: int, form: Form) -> Response:
    """Take a wall out; undo brings it back."""
    store, revision = web_of(request).store, form.number("revision")
    known_wall(store.text_at(job, "survey", revision), wall)
    changes: dict[Path, Any] = {("wall", wall - 1): None}
    store.change_survey(job, changes, revision, caller_of(request).name)
    return then(f"/jobs/{job}")


def _renamed(text: str, wall: int, changes: Mapping[Path, Any]) -> dict[Path, Any]:
    """A wall's new name wherever the survey calls it by the old one."""
    new, found = changes.get(("wall", wall, "name")), cached.read(text)
    old, more = found.walls[wall].name, dict[Path, Any]()
    if not isinstance(new, str):
        return {}
    for n, hazard in enumerate(found.hazards):
        if hazard.wall == old:
            more["hazard", n, "wall"] = new
    for n, option in enumerate(found.options):
        if old in option.walls:
            more["option", n, "walls"] = [new if w == old else w for w in option.walls]
    return more


def _studied(request: Request, store: Store, job: str, name: str) -> tuple[int, Any] | None:
    """The wall's number and data in the study, for those who may see it."""
    stands = standing(store, job) if caller_of(request).is_office else None
    walls = stands.dossier["walls"] if stands and stands.dossier else []
    return next(((n, w) for n, w in enumerate(walls, 1) if w["name"] == name), None)


def known_wall(text: str, wall: int) -> None:
    """Refuse a wall that the survey does not have."""
    if not 1 <= wall <= len(cached.read(text).walls):
        raise Problem(404, "Not found", f"This house has no wall {wall}.")


def _page(
    request: Request,
    store: Store,
    job: Job,
    text: str,
    wall: int,
    revision: int,
    typed: dict[str, str] | None = None,
    base: str = "",
    faults: tuple[Fault, ...] = (),
    stale: StaleError | None = None,
    both: tuple[Both, ...] = (),
    draft: Draft | None = None,
    status: int = 200,
) -> Response:
    found = cached.read(text)
    here = found.walls[wall - 1]
    known = offered(store.text("catalog", job.id).text)
    edit = Edit(base or text, ("wall", wall - 1), wall_layout())
    drawn, undrawn = None, tuple[Fault, ...]()
    try:
        drawn = _picture(request, job.id, text, wall)
    except InputError as error:  # kept before walls were framed at each save
        undrawn = error.faults
    return page(
        request, "wall", status, job, number=wall, wall=here, form=edit.shown(typed, faults),
        revision=revision, fault_fields=edit.fields_of(faults, typed), undrawn=undrawn,
        both=both,
        faults=faults, stale=stale, draft=draft, known=known, draft_name=f"wall-{wall}",
        studied=_studied(request, store, job.id, here.name),
        photos=store.photos.of(job.id, here.name), walls=found.walls,
        hazards=[h for h in found.hazards if h.wall == here.name],
        picture=drawn, pieces=(), stands=drawn.stands if drawn else (),
        follows=web_of(request).warm is not None,
    )  # fmt: skip
