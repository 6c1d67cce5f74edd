"""The papers of a job: the study's, and those that are numbered: contract to receipt."""

from __future__ import annotations

from datetime import date
from typing import get_args

from fastapi import APIRouter, Request
from fastapi.responses import Response

from warmside.errors import Fault, InputError
from warmside.web import issuing
from warmside.web.dossier import OFFERED
from warmside.web.forms import Form
from warmside.web.pages import page, then
from warmside.web.problem import Problem
from warmside.web.studies import standing
from warmside.web.web import caller_of, web_of
from warmside.wording import Language

router = APIRouter(include_in_schema=False)
_KINDS = {"contract": "Contract", "change": "Change order", "invoice": "Invoice",
          "receipt": "Receipt", "order": "Order", "permit": "Letter for the permit",
          "insurer": "Letter to the insurer", "rebate": "Rebate file",
          "signature": "Signature"}  # fmt: skip


@router.get("/jobs/{job}/papers")
def papers(request: Request, job: str) -> Response:
    """What can be handed out, and what comes next."""
    return show_papers(request, job)


@router.post("/jobs/{job}/papers/{kind}")
def give_out(request: Request, job: str, kind: str, form: Form) -> Response:
    """Give out the next paper of a kind."""
    store, who, today = web_of(request).store, caller_of(request).name, date.today()
    texts = {name: form.get(name)[:2000] for name in form.texts}
    try:
        match kind:
            case "contract":
                made = issuing.issue_contract(store, job, texts.get("accepted_by", ""), who, today)
            case "change":
                made = issuing.issue_change(store, job, texts, who, today)
            case "invoice":
                made = issuing.issue_invoice(store, job, who, today)
            case "receipt":
                made = issuing.issue_receipt(store, job, texts, who, today)
            case "order":
                made = issuing.issue_orders(store, job, who, today)[-1]
            case "permit" | "insurer" | "rebate":
                made = issuing.issue_letter(store, job, kind, who, today)
            case _:
                raise Problem(404, "Not found", f"Papers are: {', '.join(_KINDS)}.")
    except InputError as error:
        return show_papers(request, job, texts | {"kind": kind}, error.faults, 422)
    return then(f"/jobs/{job}/papers#{kind}-{made['number']}")


@router.get("/jobs/{job}/papers/{kind}/{number}.pdf")
def paper(request: Request, job: str, kind: str, number: int, language: str = "en") -> Response:
    """A numbered paper, in the client's language."""
    found = issuing.paper_pdf(web_of(request).store, job, kind, number, _language(language))
    if found is None:
        raise Problem(404, "Not found", "No paper of this job has that number.")
    return _file(found, "application/pdf", f"{kind}-{number}.pdf")


@router.get("/jobs/{job}/papers/rebate/{number}.csv")
def rebate_csv(request: Request, job: str, number: int) -> Response:
    """The figures of a rebate file as a table."""
    text = issuing.rebate_table(web_of(request).store, job, number)
    if text is None:
        raise Problem(404, "Not found", "No paper of this job has that number.")
    return _file(text.encode("utf-8-sig"), "text/csv; charset=utf-8", f"rebate-{number}.csv")


@router.get("/jobs/{job}/money.csv")
def money(request: Request, job: str) -> Response:
    """The money of the job as a table for the bookkeeper."""
    from warmside.contract import money_csv

    text = money_csv(issuing.papers_of(web_of(request).store, job))
    return _file(text.encode("utf-8-sig"), "text/csv; charset=utf-8", f"money-{job}.csv")


@router.get("/jobs/{job}/reminder.ics")
def reminder(request: Request, job: str, language: str = "en") -> Response:
    """The yearly reminder to read the wood."""
    store = web_of(request).store
    text = issuing.reminder_of(store, job, _language(language), date.today())
    return _file(text.encode(), "text/calendar; charset=utf-8", f"moisture-{job}.ics")


def _language(text: str) -> Language:
    if text not in OFFERED:
        raise Problem(404, "Not in this language", f"Papers are written in: {', '.join(OFFERED)}.")
    found: Language = next(one for one in get_args(Language) if one == text)
    return found


def _file(content: bytes, media: str, name: str) -> Response:
    headers = {"content-disposition": f'inline; filename="{name}"'}
    return Response(content, media_type=media, headers=headers)


def _row(one: issuing.Json) -> issuing.Json:
    """A paper as the list shows it."""
    told = (one.get(key, "") for key in ("stage", "found", "plan", "how", "to"))
    what = " ".join(filter(None, [*told, str(one.get("amount", ""))]))
    if one["kind"] == "signature":
        what = f"{_KINDS[one['of']]} {one['of_number']} signed by {one['name']}"
    head = {key: one[key] for key in ("kind", "number", "date")}
    return head | {"what": what, "supersedes": one.get("supersedes", 0)}


def show_papers(
    request: Request,
    job: str,
    typed: dict[str, str] | None = None,
    faults: tuple[Fault, ...] = (),
    status: int = 200,
) -> Response:
    """The page of the papers, with what was typed where something was refused."""
    store = web_of(request).store
    account = issuing.account_of(store, job)
    return page(
        request, "papers", status, store.job(job), stands=standing(store, job), kinds=_KINDS,
        given=[_row(one) for one in issuing.papers_of(store, job)], account=account,
        typed=typed or {}, faults=faults, mark=store.text("mark", job),
    )  # fmt: skip
