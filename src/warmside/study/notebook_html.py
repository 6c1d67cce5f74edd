"""A table for a notebook: plain HTML, every text escaped."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from html import escape


def table(title: str, head: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """One table with its caption, a head and rows of as many cells."""

    def row(cells: Sequence[str], tag: str) -> str:
        return "<tr>" + "".join(f"<{tag}>{escape(cell)}</{tag}>" for cell in cells) + "</tr>"

    body = "".join(row(cells, "td") for cells in rows)
    return (
        f"<table><caption>{escape(title)}</caption><thead>{row(head, 'th')}</thead>"
        f"<tbody>{body}</tbody></table>"
    )
