"""The annex of an offer, with every wall and source, and the contractor's own takeoff."""

from __future__ import annotations

from warmside.documents.annex_data import AnnexView
from warmside.documents.typesetting import typeset
from warmside.errors import Fault, InputError
from warmside.wording import Style


def annex(view: AnnexView) -> bytes:
    """The annex as PDF: the house, one wall per page, answers, evidence, sources.

    Parameters
    ----------
    view : AnnexView
        Everything it shows, as plain data.

    Returns
    -------
    bytes
        A tagged PDF (PDF/UA-1, PDF/A-2a); the same view gives the same bytes.

    Raises
    ------
    InputError
        A drawing has no words.
    PaperError
        The paper could not be set.
    """
    faults = list(_faults(view))
    if faults:
        raise InputError(faults)
    return typeset("annex", view, view.date, Style.of_paper(view.country))


def takeoff(view: AnnexView) -> bytes:
    """The contractor's own paper: what it takes, wall by wall, with cost, hours and margin."""
    return typeset("takeoff", view, view.date, Style.of_paper(view.country))


def _faults(view: AnnexView) -> list[Fault]:
    faults = [
        Fault(f"annex, wall '{wall.report.name}', drawing", "no words", "what it shows, in words")
        for wall in view.walls
        for picture in (wall.elevation, wall.section, wall.chart, *wall.images)
        if not picture.alt.strip()
    ]
    if view.half_inch and not view.half_inch.chart.alt.strip():
        faults.append(Fault("annex, thickness chart", "no words", "what it shows, in words"))
    return faults
