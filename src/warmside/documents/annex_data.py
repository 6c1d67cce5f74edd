"""What the annex shows: what the report says, with the drawings and tables that stand beside it.

Nothing here computes. Figures and sentences are written, and sources numbered, where the paper is
set; verdicts are the project's own three. An empty text or list is left out of the paper.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from warmside.documents.picture import Picture
from warmside.documents.typesetting import PaperView, Written
from warmside.promises import Verdict
from warmside.study.report import Fact, HouseReport, Statement, WallReport
from warmside.wording import Country, Figure, Sentence, Source


@dataclass(frozen=True)
class Unpromised:
    """What of one promise is open: it falls short, or a person must judge it."""

    promise: str
    verdict: Verdict
    what: str  # names with the walls they stand for, in few words for the first page
    whole: str  # the same with every name


@dataclass(frozen=True)
class Reply:
    """An answer: for which walls, what, what is to be measured first."""

    where: str  # names of walls; empty where it needs no telling
    text: Sentence
    measure: str = ""  # what must be measured or asked for before it can be answered
    sources: tuple[Source, ...] = ()


@dataclass(frozen=True)
class Asked:
    """A question that people ask, with its answers."""

    question: str
    replies: tuple[Reply, ...]


@dataclass(frozen=True)
class WallPage:
    """What is reported of one wall, with its drawings; all but takeoff and images on one page."""

    report: WallReport  # but its facts and options
    facts: tuple[Fact | Written, ...]
    options: tuple[Written, ...]
    elevation: Picture
    section: Picture
    chart: Picture  # water through the year
    images: tuple[Picture, ...] = ()  # what a thermal camera will show, before and after
    images_note: Statement | None = None  # what they come to
    years: Picture | None = None  # the recommended option's wood hour by hour


@dataclass(frozen=True)
class HalfInch:
    """Where the next half inch goes: one wall as a chart, every wall in a row.

    A row: the wall, where foam pays best, the next thickness, the resistance [m2 K/W] that it
    adds, its cost, what it is worth today, the warmth felt 1 m away [degC] now and as proposed.
    """

    wall: str
    chart: Picture
    note: Statement
    years: int  # over which worth is counted
    rows: tuple[tuple[str | Figure, ...], ...]
    seat: tuple[Source, ...] = ()  # of what is felt there


@dataclass(frozen=True)
class Chances:
    """How sure what is put forward is, over draws of what is not known exactly."""

    draws: int
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]  # a wall, and in how many draws each of ``heads`` holds
    assumptions: tuple[Statement, ...] = ()


@dataclass(frozen=True)
class AnnexView(PaperView):
    """The whole annex."""

    report: HouseReport  # its walls stand on their own pages
    walls: tuple[WallPage, ...]
    unpromised: tuple[Unpromised, ...] = ()  # on the first page
    closing: tuple[str, ...] = ()  # who decides where codes differ, on the first page
    # what stops the work until a named person clears it: what, where, its state, what it needs
    gates: tuple[tuple[str, ...], ...] = ()
    frontier: Picture | None = None  # price against saving
    asked: tuple[Asked, ...] = ()  # what people ask, each question once
    camera: Statement | None = None  # how the walls' thermal images are to be read
    half_inch: HalfInch | None = None
    # joints of one kind in the house, what closes most per metre first: name, length, what they
    # leak open and sealed [cm2], what a metre of sealing closes [cm2/m]
    sealing: tuple[tuple[str, ...], ...] = ()
    chances: Chances | None = None
    cautions: tuple[str, ...] = ()
    columns: dict[str, tuple[Source, ...]] = field(default_factory=dict)  # by what is in them
    country: Country = ""  # whose units it is written in
