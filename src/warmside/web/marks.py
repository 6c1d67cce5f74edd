"""The contractor's own mark: an image at the head of what a client gets."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import Response

from warmside.errors import InputError
from warmside.fence import FILES, fenced
from warmside.store import StaleError
from warmside.web.forms import Form
from warmside.web.pages import then
from warmside.web.papers import show_papers
from warmside.web.problem import Problem
from warmside.web.web import caller_of, web_of

router = APIRouter(include_in_schema=False)
# opened by itself it is a picture too: it may ask for nothing, and stands in no other page
_POLICY = "default-src 'none'; img-src data:; frame-ancestors 'none'; sandbox"


@router.post("/jobs/{job}/mark")
def save_mark(request: Request, job: str, form: Form) -> Response:
    """Put an image at the head of the job's papers, or take it away; for new jobs too if asked."""
    from warmside.documents.picture import kept_mark

    store, who = web_of(request).store, caller_of(request).name
    store.job(job)
    try:
        data = b"" if form.get("without") else form.file("mark")
        text = fenced(kept_mark, data, lane=FILES, place="mark") if data else ""
        store.save("mark", text, form.number("revision"), who, job)
        if form.get("always"):
            store.save("mark", text, store.text("mark").revision, who)
    except InputError as error:
        return show_papers(request, job, faults=error.faults, status=422)
    except StaleError as error:
        raise Problem(409, "Somebody else changed the mark meanwhile", str(error)) from None
    return then(f"/jobs/{job}/papers#mark")


@router.get("/jobs/{job}/mark.svg")
def mark_svg(request: Request, job: str) -> Response:
    """The mark of a job, as its papers show it."""
    text = web_of(request).store.text("mark", job).text
    if not text:
        raise Problem(404, "Not found", "This job has no mark.")
    headers = {"content-security-policy": _POLICY}
    return Response(text, media_type="image/svg+xml", headers=headers)
