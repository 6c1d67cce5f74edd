"""The offer that a client decides on: two pages, and one for each wall with something to decide."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from math import ceil, floor
from typing import Literal

from warmside import drawings
from warmside.catalog import Climate, country_of
from warmside.documents.picture import Picture
from warmside.documents.typesetting import typeset
from warmside.drawings import Thermal
from warmside.physics.conduction import WallHeat
from warmside.study import Study, WallStudy
from warmside.study.report.offer import Decision, OfferReport, offer_report
from warmside.wording import Figure, Language, Sentence, Style, say

Paper = Literal["us-letter", "a4"]
_WIDTH, _HEIGHT = 340.0, 150.0  # of a picture, and of the wall in it [user units]


@dataclass(frozen=True)
class DecisionPage:
    """A wall with its choices, and how it looks before and after what we advise."""

    decision: Decision
    before: Picture | None
    after: Picture | None


@dataclass(frozen=True)
class OfferView:
    """The whole offer."""

    house: str
    place: str
    client: str
    date: date
    prepared_by: str
    report: OfferReport
    before: Picture | None
    after: Picture | None
    mark: Picture | None  # the contractor's own
    walls: tuple[DecisionPage, ...]
    english: tuple[str, ...]  # of lines of safety, where the paper is in another language
    prices_invented: bool
    paper: Paper


def style_of(study: Study, language: Language = "en") -> Style:
    """How the client of this house reads: by its country, in a language."""
    return client_style(study.outside.climate, language)


def client_style(climate: Climate, language: Language) -> Style:
    """How clients of the climate's country read, in a language."""
    country = country_of(climate)
    return Style.of_client(country.id if country else "", language)


def offer_view(
    study: Study,
    today: date,
    style: Style,
    mark: Picture | None = None,
    paper: Paper = "us-letter",
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
    house, told = study.survey.house, offer_report(study, today)
    before, after = _pair(study, told.pictured, style)
    walls = tuple(DecisionPage(one, *_pair(study, one.wall, style)) for one in told.decisions)
    return OfferView(
        house=house.name,
        place=house.place,
        client=house.client,
        date=today,
        prepared_by=told.contractor.name,
        report=told,
        before=before,
        after=after,
        mark=mark,
        walls=walls,
        english=beside(told.safety, style),
        prices_invented=study.prices.invented,
        paper=paper,
    )


def beside(lines: Sequence[Sentence], style: Style) -> tuple[str, ...]:
    """Lines of safety in English, beside a language that no native speaker has read."""
    if style.language == "en":
        return ()
    english = replace(style, language="en")
    return tuple(f"EN: {english.sentence(line)}" for line in lines)


def offer(view: OfferView, style: Style) -> bytes:
    """The offer as a tagged PDF (PDF/UA-1)."""
    return typeset("offer", view, view.date, style)


def _pair(study: Study, wall: str, style: Style) -> tuple[Picture | None, Picture | None]:
    """The wall's surface before and after on one scale; None where it was not solved."""
    if not wall:
        return None, None
    one = study.wall(wall)
    fields = [o.warm.field for o in (one.as_found, one.chosen)]
    if fields[0] is None:
        return None, None
    shown = [_thermal(f, study) if f is not None else None for f in fields]
    if one.chosen is one.as_found:
        shown[1] = None
    ranges = [t.range for t in shown if t is not None]
    scale = (float(floor(min(r[0] for r in ranges))), float(ceil(max(r[1] for r in ranges))))
    before, after = (_picture(t, one, scale, style) for t in shown)
    return before, after


def _thermal(heat: WallHeat, study: Study) -> Thermal:
    room, outside = study.room.temperature, study.outside.design
    return Thermal(heat.x, heat.z, heat.temperature(room, outside), heat.seen)


def _picture(
    thermal: Thermal | None, wall: WallStudy, scale: tuple[float, float], style: Style
) -> Picture | None:
    if thermal is None:
        return None
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
