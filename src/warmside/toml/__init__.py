"""TOML that people wrote: one door, bounded before it is read, and the line of every value."""

from warmside.toml._door import (
    DEEPEST,
    LONGEST_LINE,
    MOST_LINES,
    MOST_PARTS,
    is_too_deep,
    parse,
    too_deep,
    unfit_for_reading,
)
from warmside.toml._lines import Path, headings, locate

__all__ = [
    "DEEPEST",
    "LONGEST_LINE",
    "MOST_LINES",
    "MOST_PARTS",
    "Path",
    "headings",
    "is_too_deep",
    "locate",
    "parse",
    "too_deep",
    "unfit_for_reading",
]
