"""Containment where old paint is broken into, and the cleaning that ends it."""

from __future__ import annotations

from types import MappingProxyType

from warmside.catalog import Source
from warmside.options import BuildUp, Gate, Quantity, Task
from warmside.survey import Wall
from warmside.wording import Figure, Sentence, say
from warmside.works._item import OPENING, SAFE, Counts, Work
from warmside.works.rooms import IN_FRONT, floors

_WASTE = 0.10  # [-] of sheet, laps and edges
_SHEET = Source("sheet of 0.15 mm over the floor 3 m out and up the sides; 10 % laps",
                "common practice")  # fmt: skip
_CAUSES = ("hazard_lead_paint", "gate_lead_area_m2")


def _contains(build_up: BuildUp) -> bool:
    open_ = any(hazard.kind == "lead paint" for hazard in build_up.hazards)
    return open_ and build_up.option.kind.disturbs(build_up)[0] > 0


def _sheet(build_up: BuildUp, wall: Wall) -> Counts:
    if not _contains(build_up):
        return ()
    inside = build_up.option.kind.disturbs(build_up)[1]
    metres = build_up.frame.length * (floors(wall) if inside else 1)
    how = say("{length} of {where} × {out}, +{waste} laps", length=Figure(metres, "span"),
              where="wall" if inside else "ground along the wall",
              out=Figure(IN_FRONT, "span"), waste=Figure(_WASTE, "share"))  # fmt: skip
    number = float(floors(wall) if inside else 1)
    place = say("{n} on this wall, one a room", n=f"{number:g}")
    return (
        Quantity("containment", "Work areas to contain", number, "each", place, _SHEET,
                 priced=False),
        Quantity("lead_sheet", "Sheet for containment", metres * IN_FRONT * (1 + _WASTE), "m2", how,
                 _SHEET),
    )  # fmt: skip


def _areas(build_up: BuildUp, wall: Wall) -> Counts:
    lines = _sheet(build_up, wall)
    if not lines:
        return ()
    how = say("{n} as contained", n=f"{lines[0].amount:g}")
    return (Quantity("lead_area", "Contained areas to clean and verify", lines[0].amount, "each",
                     how, _SHEET, priced=False),)  # fmt: skip


def _set_up(counts: Counts) -> tuple[str | Sentence, ...]:
    return (
        say(
            "{area} of sheet, taped; doors and registers sealed, signs up, children and pregnant "
            "women out.",
            area=counts[1].how,
        ),
        "Wet methods, HEPA vacuum at the tool; no open flame, no dry sanding.",
    )


def _clean(counts: Counts) -> tuple[str | Sentence, ...]:  # noqa: ARG001
    return (
        "Contained areas: HEPA vacuum, wet wipe, HEPA again, wiped cloths held against the card; "
        "sheet folded inwards, bagged and taped.",
    )


CONTAINMENT = Work(
    key="lead-containment",
    name="Contain old paint",
    causes=_CAUSES,
    tasks=(Task("contain", "Set up containment", "containment", "each", "lead-containment"),),
    bought=MappingProxyType({"lead_sheet": "m2"}),
    counted=_sheet,
    do=_set_up,
    gate=Gate("a certified renovator", "Contained, signs up; photo taken."),
    accepted="Contained before the first cut, or a test on file that finds no lead.",
    warranty="Records are kept as the law asks; the paint that stays is not covered.",
    before=OPENING,
    after=SAFE,
)
CLEANING = Work(
    key="lead-cleaning",
    name="Clean and verify",
    causes=_CAUSES,
    tasks=(Task("lead_clean", "Clean and verify contained areas", "lead_area", "each",
                "clear-up"),),
    counted=_areas,
    do=_clean,
    gate=Gate("a certified renovator", "Cleaning verified and written down."),
    accepted="Cloths as clean as the card, or dust samples below the limit.",
    warranty="The record is handed over.",
    host="clear-up",
)  # fmt: skip
