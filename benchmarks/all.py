"""Every benchmark in one table, appended to ``benchmarks/history.csv``.

Each figure stands with its ratio against a general-purpose library or a physical limit measured in
the same run; times alone say little on a shared machine. Name some to run only
those; ``mutants`` and ``newcomer`` run only where they are named.
"""

from __future__ import annotations

import csv
import json
import os
import platform
import subprocess
import sys
import tempfile
from datetime import UTC, datetime
from pathlib import Path

from record import ASKED

HERE = Path(__file__).parent
HISTORY = HERE / "history.csv"
NOT_RUN = {"all", "record"}
# measures the tests, for an hour; sets up a tree anew, from the network: run where they are named
BY_NAME = {"mutants", "newcomer"}
# sizes that fit into an hour on two cores; each benchmark alone does more
ARGUMENTS = {
    "field": ["50000", "200000", "1000000", "3000000"],
    "dry_house": ["10"],
    "stock": ["--houses", "20", "60"],
}
COLUMNS = ("date", "machine", "load", "bench", "figure", "value", "unit", "target", "ratio",
           "against")  # fmt: skip


def run(name: str) -> tuple[list[dict], float]:
    """Figures of one benchmark, and the load of the machine before it."""
    load = os.getloadavg()[0]
    with tempfile.NamedTemporaryFile("r", suffix=".jsonl") as file:
        print(f"\n== {name}", flush=True)
        done = subprocess.run(
            [sys.executable, str(HERE / f"{name}.py"), *ARGUMENTS.get(name, [])],
            env={**os.environ, ASKED: file.name},
            check=False,
        )
        figures = [json.loads(line) for line in file.read().splitlines()]
    if done.returncode:
        print(f"{name} ended with {done.returncode}: it stopped, or a target was missed")
    return figures, load


def main() -> None:
    names = sorted(f.stem for f in HERE.glob("*.py") if f.stem not in NOT_RUN)
    asked = sys.argv[1:] or [name for name in names if name not in BY_NAME]
    unknown = [name for name in asked if name not in names]
    if unknown:
        sys.exit(f"no benchmark {', '.join(unknown)}; there are: {', '.join(names)}")
    day = datetime.now(UTC).strftime("%Y-%m-%d %H:%M")
    machine = f"{platform.machine()}, {os.cpu_count()} cores, Python {platform.python_version()}"
    rows = []
    for name in asked:
        figures, load = run(name)
        rows += [{"date": day, "machine": machine, "load": f"{load:.1f}", **f} for f in figures]
    show(rows)
    append(rows)


def show(rows: list[dict]) -> None:
    """One table on the screen."""
    print(
        f"\n{'bench':10}{'figure':46}{'value':>12} {'unit':10}{'target':>12}{'ratio':>9}  against"
    )
    for row in rows:
        ratio = "" if row["ratio"] is None else f"{row['ratio']:.3g}"
        print(f"{row['bench']:10}{row['figure']:46}{row['value']:12.4g} {row['unit']:10}"
              f"{row['target']:>12}{ratio:>9}  {row['against']}")  # fmt: skip


def append(rows: list[dict]) -> None:
    """Add the rows to the history; the head is written once."""
    fresh = not HISTORY.exists()
    with HISTORY.open("a", encoding="utf-8", newline="") as file:
        table = csv.DictWriter(file, COLUMNS, lineterminator="\n")
        if fresh:
            table.writeheader()
        table.writerows(rows)


if __name__ == "__main__":
    main()
