"""Who may call what: one table of every route, and the check that stands before each of them."""

from __future__ import annotations

from collections.abc import AsyncIterator
from typing import Any

from fastapi import Request
from fastapi.concurrency import run_in_threadpool
from starlette.datastructures import FormData

from warmside.store import SHOP
from warmside.web.guard import SAFE
from warmside.web.problem import Problem
from warmside.web.web import Caller, Need, Web, web_of

SESSION, BROWSER = "warmside-session", "warmside-browser"  # cookies

# A route that does not stand here is refused to everyone. A crew member meets only assigned jobs.
# A room adds its routes here, its router in `_app.py`, its pages of a job in `_navigation.py`.
TABLE: dict[str, Need] = {
    "GET /static/{of}/{name}": "anyone",
    "GET /sign-in": "anyone",
    "POST /sign-in": "anyone",
    "POST /sign-out": "crew",
    "GET /me": "crew",
    "POST /me/password": "crew",
    "POST /me/sign-out": "crew",
    "GET /read/{job}/{token}": "anyone",
    "GET /read/{job}/{token}/{paper}": "anyone",
    "GET /read/{job}/{token}/walls/{wall}": "anyone",
    "GET /read/{job}/{token}/walls/{wall}/thermal.svg": "anyone",
    "GET /read/{job}/{token}/walls/{wall}/depths": "anyone",
    "GET /read/{job}/{token}/walls/{wall}/inside": "anyone",
    "GET /sign/{job}/{token}": "anyone",
    "GET /sign/{job}/{token}/paper.pdf": "anyone",
    "POST /sign/{job}/{token}/signature": "anyone",
    "POST /jobs/{job}/signing-links": "office",
    "GET /jobs/{job}/links": "office",
    "POST /jobs/{job}/links": "office",
    "POST /jobs/{job}/links/{link}/end": "office",
    "GET /": "crew",
    "GET /new": "office",
    "POST /new": "office",
    "POST /take-in": "office",
    "GET /jobs/{job}": "crew",
    "GET /jobs/{job}/house": "office",
    "POST /jobs/{job}/house": "office",
    "POST /jobs/{job}/put-away": "office",
    "GET /jobs/{job}/export.zip": "office",
    "GET /jobs/{job}/survey": "office",
    "POST /jobs/{job}/survey": "office",
    "GET /jobs/{job}/walls/{wall}": "crew",
    "POST /jobs/{job}/walls/{wall}": "office",
    "POST /jobs/{job}/walls/{wall}/drawing": "office",
    "POST /jobs/{job}/walls/{wall}/figures": "office",
    "GET /jobs/{job}/walls/{wall}/pieces": "crew",
    "GET /jobs/{job}/walls/{wall}/elevation.svg": "crew",
    "POST /jobs/{job}/walls": "office",
    "POST /jobs/{job}/walls/{wall}/remove": "office",
    "POST /jobs/{job}/draft": "office",
    "GET /jobs/{job}/history": "office",
    "GET /jobs/{job}/history/{number}": "office",
    "POST /jobs/{job}/history/{number}/undo": "office",
    "GET /jobs/{job}/photos": "crew",
    "POST /jobs/{job}/photos": "crew",
    "GET /jobs/{job}/photos/{photo}": "crew",
    "POST /jobs/{job}/photos/{photo}/pin": "crew",
    "POST /jobs/{job}/photos/{photo}/remove": "office",
    "GET /jobs/{job}/study": "office",
    "POST /jobs/{job}/study": "office",
    "POST /jobs/{job}/study/cancel": "office",
    "GET /jobs/{job}/study/{wall}": "office",
    "POST /jobs/{job}/study/{wall}/choose": "office",
    "GET /jobs/{job}/study/{wall}/thermal.svg": "office",
    "GET /jobs/{job}/study/{wall}/{promise}": "office",
    "GET /jobs/{job}/client": "office",
    "GET /jobs/{job}/client/{wall}": "office",
    "GET /jobs/{job}/client/{wall}/thermal.svg": "office",
    "GET /jobs/{job}/client/{wall}/depths": "office",
    "GET /jobs/{job}/client/{wall}/inside": "office",
    "GET /jobs/{job}/price": "office",
    "GET /jobs/{job}/prices": "office",
    "POST /jobs/{job}/prices": "office",
    "POST /jobs/{job}/prices/total": "office",
    "GET /jobs/{job}/prices.{kind}": "office",
    "GET /jobs/{job}/papers": "office",
    "POST /jobs/{job}/papers/{kind}": "office",
    "GET /jobs/{job}/papers/{kind}/{number}.pdf": "office",
    "GET /jobs/{job}/papers/rebate/{number}.csv": "office",
    "POST /jobs/{job}/mark": "office",
    "GET /jobs/{job}/mark.svg": "office",
    "GET /jobs/{job}/money.csv": "office",
    "GET /jobs/{job}/reminder.ics": "office",
    "GET /jobs/{job}/proposal.pdf": "office",
    "GET /jobs/{job}/annex.pdf": "office",
    "GET /jobs/{job}/takeoff.pdf": "office",
    "GET /jobs/{job}/study.json": "office",
    "GET /jobs/{job}/crew": "crew",
    "GET /jobs/{job}/crew/{wall}": "crew",
    "GET /jobs/{job}/crew-sheet.pdf": "crew",
    "GET /jobs/{job}/hours": "crew",
    "GET /jobs/{job}/weather": "office",
    "POST /jobs/{job}/weather": "office",
    "POST /jobs/{job}/weather/place": "office",
    "GET /jobs/{job}/calendar.ics": "office",
    "GET /jobs/{job}/yield": "office",
    "POST /jobs/{job}/yield": "office",
    "GET /jobs/{job}/day": "crew",
    "POST /jobs/{job}/entries": "crew",
    "POST /api/jobs/{job}/entries": "crew",
    "GET /api/jobs/{job}/entries": "crew",
    "GET /jobs/{job}/proof": "office",
    "POST /jobs/{job}/proof": "office",
    "POST /jobs/{job}/proof/pictures": "office",
    "GET /jobs/{job}/proof/pictures/{record}": "office",
    "GET /jobs/{job}/proof/pictures/{record}/picture.png": "office",
    "POST /jobs/{job}/proof/pictures/{record}/marks": "office",
    "POST /jobs/{job}/proof/withdraw": "office",
    "POST /jobs/{job}/proof/fan-test": "office",
    "POST /jobs/{job}/proof/meter": "office",
    "POST /jobs/{job}/proof/rule": "office",
    "GET /jobs/{job}/close-out.{kind}": "office",
    "GET /day-worker.js": "anyone",
    "GET /stock": "office",
    "POST /stock": "office",
    "GET /stock/{run}": "office",
    "POST /stock/{run}/plan": "office",
    "POST /stock/{run}/cancel": "office",
    "GET /stock/{run}/{name}": "office",
    "GET /catalog": "crew",
    "GET /catalog/{kind}": "crew",
    "GET /sources": "crew",
    "GET /units": "crew",
    "POST /units": "crew",
    "GET /health": "anyone",
    "GET /keeping": "owner",
    "GET /metrics": "owner",
    "GET /people": "owner",
    "POST /people": "owner",
    "POST /people/change": "owner",
    "GET /api/openapi.json": "crew",
    "GET /api/sources": "crew",
    "POST /api/check": "crew",
    "GET /api/jobs": "crew",
    "POST /api/jobs": "office",
    "GET /api/jobs/{job}": "crew",
    "GET /api/jobs/{job}/survey": "office",
    "PUT /api/jobs/{job}/survey": "office",
    "GET /api/jobs/{job}/history": "office",
    "POST /api/jobs/{job}/history/{number}/undo": "office",
    "POST /api/jobs/{job}/study": "office",
    "GET /api/jobs/{job}/study": "office",
    "GET /api/tasks/{task}": "office",
    "DELETE /api/tasks/{task}": "office",
}


