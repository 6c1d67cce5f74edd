"""Papers: set, read back by another library, and looked at."""

from __future__ import annotations

import io
import re
import subprocess
from dataclasses import replace
from datetime import date

import pytest
from pypdf import PdfReader

from warmside.documents import (
    ELEVATION_SIZE,
    SECTION_SIZE,
    Fact,
    Figure,
    Gate,
    Note,
    OptionRow,
    PaperError,
    Picture,
    ProposalView,
    Reference,
    Sum,
    SummaryRow,
    TakeoffRow,
    WallPage,
    proposal,
)
from warmside.errors import InputError

SVG = (
    '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {w} {h}" width="{w}" height="{h}" '
    'font-family="Inter"><rect x="1" y="1" width="{x}" height="{y}" fill="none" '
    'stroke="currentColor"/><text x="20" y="40" font-size="11">{t}</text></svg>'
)


def picture(name: str, w: int, h: int) -> Picture:
    return Picture(SVG.format(w=w, h=h, x=w - 2, y=h - 2, t=name), f"{name} of an invented wall")


def option(name, r, *, recommended=False, refusals=(), price="$4,120") -> OptionRow:
    return OptionRow(
        name,
        Figure(f"R-{r + 4:.1f}", f"RSI {(r + 4) / 5.678:.2f}"),
        Figure(f"R-{r + 0.9:.1f}", f"RSI {(r + 0.9) / 5.678:.2f}"),
        Figure(f"R-{r:.1f}", f"RSI {r / 5.678:.2f}"),
        Figure(f"R-{r + 0.4:.1f}", f"RSI {(r + 0.4) / 5.678:.2f}", verdict="holds"),
        Figure("16.2 °C", "at a stud"),
        Figure("reached in the foam", "no harm: no air"),
        Figure("most 38 g/m², dry by June", verdict="falls short" if r < 5 else "holds"),
        Figure("412", "455 with waste"),
        Figure(price),
        recommended=recommended,
        refusals=tuple(refusals),
    )


def wall(i: int, elevation: Picture | None = None, section: Picture | None = None) -> WallPage:
    recommended = "3 in closed-cell foam, joints sealed"
    return WallPage(
        f"Wall {i}: north front, first floor",
        (
            Fact("Length", Figure("24'-0\"", "7.32 m")),
            Fact("Height", Figure("17'-0\"", "5.18 m")),
            Fact("Frame", Figure("balloon, 2x4 at 16 in")),
            Fact("Built", Figure("1931")),
            Fact("Faces", Figure("north")),
            Fact("Framing share", Figure("23 %", refs=(2,))),
            Fact("Net area", Figure("352 ft²", "32.7 m²")),
        ),
        recommended,
        "Warmest that fits the bays with room for the drywall to stay clear, and it dries each "
        "summer in the monthly balance.",
        "$4,120",
        elevation or picture("elevation", 720, 300),
        section or picture("section", 490, 230),
        (
            option("Leave as found", 3.1, price="–"),
            option("Batt and polyethylene", 9.6),
            option("2 in closed-cell foam and batt", 12.4),
            option(recommended, 14.8, recommended=True),
            option("Open-cell foam, full depth", 11.2),
            option("Foam and outside board", 21.0, price="$7,930"),
            option(
                "5 in closed-cell foam", 20.0,
                refusals=("The bay is 3 5/8 in deep; instead: furring of 1 1/2 in.",),
            ),
        ),
        (Note("Slumped rock wool in the upper third of the bays.", (1,)),
         Note("No vapour control; plaster on wood lath.")),
        (Note("Flashing over window W2 leaks: mend before closing the wall."),
         Note("Moisture reading of 24 % at the sill: find the source.", (3,))),
        (
            TakeoffRow("Closed-cell foam", "455", "board ft",
                       "412 board ft in 19 bays, waste 10 %", "$1.90", "$864.50", (2,)),
            TakeoffRow("Sealant", "62.4", "m", "joints of 62.4 m at a 6 mm bead", "$0.90",
                       "$56.16"),
            TakeoffRow("Labour", "14.5", "h", "two passes, set-up 3 h", "$68.00", "$986.00"),
        ),
        (Sum("Cost", "$3,120.00"), Sum("Margin", "$624.00"), Sum("Sales tax 10 %", "$376.00"),
         Sum("Total", "$4,120.00", strong=True)),
    )  # fmt: skip


def view(walls: int = 2, **changes) -> ProposalView:
    pages = tuple(wall(i) for i in range(1, walls + 1))
    base = ProposalView(
        house="The house on Mill Lane", place="Lower Tamber, an invented town",
        client="The owners", date=date(2026, 11, 24), prepared_by="Demonstration",
        headline=(
            Note("The walls lose heat through empty and slumped bays; the coldest corner falls "
                 "below the dew point of the room air on a design night."),
            Note("We propose closed-cell foam from the inside with sealed joints on two walls: "
                 "the walls become about five times as warm.", (2,)),
            Note("Two things must be mended first, and old wiring must be cleared by an "
                 "electrician."),
        ),
        conditions="R in ft² °F h/Btu, RSI in m² K/W. Surfaces at −25 °C outside, 21 °C and 35 % "
        "relative humidity inside.",
        summary=tuple(
            SummaryRow(p.name, p.recommended, Figure("R-3.1", "RSI 0.55"),
                       Figure("R-14.8", "RSI 2.61", (1,)), Figure("7.4 °C"), Figure("16.2 °C"),
                       p.price, "holds")
            for p in pages
        ),
        totals=(Sum("Before tax", "$7,488.00"), Sum("Total", "$8,240.00", strong=True)),
        walls=pages,
        gates=(
            Gate("Knob-and-tube wiring", "north front, upper floor", "suspected",
                 "a licensed electrician, in writing"),
            Gate("Vermiculite", "attic", "suspected", "laboratory sample; asbestos contractor"),
        ),
        assumptions=(Note("Stud sizes are those usual in 1931.", (2,)),
                     Note("Indoor humidity is taken as 35 %.")),
        cautions=(Note("Foam must be covered by a thermal barrier as the local code asks."),
                  Note("The local code and the official decide.")),
        sources=(Reference("An invented table of resistances, row 4", "invented"),
                 Reference("An invented table of lumber sizes", "from memory"),
                 Reference("A meter's manual", "invented")),
        column_refs={"combined": (1,), "nominal": (2,)},
        price_list="Example prices", prices_invented=True, valid="30 days",
    )  # fmt: skip
    return replace(base, **changes)
