"""What is put into a wall by hand: several rows at once, lengths as typed, lines to stand by."""

from __future__ import annotations

import re
from html import unescape

import pytest
from fastapi.testclient import TestClient

from warmside.catalog import load
from warmside.framing import frame_wall
from warmside.store import Store
from warmside.survey import read, template
from warmside.web import Web, create_app
from warmside.web.edit import Edit, merged
from warmside.web.fields import house_layout, wall_layout
from warmside.web.lengths import with_units
from warmside.web.placing import parts, stands
from warmside.wording import Style

INCH = 0.0254  # [m] exact
TRADE, METRIC = Style(), Style(length="metric")


@pytest.fixture
def client(store: Store) -> TestClient:
    web = Web(store, b"s" * 32, hosts=lambda _: True)
    return TestClient(create_app(web), follow_redirects=False, raise_server_exceptions=False)


def fields(html: str) -> dict[str, str]:
    """What the wall's form would send."""
    form = html[html.index('data-draw="') :]
    texts = re.findall(r'<input [^>]*name="([^"]+)" value="([^"]*)"', form)
    found = {n: unescape(v) for n, v in texts if not n.endswith(".remove")}
    for name, options in re.findall(r'<select [^>]*name="([^"]+)".*?>(.*?)</select>', form, re.S):
        picked = re.search(r"<option selected>([^<]*)", options)
        found[name] = picked[1] if picked else ""
    checked = re.findall(r'name="([^"]+)" value="yes" checked', form)
    boxes = [n for n in found if n.endswith("weight_pockets") or n in ("comfort", "ribbon")]
    return {n: v for n, v in found.items() if n not in boxes} | dict.fromkeys(checked, "yes")


def opening(n: int, **of: str) -> dict[str, str]:
    return {f"opening.{n}.{key}": text for key, text in of.items()}


WINDOW = {"kind": "window", "sill": "36 in", "width": "2 0", "height": "3ft6"}


def test_several_rows_are_put_in_at_once_and_one_taken_out(client: TestClient, job: str) -> None:
    page = client.get(f"/jobs/{job}/walls/1").text
    sent = fields(page) | opening(2, name="left one", left="14", **WINDOW)
    sent |= opening(4, name="right one", left="20 6", **WINDOW)  # the form's third row is empty
    sent |= {"opening.0.remove": "yes"}
    drawn = client.post(f"/jobs/{job}/walls/1/drawing", data=sent)
    assert drawn.status_code == 200, drawn.text
    # pieces are told by the rows of the form that made them, not by those of the survey
    for row, name in (("opening.1", "front door"), ("opening.2", "left one"),
                      ("opening.4", "right one")):  # fmt: skip
        assert re.search(rf'data-row="{row}"[^>]*><td>{name}', drawn.text), (
            row,
            drawn.text[-3000:],
        )
    assert "&#34;sill of right one&#34;, &#34;opening.4&#34;" in drawn.text or (
        '"sill of right one", "opening.4"' in drawn.text
    )
    saved = client.post(f"/jobs/{job}/walls/1", data=sent)
    assert saved.status_code == 303, saved.text
    listed = client.get(f"/jobs/{job}/walls/1/pieces").text
    assert "<td>parlour window</td>" not in listed
    plain = unescape(listed)
    assert "window, 2' 0\" wide, 3' 6\" high, 1' 2\" from the left, sill 3' 0\" up" in plain
    assert "window, 2' 0\" wide, 3' 6\" high, 20' 6\" from the left" in plain


def test_what_was_put_in_and_refused_is_shown_again_in_its_row(
    client: TestClient, job: str
) -> None:
    page = client.get(f"/jobs/{job}/walls/1").text
    sent = fields(page) | opening(2, name="left one", left="14", **WINDOW)
    sent |= opening(3, name="over it", left="20", **WINDOW)
    refused = client.post(f"/jobs/{job}/walls/1", data=sent)
    assert refused.status_code == 422
    assert 'name="opening.2.name" value="left one"' in refused.text
    assert 'name="opening.3.name" value="over it"' in refused.text
    assert 'name="opening.4.name" value=""' in refused.text  # and one more, empty
    assert 'href="#f-opening-3-left"' in refused.text or 'href="#f-opening-2-left"' in refused.text


