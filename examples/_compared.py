"""What every example hands back: what was computed beside what somebody else says it is."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple


class Compared(NamedTuple):
    """One figure, computed and published; ``allowed`` is the greatest difference either way."""

    name: str
    computed: float
    expected: float
    allowed: float
    source: str  # with its tag: exact, published, second-hand, from memory, other method ...

    @property
    def agrees(self) -> bool:
        """Whether the difference is no greater than allowed."""
        return abs(self.computed - self.expected) <= self.allowed


def table(rows: list[Compared]) -> str:
    """The figures as a table of plain text."""
    wide = max(len(row.name) for row in rows)
    lines = [f"{'':{wide}}  {'computed':>10}  {'expected':>10}  {'allowed':>9}"]
    for row in rows:
        figures = f"{row.computed:10.4g}  {row.expected:10.4g}  {row.allowed:9.2g}"
        lines.append(f"{row.name:{wide}}  {figures}  {'agrees' if row.agrees else 'DIFFERS'}")
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
    sys.exit(0 if all(row.agrees for row in rows) else 1)
