"""What the program asks for is what it imports, and what it imports it asks for."""

from __future__ import annotations

import ast
import re
import sys
import tomllib
from importlib.metadata import packages_distributions, requires
from pathlib import Path

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

ROOT = Path(__file__).parents[1]
# asked for though no line imports it: whoever takes one out, takes out what loads it
LOADED_BY_OTHERS = {
    "psycopg": "SQLAlchemy loads it for a postgresql+psycopg address",
    "python-multipart": "FastAPI loads it to read a form",
}

# imported, in the version that another one asks for
COME_WITH_OTHERS = {"starlette": "FastAPI", "pydantic-core": "pydantic", "markupsafe": "Jinja2",
                    "h11": "uvicorn", "anyio": "Starlette"}  # fmt: skip


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


def pins(name: str) -> list[str]:
    """One a line, with its hashes."""
    text = (ROOT / "requirements" / f"{name}.txt").read_text().replace("\\\n", " ")
    assert "://" not in text
    return [
        line for line in text.splitlines() if line.strip() and not line.startswith(("#", "-r "))
    ]


@pytest.mark.parametrize("name", ["run", "check"])
def test_every_pin_is_an_exact_version_with_its_hashes(name: str):
    """As pip reads them where one has a hash: then every one has to (its "hash-checking mode")."""
    found = pins(name)
    assert len(found) > 50
    for pin in found:
        what, *hashes = pin.split()
        assert re.fullmatch(r"[A-Za-z0-9._-]+(\[[a-z]+\])?==[0-9][0-9A-Za-z.]*", what), pin
        assert hashes, pin
        assert all(re.fullmatch(r"--hash=sha256:[0-9a-f]{64}", one) for one in hashes), pin


def test_pins_name_the_extras_that_packages_ask_of_each_other():
    """Of a name pinned without them, pip's hash-checking mode takes what has them for not pinned.

    Other method: what each pinned package asks, as its own metadata has it.
    """
    held = [Requirement(pin.split()[0]) for pin in (*pins("run"), *pins("check"))]
    extras = {canonicalize_name(one.name): one.extras for one in held}
    asks = [(one.name, Requirement(line)) for one in held for line in requires(one.name) or ()]
    wanting = [
        f"{name}: {ask}" for name, ask in asks
        if ask.extras and (ask.marker is None or ask.marker.evaluate({"extra": ""}))
        and not ask.extras <= extras.get(canonicalize_name(ask.name), set())
    ]  # fmt: skip
    assert any(ask.extras for _, ask in asks)
    assert wanting == []
