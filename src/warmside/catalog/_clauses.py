"""Cells become clauses and packs; see ``_codes``."""

from __future__ import annotations

from warmside.catalog._cells import Cells
from warmside.catalog._codes import Clause, CodePack

_BANDED = ("wall_rsi_least", "outboard_ratio_least", "foam_rsi_least")


def check_clause(cells: Cells) -> None:
    """Refuse a clause without the threshold that its rule judges by."""
    if not cells.holds("rule"):
        return
    rule = cells.text("rule")
    if rule in _BANDED and not cells.holds("bands") and not cells.faulty("bands"):
        cells.refuse("bands", "nothing", "[from, below, value] by degree-days")
    if rule == "vapour_permeance_most" and not cells.holds("limit") and not cells.faulty("limit"):
        cells.refuse("limit", "nothing", "a permeance in kg/(m2 s Pa), such as 60e-12")


def clause(cells: Cells) -> Clause:
    """The clause of ``cells``; which pack it stands in is not part of it."""
    words = {
        column: cells.text(column)
        for column in ("number", "title", "paraphrase", "applies_to", "rule", "asks")
    }
    return Clause(
        **words,  # type: ignore[arg-type]  # rule and applies_to are checked with their columns
        source=cells.source(),
        bands=cells.bands("bands") if cells.holds("bands") else (),
        limit=cells.optional("limit"),
        most_permeance=cells.optional("most_permeance"),
        from_degree_days=cells.optional("from_degree_days") or 0.0,
    )


def pack(cells: Cells) -> CodePack:
    """The head of a pack; its clauses are rows of their own."""
    words = {column: cells.text(column) for column in ("id", "name", "country", "edition")}
    return CodePack(**words, closing=cells.text("closing"), clauses=())
