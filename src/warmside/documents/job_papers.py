"""The numbered papers of a job and its warranty card, as their reader writes and counts."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, date
from decimal import Decimal
from itertools import chain
from typing import Any

from warmside.contract import (
    Account,
    Agreement,
    Change,
    Invoice,
    Notice,
    Order,
    Paper,
    Receipt,
    Signature,
)
from warmside.documents.offer_paper import beside
from warmside.documents.picture import Picture
from warmside.documents.typesetting import PaperSize, PaperView, typeset
from warmside.errors import Fault, InputError, inert
from warmside.estimate import Contractor
from warmside.study.report.passage import Passage as Section
from warmside.study.report.passage import Row
from warmside.wording import Figure, Sentence, Style, from_plain, joined, plain, say

_TITLES = {
    "contract": "Contract", "change": "Change order", "invoice": "Invoice", "receipt": "Receipt",
    "order": "Order", "permit": "Letter for the permit", "insurer": "Letter to the insurer",
    "rebate": "Rebate file", "signature": "Signature",
}  # fmt: skip
_LAW = say("Local law and the local official decide where they differ from this paper.")


@dataclass(frozen=True)
class Letter:
    """Whose paper it is, and for whom."""

    house: str
    place: str
    client: str
    contractor: Contractor
    prices_invented: bool
    mark: Picture | None = None


@dataclass(frozen=True)
class JobPaper(PaperView):
    """One paper as it is printed."""

    title: str
    number: str
    to: Sentence  # whom it is for, beside the client
    replaces: Sentence  # what it stands in the place of
    contractor: Contractor
    mark: Picture | None
    sections: tuple[Section, ...]
    signatures: tuple[str, ...] = ()
    closing: tuple[Sentence, ...] = field(default_factory=tuple)


def job_paper(
    paper: Paper,
    account: Account | None,
    letter: Letter,
    size: PaperSize = "us-letter",
    signed_by: Sequence[Signature] = (),
) -> JobPaper:
    """A numbered paper of a job, ready to be set.

    Parameters
    ----------
    paper : Paper
        As it is kept.
    account : Account, optional
        Of the job as it stood when the paper was given out; needed where it is about money.
    letter : Letter
        Its head.
    size : {"us-letter", "a4"}
        Of the sheet.
    signed_by : sequence of Signature
        Under this very paper, by a link.
    """
    signed: tuple[str, ...] = _BOTH
    match paper:
        case Agreement():
            sections = _contract(paper)
        case Change():
            sections = _change(paper, _of(account, paper))
        case Invoice():
            sections, signed = _invoice(paper, _of(account, paper), letter.contractor), ()
        case Receipt():
            sections, signed = _receipt(paper, _of(account, paper)), ()
        case Order():
            sections, signed = iter(_read(paper.passages)), _ORDERED
        case Notice():
            sections, signed = iter(_read(paper.passages)), _OURS
        case Signature():
            sections, signed = _signature(paper), ()
    if signed_by:
        sections = chain(sections, [_signatures(signed_by)])
    title = _TITLES[paper.kind]
    made = _made(title, str(paper.number), paper.date, sections, letter, signed, size)
    to = plain(paper.to) if isinstance(paper, Order) else Sentence()
    return replace(made, to=to, replaces=_replaces(paper))


_BOTH = ("Client", "Date", "Contractor", "Date")
_ORDERED = ("Ordered by", "Date", "Accepted by", "Date")
_OURS = ("Contractor", "Date")


def _of(account: Account | None, paper: Paper) -> Account:
    if account is None:
        raise InputError([Fault(paper.kind, "no contract before it", "the contract first")])
    return account


def _replaces(paper: Paper) -> Sentence:
    if not paper.supersedes:
        return Sentence()
    number = Figure(paper.supersedes, "number")
    return say("It stands in the place of number {number}.", number=number)


def _read(passages: Iterable[Mapping[str, Any]]) -> tuple[Section, ...]:
    """Passages that were kept, their sentences and figures read back."""
    read = [json.loads(json.dumps(one), object_hook=from_plain) for one in passages]
    return tuple(
        Section(
            one["heading"],
            tuple(one["lines"]),
            tuple(Row(**row) for row in one["rows"]),
            tuple(one["head"]),
            tuple(tuple(row) for row in one["table"]),
            one["safety"],
        )
        for one in read
    )


def _made(
    title: str,
    number: str,
    day: date,
    sections: Iterator[Section],
    letter: Letter,
    signed: tuple[str, ...],
    size: PaperSize,
) -> JobPaper:
    return JobPaper(
        title=title,
        number=number,
        to=Sentence(),
        replaces=Sentence(),
        house=letter.house,
        place=letter.place,
        client=letter.client,
        date=day,
        prepared_by=letter.contractor.name,
        contractor=letter.contractor,
        mark=letter.mark,
        sections=tuple(sections),
        signatures=signed,
        prices_invented=letter.prices_invented,
        paper=size,
        closing=(_LAW,) if signed else (),
    )


def set_paper(view: JobPaper, style: Style) -> bytes:
    """The paper as a tagged PDF (PDF/UA-1, PDF/A-2a)."""
    sections = tuple(
        replace(one, lines=(*one.lines, *beside([*map(plain, one.lines)], style)))
        if one.safety
        else one
        for one in view.sections
    )
    return typeset("job_paper", replace(view, sections=sections), view.date, style)


def _cents(amount: Decimal, currency: str) -> Figure:
    return Figure(float(amount), "cents", currency=currency)


def _total(amount: Decimal, currency: str, name: str = "Total") -> Row:
    return Row(name, _cents(amount, currency), strong=True)


def _report(paper: Agreement) -> dict[str, Any]:
    """The report of the offer, its sentences and figures read back."""
    read: dict[str, Any] = json.loads(json.dumps(paper.offer), object_hook=from_plain)
    return read


def _contract(paper: Agreement) -> Iterator[Section]:
    report, currency = _report(paper), paper.currency
    if report:
        yield Section(
            "What we do",
            (
                *(_scope(row) for row in report["scope"]),
                *report["left"],
            ),
        )
        yield Section("Also in the price", tuple(report.get("included", ())))
        yield Section("What you do", tuple(report["duties"]))
        yield Section("To stay safe", tuple(report.get("safety", ())), safety=True)
        for heading, key in (("Not in this price", "excluded"), ("When", "schedule")):
            yield Section(heading, tuple(report[key]))
        yield Section(
            "What must be mended first",
            tuple(
                say("{who}: {what}.", who=m["who"], what=m["what"]) for m in report["mend_first"]
            ),
        )
    rows = [Row(name, _cents(amount, currency)) for name, amount in paper.money.lines]
    yield Section("What you pay", rows=(*rows, _total(paper.money.total, currency)))
    parts = _stages(paper)
    yield Section("When it is due", rows=tuple(Row(n, _cents(a, currency)) for n, a in parts))
    conditions = tuple(report["conditions"]) if report else ()
    yield Section("What holds for both of us", (*conditions, _WRITTEN, _STOP))


_WRITTEN = say("This paper and its change orders are all that is agreed.")
_STOP = say("Either of us may stop the work when a hidden danger is found, until it is cleared.")


def _scope(row: dict[str, Any]) -> Sentence:
    if row.get("rooms"):
        return say(
            "{wall}: {rooms} ({area}): {work}. {side}",
            wall=row["wall"],
            rooms=row["rooms"],
            area=row["area"],
            work=row["work"],
            side=row["side"],
        )
    return say(
        "{wall} ({area}): {work}. {side}",
        wall=row["wall"],
        area=row["area"],
        work=row["work"],
        side=row["side"],
    )


def _stages(paper: Agreement) -> list[tuple[str, Decimal]]:
    from warmside.estimate import coin, parts_of

    shares = [stage.share for stage in paper.stages]
    amounts = parts_of(paper.money.total, shares, coin(paper.currency))
    return [(s.name, a) for s, a in zip(paper.stages, amounts, strict=True)]


def _change(paper: Change, account: Account) -> Iterator[Section]:
    currency = account.money.currency
    more = account.taxed(paper.before_tax)
    yield Section("What was found", (paper.found,))
    if paper.promise:
        yield Section("What it changes in what we promise", (paper.promise,))
    days = Figure(abs(paper.days), "count", noun="day")
    moved = "{days} later." if paper.days > 0 else "{days} earlier."
    yield Section(
        "What it changes in the days",
        (say(moved, days=days) if paper.days else say("Nothing."),),
    )
    rows = [Row(name, _cents(amount, currency)) for name, amount in more.lines]
    before = account.money.total - more.total
    yield Section(
        "What it changes in the price",
        rows=(
            *rows,
            _total(more.total, currency, "This change"),
            Row("The contract before", _cents(before, currency)),
            _total(account.money.total, currency, "The contract now"),
        ),
    )
    yield Section("Signed", (say("{who} agreed to this on the date above.", who=paper.signed_by),))


def _invoice(paper: Invoice, account: Account, contractor: Contractor) -> Iterator[Section]:
    currency = account.money.currency
    rows = [Row(line.name, _cents(line.amount, currency)) for line in paper.lines]
    yield Section(
        "What is due",
        (say("For: {stage}.", stage=paper.stage),),
        (
            *rows,
            _total(paper.total, currency),
            *((Row("Kept back", _cents(-paper.held, currency)),) if paper.held else ()),
            _total(paper.due, currency, "To pay now"),
        ),
    )
    yield Section(
        "Where the contract stands",
        rows=(
            Row("The contract now", _cents(account.money.total, currency)),
            Row("Asked for, with this invoice", _cents(account.asked.total, currency)),
            Row("Kept back in all", _cents(account.held, currency)),
            Row("Paid", _cents(account.paid, currency)),
            Row("Still to be asked for", _cents(account.left, currency)),
        ),
    )
    if contractor.tax_number:
        yield Section("Tax number", (contractor.tax_number,))


def _signature(paper: Signature) -> Iterator[Section]:
    """What was signed, by whom and when, and how to tell whether it is still the same."""
    number = Figure(paper.of_number, "number")
    what = say("{paper} {number}, dated and kept under this fingerprint:", number=number,
               paper=say(_TITLES[paper.of]))  # fmt: skip
    yield Section("What was signed", (what, paper.content))
    yield Section("Signed", (_by(paper), say(paper.said)))
    yield Section("What this is", (FINGERPRINT, LAW_OF_SIGNATURES))


FINGERPRINT = say(
    "A fingerprint is a number worked out from every word of the paper (SHA-256). Change one word, "
    "and it is another."
)
LAW_OF_SIGNATURES = say(
    "Local law decides whether a signature given on a screen binds, and how long you may cancel. "
    "Keep a copy of your own."
)


def _by(paper: Signature) -> Sentence:
    at = paper.at.astimezone(UTC)
    return say("{name} signed on {day} at {time} UTC.", name=paper.name, day=f"{at:%Y-%m-%d}",
               time=f"{at:%H:%M}")  # fmt: skip


def _signatures(signed_by: Sequence[Signature]) -> Section:
    """Who signed a paper by a link, below it."""
    lines = [
        say("{who} Signature {number}.", who=_by(one), number=Figure(one.number, "number"))
        for one in signed_by
    ]
    return Section("Signed on a screen", (*lines, LAW_OF_SIGNATURES))


def _receipt(paper: Receipt, account: Account) -> Iterator[Section]:
    currency = account.money.currency
    number = Figure(paper.invoice, "number")
    what = say("Paid on invoice {number}.", number=number)
    how = [say("How: {how}.", how=paper.how)] if paper.how else []
    yield Section(
        "Received with thanks",
        (joined([what, *how]),),
        (
            _total(paper.amount, currency, "Paid with this"),
            Row("Paid in all", _cents(account.paid, currency)),
            Row("Still due", _cents(account.due, currency)),
        ),
    )


CARE = (
    say("Hang pictures with short screws. Seal any hole you make in an outside wall."),
    say("Tell anyone who opens a wall what is in it. Keep this card with the house."),
    say("Keep the fans running that bring fresh air. Clean their grilles twice a year."),
    say("Read the wood moisture once a year where we marked it. Dry wood reads under 19 %."),
    say("Call us if you see water, stains, mould or smell something odd."),
)


def warranty_card(
    paper: Agreement,
    letter: Letter,
    day: date,
    years: int,
    size: PaperSize = "us-letter",
) -> JobPaper:
    """What is stood behind, for how long, what ends it, and who is called.

    Parameters
    ----------
    paper : Agreement
        The contract.
    letter : Letter
        Its head.
    day : date
        From when it runs.
    years : int
        On the work; 0 where the contractor said nothing.
    size : {"us-letter", "a4"}
        Of the sheet.
    """
    report = _report(paper)
    scope = tuple(_scope(row) for row in report.get("scope", ()))
    span = Figure(years, "count", noun="year")
    holds = (
        say("We stand behind our work for {years} from the date above.", years=span)
        if years
        else say("Warranty: as the contract says.")
    )
    ends = say("It ends where others open, wet or heat the wall, or take its cover off.")
    makers = say("Makers stand behind their materials: keep the labels with this card.")
    one = letter.contractor
    call = ", ".join(filter(None, (one.name, one.phone, one.email)))
    sections = iter(
        (
            Section("What we did", scope),
            Section("What we stand behind", (holds, makers, ends)),
            Section("Care", CARE),
            Section("Who to call", (call,)),
        )
    )
    return _made("Warranty card", str(paper.number), day, sections, letter, (), size)


_SI = {"area": "m2", "resistance": "m2 K/W", "flow": "m3/s", "air change": "1/h at 50 Pa"}
_CSV = ("of", "what", "value", "unit")


def rebate_csv(paper: Notice) -> str:
    """The figures of a rebate file as a table, one a row, in SI units.

    Parameters
    ----------
    paper : Notice
        The rebate file as it is kept.
    """
    buffer = io.StringIO()
    writer = csv.writer(buffer, lineterminator="\r\n")
    writer.writerow(_CSV)
    for passage in _read(paper.passages):
        for first, *cells in passage.table:
            for head, cell in zip(passage.head[1:], cells, strict=True):
                if isinstance(cell, Figure):
                    writer.writerow((inert(str(first)), head, *_si(cell)))
        for line in passage.lines:
            for figure in line.figures if isinstance(line, Sentence) else ():
                of = str(inert(_about(line)))
                writer.writerow((of, figure.kind, *_si(figure)))
    return buffer.getvalue()


def _about(line: Sentence | str) -> str:
    """The words of a sentence up to its first colon: what it is about."""
    return str(line).partition(":")[0]


def _si(figure: Figure) -> tuple[str, str]:
    return f"{figure.value:.6g}", _SI.get(figure.kind, figure.unit)
