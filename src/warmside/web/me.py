"""One's own account: another password, and where one is signed in."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import Response

from warmside.errors import Fault, InputError
from warmside.web.forms import Form
from warmside.web.pages import page, then
from warmside.web.signing import begin_session, looked_at
from warmside.web.web import caller_of, web_of

router = APIRouter(include_in_schema=False)


@router.get("/me")
def me(request: Request) -> Response:
    """The page; where nobody signs in, on to the jobs."""
    return _page(request) if web_of(request).share else then("/")


@router.post("/me/password")
def set_password(request: Request, form: Form) -> Response:
    """Another password, for who knows the one that stands; guesses wait as at the door."""
    web, name = web_of(request), caller_of(request).name
    if not web.share:
        return then("/")
    if looked_at(request, name, form.texts.get("now", "")) is None:
        fault = Fault("password now", "another than yours", "the one you signed in with")
        return _page(request, (fault,), 422)
    try:
        web.store.people.set_password(name, form.texts.get("new", ""), name)
    except InputError as error:
        return _page(request, error.faults, 422)
    return begin_session(web, name, "/me")


@router.post("/me/sign-out")
def sign_out_elsewhere(request: Request, form: Form) -> Response:  # noqa: ARG001
    """End every session of one's own but this."""
    web, name = web_of(request), caller_of(request).name
    if not web.share:
        return then("/")
    web.store.sessions.end_all(name)
    return begin_session(web, name, "/me")


def _page(request: Request, faults: tuple[Fault, ...] = (), status: int = 200) -> Response:
    name = caller_of(request).name
    mine = [one for one in web_of(request).store.sessions.all() if one.name == name]
    return page(request, "me", status, sessions=mine, faults=faults)
