"""The provider's paper: which houses first, with what, in which year, and how sure it is."""

from __future__ import annotations

import csv
from collections.abc import Iterator
from datetime import date
from io import StringIO
from pathlib import Path

from warmside.documents.stock_views import METRIC, StockView, Wish, stock_view
from warmside.documents.typesetting import typeset
from warmside.documents.write import write_file
from warmside.errors import inert
from warmside.stock import Stock


def stock_paper(view: StockView) -> bytes:
    """The provider's paper as PDF.

    Parameters
    ----------
    view : StockView
        Everything it shows, as plain data.

    Returns
    -------
    bytes
        A tagged PDF (PDF/UA-1, PDF/A-2a); the same view gives the same bytes.

    Raises
    ------
    PaperError
        The paper could not be set.
    """
    return typeset("stock", view, view.date, METRIC)


def programme_csv(view: StockView) -> bytes:
    """The programme as a table: year, house, archetype, option, cost, saving, carbon, risk."""
    out = StringIO()
    write = csv.writer(out).writerow
    money = (f"cost {view.currency}", f"saving {view.currency} a year")
    write(("year", "house", "kind", "option", *money, "carbon dioxide kg a year", "risk avoided"))
    for p in view.places:
        figures = (METRIC.figure(figure) for figure in (p.cost, p.saving, p.carbon, p.risk))
        write(map(inert, (f"{p.year}", p.id, p.archetype, p.option, *figures)))
    return out.getvalue().encode()


def write_stock_papers(
    stock: Stock, folder: Path, wish: Wish | None = None, today: date | None = None
) -> Iterator[Path]:
    """Write the paper and the programme as CSV; yields each path written."""
    folder.mkdir(parents=True, exist_ok=True)
    view = stock_view(stock, wish or Wish(), today or date.today())
    yield write_file(folder / "stock.pdf", stock_paper(view))
    yield write_file(folder / "programme.csv", programme_csv(view))
