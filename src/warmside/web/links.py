"""Links for who only reads: a client or an official opens papers of one job, until a day.

A link is a record of its job, so the history says who made and ended it. It holds the hash of what
the address ends with, never that itself: a copied store opens no paper.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from secrets import token_urlsafe
from typing import Literal

from fastapi import APIRouter, Request
from fastapi.concurrency import run_in_threadpool
from fastapi.responses import Response

from warmside.errors import Fault, InputError
from warmside.store import Record, Store
from warmside.store.moments import digest
from warmside.web import client, inside, issuing, signatures
from warmside.web.forms import Form, Sent
from warmside.web.pages import page, then
from warmside.web.problem import Problem
from warmside.web.proof import paper as close_out
from warmside.web.studies import annex_pdf, proposal_pdf, standing
from warmside.web.tokens import opened
from warmside.web.web import caller_of, web_of

router = APIRouter(include_in_schema=False)
_KIND = "link"
_ROLES: tuple[Literal["client", "official"], ...] = ("client", "official")
_PAPERS = {"view": "Your walls, today and after the work", "proposal": "Offer",
           "annex": "Annex", "close-out": "Close-out"}  # fmt: skip
_BRIEF = {"view": "walls", "proposal": "offer"}  # to whoever made the link; others as they are
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
    def shows(self) -> str:
        """What it shows, in few words."""
        return ", ".join(_BRIEF.get(paper, paper) for paper in self.papers)

    @property
    def open(self) -> bool:
        """Whether it may be read by now."""
        return datetime.now(UTC) < self.until


def links_of(store: Store, job: str) -> list[Link]:
    """The links of a job that nobody ended, the last made first."""
    return [Link.of(record) for record in reversed(store.records.of(job, _KIND))]


@router.get("/jobs/{job}/links")
def links(request: Request, job: str) -> Response:
    """The links of a job, and forms for others."""
    return _page(request, job)


def _page(
    request: Request,
    job: str,
    status: int = 200,
    faults: tuple[Fault, ...] = (),
    made: dict[str, str] | None = None,
) -> Response:
    store = web_of(request).store
    papers = issuing.papers_of(store, job)
    signed = {one.link: one for one in issuing.signatures_of(papers)}
    return page(
        request, "links", status, store.job(job), links=links_of(store, job), faults=faults,
        made=made, signing=signatures.signing_links(store, job), signed=signed,
        to_sign=signatures.to_sign(papers), most_days=signatures.MOST_DAYS,
    )  # fmt: skip


@router.post("/jobs/{job}/links")
def make(request: Request, job: str, form: Form) -> Response:
    """Make a link; its address is shown once."""
    store, who, secret = web_of(request).store, caller_of(request).name, token_urlsafe(32)
    store.job(job)
    try:
        data = _asked(form) | {"hash": digest(secret)}
    except InputError as error:
        return _page(request, job, 422, error.faults)
    record = store.records.add(job, _KIND, data, who)
    address = f"{_origin(request)}/read/{job}/{record.id}.{secret}"
    made = {"what": f"the papers for {data['reader']}", "address": address}
    return _page(request, job, made=made)


@router.post("/jobs/{job}/signing-links")
def make_signing(request: Request, job: str, form: Form) -> Response:
    """Make a link for one person to sign one paper; its address is shown once."""
    store, who = web_of(request).store, caller_of(request).name
    store.job(job)
    try:
        link, path = signatures.make(store, job, form, who)
    except InputError as error:
        return _page(request, job, 422, error.faults)
    what = f"{link.paper} for {link.reader} to sign"
    return _page(request, job, made={"what": what, "address": f"{_origin(request)}{path}"})


def _origin(request: Request) -> str:
    """Where this is reached by."""
    host = request.headers.get("host", "")
    return web_of(request).behind or f"{request.url.scheme}://{host}"


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
    if store.records.get(job, link).kind not in (_KIND, signatures.KIND):
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


@router.get("/read/{job}/{token}/walls/{wall}")
def read_wall(
    request: Request,
    job: str,
    token: str,
    wall: int,
    outside: float | None = None,
    language: client.Language = "en",
    wish: client.Wish = "warm",
    one: str = "",
    two: str = "",
) -> Response:
    """The client's view; wall 0 is the first that is worked on."""
    link = _with_view(request, job, token)
    if wall == 0:
        stands = standing(web_of(request).store, job)
        wall = client.first_wall(stands.study)
    base = f"/read/{job}/{token}/walls"
    return client.view(
        request, job, wall, base, outside, language, wish, (one, two), reader=link.reader
    )


@router.get("/read/{job}/{token}/walls/{wall}/thermal.svg")
def read_thermal(
    request: Request,
    job: str,
    token: str,
    wall: int,
    option: str = "",
    outside: float = 0.0,
    language: client.Language = "en",
    narrow: bool = False,
) -> Response:
    """A picture of the client's view."""
    _with_view(request, job, token)
    return client.client_thermal(request, job, wall, option, outside, language, narrow)


@router.get("/read/{job}/{token}/walls/{wall}/depths")
async def read_depths(
    request: Request, job: str, token: str, wall: int, first: float = 0.0
) -> Response:
    """What moves in the client's view."""
    await run_in_threadpool(_with_view, request, job, token)
    return await client.client_depths(request, job, wall, first)


@router.get("/read/{job}/{token}/walls/{wall}/inside")
async def read_inside(
    request: Request, job: str, token: str, wall: int, option: str = ""
) -> Response:
    """What the client's view turns and takes apart."""
    await run_in_threadpool(_with_view, request, job, token)
    return await inside.client_inside(request, job, wall, option)


def _with_view(request: Request, job: str, token: str) -> Link:
    link = _link(request, job, token)
    if "view" not in link.papers:
        raise Problem(404, "Not here", "This link shows no such page.")
    return link


@router.get("/read/{job}/{token}/{paper}")
def read_paper(
    request: Request, job: str, token: str, paper: str, language: str = "en"
) -> Response:
    """One paper of a link."""
    link, name = _link(request, job, token), paper.removesuffix(".pdf")
    if name not in link.papers or name in (paper, "view"):
        raise Problem(404, "Not here", "This link shows no such paper.")
    if name == "proposal":
        return proposal_pdf(request, job, language)
    if name == "annex":
        return annex_pdf(request, job)
    return close_out(request, job, "pdf")


def _link(request: Request, job: str, token: str) -> Link:
    return Link.of(opened(request, job, token, _KIND))
