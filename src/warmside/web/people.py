"""Who may sign in, as what, and which jobs a crew sees."""

from __future__ import annotations

from typing import get_args

from fastapi import APIRouter, Request
from fastapi.responses import Response

from warmside.errors import Fault, InputError
from warmside.store import Role
from warmside.web.forms import Form
from warmside.web.pages import page, then
from warmside.web.web import caller_of, web_of

router = APIRouter(include_in_schema=False)


@router.get("/people")
def people(request: Request) -> Response:
    """Everyone, and a form for one more."""
    return _page(request, {}, ())


@router.post("/people")
def add_person(request: Request, form: Form) -> Response:
    """Add a person."""
    store, who = web_of(request).store, caller_of(request).name
    try:
        store.people.add(form.get("name"), _role(form.get("role")), form.texts.get("password", ""),
                         who)  # fmt: skip
    except InputError as error:
        return _page(request, form.texts, error.faults, 422)
    return then("/people")


@router.post("/people/change")
def change_person(request: Request, form: Form) -> Response:
    """Another role, another password, let go or taken back, a job given or taken."""
    people, who, name = web_of(request).store.people, caller_of(request).name, form.get("name")
    do = form.get("do")
    try:
        if do == "role":
            people.set_role(name, _role(form.get("role")), who)
        elif do == "password":
            people.set_password(name, form.texts.get("password", ""), who)
        elif do == "let go":
            people.let_go(name, who)
        elif do == "take back":
            people.take_back(name, who)
        elif do == "assign":
            people.assign(name, form.get("job"), who)
        elif do == "unassign":
            people.unassign(name, form.get("job"), who)
        else:
            raise InputError([Fault("what to do", repr(do)[:60], "a button of the page")])
    except InputError as error:
        return _page(request, {}, error.faults, 422)
    return then("/people")


def _role(text: str) -> Role:
    for role in get_args(Role):
        if role == text:
            found: Role = role
            return found
    raise InputError([Fault("role", repr(text)[:60], ", ".join(get_args(Role)))])


def _page(
    request: Request, typed: dict[str, str], faults: tuple[Fault, ...], status: int = 200
) -> Response:
    store = web_of(request).store
    jobs = {job.id: job.name for job in store.jobs()}
    return page(
        request, "people", status, people=store.people.all(), jobs=jobs, roles=get_args(Role),
        typed=typed, faults=faults,
    )  # fmt: skip
