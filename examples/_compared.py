"""What every example hands back: what was computed beside what somebody else says it is."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

from warmside.verify import Check


class Compared(NamedTuple):
    """A check as ``warmside verify`` knows it, with where its figure is from."""

    check: Check
    source: str  # with its tag: exact, published, second-hand, from memory, other method ...


def compared(name: str, computed: float, expected: float, allowed: float, source: str) -> Compared:
    """One figure, computed and published; ``allowed`` is the greatest difference either way."""
    return Compared(Check(name, expected, computed, absolute=allowed), source)


def table(rows: list[Compared]) -> str:
    """The figures as a table of plain text."""
    wide = max(len(row.check.name) for row in rows)
    lines = [f"{'':{wide}}  {'computed':>10}  {'expected':>10}  {'allowed':>9}"]
    for check, _ in rows:
        figures = f"{check.computed:10.4g}  {check.expected:10.4g}  {check.allowed:9.2g}"
        lines.append(f"{check.name:{wide}}  {figures}  {'agrees' if check.holds else 'DIFFERS'}")
    sources = "\n".join(dict.fromkeys(f"  {row.source}" for row in rows))
    return "\n".join([*lines, "Expected figures:", sources])


def show(main: Callable[[Path | None], list[Compared]]) -> None:
    """Run an example from the command line: its table, and pictures into a folder if one is given.

    Exits with 1 where a figure differs by more than allowed.
    """
    folder = Path(sys.argv[1]) if len(sys.argv) > 1 else None
    if folder:
        folder.mkdir(parents=True, exist_ok=True)
    rows = main(folder)
    sys.stdout.write(table(rows) + "\n")
    sys.exit(0 if all(row.check.holds for row in rows) else 1)
