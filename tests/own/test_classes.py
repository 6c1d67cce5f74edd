"""What a new class of rows must have, and what tells when it was forgotten."""

from __future__ import annotations

import re
from dataclasses import fields
from pathlib import Path

import pytest

from warmside.catalog import Catalog, load, load_text, sources
from warmside.catalog._build import _CLASSES
from warmside.catalog._columns import COLUMNS, HEADINGS, KINDS, OLD_HEADINGS

PAGE = (Path(__file__).parents[2] / "docs" / "own-rows.md").read_text(encoding="utf-8")


def row_of_the_page(heading: str) -> str:
    return next(line for line in PAGE.splitlines() if line.startswith(f"| `[[{heading}]]`"))


def test_every_class_has_columns_a_builder_and_a_heading() -> None:
    assert set(COLUMNS) == set(_CLASSES) == set(HEADINGS.values()) == set(KINDS)


def test_every_class_stands_in_the_catalog() -> None:
    held = {field.name for field in fields(Catalog)} | {"moisture"}
    assert set(KINDS) - {"clauses"} <= held  # clauses stand in their packs
    found = load()
    assert all(len(getattr(found, kind)) > 0 for kind in KINDS if kind != "clauses")


def test_every_row_that_has_a_source_is_listed_with_it() -> None:
    listed = {line.kind for line in sources(load())}
    assert listed == set(KINDS) - {"packs", "signs"}  # signs and heads of packs hold no figure


@pytest.mark.parametrize(("heading", "kind"), HEADINGS.items())
def test_the_page_names_every_column(heading: str, kind: str) -> None:
    told = re.findall(r"(\(?)`(\w+)`\)?", row_of_the_page(heading).rpartition(" | ")[2])
    wanted = [
        ("" if column.required and not column.name.startswith("tag") else "(", column.name)
        for column in COLUMNS[kind]  # type: ignore[index]
    ]
    assert told == wanted


def test_the_rows_of_the_page_are_read() -> None:
    block = PAGE.split("```toml\n")[1].split("```")[0]
    found = load_text(block)
    assert found.material("our-board").moisture is not None
    assert found.hazard("bee nest").clears == "a beekeeper, in writing"
    assert any(clause.number == "Town 7" for clause in found.pack("canada-nbc-2020").clauses)


@pytest.mark.parametrize("heading", OLD_HEADINGS)
def test_the_older_headings_are_still_read(heading: str) -> None:
    text = f"[[{heading}]]\nid = 'x'\n"
    with pytest.raises(Exception, match='row "x", column name: read nothing'):
        load_text(text)


@pytest.mark.parametrize(
    ("look", "wrong", "near"),
    [
        ("hazard", "knob and tube", "knob-and-tube wiring"), ("pack", "canada", "canada-nbc-2020"),
        ("air_figure", "need-are", "need-area"), ("vent", "sealed off", "sealed"),
        ("site_figure", "wood-moistur", "wood-moisture"),
    ],
)  # fmt: skip
def test_an_unknown_name_is_met_with_the_nearest(look: str, wrong: str, near: str) -> None:
    from warmside.errors import UnknownRowError

    with pytest.raises(UnknownRowError) as caught:
        getattr(load(), look)(wrong)
    assert near in caught.value.near
