"""The names that lie nearest to one that is not known."""

from __future__ import annotations

from collections.abc import Iterable
from difflib import get_close_matches


def near(name: str, known: Iterable[str]) -> tuple[str, ...]:
    """Up to three of ``known`` that look like ``name``."""
    return tuple(get_close_matches(name[:100].lower(), sorted(known), n=3, cutoff=0.5))


def nearest(name: str, known: Iterable[str]) -> str:
    """The same as the end of a sentence: "; nearest: plywood", empty where nothing is near."""
    found = near(name, known)
    return f"; nearest: {', '.join(found)}" if found else ""
