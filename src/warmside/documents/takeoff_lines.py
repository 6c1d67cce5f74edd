"""The takeoff as the appendix shows it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from warmside.documents.annex_data import TakeoffRow
from warmside.documents.words import References
from warmside.study.report import Line
from warmside.wording import raised


def takeoff_rows(lines: Sequence[Line], refs: References) -> tuple[TakeoffRow, ...]:
    """Lines in the units of the price list; a source only where it differs from the line above."""
    rows = [
        TakeoffRow(
            name=line.name,
            amount=_amount(line.listed),
            unit=raised(line.unit),
            how=line.how,
            unit_price=line.unit_price,
            total=line.total,
            refs=refs.to(*line.sources),
        )
        for line in lines
    ]
    return tuple(
        replace(row, refs=()) if above is not None and above.refs == row.refs else row
        for above, row in zip([None, *rows], rows, strict=False)
    )


def _amount(amount: float) -> str:
    whole = amount == int(amount) or amount >= 1000
    return f"{amount:,.0f}" if whole else f"{amount:,.2f}"
