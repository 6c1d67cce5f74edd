"""Figures of a benchmark for the common table; kept only where ``./bench all`` asks for them."""

from __future__ import annotations

import json
import os
import sys
from pathlib import Path

ASKED = "WARMSIDE_FIGURES"  # the file that figures go to, a line of JSON each


def record(
    figure: str,
    value: float,
    unit: str,
    *,
    target: str = "",
    ratio: float | None = None,
    against: str = "",
) -> None:
    """Note one figure.

    Parameters
    ----------
    figure, value, unit
        What was measured.
    target : str
        What is to be reached, in words: "<= 0.25".
    ratio : float, optional
        Against what is named in ``against``, measured in the same run.
    against : str
        A general-purpose library, or a physical limit.
    """
    file = os.environ.get(ASKED)
    if file:
        told = {
            "bench": Path(sys.argv[0]).stem, "figure": figure, "value": value, "unit": unit,
            "target": target, "ratio": ratio, "against": against,
        }  # fmt: skip
        with Path(file).open("a", encoding="utf-8") as lines:
            lines.write(json.dumps(told) + "\n")
