"""The register of checks and what was measured, as tables; all of it computed for the page."""

from __future__ import annotations

from functools import cache
from itertools import groupby

from warmside.documents import measured_row
from warmside.verify import Report, cases, verify


@cache
def _report() -> Report:
    return verify()


def _line(*texts: str) -> str:
    return "| " + " | ".join(text.replace("|", "\\|") for text in texts) + " |"


def kinds() -> str:
    """Figures by what they are worth as evidence, and the sentence that the command prints."""
    rows = [_line(kind, str(number)) for kind, number in _report().by_kind.items()]
    return "\n".join(["| evidence | figures |", "|---|---|", *rows, "", _report().sentence])


def measured() -> str:
    """Every measured figure, the worst deviation first."""
    lines = ["| what | measured | computed | deviation | stated | | source |", "|---" * 7 + "|"]
    for one in map(measured_row, _report().measured):
        told = f"{one.verdict}: {one.why}" if one.why else one.verdict
        lines.append(
            _line(
                f"{one.what} [{one.unit}]",
                one.measured,
                one.computed,
                one.deviation,
                one.stated,
                told,
                f"{one.source} ({one.tag})",
            )
        )
    return "\n".join(lines)


def page() -> str:
    """Every case by room: what is held against which source, and how that is known."""
    parts = []
    for room, members in groupby(sorted(cases(), key=lambda c: c.room), key=lambda c: c.room):
        parts.append(
            f"## {room.capitalize()}\n\n| what | source | tag | evidence |\n|---|---|---|---|"
        )
        parts += [_line(c.what, c.source, c.tag, c.kind) for c in members]
        parts.append("")
    return "\n".join(parts)
