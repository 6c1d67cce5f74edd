"""Writing back keeps what the person wrote."""

from __future__ import annotations

import difflib
import tomllib

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.survey.test_file import SMALL

from warmside.errors import InputError
from warmside.survey import Box, Opening, Partition, read, template, update, write


def changed_lines(before: str, after: str) -> list[str]:
    rows = difflib.unified_diff(before.splitlines(), after.splitlines(), n=0, lineterm="")
    return [row for row in rows if row[:1] in "+-" and row[:3] not in ("+++", "---")]


def test_update_changes_one_line_and_keeps_its_comment():
    after = update(template(), {("wall", 0, "height"): "18 ft"})
    rows = changed_lines(template(), after)
    assert len(rows) == 2
    assert rows[1].startswith('+height = "18 ft" ')
    assert "# or a stepped outline" in rows[1]


def test_update_takes_attribute_names_adds_and_removes():
    after = update(
        template(),
        {
            ("walls", 0, "openings", 1, "height"): "7 ft",
            ("house", "mechanical_ventilation"): "60 cfm",
            ("house", "fan_test"): None,
            ("wall", 1, "partition", 0, "at"): "7 ft",
        },
    )
    survey = read(after)
    assert survey.walls[0].openings[1].height == pytest.approx(7 * 0.3048, rel=1e-12)
    assert survey.house.mechanical_ventilation == pytest.approx(60 * 0.3048**3 / 60, rel=1e-12)
    assert survey.house.fan_test is None
    assert len(survey.walls[1].partitions) == 1
    assert "# heated, basement included" in after


@pytest.mark.parametrize(
    ("path", "value", "says"),
    [
        (("wall", 0, "height"), "18", "unit"),
        (("wall", 9, "height"), "18 ft", "does not have"),
        (("wall", 0, "hight"), "18 ft", "height"),
        (("house", "no such"), None, "does not have"),
        (("house", "name", "x"), "a", "does not have"),
        (("house", "notes"), object(), "does not have"),
    ],
)
def test_update_refuses_what_would_spoil_the_file(path, value, says):
    with pytest.raises(InputError, match=says):
        update(template(), {path: value})


def test_update_and_write_refuse_a_text_that_is_no_survey():
    with pytest.raises(InputError):
        update("x = [", {("x",): 1})
    with pytest.raises(InputError):
        write(read(template()), "x = 1")


def test_walls_put_in_and_taken_out_are_read_back():
    survey = read(template())
    third = survey.walls[0].model_copy(update={"name": "south back"})
    more = survey.model_copy(update={"walls": (*survey.walls, third)})
    after = write(more, template())
    assert read(after) == more
    assert after.index("south back") < after.index("# ---- what stops work")
    assert read(write(survey, after)) == survey
    fewer = survey.model_copy(update={"walls": survey.walls[:1]})
    assert read(write(fewer, after)) == fewer


def test_tables_written_within_a_line_are_written_back_too():
    text = SMALL.replace("[[wall.opening]]", 'box = [{x = "1 ft", z = "1 ft"}]\n\n[[wall.opening]]')
    survey = read(text)
    wall = survey.walls[0]
    for boxes in ((), (wall.boxes[0], Box(x=3.0, z=1.0)), (Box(x=3.0, z=1.0),)):
        changed = survey.model_copy(update={"walls": (wall.model_copy(update={"boxes": boxes}),)})
        assert read(write(changed, text)) == changed


def test_an_unchanged_survey_is_written_as_it_was():
    assert write(read(template()), template()) == template()


def test_a_survey_without_an_original_is_written_whole():
    survey = read(template())
    assert read(write(survey)) == survey


def test_write_touches_only_what_changed():
    survey = read(template())
    first, second = survey.walls
    longer = second.model_copy(
        update={
            "length": 5.0,
            "partitions": (Partition(at=1.5), Partition(at=3.0, post="ladder")),
            "openings": (*second.openings, Opening(name="vent", left=4.0, width=0.3, height=0.3)),
        }
    )
    changed = survey.model_copy(update={"walls": (first, longer), "hazards": survey.hazards[:1]})
    after = write(changed, template())
    assert read(after) == changed
    comments = [line for line in template().splitlines() if line.startswith("#")]
    kept = after.splitlines()
    assert [line for line in comments if line not in kept] == []
    # what was put in stands with its wall, before the notes of the next part
    assert after.index("[[wall.partition]]", after.index("kitchen wing")) < after.index(
        "# ---- what"
    )
    assert after.index('"vent"', after.index("kitchen wing")) < after.index("# ---- what")


def test_a_table_taken_out_leaves_the_notes_of_the_next():
    after = update(template(), {("house", "fan_test"): None, ("option",): None})
    assert "[house.fan_test]" not in after
    assert "# ---- one [[wall]] for each outside wall" in after
    assert "# ---- options asked for" in after
    assert read(after).options == ()


@given(
    st.floats(0.5, 90), st.floats(0.3, 20), st.sampled_from([None, 0.0889, 0.1]),
    st.integers(0, 3), st.floats(0, 359.9),
)  # fmt: skip
def test_what_is_written_is_read_back(length, height, stud_depth, partitions, faces):
    survey = read(SMALL)
    wall = survey.walls[0].model_copy(
        update={
            "length": length,
            "height": height,
            "stud_depth": stud_depth,
            "faces": faces,
            "openings": (),
            "partitions": tuple(Partition(at=length * i / 4) for i in range(partitions)),
        }
    )
    changed = survey.model_copy(update={"walls": (wall,)})
    for after in (write(changed, SMALL), write(changed)):
        tomllib.loads(after)
        back = read(after).walls[0]
        assert back.length == pytest.approx(length, rel=1e-12)
        assert back.height == pytest.approx(height, rel=1e-12)
        assert back.faces == pytest.approx(faces, rel=1e-12, abs=1e-300)
        assert back.stud_depth == (stud_depth and pytest.approx(stud_depth, rel=1e-12))
        assert len(back.partitions) == partitions
        assert back.openings == ()
        assert back.found == wall.found


_TEXTS = st.text(st.characters(codec="utf-8", exclude_categories=("Cc", "Cs")), max_size=12)


@given(_TEXTS, st.sampled_from(["\n", "\r\n"]), st.sampled_from(["", "\ufeff"]), st.booleans())
def test_a_line_replaced_alone_is_the_text_replaced_whole(notes, ends, mark, quoted):
    """The TOML reader of the standard library tells what either text holds."""
    text = mark + SMALL.replace("\n", ends)
    if quoted:  # a key that the line's own reader finds, and one that spans lines
        text = text.replace("length =", '"length" =', 1)
    alone = {("wall", 0, "length"): "25 ft", ("wall", 0, "name"): f"n{notes}"}
    found = update(text, alone)
    held = tomllib.loads(found.removeprefix("\ufeff").replace("\r\n", "\n"))
    wanted = tomllib.loads(SMALL)
    wanted["wall"][0] |= {"length": "25 ft", "name": f"n{notes}"}
    assert held == wanted
    rows = changed_lines(text.removeprefix("\ufeff"), found)
    assert len(rows) == 4  # two lines, before and after
