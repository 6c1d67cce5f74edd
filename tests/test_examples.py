"""Every example computes what its source says, in a moment, and writes only where it is told."""

from __future__ import annotations

import importlib
import sys
import time
from pathlib import Path
from types import ModuleType

import pytest

EXAMPLES = Path(__file__).parent.parent / "examples"
NAMES = sorted(path.stem for path in EXAMPLES.glob("[!_]*.py"))
MOST_SECONDS, MOST_LINES = 20.0, 80
TAGS = ("[exact]", "[published", "[second-hand]", "[from memory]", "[other method]",
        "[common practice]")  # fmt: skip


@pytest.fixture
def example(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> ModuleType:
    """The script as a module, its neighbours beside it."""
    monkeypatch.syspath_prepend(EXAMPLES)
    monkeypatch.setattr(sys, "dont_write_bytecode", True)
    return importlib.import_module(request.param)


def test_there_are_ten():
    assert len(NAMES) == 10


@pytest.mark.parametrize("example", NAMES, indirect=True)
def test_computes_what_its_source_says(example: ModuleType, tmp_path: Path, monkeypatch):
    """Each expected figure carries its own source and tag; differences count both ways."""
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    monkeypatch.chdir(elsewhere)
    pictures = tmp_path / "pictures"
    pictures.mkdir()
    began = time.process_time()
    rows = example.main(pictures)
    assert time.process_time() - began < MOST_SECONDS
    assert rows
    for check, source in rows:
        assert check.computed == pytest.approx(check.expected, rel=0, abs=check.allowed), check.name
        assert check.allowed <= 0.35 * abs(check.expected), check.name
        assert any(tag in source for tag in TAGS), source
    assert list(elsewhere.iterdir()) == []
    assert all(path.stat().st_size > 1000 for path in pictures.iterdir())


@pytest.mark.parametrize("name", NAMES)
def test_is_short_and_says_problem_and_source(name: str):
    text = (EXAMPLES / f"{name}.py").read_text("utf-8")
    assert text.count("\n") <= MOST_LINES
    assert "\nProblem: " in text
    assert "\nSource: " in text


def test_a_figure_that_differs_is_told(monkeypatch: pytest.MonkeyPatch, capsys):
    """The gallery's command fails where a figure is wrong."""
    monkeypatch.syspath_prepend(EXAMPLES)
    monkeypatch.setattr(sys, "argv", ["example"])
    compared = importlib.import_module("_compared")
    wrong = compared.compared("one", 1.2, 1.0, 0.1, "by hand [exact]")
    with pytest.raises(SystemExit) as ended:
        compared.show(lambda _: [wrong])
    assert ended.value.code == 1
    assert "DIFFERS" in capsys.readouterr().out
