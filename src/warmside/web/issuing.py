"""Giving out the papers of a job: the next of a kind, its number and content in one transaction.

Used by the pages and the command line alike; nothing here computes but the account.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from datetime import date
from decimal import Decimal, InvalidOperation
from typing import TYPE_CHECKING, Any, Literal, get_args

from warmside.errors import Fault, InputError
from warmside.store import Store
from warmside.web import cached
from warmside.web.letterhead import letter_of, prices_of, style_of_job
from warmside.web.studies import standing
from warmside.wording import Language, to_plain

if TYPE_CHECKING:
    from warmside.contract import Account, Signature
    from warmside.documents import JobPaper

Json = dict[str, Any]
Letters = Literal["permit", "insurer", "rebate"]
_MOST = Decimal(10) ** 7


def papers_of(store: Store, job: str) -> tuple[Json, ...]:
    """All papers of a job, oldest first."""
    return store.papers.of(job)


def account_of(store: Store, job: str) -> Account | None:
    """Where the money of a job stands; None before there is a contract."""
    from warmside.contract import read_account

    return read_account(store.papers.of(job))


def issue_contract(store: Store, job: str, accepted_by: str, who: str, today: date) -> Json:
    """The contract of what the study puts forward, as it is offered now.

    Raises
    ------
    InputError
        The job is not studied as it stands, nothing is to be done, or something has no price.
    """
    dossier = _studied(store, job, "contract")
    asked = dossier["asked"]
    if Decimal(asked["before_tax"]) <= 0:
        raise InputError([Fault("contract", "nothing is to be done", "a wall that is worked on")])
    if asked["missing"]:
        read = f"no price for: {'; '.join(asked['missing'])}"[:300]
        raise InputError([Fault("contract", read, "every line with its price")])

    terms = {key: asked[key] for key in _TERMS}
    content = {"accepted_by": accepted_by, "offer": to_plain(dossier["offer"]), **terms}
    return issue(store, job, "contract", who, today, lambda _: content)


def _studied(store: Store, job: str, kind: str) -> Json:
    """What the study of the job as it stands tells."""
    found = standing(store, job)
    if not found.dossier or not found.fresh:
        read = "no study of the job as it stands"
        raise InputError([Fault(kind, read, "the study first; then what it offers")])
    return found.dossier


def issue_orders(store: Store, job: str, who: str, today: date) -> tuple[Json, ...]:
    """An order for the materials and one for each trade, where it says something new.

    Raises
    ------
    InputError
        The job is not studied as it stands, nothing is to be done, or all was ordered so.
    """
    told = to_plain(_studied(store, job, "order")["papers"]["orders"])
    standing_ = {p["to"]: p for p in store.papers.of(job) if p["kind"] == "order"}
    new = [o for o in told if standing_.get(o["to"], {}).get("passages") != o["passages"]]
    if not new:
        read = "every order as it was given out" if told else "nothing to be done"
        raise InputError([Fault("order", read, "a study that asks for something else")])
    return tuple(issue(store, job, "order", who, today, _always(order)) for order in new)


def issue_letter(store: Store, job: str, kind: Letters, who: str, today: date) -> Json:
    """The letter for the permit or to the insurer, or the rebate file with its fan tests."""
    passages = to_plain(_studied(store, job, kind)["papers"][kind])
    if kind == "rebate":
        passages = [_with_tests(one, store, job) for one in passages]
    return issue(store, job, kind, who, today, _always({"passages": passages}))


def _always(content: Json) -> Callable[[Sequence[Json]], Json]:
    return lambda _: content


def _with_tests(passage: Json, store: Store, job: str) -> Json:
    """The passage on leakage with the fan test after the work, as it was recorded."""
    from warmside.study.report.letters import measured
    from warmside.wording import say

    if passage["heading"] != "Air leakage":
        return passage
    records = store.records.of(job, "fan-test")
    if records:
        data = records[-1].data
        volume = cached.read(store.text("survey", job).text).house.volume
        line = measured(say("after"), data.get("flow_50"), volume, str(data.get("day", "")))
    else:
        line = say("No fan test after the work was recorded.")
    return passage | {"lines": [*passage["lines"], to_plain(line)]}


_TERMS = ("currency", "before_tax", "taxes", "rates", "stages", "holdback", "plan")


def issue_change(store: Store, job: str, typed: Mapping[str, str], who: str, today: date) -> Json:
    """A change order, signed by whoever is named.

    Parameters
    ----------
    typed : mapping
        ``found``, ``promise``, ``days``, ``price`` (before tax, may be negative), ``signed_by``.
    """

    def content(papers: Sequence[Json]) -> Json:
        account = _account(papers)
        money = account.taxed(amount_of("price", typed.get("price", "") or "0"))
        (_, before), *taxes = money.lines
        if account.money.total + money.total < 0:
            fault = Fault("change, price", str(before), "a contract that is worth something yet")
            raise InputError([fault])
        return {
            "found": typed.get("found", "").strip(),
            "promise": typed.get("promise", "").strip(),
            "days": _whole(typed.get("days", "") or "0"),
            "before_tax": str(before),
            "taxes": [{"name": name, "amount": str(amount)} for name, amount in taxes],
            "signed_by": typed.get("signed_by", "").strip(),
        }

    return issue(store, job, "change", who, today, content)


def issue_invoice(store: Store, job: str, who: str, today: date) -> Json:
    """The invoice of the next stage; after the last, of what was kept back."""

    def content(papers: Sequence[Json]) -> Json:
        account = _account(papers)
        stage, lines, held = account.invoice()
        done = min(account.stages_done + 1, len(account.stages))
        return {
            "stage": stage,
            "lines": [{"name": name, "amount": str(amount)} for name, amount in lines.lines],
            "held": str(held),
            "stages_done": done,
        }

    return issue(store, job, "invoice", who, today, content)


def issue_receipt(store: Store, job: str, typed: Mapping[str, str], who: str, today: date) -> Json:
    """A receipt for money that came in: ``invoice`` (its number), ``amount``, ``how``."""

    def content(papers: Sequence[Json]) -> Json:
        account = _account(papers)
        invoice = _whole(typed.get("invoice", ""))
        known = [p["number"] for p in papers if p["kind"] == "invoice"]
        if invoice not in known:
            allowed = ", ".join(map(str, known)) or "an invoice first"
            raise InputError([Fault("receipt, invoice", str(invoice), allowed)])
        amount = amount_of("amount", typed.get("amount", ""))
        if amount > account.due:
            raise InputError([Fault("receipt, amount", str(amount), f"up to {account.due}")])
        return {
            "invoice": invoice,
            "amount": str(amount),
            "how": typed.get("how", "").strip(),
        }

    return issue(store, job, "receipt", who, today, content)


def _account(papers: Sequence[Json]) -> Account:
    from warmside.contract import read_account

    account = read_account(papers)
    if account is None:
        raise InputError([Fault("paper", "no contract", "the contract first")])
    return account


def issue(
    store: Store,
    job: str,
    kind: str,
    who: str,
    today: date,
    content: Callable[[Sequence[Json]], Json],
) -> Json:
    """The next paper of a kind: its head, and what it says after all papers before it.

    ``content`` is asked within the transaction that keeps the paper.
    """
    from warmside.contract import read_paper, superseded

    def made(number: int, papers: Sequence[Json]) -> Json:
        head = {"kind": kind, "number": number, "date": today.isoformat(), "by": who}
        told = content(papers)
        old = superseded(papers, kind, told.get("to", ""))
        return read_paper(head | {"supersedes": old} | told).model_dump(mode="json")

    return store.papers.issue(job, kind, made, who)


def amount_of(place: str, text: str) -> Decimal:
    """Money as people type it: ``1,250.50``, ``-300``, ``1 250,50 $``."""
    plain = "".join(c for c in text if c not in " \u00a0\u202f$")
    if plain.count(",") == 1 and "." not in plain and len(plain.partition(",")[2]) == 2:
        plain = plain.replace(",", ".")
    plain = plain.replace(",", "")
    try:
        amount = Decimal(plain)
    except InvalidOperation:
        amount = Decimal("nan")
    if not amount.is_finite() or abs(amount) > _MOST or amount != round(amount, 2):
        raise InputError([Fault(place, repr(text)[:40], "an amount such as 1250.50")])
    return amount


def _whole(text: str) -> int:
    if not text.strip().lstrip("-").isdecimal() or len(text) > 9 or not text.isascii():
        raise InputError([Fault("number", repr(text)[:40], "a whole number")])
    return int(text)


def paper_pdf(
    store: Store,
    job: str,
    kind: str,
    number: int,
    language: Language = "en",
    size: Any = "us-letter",
) -> bytes | None:
    """A numbered paper as PDF, by the account as it stood then; None: no such paper."""
    from warmside.contract import Agreement, read_paper
    from warmside.documents import set_paper, warranty_card

    papers = store.papers.of(job)
    style = style_of_job(store, job, language)
    view = paper_view(store, job, kind, number, size)
    if view is not None:
        return set_paper(view, style.for_officials if kind in get_args(Letters) else style)
    for data in papers:
        if kind == "warranty" and data["kind"] == "contract" and data["number"] == number:
            paper = read_paper(data)
            if isinstance(paper, Agreement):
                years = prices_of(store, job).terms.warranty_years
                card = warranty_card(paper, letter_of(store, job), date.today(), years, size)
                return set_paper(card, style)
    return None


def paper_view(
    store: Store, job: str, kind: str, number: int, size: Any = "us-letter"
) -> JobPaper | None:
    """A numbered paper as it is printed, who signed it below; None: no such paper."""
    from warmside.contract import read_account, read_paper
    from warmside.documents import job_paper

    papers = store.papers.of(job)
    for place, data in enumerate(papers):
        if (data["kind"], data["number"]) == (kind, number):
            signed = [one for one in signatures_of(papers) if one.holds(data)]
            account = read_account(papers[: place + 1])
            return job_paper(read_paper(data), account, letter_of(store, job), size, signed)
    return None


def signatures_of(papers: Sequence[Json]) -> tuple[Signature, ...]:
    """Every signature that was given by a link, the first one first."""
    from warmside.contract import Signature, read_paper

    read = (read_paper(data) for data in papers if data["kind"] == "signature")
    return tuple(one for one in read if isinstance(one, Signature))


def rebate_table(store: Store, job: str, number: int) -> str | None:
    """The figures of a rebate file as CSV; None: no such paper."""
    from warmside.contract import Notice, read_paper
    from warmside.documents import rebate_csv

    for data in store.papers.of(job):
        if (data["kind"], data["number"]) == ("rebate", number):
            paper = read_paper(data)
            return rebate_csv(paper) if isinstance(paper, Notice) else None
    return None


def reminder_of(store: Store, job: str, language: Language, today: date) -> str:
    """The yearly reminder to read the wood, as a calendar file."""
    from datetime import UTC, datetime

    from warmside.contract import reminder
    from warmside.wording import say

    letter, style = letter_of(store, job), style_of_job(store, job, language)
    one = letter.contractor
    call = ", ".join(filter(None, (one.name, one.phone)))
    text = say("Read the wood where it is marked. Above 19 % twice running: call {who}.", who=call)
    return reminder(
        job,
        letter.house,
        style.sentence(say("Read the wood moisture")),
        style.sentence(text),
        date(today.year + 1, 10, 1),
        datetime.now(UTC),
    )
