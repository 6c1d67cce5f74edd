"""The nomenclature: every symbol of the promise pages, its name, unit and place in the code."""

from __future__ import annotations

import csv
from pathlib import Path
from typing import NamedTuple

FILE = Path(__file__).parent.parent / "nomenclature.csv"


class Name(NamedTuple):
    """One row."""

    symbol: str  # in Typst's notation
    name: str
    unit: str
    code: str  # what the code calls it, or where it is reckoned


def names() -> list[Name]:
    """All rows, in the order of the file."""
    with FILE.open(encoding="utf-8", newline="") as file:
        rows = list(csv.reader(file))
    return [Name(*row) for row in rows[1:]]
