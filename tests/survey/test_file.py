"""The survey file: a good one is read, a bad one is told line by line."""

from __future__ import annotations

import json
import tomllib

import pytest

from warmside.errors import Fault, InputError
from warmside.survey import Checked, check, load, read, schema, template

SMALL = """\
[house]
name = "Small"
climate = "winnipeg"
year_built = 1931
volume = "9900 ft3"

[[wall]]
name = "north"
faces = "N"
frame = "platform"
length = "24 ft"
height = "8 ft"

[[wall.opening]]
name = "kitchen window"
left = "4 ft"
sill = "3 ft"
width = "3 ft"
height = "4 ft"
"""


def faults(text: str) -> list[str]:
    checked = check(text)
    assert checked.survey is None
    return [str(fault) for fault in checked.faults]


def test_the_template_reads_without_fault_as_it_says():
    survey = read(template())
    wall = survey.walls[0]
    # exact: 1 ft = 0.3048 m, 1 in = 0.0254 m
    assert wall.length == pytest.approx(24 * 0.3048, rel=1e-12)
    assert wall.stud_depth == pytest.approx(3.75 * 0.0254, rel=1e-12)
    assert wall.openings[0].weight_pockets
    assert wall.found.finish[0].material == "plaster-on-wood-lath"
    assert wall.found.sheathing[0].thickness == pytest.approx(0.75 * 0.0254, rel=1e-12)
    assert survey.house.fan_test is not None
    assert survey.house.fan_test.flow_50 == pytest.approx(1300 * 0.3048**3 / 60, rel=1e-12)
    assert survey.house.indoor_humidity == pytest.approx(0.26, rel=1e-12)
    assert wall.readings[0].date == "2025-03-14"
    assert [hazard.state for hazard in survey.hazards] == ["found", "cleared"]
    assert survey.options[0].walls == ("north front",)


def test_the_template_shows_every_word_that_a_choice_allows():
    text = template()
    words = [
        word
        for definition in schema()["$defs"].values()
        for field in definition.get("properties", {}).values()
        for branch in (field, *field.get("anyOf", ()))
        for word in branch.get("enum", ())
    ]
    assert len(words) > 60
    assert [word for word in words if word not in text] == []


def test_the_template_names_every_field():
    text = template()
    keys = {
        key for definition in schema()["$defs"].values() for key in definition.get("properties", {})
    }
    assert sorted(key for key in keys if key not in text) == []


@pytest.mark.parametrize(
    ("old", "new", "line", "place", "read_there", "allowed"),
    [
        ('"24 ft"', "24", 11, 'wall "north", length', "24", "with its unit"),
        ('"24 ft"', '"24"', 11, 'wall "north", length', '"24"', "unit"),
        ('"24 ft"', '"240 m"', 11, 'wall "north", length', '"240 m"', "up to 328' 1\" (100 m)"),
        ('"24 ft"', "true", 11, 'wall "north", length', "true", "a length"),
        ('"24 ft"', "nan", 11, 'wall "north", length', "nan", "a length"),
        ('"platform"', '"baloon"', 10, 'wall "north", frame', '"baloon"', '"balloon"'),
        ("1931", '"old"', 4, "house, year_built", '"old"', "whole number, from 1700"),
        ("1931", "true", 4, "house, year_built", "true", "whole number"),
        ("1931", "9" * 5000, 4, "the text", "5013 characters", "4096"),
        ("1931", "9" * 4000, 4, "house, year_built", "very long", "whole number"),
        ("1931", "0x" + "f" * 4000, 4, "house, year_built", "very long", "whole number"),
        ('"9900 ft3"', '"9900 ft2"', 5, "house, volume", '"9900 ft2"', "14000 ft3"),
        ("width", "widht", 18, 'wall "north", opening "kitchen window", widht', "widht", '"width"'),
        ('width = "3 ft"\n', "", 14, 'wall "north", opening "kitchen window", width', "nothing",
         "a length"),
        ('"Small"', '"Sm\\u0007all"', 2, "house, name", '"Sm\ufffdall"', "can be seen"),
        ('"Small"', '""', 2, "house, name", '""', "at least one"),
        ('"Small"', '"' + "x" * 99 + '"', 2, "house, name", "xxx...", "80 characters"),
        ('"Small"', "{a = 1}", 2, "house, name", "a table", "text"),
        ("[[wall]]", "[[walls]]", 7, "walls", "[[walls]]", "[[wall]]"),
        ('"N"', '"up"', 9, 'wall "north", faces', '"up"', "south-west"),
        ('"4 ft"', '"23 ft"', 18, 'wall "north", opening "kitchen window", width',
         "26' 0\"", "24' 0\""),
        ('"4 ft"\n\n', '"4 ft"\nheight = "3 ft"\n', 20, "the text", "height", ""),
    ],
)  # fmt: skip
def test_a_fault_names_line_place_what_was_read_and_what_is_allowed(
    old, new, line, place, read_there, allowed
):
    text = SMALL.replace(old, new, 1) if old in SMALL else SMALL + "height = 3\n"
    found = [
        fault
        for fault in check(text).faults
        if place in fault.place and read_there in fault.read and allowed in fault.allowed
    ]
    assert found, faults(text)
    assert line is None or found[0].line == line, faults(text)


def test_all_faults_are_told_at_once_in_the_order_of_the_file():
    text = SMALL.replace("1931", "1031").replace('"24 ft"', "24").replace('"3 ft"', '"3"')
    lines = [fault.line for fault in check(text).faults]
    assert lines == [4, 11, 17, 18]