async def admit(request: Request) -> AsyncIterator[None]:
    """Let a request through that its caller may make, and whose form came from our own page."""
    web = web_of(request)
    route: Any = request.scope["route"]
    need = TABLE.get(f"{request.method.replace('HEAD', 'GET')} {route.path}")
    if need is None:
        raise Problem(403, "Not for anyone")
    caller = await run_in_threadpool(_caller, request, web)
    request.state.caller = caller or Caller("", "crew")
    if request.path_params.get("job") == SHOP:  # kept like a job, and none
        raise Problem(404, "Not found", "No such job, or not one of yours.")
    if need != "anyone":
        if caller is None:
            raise Problem(401, "Please sign in")
        if not caller.may(need):
            raise Problem(403, "Not for your role", f"You are signed in as {caller.role}.")
        if not caller.sees(request.path_params.get("job", "")) and "job" in request.path_params:
            raise Problem(404, "Not found", "No such job, or not one of yours.")
    if request.method in SAFE:
        yield
        return
    form = await _read_form(request, web)
    try:
        yield
    finally:
        if form is not None:
            await form.close()


def _caller(request: Request, web: Web) -> Caller | None:
    if not web.share:
        return web.alone_caller
    token = request.cookies.get(SESSION, "")
    person = web.store.sessions.person(token) if token else None
    return Caller(person.name, person.role, person.jobs) if person else None


async def _read_form(request: Request, web: Web) -> FormData | None:
    """The form, bounded, with its token; JSON needs none, since no page elsewhere can send it."""
    kind = request.headers.get("content-type", "").partition(";")[0].strip().lower()
    if route_is_api(request):
        if kind not in ("application/json", "") or (not kind and await request.body()):
            raise Problem(415, "JSON is read here", "Send content-type: application/json.")
        return None
    if kind not in ("application/x-www-form-urlencoded", "multipart/form-data"):
        raise Problem(415, "A form is read here")
    form: FormData = await request.form(max_files=20, max_fields=4000, max_part_size=2 << 20)
    token, browser = form.get("token", ""), request.cookies.get(BROWSER, "")
    if not isinstance(token, str) or not web.token_fits(browser, token):
        raise Problem(
            403,
            "This form has expired",
            "Nothing was done. Go back, load the page again, and send it once more.",
        )
    request.state.form = form
    return form


def route_is_api(request: Request) -> bool:
    """Whether programs are answered here, not people."""
    return request.url.path.startswith("/api/")
