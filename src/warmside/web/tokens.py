"""Addresses that open something to whoever has them: unguessable, bound to a day, slowed down."""

from __future__ import annotations

import hmac
import logging
from datetime import UTC, datetime

from fastapi import Request

from warmside.errors import WarmsideError, shown
from warmside.store import Record
from warmside.store.moments import digest
from warmside.web.problem import Problem
from warmside.web.web import web_of

_LOG = logging.getLogger("warmside.links")
_LONGEST = 200  # letters of what an address ends with


def opened(request: Request, job: str, token: str, kind: str) -> Record:
    """The record whose id and secret ``token`` holds, ``id.secret``.

    The same answer for one that ended and one that never was; who tries many waits longer and
    longer.

    Raises
    ------
    Problem
        404; 429 with the seconds to wait.
    """
    web, address = web_of(request), request.client.host if request.client else ""
    if left := web.waiting.left("a link", address):
        text = f"Too many tries. Try again in {left} seconds."
        raise Problem(429, "Please wait", text, wait=left)
    id, _, secret = token[:_LONGEST].partition(".")
    try:
        records = web.store.records.of(job, kind)
    except WarmsideError:
        records = ()
    found = next((record for record in records if record.id == id), None)
    held = str(found.data["hash"]) if found else digest("")
    fits = hmac.compare_digest(held, digest(secret.encode("utf-8", "replace")))
    if found is None or not fits or not _open(found):
        web.waiting.begin("a link", address)
        _LOG.info("link refused: %s of job %s, from %s", kind, shown(job), shown(address))
        raise Problem(404, "Not here", "This link has ended, or never was. Ask who gave it to you.")
    return found


def _open(record: Record) -> bool:
    return datetime.now(UTC) < datetime.fromisoformat(str(record.data["until"]))
