"""The commands as a person uses them: real files, real faults, never a traceback."""

from __future__ import annotations

import json
import time
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from warmside.cli import main
from warmside.survey import template

SMALL = """
[house]
name = "Small house"
climate = "ottawa"
year_built = 1955
volume = "9000 ft3"
indoor_humidity = "35 %"

[[wall]]
name = "north"
faces = "N"
frame = "platform"
length = "12 ft"
height = "8 ft"

[[wall.opening]]
name = "window"
left = "4 ft"
sill = "3 ft"
width = "3 ft"
height = "4 ft"

[wall.found]
finish = ["gypsum-board"]
sheathing = ["board-sheathing"]
paper = "building-paper"
cladding = "wood-bevel-siding"
"""


def run(*words: str) -> Result:
    return CliRunner().invoke(main, list(words))


@pytest.fixture
def survey(tmp_path: Path) -> Path:
    path = tmp_path / "house.toml"
    path.write_text(SMALL, encoding="utf-8")
    return path


def test_new_then_check(tmp_path):
    path = tmp_path / "mine.toml"
    assert run("new", str(path)).exit_code == 0
    checked = run("check", str(path))
    assert checked.exit_code == 0, checked.output
    assert "no fault" in checked.output


def test_new_leaves_an_existing_file_alone(survey):
    before = survey.read_text(encoding="utf-8")
    result = run("new", str(survey))
    assert result.exit_code == 1
    assert "is there already" in result.output
    assert survey.read_text(encoding="utf-8") == before


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ('"12 ft"', '"12 miles"', "length"),
        ('"ottawa"', '"otaw"', "ottawa"),
        ('"board-sheathing"', '"board-sheeting"', "board-sheathing"),
        ('"platform"', '"platfrom"', "platform"),
    ],
)
def test_check_names_line_and_what_is_allowed(survey, old, new, message):
    line = next(n for n, text in enumerate(SMALL.splitlines(), 1) if old in text)
    survey.write_text(SMALL.replace(old, new), encoding="utf-8")
    result = run("check", str(survey))
    assert result.exit_code == 1
    assert f"line {line}:" in result.output, result.output
    assert message in result.output
    assert "1 fault." in result.output
    assert "Traceback" not in result.output


@pytest.mark.parametrize(
    "content", [b"", b"\xff\xfe\x00", b"[house", b"[[wall]]\n" * 300, b"= 3", b"a" * 2_000_000]
)
def test_any_file_gives_faults_and_no_traceback(survey, content):
    survey.write_bytes(content)
    result = run("check", str(survey))
    assert result.exit_code == 1
    assert "Traceback" not in result.output
    assert isinstance(result.exception, SystemExit)


def test_missing_files_are_told(tmp_path):
    for words in (("check",), ("study",)):
        result = run(*words, str(tmp_path / "none.toml"))
        assert result.exit_code == 1
        assert "none.toml" in result.output


def test_faulty_prices_are_told(survey, tmp_path):
    prices = tmp_path / "prices.toml"
    assert run("prices", str(prices)).exit_code == 0
    prices.write_text(
        prices.read_text(encoding="utf-8").replace("mark_up = 0.25", "mark_up = -3"),
        encoding="utf-8",
    )
    result = run("study", str(survey), "--prices", str(prices), "--json")
    assert result.exit_code == 1
    assert "mark_up" in result.output


def test_code_packs_are_chosen_by_id_or_file_and_faults_are_told(survey, tmp_path):
    result = run("study", str(survey), "--codes", "us-irc-2021", "--json")
    assert result.exit_code == 0, result.output
    assert [pack["id"] for pack in json.loads(result.stdout)["code_packs"]] == ["us-irc-2021"]
    pack = tmp_path / "town.toml"
    pack.write_text('id = "town"\n[[clause]]\nnumber = "1"\n', encoding="utf-8")
    faulty = run("study", str(survey), "--codes", str(pack), "--json")
    assert faulty.exit_code == 1
    assert 'row "town 1", column tests' in faulty.output
    unknown = run("study", str(survey), "--codes", "atlantis", "--json")
    assert unknown.exit_code == 1
    assert "canada-nbc-2020" in unknown.output


