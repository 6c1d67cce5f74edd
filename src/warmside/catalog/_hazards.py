"""Hazards that stop work: what they stop, who clears them, what to do first."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib import resources

from warmside.catalog._rows import Source


@dataclass(frozen=True)
class HazardRow:
    """What is known of one kind of hazard; ``kind`` is the survey's word for it."""

    kind: str
    title: str
    stops: str
    clears: str
    do: str
    source: Source


@cache
def hazard_rows() -> dict[str, HazardRow]:
    """The hazards by kind."""
    path = resources.files("warmside.catalog").joinpath("data", "hazards.toml")
    rows = tomllib.loads(path.read_text(encoding="utf-8"))["hazard"]
    return {
        row["kind"]: HazardRow(
            row["kind"],
            row["title"],
            row["stops"],
            row["clears"],
            row["do"],
            Source(row["source"], row["tag"]),
        )
        for row in rows
    }
