"""One finding: a figure held against a limit."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from warmside.catalog import Source

Promise = Literal["warm", "dry", "tight", "legal", "safe", "worth it"]
Verdict = Literal["holds", "falls short", "needs a person"]
Standing = Verdict | Literal["not judged"]  # of a promise, which may have no finding at all


@dataclass(frozen=True)
class Finding:
    """A figure, its limit and the verdict, told so that a client can follow it.

    ``figure`` and ``limit`` are SI, in ``unit`` (as text: "m2 K/W", "-", "kg/m2").
    """

    promise: Promise
    key: str  # stable, snake case, with the unit: "rsi_m2k_w"
    name: str
    figure: float | None
    unit: str
    limit: float | None
    limit_is: Literal["least", "most", "none"]
    verdict: Verdict
    reason: str  # one sentence
    change: str  # what would change it
    source: Source
