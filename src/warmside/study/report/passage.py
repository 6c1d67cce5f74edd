"""A passage of a paper: a heading, sentences, amounts, a table; plain data that is kept."""

from __future__ import annotations

from dataclasses import dataclass

from warmside.wording import Figure, Sentence

Cell = Sentence | Figure | str
BLANK = "____________"  # filled in by hand


@dataclass(frozen=True)
class Row:
    """A name and its amount."""

    name: Sentence | str
    amount: Cell
    strong: bool = False


@dataclass(frozen=True)
class Passage:
    """A heading with what stands under it."""

    heading: str
    lines: tuple[Sentence | str, ...] = ()
    rows: tuple[Row, ...] = ()
    head: tuple[str, ...] = ()  # of the table
    table: tuple[tuple[Cell, ...], ...] = ()
    safety: bool = False  # printed with the English beside
