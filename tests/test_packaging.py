"""The wheel: it builds, holds every data file, and works far from the sources."""

from __future__ import annotations

import os
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
SOURCE = ROOT / "src"


@pytest.fixture(scope="module")
def wheel(tmp_path_factory):
    """Built from a copy of what is committed, without a network."""
    folder = tmp_path_factory.mktemp("wheel")
    tree = folder / "tree"
    tree.mkdir()
    for name in ("pyproject.toml", "README.md", "LICENSE", "NOTICE"):
        (tree / name).write_bytes((ROOT / name).read_bytes())
    for file in SOURCE.rglob("*"):
        if file.is_file() and "__pycache__" not in file.parts and ".egg-info" not in str(file):
            target = tree / "src" / file.relative_to(SOURCE)
            target.parent.mkdir(parents=True, exist_ok=True)
            target.write_bytes(file.read_bytes())
    command = [sys.executable, "-m", "pip", "wheel", "--quiet", "--no-deps",
               "--no-build-isolation", "--wheel-dir", str(folder), str(tree)]  # fmt: skip
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    (built,) = folder.glob("*.whl")
    return built


def test_every_file_of_the_program_is_in_the_wheel(wheel):
    held = set(zipfile.ZipFile(wheel).namelist())
    wanted = {
        file.relative_to(SOURCE).as_posix()
        for file in (SOURCE / "warmside").rglob("*")
        if file.is_file() and "__pycache__" not in file.parts
    }
    assert wanted - held == set()
    assert any(name.endswith("licenses/LICENSE") for name in held)
    assert any(name.endswith("licenses/NOTICE") for name in held)
    assert "warmside/documents/fonts/OFL.txt" in held


def test_the_wheel_works_far_from_the_sources(wheel, tmp_path):
    with zipfile.ZipFile(wheel) as parts:
        parts.extractall(tmp_path / "site")
    environment = {**os.environ, "PYTHONPATH": str(tmp_path / "site"), "NUMBA_CACHE_DIR": "cache"}

    def run(*words):
        done = subprocess.run(
            [sys.executable, "-m", "warmside", *words], cwd=tmp_path, env=environment,
            capture_output=True, text=True, check=False,
        )  # fmt: skip
        assert done.returncode == 0, done.stderr
        return done.stdout

    assert "study" in run("--help")
    run("new", "house.toml")
    assert "no fault" in run("check", "house.toml")
    # the paper needs the template, the font and its letters
    assert "verification.pdf" in run("verify", "--room", "estimate", "--out", "papers")
    assert (tmp_path / "papers" / "verification.pdf").read_bytes().startswith(b"%PDF-")


def test_nothing_of_the_store_of_addresses_is_in_the_pins():
    for file in (ROOT / "requirements").glob("*.txt"):
        assert "://" not in file.read_text("utf-8")