def test_read_raises_all_faults():
    with pytest.raises(InputError) as caught:
        read(SMALL.replace("1931", "1031").replace('"24 ft"', "24"), "mine.toml")
    assert len(caught.value.faults) == 2
    assert "line 4: mine.toml: house, year_built: read 1031" in str(caught.value)


def test_several_lines_that_are_not_toml_are_told_at_once():
    text = SMALL.replace('"24 ft"', '"8\' 1-1/2""').replace('"4 ft"\n', "4 ft\n", 1)
    found = check(text).faults
    assert [fault.line for fault in found] == [11, 16]
    assert "inch mark" in found[0].allowed
    assert "quotes" in found[1].allowed


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "house: read nothing"),
        ("# only a note", "wall: read nothing"),
        ("\x00", "U+0000"),
        ("house = 3", "house: read 3"),
        ("[[house]]", "the heading [house]"),
        ("wall = []", "wall: read an empty list"),
        ("a" * ((1 << 20) + 1), "up to 1048576"),
        ("x = '" + "a" * 9000 + "'", "lines of up to"),
        ("x = " + "[" * 4000, "too deep"),
        ("x = " + "[" * 20 + "]" * 20, "too deep"),
        (".".join("a" * 2000) + " = 1", "keys of up to 8 parts"),
        ("a = {" + ".".join("a" * 50) + " = 1}", "keys of up to 8 parts"),
        ("x = \ud800", "U+D800"),
        ("[[wall]]\nname = '\u202e'", "U+202E"),
    ],
)
def test_hostile_texts_become_faults(text, says):
    assert any(says in fault for fault in faults(text)), faults(text)


def test_line_ends_and_byte_order_mark_do_not_matter():
    assert read("\ufeff" + SMALL.replace("\n", "\r\n")) == read(SMALL)
    wrong = SMALL.replace("1931", "1031")
    assert check(wrong.replace("\n", "\r\n")).faults == check(wrong).faults


def test_short_and_long_forms_of_layers_and_profile_say_the_same():
    short = SMALL + '[wall.found]\nfinish = "stucco"\ncladding = "vinyl-siding"\n'
    long = (
        SMALL
        + '[[wall.found.finish]]\nmaterial = "stucco"\n'
        + '[wall.found.cladding]\nmaterial = "vinyl-siding"\n'
    )
    assert read(short) == read(long)
    pairs = SMALL.replace('height = "8 ft"', 'profile = [["0 ft", "8 ft"], ["12 ft", "14 ft"]]')
    tables = SMALL.replace(
        'height = "8 ft"',
        'profile = [{x = "0 ft", height = "8 ft"}, {x = "12 ft", height = "14 ft"}]',
    )
    assert read(pairs) == read(tables)
    assert len(read(pairs).walls[0].profile) == 2


def test_later_checks_can_name_lines_by_attribute_or_file_path():
    checked = check(template())
    rows = template().splitlines()
    path = ("walls", 1, "found", "fill")
    fault = checked.fault_at(path, "glass-fibre-batt", "a material of the catalog")
    assert fault.place == 'wall "kitchen wing east", found, fill'
    assert fault.line is not None
    assert rows[fault.line - 1].startswith('fill = "glass-fibre-batt"')
    assert checked.line_of(("wall", 1, "found", "fill")) == fault.line
    walls = checked.line_of(("options", 0, "walls", 0))
    assert walls is not None
    assert rows[walls - 1].startswith("walls = ")
    assert checked.line_of(("walls", 0, "no such")) == checked.line_of(("walls", 0))
    assert checked.line_of(()) is None
    assert Checked(None, ()).fault_at(("house",), None, "x") == Fault("house", "nothing", "x")


def test_every_path_of_a_file_has_the_line_it_stands_on():
    """Other method: each value of the template is looked up in the text of its line."""
    checked = check(template())
    rows = template().splitlines()

    def walk(node, path):
        if isinstance(node, dict):
            for key, value in node.items():
                yield from walk(value, (*path, key))
        elif isinstance(node, list):
            for i, value in enumerate(node):
                yield from walk(value, (*path, i))
        elif isinstance(node, str):
            yield path, node

    seen = [*walk(tomllib.loads(template()), ())]
    assert len(seen) > 90
    for path, value in seen:
        assert value in rows[checked.lines[path] - 1], path


def test_load_tells_what_is_wrong_with_a_file(tmp_path):
    good = tmp_path / "good.toml"
    good.write_text(SMALL, "utf-8")
    assert load(good) == SMALL
    bad = tmp_path / "bad.toml"
    bad.write_bytes(b"a = 1\nb = '\xff'")
    with pytest.raises(InputError, match=r"line 2: bad.toml: read bytes that are not UTF-8"):
        load(bad)
    with pytest.raises(InputError, match="no such file"):
        load(tmp_path / "absent.toml")
    with pytest.raises(InputError, match="is a directory"):
        load(tmp_path)


def test_the_schema_speaks_the_file_s_own_names():
    document = json.loads(json.dumps(schema()))
    assert set(document["properties"]) == {"house", "wall", "hazard", "option", "accepted"}
    assert "opening" in document["$defs"]["Wall"]["properties"]
    assert {"string", "number"} <= {
        branch["type"] for branch in document["$defs"]["Wall"]["properties"]["length"]["anyOf"]
    }
