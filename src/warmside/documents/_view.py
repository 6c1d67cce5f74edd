"""What a proposal shows, as plain data: every text as the reader sees it, every figure with refs.

Nothing here computes. ``refs`` are numbers of the list of sources, counted from 1; verdicts are the
project's own three. An empty text or list is left out of the paper.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from datetime import date
from html import unescape
from typing import Literal

from warmside.promises import Verdict

# How drawings are best made for the wall page: drawn at three quarters of their user units.
ELEVATION_SIZE = {"width": 400.0, "max_height": 230.0}
SECTION_SIZE = {"width": 320.0, "depth": 135.0}


@dataclass(frozen=True)
class Figure:
    """One figure with its unit: ``text`` first, ``small`` below it in the other unit."""

    text: str
    small: str = ""
    refs: tuple[int, ...] = ()
    verdict: Verdict | None = None


@dataclass(frozen=True)
class Note:
    """One sentence, with what it rests on."""

    text: str
    refs: tuple[int, ...] = ()


@dataclass(frozen=True)
class Fact:
    """A name and its figure: ``Length``, ``16 ft``."""

    name: str
    value: Figure


@dataclass(frozen=True)
class Picture:
    """A drawing as SVG and what it shows in words, for those who cannot see it."""

    svg: str
    alt: str

    @classmethod
    def of(cls, svg: str) -> Picture:
        """The drawing with its own title and description as its words."""
        words = re.findall(r"<(title|desc)>(.*?)</\1>", svg, flags=re.DOTALL)
        return cls(svg, ". ".join(unescape(text).strip() for _, text in words[:2]))


@dataclass(frozen=True)
class OptionRow:
    """One option of a wall's table. A refused one shows its reasons instead of a price."""

    name: str
    nominal: Figure  # R of the insulation between the studs
    parallel: Figure  # R of the whole framed wall by parallel paths
    planes: Figure  # ... by isothermal planes
    combined: Figure  # ... by ISO 6946
    coldest: Figure  # coldest inside surface
    dew: Figure  # dew point at design conditions
    year: Figure  # monthly moisture balance
    board_feet: Figure
    price: Figure
    recommended: bool = False
    refusals: tuple[str, ...] = ()  # "reason; instead: ..."


@dataclass(frozen=True)
class TakeoffRow:
    """One line of takeoff with its price, all as texts."""

    name: str
    amount: str
    unit: str
    how: str
    unit_price: str = ""
    total: str = ""
    refs: tuple[int, ...] = ()


@dataclass(frozen=True)
class Sum:
    """A line under a sum: cost, margin, tax, total. ``strong`` for the last."""

    name: str
    amount: str
    strong: bool = False


@dataclass(frozen=True)
class WallPage:
    """Everything about one wall; all but the takeoff is on its one page."""

    name: str
    facts: tuple[Fact, ...]
    recommended: str  # name of the recommended option
    why: str  # one or two sentences
    price: str  # of the recommended option
    elevation: Picture
    section: Picture
    options: tuple[OptionRow, ...]
    found: tuple[Note, ...] = ()
    mend_first: tuple[Note, ...] = ()
    takeoff: tuple[TakeoffRow, ...] = ()
    sums: tuple[Sum, ...] = ()
    charts: tuple[Picture, ...] = ()  # shown with the takeoff


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
    verdict: Verdict | None = None
    verdict_of: str = "warm and dry"  # what the verdict is about


@dataclass(frozen=True)
class Gate:
    """What stops the work until a named person clears it."""

    what: str
    where: str
    state: str
    need: str


@dataclass(frozen=True)
class Reference:
    """One numbered source; ``tag`` says how far it was read."""

    text: str
    tag: str


@dataclass(frozen=True)
class ProposalView:
    """The whole proposal."""

    house: str
    place: str
    client: str
    date: date
    prepared_by: str
    headline: tuple[Note, ...]  # what a client reads in a minute
    conditions: str  # the state that the figures hold for
    summary: tuple[SummaryRow, ...]
    totals: tuple[Sum, ...]
    walls: tuple[WallPage, ...]
    gates: tuple[Gate, ...] = ()
    assumptions: tuple[Note, ...] = ()
    cautions: tuple[Note, ...] = ()
    sources: tuple[Reference, ...] = ()
    # by field of OptionRow; "effective" for the R of the whole wall
    column_refs: dict[str, tuple[int, ...]] = field(default_factory=dict)
    price_list: str = ""  # title of the price list
    prices_invented: bool = False
    valid: str = ""  # how long the offer stands
    paper: Literal["us-letter", "a4"] = "us-letter"
