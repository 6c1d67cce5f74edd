"""The proposal that a client decides on."""

from __future__ import annotations

from warmside.documents.proposal_data import ProposalView
from warmside.documents.typesetting import typeset
from warmside.errors import Fault, InputError


def proposal(view: ProposalView) -> bytes:
    """The proposal as PDF: a first page for the client, one wall per page, takeoff, sources.

    Parameters
    ----------
    view : ProposalView
        Everything it shows, as plain data.

    Returns
    -------
    bytes
        A tagged PDF (PDF/UA-1); the same view gives the same bytes.

    Raises
    ------
    InputError
        A reference names a source that is not in the list, or a drawing has no words.
    PaperError
        The paper could not be set.
    """
    faults = list(_faults(view))
    if faults:
        raise InputError(faults)
    return typeset("proposal", view, view.date)


def _faults(view: ProposalView) -> list[Fault]:
    known = len(view.sources)
    faults = [
        Fault("proposal, references", f"[{ref}]", f"1 to {known}, the numbers of the sources")
        for ref in sorted(set(_refs(view)))
        if not 1 <= ref <= known
    ]
    faults += [
        Fault(f"proposal, wall '{wall.name}', drawing", "no words", "what it shows, in words")
        for wall in view.walls
        for picture in (wall.elevation, wall.section, *wall.charts, *wall.images)
        if not picture.alt.strip()
    ]
    if view.half_inch and not view.half_inch.chart.alt.strip():
        faults.append(Fault("proposal, thickness chart", "no words", "what it shows, in words"))
    return faults


def _refs(value: object) -> list[int]:
    """Every source number that any part of the view points to."""
    if isinstance(value, (tuple, list)):
        return [ref for item in value for ref in _refs(item)]
    found: list[int] = []
    for name, item in vars(value).items() if hasattr(value, "__dataclass_fields__") else ():
        if name == "column_refs":
            found += [ref for refs in item.values() for ref in refs]
        elif name.endswith("refs"):
            found += item
        else:
            found += _refs(item)
    return found
