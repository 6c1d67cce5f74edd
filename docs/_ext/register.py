"""The register of outside checks, as a table."""

from __future__ import annotations

from itertools import groupby

from warmside.verify import cases


def page() -> str:
    """Every case by room: what is held against which source, and how that is known."""
    parts = []
    for room, members in groupby(sorted(cases(), key=lambda c: c.room), key=lambda c: c.room):
        parts.append(f"## {room.capitalize()}\n\n| what | source | tag |\n|---|---|---|")
        parts += [
            "| " + " | ".join(text.replace("|", "\\|") for text in (c.what, c.source, c.tag)) + " |"
            for c in members
        ]
        parts.append("")
    return "\n".join(parts)
