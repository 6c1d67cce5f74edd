"""The offer that a client decides on: two pages, and one for each wall with something to decide."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from math import ceil, floor
from typing import Any

from warmside import drawings
from warmside.documents.picture import Picture
from warmside.documents.readers import client_style, head_of
from warmside.documents.typesetting import PaperSize, PaperView, typeset
from warmside.drawings import Thermal
from warmside.physics.conduction import WallHeat
from warmside.promises import Coldest
from warmside.study import Study, WallStudy
from warmside.study.fields import solved_surface
from warmside.study.report.offer import Decision, OfferReport, offer_report
from warmside.wording import Figure, Language, Sentence, Style, say

_WIDTH, _HEIGHT = 340.0, 150.0  # of a picture, and of the wall in it [user units]


@dataclass(frozen=True)
class Seen:
    """A wall's surface before and after, and where it is coldest; empty where it is not known."""

    before: Picture | None = None
    after: Picture | None = None
    coldest_before: Sentence | str = ""
    coldest_after: Sentence | str = ""


@dataclass(frozen=True)
class DecisionPage:
    """A wall with its choices, and how it looks before and after what we advise."""

    decision: Decision
    seen: Seen


@dataclass(frozen=True)
class OfferView(PaperView):
    """The whole offer."""

    report: OfferReport
    seen: Seen
    mark: Picture | None  # the contractor's own
    walls: tuple[DecisionPage, ...]
    english: tuple[str, ...]  # of lines of safety, where the paper is in another language


def style_of(study: Study, language: Language = "en") -> Style:
    """How the client of this house reads: by its country, in a language."""
    return client_style(study.outside.climate, language)


def offer_view(
    study: Study,
    today: date,
    style: Style,
    mark: Picture | None = None,
    paper: PaperSize = "us-letter",
) -> OfferView:
    """Everything the offer shows.

    Parameters
    ----------
    study : Study
        The house studied.
    today : date
        Date of the offer.
    style : Style
        The client's; pictures carry words of it.
    mark : Picture, optional
        The contractor's own mark.
    paper : {"us-letter", "a4"}
        Size of the paper.
    """
    told = offer_report(study, today)
    pictured = dict.fromkeys([told.pictured, *(one.wall for one in told.decisions)])
    seen = {wall: _seen(study, wall, style) for wall in pictured}
    walls = tuple(DecisionPage(one, seen[one.wall]) for one in told.decisions)
    return OfferView(
        **head_of(study, today),
        prepared_by=told.contractor.name,
        report=told,
        seen=seen[told.pictured],
        mark=mark,
        walls=walls,
        english=beside(told.safety, style),
        paper=paper,
    )


def beside(lines: Sequence[Sentence], style: Style) -> tuple[str, ...]:
    """Lines of safety in English, beside a language that no native speaker has read."""
    if style.language == "en":
        return ()
    english = replace(style, language="en")
    return tuple(f"EN: {english.sentence(line)}" for line in lines)


def offer(view: OfferView, style: Style) -> bytes:
    """The offer as a tagged PDF (PDF/UA-1, PDF/A-2a)."""
    return typeset("offer", view, view.date, style)


def set_offer(
    kept: Mapping[str, Any],
    style: Style,
    mark: Picture | None = None,
    paper: PaperSize = "us-letter",
) -> bytes:
    """The offer of a view that was kept as plain data (``to_plain``, read back).

    Parameters
    ----------
    kept : mapping
        An `OfferView`, its figures and sentences read back, its dates as text.
    style : Style
        As the view was made with.
    mark : Picture, optional
        The contractor's own, in the place of the one in it.
    paper : {"us-letter", "a4"}
        Size of the paper.
    """
    day, report = date.fromisoformat(kept["date"]), dict(kept["report"])
    report["valid_until"] = date.fromisoformat(report["valid_until"])
    return typeset(
        "offer", {**kept, "date": day, "report": report, "mark": mark, "paper": paper}, day, style
    )


def _seen(study: Study, wall: str, style: Style) -> Seen:
    """The wall's surface before and after on one scale, that its coldest place stands on too.

    All with the film that surfaces are judged with, so that picture and text agree.
    """
    if not wall:
        return Seen()
    one = study.wall(wall)
    if one.as_found.warm.field is None:
        return Seen()
    shown = [one.as_found]
    if one.chosen is not one.as_found and one.chosen.warm.field is not None:
        shown.append(one.chosen)
    room, outside = study.room.temperature, study.outside.design
    surfaces = [_thermal(solved_surface(o.build_up), room, outside) for o in shown]
    coldest = [o.warm.coldest.surface for o in shown]
    ends = [end for surface in surfaces for end in surface.range]
    scale = (float(floor(min(*ends, *coldest))), float(ceil(max(ends))))
    pictures = [_picture(surface, one, scale, style) for surface in surfaces]
    told = [_coldest(o.warm.coldest) for o in shown]
    if len(shown) == 1:
        return Seen(pictures[0], None, told[0])
    return Seen(pictures[0], pictures[1], told[0], told[1])


def _thermal(heat: WallHeat, room: float, outside: float) -> Thermal:
    return Thermal(heat.x, heat.z, heat.temperature(room, outside), heat.seen)


def _coldest(place: Coldest) -> Sentence:
    """The coldest place and where it is: at an end of the wall it lies beside the picture."""
    where = _ENDS.get(place.kind, _WITHIN)
    return say("Coldest spot: {t}, {where}", t=Figure(place.surface, "temperature"), where=where)


_WITHIN = say("where wood goes through")
_ENDS = {
    "corner": say("at an outside corner"),
    "ceiling": say("along the ceiling"),
    "floor": say("along the floor"),
    "bay": say("between the studs"),
}


def _picture(
    thermal: Thermal, wall: WallStudy, scale: tuple[float, float], style: Style
) -> Picture:
    low, high = (Figure(end, "temperature") for end in scale)
    seen = [Figure(end, "temperature") for end in thermal.range]
    alt = say(
        "{wall} seen from the room on the coldest night: from {low} to {high}.",
        wall=wall.wall.name,
        low=seen[0],
        high=seen[1],
    )
    svg = drawings.heat_picture(
        thermal,
        wall.frame,
        scale,
        (style.figure(low), style.figure(high)),
        title=wall.wall.name,
        alt=style.sentence(alt),
        width=_WIDTH,
        max_height=_HEIGHT,
    )
    return Picture.of(svg)
