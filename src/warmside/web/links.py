"""Links for who only reads: a client or an official opens papers of one job, until a day.

A link is a record of its job, so the history says who made and ended it. It holds the hash of what
the address ends with, never that itself: a copied store opens no paper.
"""

from __future__ import annotations

import hmac
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from secrets import token_urlsafe
from typing import Literal

from fastapi import APIRouter, Request
from fastapi.responses import Response

from warmside.errors import Fault, InputError, WarmsideError
from warmside.store import Record, Store
from warmside.store.moments import digest
from warmside.web.forms import Form, Sent
from warmside.web.pages import page, then
from warmside.web.problem import Problem
from warmside.web.proof import paper as close_out
from warmside.web.studies import annex_pdf, proposal_pdf
from warmside.web.web import caller_of, web_of

router = APIRouter(include_in_schema=False)
_KIND = "link"
_ROLES: tuple[Literal["client", "official"], ...] = ("client", "official")
_PAPERS = {"proposal": "Offer", "annex": "Annex", "close-out": "Close-out"}
_MOST_DAYS = 90


@dataclass(frozen=True)
class Link:
    """A link, without what its address ends with."""

    id: str
    job: str
    reader: str
    role: str
    papers: tuple[str, ...]
    who: str
    until: datetime
    hash: str

    @classmethod
    def of(cls, record: Record) -> Link:
        """The link that a record holds."""
        data = record.data
        return cls(record.id, record.job, str(data["reader"]), str(data["role"]),
                   tuple(map(str, data["papers"])), record.who,
                   datetime.fromisoformat(str(data["until"])), str(data["hash"]))  # fmt: skip

    @property
    def open(self) -> bool:
        """Whether it may be read by now."""
        return datetime.now(UTC) < self.until


def links_of(store: Store, job: str) -> list[Link]:
    """The links of a job that nobody ended, the last made first."""
    return [Link.of(record) for record in reversed(store.records.of(job, _KIND))]


@router.get("/jobs/{job}/links")
def links(request: Request, job: str) -> Response:
    """The links of a job, and a form for another."""
    store = web_of(request).store
    return page(request, "links", job=store.job(job), links=links_of(store, job), faults=())


@router.post("/jobs/{job}/links")
def make(request: Request, job: str, form: Form) -> Response:
    """Make a link; its address is shown once."""
    web, who = web_of(request), caller_of(request).name
    store, secret = web.store, token_urlsafe(32)
    here = store.job(job)
    try:
        data = _asked(form) | {"hash": digest(secret)}
    except InputError as error:
        known = links_of(store, job)
        return page(request, "links", 422, here, links=known, faults=error.faults)
    record = store.records.add(job, _KIND, data, who)
    origin = web.behind or f"{request.url.scheme}://{request.headers.get('host', '')}"
    made = {"reader": data["reader"], "address": f"{origin}/read/{job}/{record.id}.{secret}"}
    known = links_of(store, job)
    return page(request, "links", job=here, links=known, faults=(), made=made)


def _asked(form: Sent) -> dict[str, str | list[str]]:
    faults, reader, days = list[Fault](), form.get("reader"), form.get("days")
    papers = [name for name in _PAPERS if form.get(name)]
    if not 0 < len(reader) <= 80 or not reader.isprintable():
        faults.append(Fault("for whom", repr(reader)[:60], "a name of 1 to 80 letters"))
    if form.get("role") not in _ROLES:
        faults.append(Fault("who is", repr(form.get("role"))[:60], " or ".join(_ROLES)))
    if not (days.isascii() and days.isdecimal() and 0 < int(days[:6]) <= _MOST_DAYS):
        faults.append(Fault("days", repr(days)[:60], f"1 to {_MOST_DAYS}"))
    if not papers:
        faults.append(Fault("what it shows", "nothing", "one paper or more"))
    if faults:
        raise InputError(faults)
    until = datetime.now(UTC) + timedelta(days=int(days))
    return {"reader": reader, "role": form.get("role"), "papers": papers,
            "until": until.isoformat(timespec="seconds")}  # fmt: skip


@router.post("/jobs/{job}/links/{link}/end")
def end(request: Request, job: str, link: str, form: Form) -> Response:  # noqa: ARG001
    """End a link before its day."""
    store = web_of(request).store
    if store.records.get(job, link).kind != _KIND:
        raise Problem(404, "Not here", "No such link.")
    store.records.withdraw(job, link, caller_of(request).name)
    return then(f"/jobs/{job}/links")


@router.get("/read/{job}/{token}")
def read(request: Request, job: str, token: str) -> Response:
    """The papers of a link."""
    link = _link(request, job, token)
    name = web_of(request).store.job(job).name
    papers = [(paper, _PAPERS[paper]) for paper in link.papers]
    return page(request, "read", link=link, token=token, papers=papers, title=name)


@router.get("/read/{job}/{token}/{paper}")
def read_paper(
    request: Request, job: str, token: str, paper: str, language: str = "en"
) -> Response:
    """One paper of a link."""
    link, name = _link(request, job, token), paper.removesuffix(".pdf")
    if name not in link.papers or name == paper:
        raise Problem(404, "Not here", "This link shows no such paper.")
    if name == "proposal":
        return proposal_pdf(request, job, language)
    if name == "annex":
        return annex_pdf(request, job)
    return close_out(request, job, "pdf")


def _link(request: Request, job: str, token: str) -> Link:
    """The link of an address; the same answer for one that ended and one that never was."""
    id, _, secret = token.partition(".")
    try:
        records = web_of(request).store.records.of(job, _KIND)
    except WarmsideError:
        records = ()
    found = next((Link.of(record) for record in records if record.id == id), None)
    held = found.hash if found else digest("")
    fits = hmac.compare_digest(held, digest(secret.encode("utf-8", "replace")))
    if found is None or not fits or not found.open:
        raise Problem(404, "Not here", "This link has ended, or never was. Ask who gave it to you.")
    return found
