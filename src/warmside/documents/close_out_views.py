"""What the close-out shows, as plain data: every text as the reader sees it, with its sources."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Literal

from warmside.documents.annex_data import Picture
from warmside.promises import Verdict
from warmside.study.report import Statement
from warmside.wording import Sentence, Source


@dataclass(frozen=True)
class ReceiptRow:
    """One part of the house: what was installed there. Parts are never added together."""

    part: str
    product: str
    area: str
    thickness: str
    resistance: str  # of the product for that thickness, by its table
    how: str  # how the thickness is known
    sources: tuple[Source, ...] = ()


@dataclass(frozen=True)
class KeptRow:
    """One promise: promised, measured, verdict."""

    promise: str
    name: str
    promised: str
    measured: str
    computed: str  # what follows from what was measured
    limit: str
    verdict: Verdict
    basis: str
    reason: str
    sources: tuple[Source, ...] = ()


@dataclass(frozen=True)
class PromiseSum:
    """A promise in a word, its verdict, and in how many findings."""

    promise: str
    verdict: Verdict
    holds: int
    short: int
    person: int


@dataclass(frozen=True)
class ProbeRow:
    """The probes of one wall."""

    wall: str
    rule: str
    sold: str
    probes: str
    mean: str
    least: str
    verdict: Verdict
    why: str


@dataclass(frozen=True)
class WorkRow:
    """One work that a finding asked for, and whether somebody signed that it was done."""

    name: str
    what: Sentence
    accepted: str
    signed: str
    warranty: str


@dataclass(frozen=True)
class WallProof:
    """One wall: its promises, its pictures, its readings."""

    name: str
    option: str
    kept: tuple[KeptRow, ...]
    pictures: tuple[Picture, ...] = ()
    remarks: tuple[Statement, ...] = ()
    rules: tuple[Statement, ...] = ()
    readings: tuple[Statement, ...] = ()
    photos: tuple[Picture, ...] = ()
    works: tuple[WorkRow, ...] = ()


@dataclass(frozen=True)
class RemedyRow:
    """What is still to be done."""

    wall: str
    where: str
    what: str
    board_feet: str
    metres: str
    why: str


@dataclass(frozen=True)
class DayRow:
    """One day on site."""

    day: str
    text: str
    late: str = ""


@dataclass(frozen=True)
class OverrideRow:
    """A gate that failed and was passed by a person."""

    gate: str
    who: str
    reason: str


@dataclass(frozen=True)
class CloseOutView:
    """The whole close-out."""

    house: str
    place: str
    client: str
    date: date
    prepared_by: str
    synthetic: bool  # nobody measured any of it
    headline: tuple[Statement, ...]
    promises: tuple[PromiseSum, ...]
    receipt: tuple[ReceiptRow, ...]
    receipt_note: Statement
    house_kept: tuple[KeptRow, ...]
    house_works: tuple[WorkRow, ...]
    walls: tuple[WallProof, ...]
    probes: tuple[ProbeRow, ...]
    density: tuple[Statement, ...]
    fan: tuple[Statement, ...]
    remedies: tuple[RemedyRow, ...]
    remedy_sum: str
    days: tuple[DayRow, ...]
    overrides: tuple[OverrideRow, ...]
    re_entry: str
    care: tuple[str, ...]
    prices_invented: bool = False
    paper: Literal["us-letter", "a4"] = "us-letter"
