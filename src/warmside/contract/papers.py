"""The papers of a job as they are kept, each with its number; none changes once given out."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from datetime import date
from decimal import Decimal
from hashlib import sha256
from typing import Annotated, Any, Literal, get_args

from pydantic import AwareDatetime, BaseModel, ConfigDict, Field, ValidationError, model_validator

from warmside.contract.account import BEFORE_TAX, Account, Money
from warmside.errors import Fault, InputError
from warmside.estimate import Stage

PaperKind = Literal[
    "contract", "change", "invoice", "receipt", "order", "permit", "insurer", "rebate", "signature"
]
KINDS: tuple[PaperKind, ...] = get_args(PaperKind)
Signed = Literal["contract", "change"]  # what somebody signs by a link
SIGNED: tuple[Signed, ...] = get_args(Signed)
Text = Annotated[str, Field(max_length=2000)]
Line = Annotated[str, Field(max_length=200)]
_MOST = Decimal(10) ** 9
Amount = Annotated[Decimal, Field(allow_inf_nan=False, ge=-_MOST, le=_MOST, decimal_places=3)]
Share = Annotated[Decimal, Field(allow_inf_nan=False, ge=0, le=1)]


class _Paper(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)

    number: Annotated[int, Field(ge=1)]
    date: date
    by: Line = ""  # who gave it out
    supersedes: Annotated[int, Field(ge=0)] = 0  # number of the one before it; 0: none


class Sum(BaseModel):
    """One named amount."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    name: Line
    amount: Amount


class Part(BaseModel):
    """A part of the price, and when it is due."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    name: Line
    share: Share


class _Priced(_Paper):
    """What changes the price of the job."""

    before_tax: Amount = Decimal(0)
    taxes: tuple[Sum, ...] = ()

    @property
    def amounts(self) -> tuple[tuple[str, Decimal], ...]:
        """The price before tax, then each tax."""
        return ((BEFORE_TAX, self.before_tax), *((t.name, t.amount) for t in self.taxes))


class Agreement(_Priced):
    """The contract: what was offered and accepted, in the words of the offer."""

    kind: Literal["contract"] = "contract"
    currency: Annotated[str, Field(pattern="^[A-Z]{3}$")]
    before_tax: Amount
    rates: tuple[Part, ...] = ()  # of the taxes, for changes
    stages: Annotated[tuple[Part, ...], Field(min_length=1, max_length=20)]
    holdback: Share = Decimal(0)
    plan: Line = ""
    accepted_by: Line = ""
    offer: dict[str, Any] = Field(default_factory=dict)  # the offer's report as it stood

    @model_validator(mode="after")
    def _whole(self) -> Agreement:
        if sum((stage.share for stage in self.stages), Decimal(0)) != 1:
            raise ValueError("stages: shares that add up to 1")
        if [r.name for r in self.rates] != [t.name for t in self.taxes]:
            raise ValueError("rates: one for each tax, in its order")
        return self

    @property
    def money(self) -> Money:
        """Its price."""
        return Money(self.currency, self.amounts)


class Change(_Priced):
    """A change order: what was found, what it changes in promise, price and days, who signed."""

    kind: Literal["change"] = "change"
    found: Annotated[str, Field(min_length=1, max_length=2000)]
    promise: Text = ""
    days: Annotated[int, Field(ge=-365, le=365)] = 0
    signed_by: Annotated[str, Field(min_length=1, max_length=200)]


class Invoice(_Paper):
    """What is asked for at a stage, and what of it is kept back."""

    kind: Literal["invoice"] = "invoice"
    stage: Line
    lines: Annotated[tuple[Sum, ...], Field(min_length=1)]
    held: Amount = Decimal(0)
    stages_done: Annotated[int, Field(ge=0)] = 0  # stages asked for with this one

    @property
    def total(self) -> Decimal:
        """With taxes."""
        return sum((line.amount for line in self.lines), Decimal(0))

    @property
    def due(self) -> Decimal:
        """What is to be paid now."""
        return self.total - self.held


class Receipt(_Paper):
    """What was paid."""

    kind: Literal["receipt"] = "receipt"
    invoice: Annotated[int, Field(ge=1)]
    amount: Annotated[Amount, Field(gt=0)]
    how: Line = ""


class Order(_Paper):
    """What is ordered, and of whom; no price of ours in it."""

    kind: Literal["order"] = "order"
    to: Annotated[str, Field(min_length=1, max_length=200)]  # a trade, or "materials"
    passages: tuple[dict[str, Any], ...]  # as the study told them then


class Notice(_Paper):
    """A letter to the official or the insurer, or the file of a programme that pays a part."""

    kind: Literal["permit", "insurer", "rebate"]
    passages: tuple[dict[str, Any], ...]


class Signature(_Paper):
    """One named person's signature under one paper, bound to what that paper says."""

    kind: Literal["signature"] = "signature"
    of: Signed
    of_number: Annotated[int, Field(ge=1)]
    content: Annotated[str, Field(pattern="^[0-9a-f]{64}$")]  # fingerprint of the paper signed
    name: Annotated[str, Field(min_length=1, max_length=80)]
    at: AwareDatetime
    said: Text  # what was agreed to, word for word
    link: Line  # by which it came

    def holds(self, paper: Mapping[str, Any]) -> bool:
        """Whether ``paper`` is the one signed, word for word."""
        same = (paper.get("kind"), paper.get("number")) == (self.of, self.of_number)
        return same and fingerprint(paper) == self.content


