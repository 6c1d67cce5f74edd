"""From a study to what the annex shows: its report, with drawings and evidence beside it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date

from warmside.catalog import HazardRow, Source
from warmside.documents.annex_data import AnnexView
from warmside.documents.camera import camera_note
from warmside.documents.evidence import LEAKS, half_inch, how_sure, price_and_saving, sealing
from warmside.documents.questions import what_people_ask
from warmside.documents.readers import country_id, head_of
from warmside.documents.unpromised import unpromised
from warmside.documents.wall_page import wall_page
from warmside.study import Spread, Study
from warmside.study.report import HouseReport, report
from warmside.study.report.house import FILMS, effective_sources
from warmside.survey import Hazard
from warmside.wording import parted

_YEAR = Source("EN ISO 13788: monthly balance of condensation and drying", "from memory")
_NOMINAL = Source("16 CFR 460: R of the insulation alone, for the thickness installed", "published")
_CAUTIONS = (
    "Spraying foam releases isocyanates. Nobody but the protected crew is in the house while it is "
    "sprayed and until the time in the product's listing has passed.",
    "Foam burns. It is covered from every room, and kept from chimneys, flues and lights.",
    "A tighter house needs planned ventilation. Appliances that draw their air from the house are "
    "tested for spillage and carbon monoxide by a licensed person before and after the work.",
    "Foam is no bracing and carries no load. Cut or rotten framing is for a competent person.",
    "The figures are computed from the survey. Hidden rot, wiring or water may change them and the "
    "price; work stops and the client is told before it goes on.",
    "Local code, the building official and licensed trades decide wherever they differ from this "
    "paper.",
)


def annex_view(
    study: Study, today: date, chances: Spread | None = None, told: HouseReport | None = None
) -> AnnexView:
    """Everything that annex and takeoff show.

    Parameters
    ----------
    study : Study
        The house studied.
    today : date
        Date of the paper.
    chances : Spread, optional
        From ``warmside.study.spread``: how sure each promise is; left out when not given.
    told : HouseReport, optional
        The report of the study; made here when not given.
    """
    told = told or report(study)
    walls = tuple(wall_page(w, one, study) for w, one in zip(study.walls, told.walls, strict=True))
    return AnnexView(
        **head_of(study, today),
        report=replace(told, walls=(), takeoff=()),
        walls=walls,
        unpromised=unpromised(study),
        closing=tuple(pack.closing for pack in study.packs),
        gates=tuple(_gates(study)),
        frontier=price_and_saving(study),
        asked=what_people_ask(study),
        camera=camera_note(study) if any(w.images for w in walls) else None,
        half_inch=half_inch(study),
        sealing=sealing(study),
        chances=how_sure(chances) if chances and chances.walls else None,
        cautions=(*_CAUTIONS, *(f"{pack.name}: {pack.closing}" for pack in study.packs)),
        columns={
            "between": (_NOMINAL,),
            "effective": effective_sources(study),
            "coldest": (FILMS,),
            "water": (_YEAR,),
            "sealing": (LEAKS,),
        },
        country=country_id(study.outside.climate),
    )


def _need(hazard: Hazard, row: HazardRow) -> str:
    """Who must clear a hazard; of one that is settled who did, how and when."""
    if hazard.open:
        return f"cleared by {row.clears}"
    day = f" on {hazard.date}" if hazard.date else ", no day written down"
    return f"{hazard.state} by {hazard.cleared_by}{day}{f': {hazard.how}' if hazard.how else ''}"


def _gates(study: Study) -> Iterator[tuple[str, ...]]:
    """One line a hazard; what is presumed of several walls for one reason stands in one."""
    walls = dict[tuple[str, str, str], list[Hazard]]()
    for number, hazard in enumerate(study.survey.hazards):
        same = hazard.notes if hazard.state == "presumed" else str(number)
        walls.setdefault((hazard.kind, hazard.where, same), []).append(hazard)
    for (kind, _, _), (one, *others) in walls.items():
        row = study.catalog.hazard(kind)
        named = parted([h.wall or "house" for h in (one, *others)])
        where = f"{one.where}. {one.notes}" if one.state == "presumed" else one.where
        yield row.title, ": ".join(filter(None, (named, where))), one.state, _need(one, row)
