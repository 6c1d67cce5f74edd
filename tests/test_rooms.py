"""What stands in one file under a private name is read in that file alone.

The order of the rooms, their private files and circles are import-linter's (`pyproject.toml`); it
does not see single names.
"""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

SOURCE = Path(__file__).parents[1] / "src"


def borrowed(file: Path) -> Iterator[str]:
    """Private names that ``file`` takes out of other files; private files are no names."""
    for node in ast.walk(ast.parse(file.read_text("utf8"))):
        if not isinstance(node, ast.ImportFrom) or not (node.module or "").startswith("warmside"):
            continue
        home = SOURCE.joinpath(*str(node.module).split("."))
        for alias in node.names:
            is_file = (home / f"{alias.name}.py").exists()
            if alias.name.startswith("_") and not alias.name.startswith("__") and not is_file:
                yield f"{file.relative_to(SOURCE)}:{node.lineno} {node.module}.{alias.name}"


def test_private_names_stay_in_their_file():
    assert [name for file in sorted(SOURCE.rglob("*.py")) for name in borrowed(file)] == []
