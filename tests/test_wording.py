"""Figures and sentences: units as the reader chose, no finer than their band, counts that agree."""

from __future__ import annotations

import ast
import json
import math
import re
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from warmside.errors import InputError
from warmside.wording import (
    PAPER,
    WAYS,
    Figure,
    Sentence,
    Style,
    amount_by_unit,
    counted,
    figure_by_unit,
    figure_told,
    from_plain,
    joined,
    listed,
    plain,
    say,
    to_plain,
)

SOURCE = Path(__file__).parent.parent / "src" / "warmside"
# number formats that still stand inside sentences of a room; these may only fall
FORMATS = {"promises": 33, "study": 31, "estimate": 4, "site": 32, "proof": 53, "options": 6}


def formats(room: str) -> int:
    """Format specifications in f-strings of a room, counted in the parsed source."""
    return sum(
        isinstance(part, ast.FormattedValue) and part.format_spec is not None
        for file in (SOURCE / room).rglob("*.py")
        for node in ast.walk(ast.parse(file.read_text("utf-8")))
        if isinstance(node, ast.JoinedStr)
        for part in node.values
    )


@pytest.mark.parametrize("room", FORMATS)
def test_number_formats_in_sentences_only_fall(room):
    """A figure belongs into a sentence as a `Figure`; who takes one out lowers the count here."""
    assert formats(room) <= FORMATS[room]


def is_figure(node: ast.AST) -> bool:
    return isinstance(node, ast.Call) and getattr(node.func, "id", "") == "Figure"


def bare_figures(text: str) -> list[int]:
    """Lines of f-strings that hold a figure without a style to write it."""
    found = []
    for function in ast.walk(ast.parse(text)):
        if isinstance(function, ast.FunctionDef):
            named = {
                target.id
                for node in ast.walk(function)
                if isinstance(node, ast.Assign) and is_figure(node.value)
                for target in node.targets
                if isinstance(target, ast.Name)
            }
            found += [
                node.lineno
                for node in ast.walk(function)
                if isinstance(node, ast.FormattedValue)
                and (is_figure(node.value) or getattr(node.value, "id", "") in named)
            ]
    return found


def test_a_figure_is_written_by_a_style_alone():
    assert bare_figures('def f(t):\n  x = Figure(t, "span")\n  return f"{x}, {PAPER(t)}"') == [3]
    assert bare_figures('def f(t):\n  return f"{Figure(t)}"') == [2]
    bare = {file.name: bare_figures(file.read_text("utf-8")) for file in SOURCE.rglob("*.py")}
    assert {name: lines for name, lines in bare.items() if lines} == {}


@pytest.mark.parametrize(
    ("figure", "text"),
    [
        # exact: 1 in = 25.4 mm, 1 ft = 0.3048 m, 1 lb = 0.45359237 kg; F = 1.8 C + 32
        (Figure(0.0508, "length"), '2"'),
        (Figure(30.48, "span"), "100 ft"),
        (Figure(-40.0, "temperature"), "-40 °F"),
        (Figure(5.0, "difference"), "9 °F"),
        (Figure(0.064516, "hole"), "100 in²"),
        (Figure(9.290304, "area"), "100 ft²"),
        (Figure(0.45359237, "mass"), "1 lb"),
        (Figure(0.0004719474432, "flow"), "1 cfm"),
        (Figure(0.30515174, "water"), "1.00 oz/ft²"),
    ],
)
def test_what_a_reader_of_feet_and_fahrenheit_reads(figure, text):
    assert Style(temperature="°F").figure(figure) == text


@pytest.mark.parametrize(
    ("figure", "text"),
    [
        (Figure(2507.0, "number", unit="m3", low=2021.0, high=3126.0), "2,500 m³ (2,000 to 3,100)"),
        (
            Figure(1504.0, "money", currency="CAD", low=1213, high=1875),
            "CAD 1,500 (1,210 to 1,880)",
        ),
        (Figure(-4388.0, "money", currency="CAD"), "-CAD 4,390"),
        (Figure(97.0, "money", currency="CAD", low=-1221, high=1378), "CAD 100 (-1,220 to 1,380)"),
        (Figure(22.6, "money", currency="CAD", low=22.5, high=23.4), "CAD 23 (22 to 23)"),
        (Figure(23.0, "money", currency="CAD", low=22.9, high=23.1), "CAD 23"),
        (Figure(25.3, "years", low=20.4, high=math.inf), "25 years (20 to never)"),
        (Figure(1.0, "years"), "1 year"),
        (Figure(-0.01, "temperature"), "0 °C"),
    ],
)
def test_no_figure_is_finer_than_its_band(figure, text):
    """Common practice: a figure is printed no finer than it is known."""
    assert PAPER.figure(figure) == text


@given(st.floats(-1e9, 1e9), st.floats(0.0, 1e9), st.sampled_from(["heat", "hole", "air change"]))
def test_a_band_is_never_lost_nor_reversed(value, width, kind):
    text = PAPER.figure(Figure(value, kind, low=value - width, high=value + width))
    low, high = re.search(r"\((-?[\d,.]+) to (-?[\d,.]+)\)", text).groups()
    assert float(low.replace(",", "")) <= float(high.replace(",", ""))


