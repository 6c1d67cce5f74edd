"""The six promises, and what may be said of each."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Literal, get_args

Promise = Literal["warm", "dry", "tight", "legal", "safe", "worth it"]
Verdict = Literal["holds", "falls short", "needs a person", "does not apply"]
Standing = Verdict | Literal["not judged"]  # of a promise, which may have no finding at all
PROMISES: tuple[Promise, ...] = get_args(Promise)
OPEN: tuple[Verdict, ...] = ("falls short", "needs a person")  # no promise yet, worst first
WORST: tuple[Verdict, ...] = (*OPEN, "holds", "does not apply")


def worst(verdicts: Iterable[Standing]) -> Standing:
    """The worst of several verdicts; "not judged" where there is none."""
    found = set(verdicts)
    return next((v for v in WORST if v in found), "not judged")
