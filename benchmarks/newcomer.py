"""A newcomer's clock: from nothing but Python to the proposal of a house of one's own.

Clones the tree into an empty folder, sets it up from the package registry, and does what the first
pages of the documents say. What a person takes to read and to type is not in it.

    ./bench newcomer
"""

from __future__ import annotations

import os
import subprocess
import tempfile
import time
from pathlib import Path

from record import record

HERE = Path(__file__).parent
HOUSE = HERE / "newcomer.toml"


def bare() -> dict[str, str]:
    """The environment without anything that an earlier set-up could lend."""
    lent = ("VIRTUAL_ENV", "PYTHONPATH", "PYTHONDONTWRITEBYTECODE", "NUMBA_CACHE_DIR")
    kept = {name: value for name, value in os.environ.items() if name not in lent}
    return kept | {"PIP_NO_CACHE_DIR": "1"}


def timed(what: str, folder: Path, *command: str) -> float:
    begun = time.monotonic()
    subprocess.run(command, cwd=folder, env=bare(), check=True, stdout=subprocess.DEVNULL)
    taken = time.monotonic() - begun
    print(f"{what:40}{taken:8.1f} s", flush=True)
    return taken


def main() -> None:
    with tempfile.TemporaryDirectory() as name:
        tree = Path(name) / "warmside"
        clone = timed("clone", Path(name), "git", "clone", "-q", str(HERE.parent), str(tree))
        first = timed("demonstration, with set-up", tree, "./warmside", "demo")
        again = timed("demonstration again", tree, "./warmside", "demo")
        new = timed("template", tree, "./warmside", "new", "template.toml")
        (tree / HOUSE.name).write_bytes(HOUSE.read_bytes())
        check = timed("a house of one's own, checked", tree, "./warmside", "check", HOUSE.name)
        study = timed("its proposal", tree, "./warmside", "study", HOUSE.name)
        made = tree / f"{HOUSE.stem}-papers" / "proposal.pdf"
        if not made.read_bytes().startswith(b"%PDF"):
            raise RuntimeError(f"{made} is no PDF")
    whole = clone + first + new + check + study
    print(f"{'from clone to the first own proposal':40}{whole:8.1f} s")
    record("first demonstration, with set-up", first, "s")
    record("demonstration again", again, "s", target="<= 10")
    record("own proposal", study, "s")
    record("from clone to the first own proposal", whole, "s")


if __name__ == "__main__":
    main()
