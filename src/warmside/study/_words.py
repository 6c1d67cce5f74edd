"""How figures with their bands are told in a sentence."""

from __future__ import annotations

from warmside.promises import Three


def banded(three: Three) -> str:
    """A whole figure with its least and most: ``312 (190 to 480)``."""
    low, best, high = three
    return f"{best:,.0f} ({low:,.0f} to {high:,.0f})"
