"""Links for one named person to sign one paper once, away from the shop and without an account.

A link is a record of its job that holds the fingerprint of the paper as it stood, and the hash of
what its address ends with. What is signed becomes a numbered paper of its own, never changed: it
names the person, the moment, the words agreed to, and that fingerprint.
"""

from __future__ import annotations

import logging
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from secrets import token_urlsafe
from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import Response

from warmside.errors import Fault, InputError, shown
from warmside.store import Record, Store
from warmside.store.moments import digest, folded
from warmside.web import issuing
from warmside.web.client import Language
from warmside.web.forms import Form, Sent
from warmside.web.letterhead import style_of_job
from warmside.web.pages import page, then
from warmside.web.problem import Problem
from warmside.web.tokens import opened
from warmside.web.web import web_of
from warmside.wording import say

router = APIRouter(include_in_schema=False)
Json = dict[str, Any]
KIND = "signing-link"
MOST_DAYS = 30
SAID = "I have read this paper. I sign it as {name}, on this screen, in place of pen and paper."
_TITLES = {"contract": "Contract", "change": "Change order"}
_LOG = logging.getLogger("warmside.links")


@dataclass(frozen=True)
class SigningLink:
    """A link, without what its address ends with."""

    id: str
    job: str
    reader: str  # who signs
    of: str
    number: int
    content: str  # fingerprint of the paper as it stood
    who: str
    until: datetime
    hash: str

    @classmethod
    def of_record(cls, record: Record) -> SigningLink:
        """The link that a record holds."""
        data = record.data
        until = datetime.fromisoformat(str(data["until"]))
        return cls(record.id, record.job, str(data["reader"]), str(data["of"]),
                   int(data["number"]), str(data["content"]), record.who, until,
                   str(data["hash"]))  # fmt: skip

    @property
    def open(self) -> bool:
        """Whether it may be used by now."""
        return datetime.now(UTC) < self.until

    @property
    def paper(self) -> str:
        """The paper in words."""
        return f"{_TITLES[self.of]} {self.number}"


def signing_links(store: Store, job: str) -> list[SigningLink]:
    """The links of a job that nobody ended, the last made first."""
    return [SigningLink.of_record(one) for one in reversed(store.records.of(job, KIND))]


def to_sign(papers: Sequence[Json]) -> list[str]:
    """Papers that a link may be made for, as ``contract-3``, the last first."""
    from warmside.contract import SIGNED

    old = {(p["kind"], p.get("supersedes", 0)) for p in papers}
    standing = [p for p in papers if p["kind"] in SIGNED and (p["kind"], p["number"]) not in old]
    return [f"{p['kind']}-{p['number']}" for p in reversed(standing)]


def make(store: Store, job: str, form: Sent, who: str) -> tuple[SigningLink, str]:
    """A new link and what its address ends with.

    Raises
    ------
    InputError
        Every fault of the form.
    """
    from warmside.contract import fingerprint

    papers = issuing.papers_of(store, job)
    faults, reader, days = list[Fault](), " ".join(form.get("signer").split()), form.get("days")
    if not 0 < len(reader) <= 80 or not reader.isprintable():
        faults.append(Fault("who signs", repr(reader)[:60], "a name of 1 to 80 letters"))
    if not (days.isascii() and days.isdecimal() and 0 < int(days[:6]) <= MOST_DAYS):
        faults.append(Fault("days", repr(days)[:60], f"1 to {MOST_DAYS}"))
    known = to_sign(papers)
    if form.get("paper") not in known:
        allowed = ", ".join(known) or "a contract first"
        faults.append(Fault("paper", repr(form.get("paper"))[:60], allowed))
    if faults:
        raise InputError(faults)
    of, _, number = form.get("paper").partition("-")
    paper = next(p for p in papers if (p["kind"], p["number"]) == (of, int(number)))
    secret, until = token_urlsafe(32), datetime.now(UTC) + timedelta(days=int(days))
    data = {"reader": reader, "of": of, "number": int(number), "content": fingerprint(paper),
            "until": until.isoformat(timespec="seconds"), "hash": digest(secret)}  # fmt: skip
    record = store.records.add(job, KIND, data, who)
    return SigningLink.of_record(record), f"/sign/{job}/{record.id}.{secret}"


@router.get("/sign/{job}/{token}")
def sign_page(request: Request, job: str, token: str, language: Language = "en") -> Response:
    """The paper and the place to sign it; once signed, what was signed."""
    return _shown(request, _link(request, job, token), token, language)


@router.get("/sign/{job}/{token}/paper.pdf")
def sign_pdf(request: Request, job: str, token: str, language: Language = "en") -> Response:
    """The paper, for the signer to keep."""
    link = _link(request, job, token)
    _paper(web_of(request).store, link)
    made = issuing.paper_pdf(web_of(request).store, job, link.of, link.number, language)
    headers = {"content-disposition": f'inline; filename="{link.of}-{link.number}.pdf"'}
    return Response(made, media_type="application/pdf", headers=headers)


