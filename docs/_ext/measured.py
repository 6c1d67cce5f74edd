"""Figures that were measured: the last of each in the benchmarks' history file."""

from __future__ import annotations

import csv
from pathlib import Path

from rooms import ROOT

HISTORY = ROOT / "benchmarks" / "history.csv"
NOT_YET = "not measured yet"


def measured(asked: str, history: Path = HISTORY) -> str:
    """A measured figure as text.

    Parameters
    ----------
    asked : str
        ``stock: work, a house * 277.8 as ,.0f``: the benchmark, its figure, and if wanted a factor
        and a format. Several figures are added: ``stock: chunks, a house + tables, a house``.

    Returns
    -------
    str
        The figure without its unit, or that it was not measured yet.
    """
    place, _, written = asked.partition(" as ")
    bench, _, rest = place.partition(":")
    names, _, factor = rest.partition("*")
    values = [latest(bench.strip(), name.strip(), history) for name in names.split("+")]
    found = [value for value in values if value is not None]
    if len(found) < len(values):
        return NOT_YET
    return format(sum(found) * float(factor or 1.0), written.strip() or ".3g")


def latest(bench: str, figure: str, history: Path = HISTORY) -> float | None:
    """The figure of the last run that measured it; nothing where none did."""
    if not history.exists():
        return None
    with history.open(encoding="utf-8", newline="") as file:
        found = [
            float(row["value"])
            for row in csv.DictReader(file)
            if (row["bench"], row["figure"]) == (bench, figure)
        ]
    return found[-1] if found else None
