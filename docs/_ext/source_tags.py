"""Rows of the catalog by the tag of their source, as they stood and as they stand."""

from __future__ import annotations

from collections import Counter

from warmside.catalog import load, sources

# Counted before the tags were held against their own texts; rows of the built-in files then.
BEFORE = {
    "published": 97,
    "second-hand": 65,
    "from memory": 241,
    "common practice": 74,
    "computed": 34,
}


def page() -> str:
    """A row for each tag, most claimed first."""
    now = Counter(line.tag for line in sources(load()))
    rows = [f"| {tag} | {before} | {now[tag]} |" for tag, before in BEFORE.items()]
    every = f"| together | {sum(BEFORE.values())} | {sum(now.values())} |"
    return "\n".join(["| tag | before | now |", "|---|---|---|", *rows, every])