def test_study_prints_json_with_units_in_its_keys(survey):
    result = run("study", str(survey), "--json")
    assert result.exit_code == 0, result.output
    data = json.loads(result.stdout)
    wall = data["walls"][0]
    # 12 ft x 8 ft less 3 ft x 4 ft: exact
    assert wall["net_area_m2"] == pytest.approx((96 - 12) * 0.09290304, rel=1e-9)
    leave, *options = wall["options"]
    assert leave["id"] == "leave"
    assert leave["price"] is None
    # what fills or covers the bays warms the wall; beads alone leave its resistance as it was
    for option in options:
        bare = option["kind"] == "joints from room"
        assert (option["rsi_m2k_w"] > leave["rsi_m2k_w"] + 1e-6) != bare, option["id"]
    assert data["advice"]["walls"][0]["recommended"] == wall["chosen"]


def test_study_writes_every_paper(survey, tmp_path):
    out = tmp_path / "papers"
    result = run("study", str(survey), "--out", str(out))
    assert result.exit_code == 0, result.output
    assert (out / "proposal.pdf").read_bytes().startswith(b"%PDF-1")
    assert json.loads((out / "study.json").read_text(encoding="utf-8"))["format"] == 2
    told = json.loads((out / "study.json").read_text(encoding="utf-8"))["walls"][0]
    run_by_hours = next(o for o in told["options"] if o["id"] == told["chosen"])["hourly"]
    kinds = ["elevation", "section", *(["mould", "wood"] if run_by_hours else [])]
    assert {p.name for p in out.glob("*.svg")} == {f"wall-1-north-{kind}.svg" for kind in kinds}
    hidden = [path.name for path in out.glob(".*")]
    assert hidden == [".warmside.json"]  # what is ours; no half-written file is left


def test_a_folder_that_cannot_be_written_is_told(survey, tmp_path):
    (tmp_path / "file").write_text("x", encoding="utf-8")
    result = run("study", str(survey), "--out", str(tmp_path / "file" / "below"))
    assert result.exit_code == 1
    assert "Traceback" not in result.output


def test_catalog_lists_rows_with_sources():
    result = run("catalog", "foam")
    assert result.exit_code == 0
    assert "closed-cell" in result.output
    assert "(from memory)" in result.output


def test_schema_is_json():
    assert "properties" in json.loads(run("schema").stdout)


def test_a_users_own_file_is_never_replaced(tmp_path):
    from warmside.documents.write import write_file
    from warmside.errors import InputError

    paper = tmp_path / "proposal.pdf"
    paper.write_bytes(b"the contractor's own")
    with pytest.raises(InputError, match="is not as Warmside wrote it"):
        write_file(paper, b"ours")
    assert paper.read_bytes() == b"the contractor's own"
    paper.unlink()
    write_file(paper, b"first")
    write_file(tmp_path / "study.json", b"{}")
    write_file(paper, b"second")  # ours, as we wrote it
    paper.write_bytes(b"second, with a note by hand")
    with pytest.raises(InputError, match="is not as Warmside wrote it"):
        write_file(paper, b"third")
    assert paper.read_bytes() == b"second, with a note by hand"


def test_a_folder_of_an_earlier_release_is_written_to(tmp_path):
    from warmside.documents.write import write_file

    (tmp_path / "study.json").write_text('{\n "format": 1,\n "made_by": "warmside 0.1.0"\n}')
    (tmp_path / "proposal.pdf").write_bytes(b"as it was written then")
    assert write_file(tmp_path / "proposal.pdf", b"new").read_bytes() == b"new"


def test_a_folder_that_cannot_be_written_is_told_before_the_run(tmp_path):
    blocked = tmp_path / "a file"
    blocked.write_text("")
    survey = tmp_path / "house.toml"
    survey.write_text(template(), encoding="utf-8")
    for command in (["study", str(survey)], ["demo"], ["crew", str(survey)]):
        begun = time.monotonic()
        told = CliRunner().invoke(main, [*command, "--out", str(blocked / "papers")])
        assert told.exit_code == 1, told.output
        assert "Traceback" not in told.output
        assert time.monotonic() - begun < 5.0  # nothing was computed first


@pytest.mark.parametrize("cell", ["=1+1", "+1", "-2", "@a", "\t=1", "\r=1"])
def test_a_cell_that_begins_like_a_formula_is_inert(cell):
    """What a spreadsheet takes for a formula: common practice, no source."""
    from warmside.errors import inert

    assert inert(cell) == f"'{cell}"
    assert inert("wall 3") == "wall 3"
    assert inert(-2.5) == -2.5
