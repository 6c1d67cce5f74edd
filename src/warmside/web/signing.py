"""Signing in and out."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import Response

from warmside.web.access import SESSION
from warmside.web.forms import Form
from warmside.web.pages import page, then
from warmside.web.problem import Problem
from warmside.web.web import web_of

router = APIRouter(include_in_schema=False)


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
    address = request.client.host if request.client else ""
    keys = (f"name {name.casefold()[:100]}", f"address {address}")
    if left := web.waiting.left(*keys):
        text = f"Too many wrong passwords. Try again in {left} seconds."
        raise Problem(429, "Please wait", text, wait=left)
    person = web.store.people.sign_in(name, form.texts.get("password", "")) if name else None
    if person is None:
        web.waiting.failed(*keys)
        return page(request, "sign_in", 422, typed=name[:100], failed=True)
    web.waiting.succeeded(*keys)
    response = then("/")
    token = web.store.sessions.begin(person.name)
    response.set_cookie(SESSION, token, httponly=True, samesite="strict", max_age=14 * 86_400)
    return response


@router.post("/sign-out")
def sign_out(request: Request, form: Form) -> Response:  # noqa: ARG001
    """End the session."""
    web_of(request).store.sessions.end(request.cookies.get(SESSION, ""))
    response = then("/sign-in" if web_of(request).share else "/")
    response.delete_cookie(SESSION)
    return response
