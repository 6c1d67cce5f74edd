"""The money of a job as a table for the bookkeeper."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Iterator, Mapping
from decimal import Decimal
from typing import Any

from warmside.contract.papers import Agreement, Change, Invoice, Paper, Receipt, read_paper
from warmside.errors import inert

COLUMNS = (
    "date",
    "paper",
    "number",
    "what",
    "before_tax",
    "tax",
    "total",
    "kept_back",
    "due",
    "paid",
)


def money_csv(papers: Iterable[Mapping[str, Any]]) -> str:
    """One row a paper, oldest first; amounts with a point, nothing that a sheet would compute.

    Parameters
    ----------
    papers : iterable of mapping
        As they are kept.
    """
    buffer = io.StringIO()
    writer = csv.DictWriter(buffer, COLUMNS, lineterminator="\r\n")
    writer.writeheader()
    for data in papers:
        for row in _rows(read_paper(data)):
            writer.writerow({key: row.get(key, "") for key in COLUMNS})
    return buffer.getvalue()


def _rows(paper: Paper) -> Iterator[dict[str, str]]:
    head = {"date": paper.date.isoformat(), "paper": paper.kind, "number": str(paper.number)}
    match paper:
        case Agreement() | Change():
            what = paper.plan if isinstance(paper, Agreement) else paper.found
            yield head | _amounts(amount for _, amount in paper.amounts) | {"what": _plain(what)}
        case Invoice():
            yield head | _amounts(line.amount for line in paper.lines) | {
                "what": _plain(paper.stage), "kept_back": f"{paper.held}", "due": f"{paper.due}",
            }  # fmt: skip
        case Receipt():
            what = f"invoice {paper.invoice}, {paper.how}".rstrip(", ")
            yield head | {"what": _plain(what), "paid": f"{paper.amount}"}


def _plain(text: str) -> str:
    return str(inert(text))


def _amounts(amounts: Iterable[Decimal]) -> dict[str, str]:
    """Of the price before tax, then each tax."""
    before, *taxes = amounts
    tax = sum(taxes, Decimal(0))
    return {"before_tax": f"{before}", "tax": f"{tax}", "total": f"{before + tax}"}
