"""The plan of the house, drawn from the import contract and the rooms' own first lines."""

from __future__ import annotations

import ast
import tomllib
from html import escape
from pathlib import Path
from textwrap import shorten
from typing import NamedTuple

ROOT = Path(__file__).parents[2]
SOURCE = ROOT / "src" / "warmside"
COLD, WARM = "#3478b0", "#c2541a"
WIDTH, ROW, NAME = 720, 34, 120


class Room(NamedTuple):
    """A room, and what its first line says it is."""

    name: str
    says: str


def layers() -> list[str]:
    """Rooms of the import contract, the foundation last."""
    with (ROOT / "pyproject.toml").open("rb") as file:
        contracts = tomllib.load(file)["tool"]["importlinter"]["contracts"]
    listed = next(c for c in contracts if c["type"] == "layers")["layers"]
    return [name.strip("()") for name in listed if name.strip("()") != "__main__"]


def rooms() -> list[Room]:
    """Rooms of the contract that stand in the source, with their first lines."""
    found = []
    for name in layers():
        files = [SOURCE / name / "__init__.py", SOURCE / f"{name}.py"]
        file = next((f for f in files if f.is_file()), None)
        if file:
            text = ast.get_docstring(ast.parse(file.read_text("utf-8"))) or ""
            found.append(Room(name, text.partition("\n")[0]))
    return found


def picture() -> str:
    """The rooms as storeys: each stands on what it may import."""
    storeys = rooms()
    high = len(storeys) * ROW + 40
    parts = ['<text x="0" y="12" font-size="11">what people meet</text>']
    for k, room in enumerate(storeys):
        y = 20 + k * ROW
        share = k / (len(storeys) - 1)
        tint = f'<rect x="0" y="{y}" width="{WIDTH}" height="{ROW - 5}" rx="2" fill="{{}}" ' + (
            'fill-opacity="{:.2f}" stroke="currentColor" stroke-width="0.6"/>'
        )
        parts.append(tint.format(WARM if share < 0.5 else COLD, 0.08 + 0.22 * abs(2 * share - 1)))
        middle = y + ROW / 2 + 1.5
        parts.append(
            f'<text x="10" y="{middle}" font-size="13" font-weight="600">{room.name}</text>'
        )
        says = escape(shorten(room.says, 88, placeholder=" …"))
        parts.append(f'<text x="{NAME}" y="{middle}" font-size="12">{says}</text>')
    parts.append(f'<text x="0" y="{high - 4}" font-size="11">what everything stands on</text>')
    told = "Rooms from top to foundation: " + ", ".join(room.name for room in storeys)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {high}" role="img" '
        f'fill="currentColor" font-family="Inter, Arial, sans-serif"><title>Rooms</title>'
        f"<desc>{escape(told)}</desc>{''.join(parts)}</svg>"
    )


def imports(room: str) -> set[str]:
    """Rooms that the source of ``room`` imports, read from its text."""
    files = sorted((SOURCE / room).rglob("*.py")) or [SOURCE / f"{room}.py"]
    found: set[str] = set()
    for file in files:
        for node in ast.walk(ast.parse(file.read_text("utf-8"))):
            if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("warmside"):
                below = node.module.split(".")[1:2]  # type: ignore[union-attr]
                found.update(below or [alias.name for alias in node.names])
            elif isinstance(node, ast.Import):
                found.update(
                    a.name.split(".")[1] for a in node.names if a.name.startswith("warmside.")
                )
    return (found & set(layers())) - {room}
