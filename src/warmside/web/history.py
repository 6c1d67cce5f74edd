"""Every change of a job: when, by whom, what; and taking one back."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import Response

from warmside.store import Change, StaleError, Store
from warmside.web.forms import Form
from warmside.web.pages import page, then
from warmside.web.problem import Problem
from warmside.web.web import caller_of, web_of

router = APIRouter(include_in_schema=False)
_SHOWN = 60
_FOR_GOOD = ("record/", "paper/")  # parts that are amended, never taken back


@router.get("/jobs/{job}/history")
def history(request: Request, job: str, before: int | None = None) -> Response:
    """The changes, the newest first."""
    store = web_of(request).store
    changes = store.history(job, _SHOWN, before)
    # only the last change of a part that stands can be taken back
    newest: dict[str, int] = {}
    for change in changes:
        if change.undone_by is None and change.undoes is None:
            newest.setdefault(change.part, change.number)
    can = {n for part, n in newest.items()
           if before is None and n > 1 and not part.startswith(_FOR_GOOD)}  # fmt: skip
    return page(
        request, "history", job=store.job(job), changes=changes, can=can,
        older=changes[-1].number if len(changes) == _SHOWN else None,
    )  # fmt: skip


@router.get("/jobs/{job}/history/{number}")
def change(request: Request, job: str, number: int) -> Response:
    """What one change did, line by line."""
    store = web_of(request).store
    difference = store.difference(job, number)
    return page(request, "change", job=store.job(job), number=number, difference=difference)


@router.post("/jobs/{job}/history/{number}/undo")
def undo(request: Request, job: str, number: int, form: Form) -> Response:  # noqa: ARG001
    """Take a change back."""
    try:
        take_back(web_of(request).store, job, number, caller_of(request).name)
    except StaleError as error:
        text = f"{error}. Take back the later change first."
        raise Problem(409, "A later change stands on this one", text) from None
    return then(f"/jobs/{job}/history")


def take_back(store: Store, job: str, number: int, who: str) -> Change:
    """Undo a change; what was noted for good (the day record) stays and is amended instead."""
    found = store.history(job, most=1, before=min(number, 2**30) + 1)
    if found and found[0].number == number and found[0].part.startswith(_FOR_GOOD):
        text = "Nothing was taken back. Amend the entry in the day record instead."
        raise Problem(409, "What was noted stays as it was written", text)
    return store.undo(job, number, who)
