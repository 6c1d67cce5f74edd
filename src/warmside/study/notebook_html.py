"""A study as a table for a notebook: plain HTML, every text escaped."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape
from typing import TYPE_CHECKING

from warmside.promises import banded
from warmside.units import show

if TYPE_CHECKING:
    from warmside.study.parts import OptionStudy, Study, WallStudy

_SIGNS = {"holds": "✓", "falls short": "×", "needs a person": "?", "not judged": "–"}
_PROMISES = ("warm", "dry", "tight", "legal", "safe", "worth it")
_HEAD = ("R", "coldest surface", *_PROMISES, "saves a year", "price")


def study_html(study: Study) -> str:
    """The house: each wall as found and with what is put forward."""
    currency, rows = study.prices.currency, []
    for wall in study.walls:
        rows.append((wall.wall.name, *_cells(wall.as_found)))
        rows.append(("", *_cells(wall.chosen)))
    price = f"{currency} {study.price.total:,.2f}"
    return _table(
        f"{study.survey.house.name}: {len(study.walls)} walls, {price}",
        ("wall", "option", *_HEAD),
        rows,
    )


def wall_html(wall: WallStudy) -> str:
    """One wall with all its options."""
    title = f"{wall.wall.name}: {wall.chosen.option.name}. {wall.why_chosen}"
    return _table(title, ("option", *_HEAD), [_cells(option) for option in wall.options])


def _cells(option: OptionStudy) -> tuple[str, ...]:
    money = option.worth.money if option.price else None
    return (
        option.option.name,
        show(option.warm.resistance, "thermal resistance", "trade", 3),
        f"{option.warm.coldest.surface:.1f} °C",
        *(f"{_SIGNS[option.verdict(p)]} {option.verdict(p)}" for p in _PROMISES),
        banded((money.low, money.best, money.high)) if money else "–",
        f"{option.price.total:,.2f}" if option.price else "–",
    )


def _table(title: str, head: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    def row(cells: Sequence[str], tag: str) -> str:
        return "<tr>" + "".join(f"<{tag}>{escape(cell)}</{tag}>" for cell in cells) + "</tr>"

    body = "".join(row(cells, "td") for cells in rows)
    return (
        f"<table><caption>{escape(title)}</caption><thead>{row(head, 'th')}</thead>"
        f"<tbody>{body}</tbody></table>"
    )