def test_rows_put_in_are_told_when_somebody_else_was_quicker() -> None:
    base = template()
    before = Edit(base, ("wall", 0), wall_layout())
    mine = {n: text for n, (_, text) in before.texts().items()} | opening(2, name="a", **WINDOW)
    mine |= opening(3, name="b", **WINDOW)
    kept, both = merged(before, before, mine)
    assert both == ()
    assert kept["opening.3.name"] == "b"
    # the other took a window out: rows have no sure place any more, and all of mine is told
    now = Edit(
        base.replace('name = "front door"', 'name = "porch door"'), ("wall", 0), wall_layout()
    )
    kept, both = merged(before, now, mine)
    assert kept["opening.2.name"] == "a"
    assert kept["opening.1.name"] == "porch door"
    assert [one.was for one in both] == ["front door"]


def test_rows_beyond_what_a_form_can_have_are_passed_over() -> None:
    edit = Edit(template(), ("wall", 0), wall_layout())
    mad = {f"opening.{n}.name": "x" for n in ("99999", "-1", "1e3", "２", "", "5000")}
    assert [path for path in edit.changes(mad) if path[3] >= 2] == []
    assert edit.row_numbers(mad).get("opening.2") is None


def test_only_lengths_get_their_units_written_out() -> None:
    typed = {"name": "30", "length": "24", "year_built": "1948", "opening.0.left": "30",
             "opening.12.width": "2 6", "opening.0.name": "12", "reading.0.moisture": "24",
             "token": "5", "pipe.0.depth": "2"}  # fmt: skip
    found = with_units(typed, wall_layout(), TRADE)
    told = {n: text for n, text in found.items() if text != typed[n]}
    assert told == {"length": "24 ft", "opening.0.left": "30 in", "opening.12.width": "2 ft 6 in",
                    "pipe.0.depth": "2 in"}  # fmt: skip
    assert with_units({"length": "7300"}, wall_layout(), METRIC) == {"length": "7300 mm"}
    house = house_layout(("lead paint",))
    assert with_units({"alarm_distance": "12", "volume": "250"}, house, TRADE) == {
        "alarm_distance": "12 ft", "volume": "250"}  # fmt: skip


def test_lines_to_stand_by_are_those_of_the_layout() -> None:
    """Exact: marks at k spacings from the end the layout starts at, faces half a stud beside."""
    survey = read(template())
    for start in ("left", "right"):
        wall = survey.walls[0].model_copy(update={"layout_from": start})
        found = stands(frame_wall(wall, survey.house, load().lumber), wall)
        marks = sorted(at for axis, at, what, _ in found if what.startswith("middle of stud mark"))
        along = [at if start == "left" else wall.length - at for at in marks]
        assert sorted(along) == pytest.approx(
            [k * 16 * INCH for k in range(1, len(marks) + 1)], rel=0, abs=1e-5
        )
        assert len(marks) == 17  # 24 ft at 16 in: marks 1 to 17, the 18th is the wall's end
        faces = sorted(at for axis, at, what, _ in found if what.startswith("face"))
        # studs of 1-3/4 in, as the template measured them
        beside = sorted(at + side * 0.875 * INCH for at in marks for side in (-1, 1))
        assert faces == pytest.approx(beside, rel=0, abs=2e-5)
    door = wall.openings[1]
    level = [at for axis, at, what, row in found if (axis, row) == ("z", "opening.1")]
    assert level == pytest.approx([door.sill, door.sill + door.height], rel=0, abs=1e-9)


def test_what_is_put_in_is_as_large_as_the_last_of_its_kind() -> None:
    survey = read(template())
    wall = survey.walls[0]
    window, door, post, box, pipe = parts(wall, TRADE)
    last = next(one for one in reversed(wall.openings) if one.kind == "window")
    assert (window.wide, window.high, window.up) == (last.width, last.height, last.sill)
    assert window.fields["width"] == "3' 0\""
    assert door.fields["kind"] == "door"
    assert post.row == "partition"
    assert (box.row, pipe.row) == ("box", "pipe")
    bare = wall.model_copy(update={"openings": (), "boxes": ()})
    window, door, _, box, _ = parts(bare, METRIC)
    # common practice, no source: heads of windows and doors at one height, 82 in
    assert window.up + window.high == pytest.approx(door.up + door.high, rel=1e-12, abs=0)
    assert window.fields["width"] == "762 mm"  # 30 in, exact
    assert box.up == pytest.approx(16 * INCH, rel=1e-12, abs=0)
