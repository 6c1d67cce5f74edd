"""The page of six climates holds what the program says, and says what the trade knows of them."""

from __future__ import annotations

import importlib.util
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
PAGE = (ROOT / "docs" / "six-climates.md").read_text(encoding="utf-8")


def tables() -> dict[str, list[list[str]]]:
    """Lines of the page's tables by place, wall first."""
    found: dict[str, list[list[str]]] = {}
    for part in PAGE.split("\n## ")[1:]:
        title, *lines = part.splitlines()
        cells = [line.strip("| ").split(" | ") for line in lines if line.startswith("|")]
        found[title] = cells[2:]
    return found


def rain(place: str) -> dict[str, float]:
    return {row[0].split()[0]: float(row[1]) for row in tables()[place]}


@pytest.mark.parametrize("key", ["winnipeg", "new-orleans-la"])
def test_the_page_holds_what_the_program_says(key):
    spec = importlib.util.spec_from_file_location(
        "six_climates", ROOT / "benchmarks" / "six_climates.py"
    )
    assert spec
    assert spec.loader
    bench = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(bench)
    for cells in bench.rows(key):
        assert bench.line(cells) in PAGE


def test_its_sentences_say_what_the_tables_hold():
    """Facts of the trade: easterly rain on the prairie, north-easters in New England, southerly
    rain on Puget Sound, Atlantic walls wetter than prairie ones, damp from outdoors on the Gulf."""
    assert len(tables()) == 6
    prairie, atlantic = rain("Winnipeg (airport)"), rain("Halifax")
    assert prairie["east"] > prairie["north"] + prairie["south"] + prairie["west"]
    assert sum(atlantic.values()) > 3.0 * sum(prairie.values())
    assert rain("Boston")["east"] > 3.0 * rain("Boston")["west"]
    assert rain("Seattle")["south"] > 10.0 * rain("Seattle")["north"]
    for row in tables()["New Orleans"]:
        assert row[3] == "100 %"
        assert float(row[5].split()[0]) < 70.0
    for row in tables()["Phoenix"]:
        assert float(row[3].split()[0]) < 60.0
        assert max(float(row[4]), float(row[6])) < 3.0
    # dry walls: siding that sheds rain stays sound everywhere, bare cement shingles tight on paper
    # do not where it rains in the warm half of the year (common practice, no source)
    for place, rows in tables().items():
        for name, *row in rows:
            drinks = name == "east side" and place in ("Boston", "Seattle", "New Orleans")
            assert [float(row[3]) > 3.0, float(row[5]) > 3.0] == [drinks, drinks], (place, name)
