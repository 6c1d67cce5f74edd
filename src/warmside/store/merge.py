"""Whether two people's changes of one survey get into each other's way."""

from __future__ import annotations

import tomllib
from collections.abc import Iterable
from typing import Any

from warmside.survey import FILE_NAMES

Path = tuple[str | int, ...]


def touched(base: str, here: str, paths: Iterable[Path]) -> bool:
    """Whether any table that holds one of ``paths`` differs between the two surveys.

    A table is one wall with all in it, the house, one hazard, one wanted option.
    """
    if base == here:
        return False
    before, after = tomllib.loads(base), tomllib.loads(here)
    return any(_table(before, path) != _table(after, path) for path in paths)


def _table(data: dict[str, Any], path: Path) -> Any:
    found: Any = data.get(FILE_NAMES.get(str(path[0]), str(path[0])) if path else "")
    if len(path) > 1 and isinstance(path[1], int) and isinstance(found, list):
        return found[path[1]] if 0 <= path[1] < len(found) else None
    return found
