"""The examples as a gallery: what they say, what they print, what they draw."""

from __future__ import annotations

import contextlib
import importlib
import sys
from collections.abc import Iterator
from functools import cache
from pathlib import Path

from rooms import ROOT

FOLDER = ROOT / "examples"
ORDER = (
    "stud_wall", "thermal_bridge", "wetting_body", "wet_sheathing", "leak_litres", "house_test",
    "half_inches", "predicted_image", "small_stock", "own_rows",
)  # fmt: skip
PICTURES = ROOT / "build" / "docs-examples"


@cache
def ran(name: str) -> tuple[str, tuple[Path, ...]]:
    """Table that an example prints, and the pictures it draws."""
    PICTURES.mkdir(parents=True, exist_ok=True)
    with _beside():
        module = importlib.import_module(name)
        printed = importlib.import_module("_compared").table(module.main(PICTURES))
    return printed, tuple(sorted(PICTURES.glob(f"{name}.*")))


@contextlib.contextmanager
def _beside() -> Iterator[None]:
    sys.path.insert(0, str(FOLDER))
    try:
        yield
    finally:
        sys.path.remove(str(FOLDER))


def page() -> str:
    """All ten, as Markdown."""
    return "\n".join(line for name in ORDER for line in _one(name))


def _one(name: str) -> Iterator[str]:
    text = (FOLDER / f"{name}.py").read_text("utf-8")
    says = text.split('"""')[1]
    title, _, rest = says.partition("\n\n")
    yield f"## {title.rstrip('.')}\n"
    for part in rest.strip().split("\n\n"):
        word, _, said = part.partition(": ")
        yield f"**{word}.** {said[0].upper()}{said[1:]}\n"
    printed, pictures = ran(name)
    yield f"```text\n{printed}\n```\n"
    for picture in pictures:
        yield f"```{{picture}} {picture}\n```\n"
    yield "<details><summary>The script</summary>\n"
    yield f"```{{literalinclude}} ../examples/{name}.py\n:language: python\n```\n"
    yield "</details>\n"