def test_counts_agree_with_their_nouns():
    assert [counted(n, "pass") for n in (0, 1, 2)] == ["0 passes", "1 pass", "2 passes"]
    assert counted(1200, "joint") == "1,200 joints"
    assert counted(2, "cavity") == "2 cavities"
    assert counted(2, "bay") == "2 bays"
    assert PAPER.figure(Figure(1.0, "count", noun="wall")) == "1 wall"
    assert listed(["a", "b", "c"]) == "a, b and c"


def test_a_sentence_refuses_parts_that_do_not_fit():
    with pytest.raises(InputError, match="allowed: b"):
        say("{b}", a="x")
    with pytest.raises(InputError, match="read none"):
        say("{b}")


def test_what_people_typed_is_never_taken_for_a_template():
    hostile = 'a {"b"} {c} {0.__class__} %s <script>'
    assert str(plain(hostile)) == hostile
    assert str(joined([say("{name}!", name=hostile), plain("{x}")])) == f"{hostile}! {{x}}"


def test_sentences_survive_the_way_to_a_page():
    inner = say("{t}", t=Figure(3.0, "temperature", low=1.0, high=5.0))
    told = say("At {t}: {inner}, {name}.", t=Figure(1.5, "length"), inner=inner, name="{x}")
    read = json.loads(json.dumps(to_plain({"a": [told]})), object_hook=from_plain)
    assert read == {"a": [told]}
    assert isinstance(read["a"][0], Sentence)


@pytest.mark.parametrize("kind", WAYS)
def test_every_choice_writes_every_value(kind):
    for choice in WAYS[kind]:
        style = Style(**{kind.replace(" ", "_"): choice})
        for value in (0.0, 1e-9, 0.5, 123.456, 9e4):
            assert re.search(r"\d", style(value, kind)), (choice, value)


# words in -s after a 1 that count nothing
_NO_COUNT = {"is", "as", "less", "across", "this", "its", "gas", "was", "has", "does", "plus"}


def miscounted(text: str) -> list[str]:
    """``1 walls``: a one before a plural."""
    found = re.findall(r"(?<![\d.,'/×-])\b1 ([a-z]{3,}s)\b", text)
    return [word for word in found if word not in _NO_COUNT and not word.endswith("ss")]


def test_a_house_of_one_wall_and_one_hazard_has_one_of_each():
    """Every text of its proposal, its study as JSON and its crew sheet."""
    from datetime import date

    from warmside.demo import survey_text
    from warmside.documents import annex_view
    from warmside.study import json_text, study
    from warmside.survey import read

    whole = read(survey_text())
    wall = whole.walls[5]
    hazards = tuple(h for h in whole.hazards if h.kind == "lead paint")[:1]
    small = whole.model_copy(update={"walls": (wall,), "hazards": hazards})
    house = study(small, fields=False, years=0)
    texts = [json_text(house), str(to_plain(annex_view(house, date(2026, 11, 24)))), repr(house)]
    assert hazards
    assert [miscounted(text) for text in texts] == [[], [], []]
    assert miscounted("1 walls and 21 walls, 1.1 walls, 1 glass") == ["walls"]


def test_a_table_with_a_sentence_of_its_own_stays_what_it_was():
    curve = {"svg": "<svg/>", "sentence": "An inch more pays.", "rows": [{"sentence": "x"}]}
    assert json.loads(json.dumps(to_plain(curve)), object_hook=from_plain) == curve


def test_an_index_is_told_no_finer_than_a_hundredth():
    """By hand: 1e-6 kg/(m2 s) are 3.6 g in an hour."""
    style = Style()
    assert style.figure(figure_by_unit(0.00665, "-")) == "0.01"
    assert style.figure(figure_by_unit(0.0004, "-")) == "0"
    assert style.figure(figure_by_unit(0.7236, "-")) == "0.724"
    assert style.figure(figure_by_unit(1e-6, "kg/(m2 s)")) == "3.6 g/(m² h)"


def test_air_changes_of_a_column_are_told_to_a_tenth_as_in_a_sentence():
    """By the fan test's own doubt, some tenths of an air change (common practice)."""
    assert PAPER.figure(figure_by_unit(6.4512, "1/h")) == "6.5 an hour"
    assert Style(language="fr").figure(figure_by_unit(6.4512, "1/h")) == "6,5 par heure"
    told = Figure(6.4512, "air change", low=5.3, high=7.6)
    assert PAPER.figure(told) == "6.5 (5.3 to 7.6)"  # the sentence says of what
    column = figure_told(6.4512, "1/h", [told])
    assert PAPER.figure(column) == "6.5 an hour (5.3 to 7.6)"
    assert PAPER.figure(figure_told(0.3, "1/h", [])) == "0.3 an hour"


def test_metres_of_a_finding_are_a_thickness_and_of_a_takeoff_a_run():
    """Exact: 1 in = 25.4 mm, 1 ft = 0.3048 m."""
    assert PAPER.figure(figure_by_unit(0.0381, "m")) == '1-1/2" (38 mm)'
    assert PAPER.figure(figure_by_unit(0.0125, "m")).endswith("(12 mm)")
    assert Style().by_unit(0.0508, "m") == '2"'
    assert Style().figure(amount_by_unit(10 * 0.3048, "m")) == "10 ft"
    assert Style().figure(amount_by_unit(3.0, "cartridge")) == "3 cartridges"
