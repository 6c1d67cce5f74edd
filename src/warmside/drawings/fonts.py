"""Where the shipped sans font lies."""

from __future__ import annotations

from pathlib import Path

FONT_FOLDER = Path(__file__).parents[1] / "documents" / "fonts"
