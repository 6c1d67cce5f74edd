"""The program starts fast and says what it is."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import warmside

SOURCE = {**os.environ, "PYTHONPATH": str(Path(warmside.__file__).parents[1])}


def test_import_leaves_the_heavy_libraries_alone():
    heavy = (
        "numba",
        "pint",
        "scipy",
        "pandas",
        "typst",
        "sqlalchemy",
        "alembic",
    )
    code = f"import sys, warmside.cli; print([m for m in {heavy} if m in sys.modules])"
    out = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, env=SOURCE
    )
    assert out.stdout.strip() == "[]"


def test_version():
    out = subprocess.run(
        [sys.executable, "-m", "warmside", "--version"],
        capture_output=True,
        text=True,
        check=True,
        env=SOURCE,
    )
    assert warmside.__version__ in out.stdout
