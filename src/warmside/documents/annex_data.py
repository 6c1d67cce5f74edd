"""What the annex shows: what the report says, with the drawings and tables that stand beside it.

Nothing here computes. Figures and sentences are written, and sources numbered, where the paper is
set; verdicts are the project's own three. An empty text or list is left out of the paper.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from typing import Literal

from warmside.documents.picture import Picture as Picture
from warmside.promises import Standing, Verdict
from warmside.study.report import FindingReport, Line, PlanReport, Statement
from warmside.study.report import Sum as Sum
from warmside.wording import Country, Sentence, Source

# How drawings are best made for the wall page, where they stand side by side at 0.72 of their
# user units [user units].
ELEVATION_WIDTH = 444.0
ELEVATION_HEIGHT = 230.0  # of the wall itself
SECTION_WIDTH = 262.0
CHART_WIDTH = 540.0
YEARS_WIDTH = 400.0  # two side by side
IMAGE_WIDTH = 355.0
EVIDENCE_WIDTH = 640.0
IMAGE_HEIGHT = 165.0  # of the wall itself


@dataclass(frozen=True)
class Figure:
    """One figure with its unit: ``text`` first, ``small`` below it in the other unit."""

    text: str
    small: str = ""
    verdict: Verdict | None = None


@dataclass(frozen=True)
class Fact:
    """A name and its figure: ``Length``, ``16 ft``."""

    name: str
    value: Figure


@dataclass(frozen=True)
class Judged:
    """A promise in a word, and its verdict; what is left as found is not judged in all of them."""

    promise: str
    verdict: Standing


@dataclass(frozen=True)
class Unpromised:
    """What of one promise is open: it falls short, or a person must judge it."""

    promise: str
    verdict: Verdict
    what: str  # names with the walls they stand for, in few words for the first page
    whole: str  # the same with every name


@dataclass(frozen=True)
class OptionRow:
    """One option of a wall's table, one line each. A refused one shows its reasons instead."""

    name: str
    nominal: Figure  # R of the insulation between the studs
    parallel: Figure  # R of the whole framed wall by parallel paths
    planes: Figure  # ... by isothermal planes
    combined: Figure  # ... by ISO 6946
    field: Figure  # ... by its 3-D field, RSI in ``small``
    coldest: Figure  # coldest inside surface
    year: Figure  # most water held in the monthly moisture balance [g/m²], and how it ends
    board_feet: Figure
    saving: Figure  # money saved in a year
    price: Figure
    short: str = ""  # promises that it falls short in
    recommended: bool = False
    refusals: tuple[str, ...] = ()  # "reason; instead: ..."
    sources: tuple[Source, ...] = ()  # of its insulation


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
    """Everything about one wall; all but takeoff, images and answers is on its one page."""

    name: str
    facts: tuple[Fact, ...]
    recommended: str  # name of the recommended option
    why: Sentence  # one or two
    price: str  # of the recommended option
    elevation: Picture
    section: Picture
    options: tuple[OptionRow, ...]
    found: tuple[Statement, ...] = ()
    mend_first: tuple[Statement, ...] = ()
    takeoff: tuple[Line, ...] = ()
    sums: tuple[Sum, ...] = ()
    charts: tuple[Picture, ...] = ()  # shown with the takeoff
    promises: tuple[Judged, ...] = ()  # of the recommended option
    images: tuple[Picture, ...] = ()  # what a thermal camera will show, before and after
    images_note: Statement | None = None  # what they come to
    years: tuple[Picture, ...] = ()  # the recommended option's wood hour by hour


@dataclass(frozen=True)
class SummaryRow:
    """One wall on the first page."""

    wall: str
    option: str
    r_now: Figure
    r_after: Figure
    coldest_now: Figure
    coldest_after: Figure
    price: str
    promises: tuple[Judged, ...] = ()


@dataclass(frozen=True)
class Gate:
    """What stops the work until a named person clears it."""

    what: str
    where: str
    state: str
    need: str


@dataclass(frozen=True)
class HalfInchRow:
    """Where foam pays best on one wall, what going on adds, and the seat before it."""

    wall: str
    best: str
    then: str  # the next thickness
    adds: str  # [m2 K/W] that it adds
    costs: str  # money
    worth: str  # money, today
    seat_now: str  # warmth felt 1 m from the wall on the design night [degC]
    seat_after: str  # with what is put forward


@dataclass(frozen=True)
class HalfInch:
    """Where the next half inch goes: one wall as a chart, every wall in a row."""

    wall: str
    chart: Picture
    note: Statement
    years: int  # over which worth is counted
    rows: tuple[HalfInchRow, ...]
    seat: tuple[Source, ...] = ()  # of what is felt there


@dataclass(frozen=True)
class SealingRow:
    """Joints of one kind in the whole house: how long, what they leak open and sealed [cm2]."""

    name: str
    length: str
    open: str
    sealed: str
    per_metre: str  # [cm2/m] closed by a metre of sealing


@dataclass(frozen=True)
class ChanceRow:
    """In how many draws each promise holds on one wall, in the order of ``Chances.heads``."""

    wall: str
    holds: tuple[str, ...]


@dataclass(frozen=True)
class Chances:
    """How sure what is put forward is, over draws of what is not known exactly."""

    draws: int
    heads: tuple[str, ...]
    rows: tuple[ChanceRow, ...]
    assumptions: tuple[Statement, ...] = ()


@dataclass(frozen=True)
class AnnexView:
    """The whole annex."""

    house: str
    place: str
    client: str
    date: date
    prepared_by: str
    headline: tuple[Statement, ...]  # what a client reads in a minute
    conditions: Sentence  # the state that the figures hold for
    summary: tuple[SummaryRow, ...]
    totals: tuple[Sum, ...]  # for the takeoff alone
    walls: tuple[WallPage, ...]
    unpromised: tuple[Unpromised, ...] = ()  # on the first page
    closing: tuple[str, ...] = ()  # who decides where codes differ, on the first page
    gates: tuple[Gate, ...] = ()
    whole: tuple[FindingReport, ...] = ()  # the house with all the work done
    plans: tuple[PlanReport, ...] = ()  # beside each other
    advice: tuple[Statement, ...] = ()  # wall by wall
    order: tuple[Statement, ...] = ()  # of what is done to the whole house
    frontier: Picture | None = None  # price against saving
    asked: tuple[Asked, ...] = ()  # what people ask, each question once
    camera: Statement | None = None  # how the walls' thermal images are to be read
    half_inch: HalfInch | None = None
    sealing: tuple[SealingRow, ...] = ()  # what closes most per metre first
    chances: Chances | None = None
    assumptions: tuple[Statement, ...] = ()
    cautions: tuple[Statement, ...] = ()
    # by field of OptionRow; "effective" for the R of the whole wall, "sealing" for its table
    columns: dict[str, tuple[Source, ...]] = field(default_factory=dict)
    currency: str = ""  # of the prices that stand alone in a column
    price_list: str = ""  # title of the price list
    prices_invented: bool = False
    country: Country = ""  # whose units it is written in
    paper: Literal["us-letter", "a4"] = "us-letter"
