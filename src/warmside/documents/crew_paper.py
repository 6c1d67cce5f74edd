"""The sheet that a crew works from: the air, the gates, two pages a wall, signs to hang up."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from datetime import date
from pathlib import Path

from warmside import drawings
from warmside.catalog import Catalog
from warmside.documents.crew_views import CrewView, Line, Text, crew_view
from warmside.documents.foresight import powers_of
from warmside.documents.typesetting import typeset
from warmside.documents.write import plain_name, write_file
from warmside.errors import Fault, InputError
from warmside.estimate import CREW, PriceList
from warmside.options import Sealing, Step
from warmside.site import (
    Hour,
    WallPlan,
    Window,
    plan_house,
    rules_of,
    windows,
    work_air,
    work_area,
    work_hours,
)
from warmside.survey import Survey
from warmside.wording import PAPER, Style, beside_english

MOST_WALLS = 60


# steps in which a misread word can hurt somebody
_DANGEROUS = ("make-safe", "clear-hazards", "spray", "more-passes", "heat-and-air", "samples",
              "lead-containment", "lead-cleaning", "looked-into")  # fmt: skip


def crew_sheet(view: CrewView, style: Style = PAPER) -> bytes:
    """The crew sheet as PDF: one page of the day, two a wall at most, one of signs.

    Parameters
    ----------
    view : CrewView
        Everything it shows, as plain data; no money.
    style : Style
        How the crew reads; in another language lines of safety have the English beside them.

    Returns
    -------
    bytes
        A tagged PDF (PDF/UA-1, PDF/A-2a); the same view gives the same bytes.

    Raises
    ------
    InputError
        No wall, or too many.
    PaperError
        The paper could not be set.
    """
    if not 1 <= len(view.walls) <= MOST_WALLS:
        allowed = f"1 to {MOST_WALLS} walls that something is done to"
        raise InputError([Fault("crew sheet", f"{len(view.walls)} walls", allowed)])
    style = replace(style, for_all=True)  # it goes from hand to hand
    return typeset("crew_sheet", with_english(view, style), view.date, style)


def with_english(view: CrewView, style: Style) -> CrewView:
    """The sheet with the English beside its lines of safety: no native speaker has read them."""
    if style.language == "en":
        return view

    def both(text: Text) -> str:
        return beside_english(text, style)

    def lines(rows: tuple[Line, ...]) -> tuple[Line, ...]:
        return tuple(Line(both(row.name), both(row.text)) for row in rows)

    def safe(step: Step) -> Step:
        gate = replace(step.gate, who=both(step.gate.who), asks=both(step.gate.asks))
        return replace(step, do=tuple(map(both, step.do)), gate=gate)

    def steps(rows: tuple[Step, ...]) -> tuple[Step, ...]:
        return tuple(safe(row) if row.id in _DANGEROUS else row for row in rows)

    day = view.day and replace(
        view.day, notes=tuple(map(both, view.day.notes)), exposure=lines(view.day.exposure)
    )
    walls = tuple(
        replace(wall, steps=steps(wall.steps), warnings=tuple(map(both, wall.warnings)))
        for wall in view.walls
    )
    return replace(
        view,
        day=day,
        reminders=tuple(map(both, view.reminders)),
        signs=lines(view.signs),
        steps=steps(view.steps),
        limits=tuple(replace(row, name=both(row.name)) for row in view.limits),
        warnings=tuple(map(both, view.warnings)),
        walls=walls,
    )


def write_crew_sheet(
    survey: Survey,
    catalog: Catalog,
    options: Mapping[str, str],
    folder: Path,
    today: date | None = None,
    prices: PriceList | None = None,
    hours: tuple[Hour, ...] | None = None,
    sealing: Sealing = "before",
    crew: int = CREW,
    style: Style = PAPER,
) -> Iterator[Path]:
    """Write the crew sheet and every wall's joint map; yields each path written.

    Parameters
    ----------
    survey, catalog
        The house, and what is known.
    options : mapping
        Name of a wall -> id of the option that is done; the others are left.
    folder : Path
        Made when it is missing; files of the same name are replaced.
    today : date, optional
        Date of the sheet; the current day when not given.
    prices : PriceList, optional
        Where hours per unit come from; no money is read.
    hours : tuple of Hour, optional
        A forecast.
    sealing, crew
        As in ``warmside.site.plan_wall``.
    style : Style
        As in `crew_sheet`.
    """
    plans = plan_house(survey, catalog, options, prices, sealing, crew)
    if not plans:
        raise InputError([Fault("crew sheet", "every wall left as found", "one wall to work on")])
    air = work_air(survey.house, max(work_area(plan.frame) for plan in plans), catalog)
    free = workable(plans, hours, catalog)
    powers = powers_of(survey, plans, catalog)
    view = crew_view(survey.house, plans, air, catalog, today or date.today(), free, powers=powers)
    folder.mkdir(parents=True, exist_ok=True)
    yield write_file(folder / "crew-sheet.pdf", crew_sheet(view, style))
    for number, plan in enumerate(plans, 1):
        drawn = drawings.joint_map(plan.frame, plan.runs, width=900)
        name = f"joint-map-{number}-{plain_name(plan.wall)}.svg"
        yield write_file(folder / name, drawn.encode())


def workable(
    plans: tuple[WallPlan, ...],
    hours: tuple[Hour, ...] | None,
    catalog: Catalog,
    room: float = 20.0,
) -> tuple[Window, ...] | None:
    """Hours in which the hardest of the walls that take foam can be sprayed.

    The hardest is one sprayed from outside, else that with the coldest surface. None without a
    forecast or without foam; ``room`` is what the work area is heated to [degC].
    """
    sprayed = [rules_of(plan, room) for plan in plans if plan.family]
    if hours is None or not sprayed:
        return None
    hardest = min(sprayed, key=lambda rules: (not rules.outside, rules.surface_share))
    return windows(work_hours(hours, hardest, catalog))
