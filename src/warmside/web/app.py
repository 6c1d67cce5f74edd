"""The application: one factory, nothing happens on import."""

from __future__ import annotations

from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager

from fastapi import Depends, FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse, Response
from starlette.exceptions import HTTPException
from starlette.middleware.gzip import GZipMiddleware

from warmside import __version__
from warmside.errors import Fault, WarmsideError
from warmside.web import (
    api,
    catalogs,
    client,
    crew_pages,
    day,
    figures,
    files,
    health,
    history,
    houses,
    inside,
    jobs,
    links,
    marks,
    me,
    papers,
    people,
    photos,
    prices,
    proof,
    signatures,
    signing,
    stock,
    studies,
    units,
    walls,
    weather,
)
from warmside.web.access import admit, route_is_api
from warmside.web.guard import Guard
from warmside.web.pages import problem_page, then
from warmside.web.problem import Problem, problem_of
from warmside.web.web import Web

_TITLES = {404: "Not found", 405: "Method not allowed", 400: "This cannot be read"}
_PARTS = (
    files,
    signing,
    jobs,
    houses,
    walls,
    figures,
    photos,
    history,
    prices,
    studies,
    client,
    inside,
    papers,
    marks,
    weather,
    stock,
    catalogs,
    units,
    people,
    me,
    links,
    signatures,
    health,
    crew_pages,
    day,
    proof,
    api,
)


def create_app(web: Web) -> FastAPI:
    """The pages and the API over an open store.

    Parameters
    ----------
    web : Web
        The store, who may come in, and what a first visit shows.
    """

    @asynccontextmanager
    async def running(_app: FastAPI) -> AsyncIterator[None]:
        behind = [worker for worker in (web.workshop, web.warm, web.backups) if worker]
        for worker in behind:
            worker.start()
        yield
        for worker in behind:
            worker.stop()

    app = FastAPI(
        title="Warmside",
        version=__version__,
        description="From a surveyed old wood-framed wall to a computed, priced, provable job.",
        dependencies=[Depends(admit)],
        openapi_url=None,
        docs_url=None,
        redoc_url=None,
        lifespan=running,
    )
    app.state.web = web
    for part in _PARTS:
        app.include_router(part.router)
    app.include_router(day.api, responses=api.REFUSALS)
    for kind, handler in _HANDLERS.items():
        app.add_exception_handler(kind, handler)
    app.add_middleware(GZipMiddleware, minimum_size=800, compresslevel=6)
    app.add_middleware(Guard, hosts=web.hosts, behind=web.behind, strict=web.strict)
    return app


def _told(request: Request, problem: Problem) -> Response:
    if route_is_api(request):
        return JSONResponse(problem.to_json(), problem.status)
    if problem.status == 401:
        return then("/sign-in")
    return problem_page(request, problem)


def _on_problem(request: Request, error: Exception) -> Response:
    return _told(request, error)  # type: ignore[arg-type]


def _on_known(request: Request, error: Exception) -> Response:
    return _told(request, problem_of(error))  # type: ignore[arg-type]


def _on_http(request: Request, error: Exception) -> Response:
    status = getattr(error, "status_code", 500)
    return _told(request, Problem(status, _TITLES.get(status, "This cannot be done")))


def _on_invalid(request: Request, error: Exception) -> Response:
    assert isinstance(error, RequestValidationError)  # noqa: S101
    faults = tuple(
        Fault(" ".join(map(str, e["loc"])), repr(e.get("input"))[:80], str(e["msg"]))
        for e in error.errors()[:50]
    )
    return _told(request, Problem(422, "Please correct these entries", faults=faults))


def _on_unforeseen(request: Request, _error: Exception) -> Response:
    text = "This is a fault of the program. What was confirmed before is safe."
    return _told(request, Problem(500, "Something broke", text))


_HANDLERS: dict[type[Exception], Callable[[Request, Exception], Response]] = {
    Problem: _on_problem,
    WarmsideError: _on_known,
    HTTPException: _on_http,
    RequestValidationError: _on_invalid,
    Exception: _on_unforeseen,
}
