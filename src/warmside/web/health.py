"""How the server itself is: one word for a monitor, the whole for the owner."""

from __future__ import annotations

import shutil
from datetime import UTC, datetime

from fastapi import APIRouter, Request
from fastapi.responses import JSONResponse, Response

from warmside.store import SHOP, StoreError
from warmside.web.pages import page
from warmside.web.web import web_of

router = APIRouter(include_in_schema=False)


@router.get("/health")
def health(request: Request) -> Response:
    """Whether the store answers; for anyone, and nothing more."""
    try:
        web_of(request).store.text("prices")
    except StoreError:
        return JSONResponse({"status": "the store does not answer"}, 503)
    return JSONResponse({"status": "ok"})


@router.get("/metrics")
def metrics(request: Request) -> Response:
    """For the owner: the same as figures, in the text form of OpenMetrics 1.0."""
    web = web_of(request)
    file, copies = web.store.file, web.backups.standing() if web.backups else None
    figures: dict[str, float] = {"jobs": len(web.store.jobs()), "people_signed_in": len(
        {one.name for one in web.store.sessions.all()})}  # fmt: skip
    if file:
        figures["store_bytes"] = file.stat().st_size
        figures["disk_free_bytes"] = shutil.disk_usage(file.parent).free
    if copies and copies.last:
        figures["copy_age_seconds"] = (datetime.now(UTC) - copies.last).total_seconds()
    if copies:
        figures["copy_late"], figures["copy_failed"] = copies.late, bool(copies.failure)
    lines = [
        line
        for name, value in figures.items()
        for line in (f"# TYPE warmside_{name} gauge", f"warmside_{name} {float(value):.17g}")
    ]
    kind = "application/openmetrics-text; version=1.0.0; charset=utf-8"
    return Response("\n".join([*lines, "# EOF"]) + "\n", media_type=kind)


@router.get("/keeping")
def keeping(request: Request) -> Response:
    """For the owner: copies, room on the disk, who is signed in, what was computed last."""
    web = web_of(request)
    file = web.store.file
    free = shutil.disk_usage(file.parent).free if file else None
    jobs = [*web.store.jobs(), *web.store.jobs(archived=True)]
    tasks = sorted(
        (task for job in (SHOP, *(j.id for j in jobs[:50])) for task in web.store.tasks.of(job, 3)),
        key=lambda task: task.changed,
        reverse=True,
    )
    return page(
        request, "keeping", copies=web.backups.standing() if web.backups else None,
        size=file.stat().st_size if file else None, free=free, jobs=len(jobs),
        sessions=web.store.sessions.all() if web.share else (), tasks=tasks[:10],
        now=datetime.now(UTC), fingerprint=web.certificate.fingerprint if web.certificate else "",
    )  # fmt: skip
