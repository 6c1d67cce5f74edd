"""The program starts fast and says what it is."""

from __future__ import annotations

import subprocess
import sys

import warmside


def test_import_leaves_the_heavy_libraries_alone():
    heavy = ("numba", "altair", "pint", "scipy", "pandas", "matplotlib", "typst")
    code = f"import sys, warmside.cli; print([m for m in {heavy} if m in sys.modules])"
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert out.stdout.strip() == "[]"


def test_version():
    out = subprocess.run(
        [sys.executable, "-m", "warmside", "--version"], capture_output=True, text=True, check=True
    )
    assert warmside.__version__ in out.stdout