@router.post("/sign/{job}/{token}/signature")
def sign(request: Request, job: str, token: str, form: Form, language: Language = "en") -> Response:
    """Sign the paper as it was shown."""
    store, link = web_of(request).store, _link(request, job, token)
    faults = []
    if folded(form.get("name")) != folded(link.reader):
        faults.append(Fault("your name", form.get("name")[:60] or "nothing", link.reader))
    if form.get("agreed") != "yes":
        faults.append(Fault("the box", "not ticked", "ticked, where you have read the paper"))
    if not faults:
        try:
            made = _signed(store, link, form.get("content"), language)
        except InputError as error:
            faults = list(error.faults)
        else:
            _note("signed", link, request)
            return then(f"/sign/{job}/{token}?language={language}#signature-{made['number']}")
    _note("refused a signature", link, request)
    return _shown(request, link, token, language, tuple(faults), 422)


def _signed(store: Store, link: SigningLink, sent: str, language: Language) -> Json:
    """The signature, all that speaks against it looked for in the transaction that keeps it.

    Of two that are sent at once, the second finds the first.

    Raises
    ------
    InputError
        The link has ended or was used, the paper is not the one that was shown, another stands in
        its place, or this person has signed it.
    """
    now, style = datetime.now(UTC), style_of_job(store, link.job, language)

    def content(papers: Sequence[Json]) -> Json:
        fault = _against(store, link, sent, papers)
        if fault:
            raise InputError([Fault("signature", fault, "one, under the paper shown")])
        return {
            "of": link.of, "of_number": link.number, "content": sent, "name": link.reader,
            "at": now.isoformat(timespec="seconds"), "link": link.id,
            "said": style.sentence(say(SAID, name=link.reader)),
        }  # fmt: skip

    who = f"{link.reader[:68]} (by a link)"
    return issuing.issue(store, link.job, "signature", who, now.date(), content)


def _against(store: Store, link: SigningLink, sent: str, papers: Sequence[Json]) -> str:
    """What keeps a link from being used; "" for nothing."""
    from warmside.contract import fingerprint

    paper = next((p for p in papers if (p["kind"], p["number"]) == (link.of, link.number)), None)
    if not link.open or link not in signing_links(store, link.job):
        return "a link that has ended"
    if paper is None or not fingerprint(paper) == link.content == sent:
        return "another paper than the one shown"
    if any(p["kind"] == link.of and p.get("supersedes") == link.number for p in papers):
        return "a paper that another stands in the place of"
    given = (one for one in issuing.signatures_of(papers) if one.holds(paper))
    if any(one.link == link.id or folded(one.name) == folded(link.reader) for one in given):
        return "a second signature of the same person"
    return ""


def _paper(store: Store, link: SigningLink) -> Json:
    """The paper of a link, where it still is the one that the link was made for."""
    from warmside.contract import fingerprint

    for paper in issuing.papers_of(store, link.job):
        if (paper["kind"], paper["number"]) == (link.of, link.number):
            if fingerprint(paper) == link.content:
                return paper
            break
    raise Problem(409, "The paper was changed", "Ask who gave you this link for a new one.")


def _shown(
    request: Request,
    link: SigningLink,
    token: str,
    language: Language,
    faults: tuple[Fault, ...] = (),
    status: int = 200,
) -> Response:
    store = web_of(request).store
    _paper(store, link)
    papers = issuing.papers_of(store, link.job)
    view = issuing.paper_view(store, link.job, link.of, link.number)
    mine = [one for one in issuing.signatures_of(papers) if one.link == link.id]
    return page(
        request, "sign", status, write=style_of_job(store, link.job, language), link=link,
        view=view, token=token, language=language, faults=faults,
        said_sentence=say(SAID, name=link.reader),
        signature=mine[0] if mine else None, closed=_against(store, link, link.content, papers),
    )  # fmt: skip


def _link(request: Request, job: str, token: str) -> SigningLink:
    """The link of an address; the same answer for one that ended and one that never was."""
    record = opened(request, job, token, KIND)
    link = SigningLink.of_record(record)
    _note("opened", link, request)
    return link


def _note(what: str, link: SigningLink, request: Request) -> None:
    address = request.client.host if request.client else ""
    _LOG.info("signing link %s: %s of job %s, from %s", what, link.id, link.job, shown(address))


def end(store: Store, job: str, link: str, who: str) -> bool:
    """End a link before its day; False where there is no such one."""
    if store.records.get(job, link).kind != KIND:
        return False
    store.records.withdraw(job, link, who)
    return True
