"""Signing in and out."""

from __future__ import annotations

import logging

from fastapi import APIRouter, Request
from fastapi.responses import Response

from warmside.errors import shown
from warmside.store import Person, UnknownError
from warmside.web.access import SESSION
from warmside.web.forms import Form
from warmside.web.pages import page, then
from warmside.web.problem import Problem
from warmside.web.web import Web, web_of

router = APIRouter(include_in_schema=False)
_LOG = logging.getLogger("warmside.sign-in")


@router.get("/sign-in")
def sign_in_page(request: Request) -> Response:
    """The form; where nobody has to sign in, on to the jobs."""
    if not web_of(request).share:
        return then("/")
    return page(request, "sign_in", typed="", failed=False)


@router.post("/sign-in")
def sign_in(request: Request, form: Form) -> Response:
    """Begin a session; who guesses waits longer and longer."""
    web, name = web_of(request), form.get("name")
    if not web.share:
        return then("/")
    person = looked_at(request, name, form.texts.get("password", ""))
    if person is None:
        return page(request, "sign_in", 422, typed=name[:100], failed=True)
    return begin_session(web, person.name, "/")


def looked_at(request: Request, name: str, password: str) -> Person | None:
    """Whose password it is; who guesses is made to wait, by a ``Problem``."""
    web, address = web_of(request), request.client.host if request.client else ""
    if left := web.waiting.begin(name, address):
        _note("refused for now", web, name, address)
        text = f"Too many tries. Try again in {left} seconds."
        raise Problem(429, "Please wait", text, wait=left)
    with web.waiting.turn() as mine:
        if not mine:
            text = "Many people sign in at once. Try again in a few seconds."
            raise Problem(503, "Please wait", text, wait=5)
        person = web.store.people.sign_in(name, password) if name else None
    if person is None:
        _note("failed", web, name, address)
        return None
    web.waiting.succeeded(name, address)
    _note("signed in", web, name, address)
    return person


def begin_session(web: Web, name: str, on: str) -> Response:
    """A new session of a person, and on to a page."""
    response, token = then(on), web.store.sessions.begin(name)
    response.set_cookie(SESSION, token, httponly=True, samesite="strict", max_age=14 * 86_400,
                        secure=web.secure)  # fmt: skip
    return response


def _note(what: str, web: Web, name: str, address: str) -> None:
    """A line of the log; a name that nobody has may be a password typed in the wrong place."""
    try:
        who = web.store.people.get(name).name
    except UnknownError:
        who = "a name nobody has"
    _LOG.info("sign-in %s: %s from %s", what, shown(who), shown(address))


@router.post("/sign-out")
def sign_out(request: Request, form: Form) -> Response:  # noqa: ARG001
    """End the session."""
    web_of(request).store.sessions.end(request.cookies.get(SESSION, ""))
    response = then("/sign-in" if web_of(request).share else "/")
    response.delete_cookie(SESSION, secure=web_of(request).secure, httponly=True)
    return response
