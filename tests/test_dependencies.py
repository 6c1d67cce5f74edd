"""What the program asks for is what it imports, and what it imports it asks for."""

from __future__ import annotations

import ast
import re
import sys
import tomllib
from importlib.metadata import packages_distributions
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
# asked for though no line imports it: whoever takes one out, takes out what loads it
LOADED_BY_OTHERS = {
    "psycopg": "SQLAlchemy loads it for a postgresql+psycopg address",
    "python-multipart": "FastAPI loads it to read a form",
}

# imported, in the version that another one asks for
COME_WITH_OTHERS = {"starlette": "FastAPI", "pydantic-core": "pydantic", "markupsafe": "Jinja2",
                    "h11": "uvicorn"}  # fmt: skip


def normal(name: str) -> str:
    return re.sub(r"[-_.]+", "-", name).lower()


def asked() -> set[str]:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    return {normal(re.split(r"[\[<>=!~ ]", line)[0]) for line in project["dependencies"]}


def imported() -> set[str]:
    tops = set()
    for file in (ROOT / "src").rglob("*.py"):
        for node in ast.walk(ast.parse(file.read_text("utf8"))):
            if isinstance(node, ast.Import):
                tops |= {alias.name.split(".")[0] for alias in node.names}
            elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
                tops.add(node.module.split(".")[0])
    homes = packages_distributions()
    foreign = tops - set(sys.stdlib_module_names) - {"warmside"}
    return {normal(home) for top in foreign for home in homes.get(top, [top])}


def test_every_dependency_is_imported():
    assert asked() - imported() - set(LOADED_BY_OTHERS) == set()


def test_every_import_is_a_dependency():
    assert imported() - asked() - set(COME_WITH_OTHERS) == set()


@pytest.mark.parametrize("name", ["run", "check"])
def test_every_pin_is_an_exact_version_with_its_hashes(name: str):
    """As pip reads them where one has a hash: then every one has to (its "hash-checking mode")."""
    text = (ROOT / "requirements" / f"{name}.txt").read_text().replace("\\\n", " ")
    pins = [
        line for line in text.splitlines() if line.strip() and not line.startswith(("#", "-r "))
    ]
    assert len(pins) > 50
    for pin in pins:
        what, *hashes = pin.split()
        assert re.fullmatch(r"[A-Za-z0-9._-]+(\[[a-z]+\])?==[0-9][0-9A-Za-z.]*", what), pin
        assert hashes, pin
        assert all(re.fullmatch(r"--hash=sha256:[0-9a-f]{64}", one) for one in hashes), pin
    assert "://" not in text
