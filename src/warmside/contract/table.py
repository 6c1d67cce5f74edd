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
        case Agreement():
            taxes = sum((t.amount for t in paper.taxes), Decimal(0))
            yield head | _amounts(paper.before_tax, taxes) | {"what": _plain(paper.plan)}
        case Change():
            taxes = sum((t.amount for t in paper.taxes), Decimal(0))
            yield head | _amounts(paper.before_tax, taxes) | {"what": _plain(paper.found)}
        case Invoice():
            first, *taxed = (line.amount for line in paper.lines)
            yield head | _amounts(first, sum(taxed, Decimal(0))) | {
                "what": _plain(paper.stage), "kept_back": f"{paper.held}", "due": f"{paper.due}",
            }  # fmt: skip
        case Receipt():
            what = f"invoice {paper.invoice}, {paper.how}".rstrip(", ")
            yield head | {"what": _plain(what), "paid": f"{paper.amount}"}


def _plain(text: str) -> str:
    return str(inert(text))


def _amounts(before: Decimal, tax: Decimal) -> dict[str, str]:
    return {"before_tax": f"{before}", "tax": f"{tax}", "total": f"{before + tax}"}
