"""Photos of a job: added from a phone, pinned to a wall, shown, removed."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import Response

from warmside import units
from warmside.errors import Fault, InputError, UnitError
from warmside.fence import FILES, fenced
from warmside.store import StaleError, cleaned
from warmside.web import cached
from warmside.web.forms import Form, Sent
from warmside.web.pages import page, then, writing_of
from warmside.web.problem import Problem
from warmside.web.web import caller_of, web_of

router = APIRouter(include_in_schema=False)


@router.get("/jobs/{job}/photos")
def photos(request: Request, job: str, wall: str = "", x: str = "", z: str = "") -> Response:
    """All photos of a job, and a form for another, begun with a place on a wall if it is given."""
    return _page(request, job, {"wall": wall[:200], "x": x[:60], "z": z[:60]}, ())


@router.post("/jobs/{job}/photos")
def add_photo(request: Request, job: str, form: Form) -> Response:
    """Add a photo; what is no photo is refused by its content, whatever its name.

    One sent again under the same id, over a line that lost the answer, is kept once.
    """
    web = web_of(request)
    try:
        wall = form.get("wall")
        x, z = _place(form, "x"), _place(form, "z")
        who, caption = caller_of(request).name, form.get("caption")
        id = form.get("id") or None
        image = fenced(cleaned, form.file("photo"), lane=FILES, place="photo")
        web.store.photos.add(job, image, who, wall, x, z, caption, id)
    except InputError as error:
        return _page(request, job, form.texts, error.faults, 422)
    if form.get("quiet"):  # a page's script sends what waited on the phone
        return Response(status_code=204)
    return then(f"/jobs/{job}/photos")


@router.get("/jobs/{job}/photos/{photo}")
def photo_file(request: Request, job: str, photo: str, small: bool = False) -> Response:
    """A photo as JPEG."""
    data = web_of(request).store.photos.file(job, photo, thumbnail=small)
    headers = {"cache-control": "private, max-age=86400"}
    return Response(data, media_type="image/jpeg", headers=headers)


@router.post("/jobs/{job}/photos/{photo}/pin")
def pin_photo(request: Request, job: str, photo: str, form: Form) -> Response:
    """Pin a photo elsewhere, or word its caption anew."""
    photos, who = web_of(request).store.photos, caller_of(request).name
    try:
        x, z = _place(form, "x"), _place(form, "z")
        wall, caption = form.get("wall"), form.get("caption")
        photos.pin(job, photo, form.number("revision"), who, wall, x, z, caption)
    except InputError as error:
        return _page(request, job, {}, error.faults, 422)
    except StaleError as error:
        text = f"{error}. Load the page again to see where it is now."
        raise Problem(409, "Somebody else moved this photo", text) from None
    return then(f"/jobs/{job}/photos")


@router.post("/jobs/{job}/photos/{photo}/remove")
def remove_photo(request: Request, job: str, photo: str, form: Form) -> Response:
    """Take a photo out; undo brings it back."""
    store, who = web_of(request).store, caller_of(request).name
    store.photos.remove(job, photo, form.number("revision"), who)
    return then(f"/jobs/{job}/photos")


def _place(form: Sent, name: str) -> float | None:
    text = form.get(name)
    try:
        return units.parse(text, "length") if text else None
    except UnitError as error:
        raise InputError(
            [Fault(f"place of the photo, {name}", error.read, error.allowed)]
        ) from None


def _page(
    request: Request, job: str, typed: dict[str, str], faults: tuple[Fault, ...], status: int = 200
) -> Response:
    store = web_of(request).store
    here = store.job(job)
    walls = cached.read(store.text("survey", job).text).walls
    write = writing_of(request)
    shown = [
        (photo, *(write(place, "length") for place in (photo.x, photo.z)))
        for photo in store.photos.of(job)
    ]
    return page(
        request, "photos", status, here, photos=shown, walls=walls, typed=typed, faults=faults
    )
