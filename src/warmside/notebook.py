"""Drawings for a notebook: ``%load_ext warmside.notebook`` shows a wall as its elevation.

Without it a study and a wall show themselves as tables.
"""

from __future__ import annotations

from typing import Any

from warmside import drawings
from warmside.study import WallStudy


def wall_svg(wall: WallStudy) -> str:
    """The framing elevation of a wall with what is put forward, as SVG."""
    return drawings.elevation(wall.frame, wall.wall, wall.chosen.build_up, width=900)


def load_ipython_extension(shell: Any) -> None:
    """Called by the notebook: register how a wall is drawn."""
    formatter = shell.display_formatter.formatters["image/svg+xml"]
    formatter.for_type(WallStudy, wall_svg)