Paper = Agreement | Change | Invoice | Receipt | Order | Notice | Signature
_MODELS: Mapping[str, type[_Paper]] = {
    "contract": Agreement, "change": Change, "invoice": Invoice, "receipt": Receipt,
    "order": Order, "permit": Notice, "insurer": Notice, "rebate": Notice,
    "signature": Signature,
}  # fmt: skip


def fingerprint(paper: Mapping[str, Any]) -> str:
    """SHA-256 of all that a paper says, hexadecimal; the same for the same content."""
    text = json.dumps(dict(paper), sort_keys=True, allow_nan=False, separators=(",", ":"))
    return sha256(text.encode()).hexdigest()


def read_paper(data: Mapping[str, Any]) -> Paper:
    """A paper from what was kept or typed.

    Raises
    ------
    InputError
        Every fault, each with its field.
    """
    kind = str(data.get("kind", ""))
    if kind not in _MODELS:
        raise InputError([Fault("paper, kind", repr(kind)[:40], ", ".join(KINDS))])
    try:
        paper: Any = _MODELS[kind].model_validate(dict(data))
    except ValidationError as error:
        raise InputError([
            Fault(", ".join([kind, *map(str, one["loc"])]), repr(one["input"])[:80], one["msg"])
            for one in error.errors()
        ]) from None  # fmt: skip
    found: Paper = paper
    return found


def superseded(papers: Iterable[Mapping[str, Any]], kind: str, to: str = "") -> int:
    """Number of the paper that the next of a kind stands in the place of; 0 where there is none.

    Each change, invoice, receipt and signature stands for itself.
    """
    if kind in ("change", "invoice", "receipt", "signature"):
        return 0
    known = [p["number"] for p in papers if p["kind"] == kind and p.get("to", "") == to]
    return known[-1] if known else 0


def read_account(papers: Iterable[Mapping[str, Any]]) -> Account | None:
    """The account of a job from all its papers, oldest first; None before there is a contract."""
    read = [read_paper(data) for data in papers]
    contracts = [p for p in read if isinstance(p, Agreement)]
    if not contracts:
        return None
    now = contracts[-1]  # a later contract stands in the place of an earlier one
    changes = [p for p in read if isinstance(p, Change)]
    invoices = [p for p in read if isinstance(p, Invoice)]
    receipts = [p for p in read if isinstance(p, Receipt)]
    extra = Money(now.currency, ())
    for change in changes:
        extra = extra.plus(Money(now.currency, change.amounts))
    asked = Money(now.currency, ())
    for invoice in invoices:
        asked = asked.plus(Money(now.currency, tuple((s.name, s.amount) for s in invoice.lines)))
    return Account(
        money=now.money.plus(extra),
        rates=tuple((r.name, r.share) for r in now.rates),
        stages=tuple(Stage(s.name, s.share) for s in now.stages),
        holdback=now.holdback,
        asked=asked,
        stages_done=max((i.stages_done for i in invoices), default=0),
        held=sum((i.held for i in invoices), Decimal(0)),
        paid=sum((r.amount for r in receipts), Decimal(0)),
    )
