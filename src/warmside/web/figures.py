"""The figures of a wall while it is edited: told as they become known, as server-sent events.

The form is sent as it stands; the answer stays open and tells every option by the simple methods,
then by its field, then by the hours of a year. Whoever sends the form again, or goes elsewhere,
closes it, and what was still to be computed is left undone.
"""

from __future__ import annotations

import json
from collections.abc import AsyncIterator, Callable
from contextlib import aclosing
from dataclasses import replace
from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import Response, StreamingResponse

from warmside import survey
from warmside.errors import BusyError
from warmside.web.edit import Edit
from warmside.web.fields import wall_layout
from warmside.web.forms import Form
from warmside.web.fresh import ask_of
from warmside.web.lengths import with_units
from warmside.web.pages import fragment, writing_of
from warmside.web.problem import Problem
from warmside.web.walls import known_wall
from warmside.web.warm import WarmJobs
from warmside.web.warm_process import Ask, Told
from warmside.web.web import web_of

router = APIRouter(include_in_schema=False)
Json = dict[str, Any]


@router.post("/jobs/{job}/walls/{wall}/figures")
def wall_figures(request: Request, job: str, wall: int, form: Form) -> Response:
    """What the wall comes to as the form has it; nothing is kept."""
    web = web_of(request)
    store, warm = web.store, web.warm
    if warm is None:
        raise Problem(404, "No figures while editing", "They come with the study.")
    base = store.text_at(job, "survey", form.number("revision"))
    known_wall(base, wall)
    typed = with_units(form.texts, wall_layout(), writing_of(request))
    changes = Edit(base, ("wall", wall - 1), wall_layout()).changes(typed)
    text = survey.update(base, changes) if changes else base
    ask = replace(ask_of(store, job, wall, text), shown=form.get("shown")[:60])

    def shown(name: str, **what: Any) -> str:
        return fragment(request, name, job=job, number=wall, **what)

    return StreamingResponse(
        _events(warm, ask, shown),
        media_type="text/event-stream",
        headers={"x-accel-buffering": "no"},
    )


async def _events(warm: WarmJobs, ask: Ask, shown: Callable[..., str]) -> AsyncIterator[str]:
    try:
        async with aclosing(warm.follow(ask)) as all_told:
            async for told in all_told:
                yield _event(told, shown)
    except BusyError as error:
        yield _written("end", {"fault": str(error)})


def _event(told: Told, shown: Callable[..., str]) -> str:
    """What the page puts in place: the whole panel, or single options of it."""
    if told.ends:
        return _written("end", {"fault": told.fault})
    if not told.options:
        return ": still at it\n\n"
    what: Json = {"done": told.done, "total": told.total}
    if told.complete:
        what["panel"] = shown("wall_figures", options=told.options, chosen=told.put_forward,
                              house=told.house)  # fmt: skip
    else:
        what["options"] = {
            one.report.id: shown("option_figures", option=one.report, state=one.state,
                                 coldest_at=one.coldest_at, price=one.price)
            for one in told.options
        }  # fmt: skip
        if told.house:
            what["house"] = shown("house_figures", house=told.house)
    return _written("figures", what)


def _written(kind: str, what: Json) -> str:
    return f"event: {kind}\ndata: {json.dumps(what, ensure_ascii=False)}\n\n"
