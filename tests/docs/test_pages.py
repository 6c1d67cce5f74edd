"""What the pages say against the code: commands, symbols, rooms, records of the survey."""

from __future__ import annotations

import re
import shlex
import subprocess
import sys
from pathlib import Path

import click
import commands
import equations
import figures
import measured
import names
import pytest
import rooms
import rule_matrix
import survey_reference
from click.testing import CliRunner

from sheds import shed
from warmside.cli import main
from warmside.survey import schema

ROOT = Path(__file__).parents[2]
PAGES = [ROOT / "README.md", ROOT / "CONTRIBUTING.md", *sorted((ROOT / "docs").rglob("*.md"))]
FENCE = re.compile(r"^```(\S*)[^\n]*\n(.*?)^```$", re.MULTILINE | re.DOTALL)
# Not run here, each with the reason
SET_UP = {
    "./check": "runs the tests, these among them",
    "./check --quick": "the same without the tests",
    "./check --nightly": "the same, for hours",
    "./bench NAME": "measures; the benchmarks are run by name",
    "./warmside serve": "waits for visitors; the pages have tests of their own",
    "docs/build": "builds the site; test_site builds it",
    "warmside stock run houses.csv --out run --cluster tcp://10.0.0.5:8786": "needs a cluster; the "
    "tests of the room start one",
}
# One wall and one option: quick to study, and every paper is written
SMALL = shed(
    "30 %",
    """kind = "closed-cell"
thickness = "2 in"

[[option]]
kind = "batt and poly"
""",
    of_wall="comfort = true\n",
)


INDENTED = re.compile(r"^    ((?:\./)?warmside .+)$", re.MULTILINE)


def steps() -> list[str]:
    """Commands of the stock page: each goes on from the one before."""
    text = (ROOT / "docs" / "stock.md").read_text("utf-8")
    return [line.partition("#")[0].strip() for line in INDENTED.findall(text)]


def quoted() -> list[str]:
    """Every command that a page shows in a block of its own, once.

    A block of ``bash`` is a script: it asks a package registry for other programs, and is not run.
    """
    found: dict[str, None] = {}
    for page in PAGES:
        text = page.read_text("utf-8")
        found |= dict.fromkeys(line.partition("#")[0].strip() for line in INDENTED.findall(text))
        for language, block in FENCE.findall(text):
            if language in ("console", "sh", ""):
                for line in block.splitlines():
                    command = line.partition("#")[0].strip()
                    if command:
                        found[command] = None
    return list(found)


@pytest.fixture
def place(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder as a reader has it after the first steps, with a small house."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr("warmside.demo.survey_text", lambda: SMALL)
    return tmp_path


@pytest.mark.parametrize("command", [c for c in quoted() if c not in {*SET_UP, *steps()}])
def test_a_quoted_command_runs(command: str, place: Path):
    words = shlex.split(command)
    if words[0] != "./warmside":
        assert words[:2] == ["PYTHONPATH=src", ".venv/bin/python"], f"{command}: run it or say why"
        done = subprocess.run(
            [sys.executable, *words[2:]], cwd=ROOT, env={"PYTHONPATH": str(ROOT / "src")},
            capture_output=True, text=True, check=False, timeout=300,
        )  # fmt: skip
        assert done.returncode == 0, done.stderr
        return
    if words[-1] == "...":  # an outline: the command is there, and its help says how it goes on
        words = [*words[:2], "--help"]
    name, *rest = words[1:]
    if name not in ("new", "prices"):  # what those write is there already
        (place / "my-house.toml").write_text(SMALL, encoding="utf-8")
        CliRunner().invoke(main, ["prices", "my-prices.toml"])
    if (name, rest) == ("verify", []):  # the register has its own tests; one room of it here
        rest = ["--room", "energy"]
    result = CliRunner().invoke(main, [name, *rest])
    assert result.exit_code == 0, result.output
    assert result.output.strip()


@pytest.mark.usefixtures("place")
def test_the_stock_page_runs_in_its_order():
    """The steps of the page, with two houses and few draws."""
    fewer = {"demo": ["--houses", "2"], "run": ["--draws", "1", "--sample", "0"]}
    commands_ = [step.split()[1:] for step in steps()]
    assert [words[1] for words in commands_] == ["demo", "run", "report"]
    for words in commands_:
        result = CliRunner().invoke(main, [*words, *fewer.get(words[1], [])])
        assert result.exit_code == 0, result.output


def test_what_is_not_run_is_still_quoted():
    assert set(SET_UP) - set(quoted()) <= {"docs/build", "./check --quick", "./check --nightly",
                                           "./bench NAME"}  # fmt: skip


def test_every_command_is_on_the_page_with_every_option():
    page = commands.page()
    assert {name.split()[1] for name, _ in commands.every()} == set(main.commands)
    for name, command in commands.every():
        assert f"## `{name}`" in page
        for option in command.params:
            if isinstance(option, click.Option):
                assert option.opts[0] in page


def promise_pages() -> list[Path]:
    return sorted((ROOT / "docs" / "promises").glob("[!i]*.md"))


def used(page: Path) -> set[str]:
    """Symbols in the equations and in the lines of a page."""
    text = page.read_text("utf-8")
    equations_ = [body for kind, body in FENCE.findall(text) if kind == "{equation}"]
    inline = re.findall(r"\{m\}`([^`]+)`", text)
    return set().union(*(equations.symbols(one) for one in (*equations_, *inline)))


@pytest.mark.parametrize("page", promise_pages(), ids=lambda page: page.stem)
def test_every_symbol_is_in_the_nomenclature(page: Path):
    known = {row.symbol for row in names.names()}
    found = used(page)
    assert found, page.name
    assert found <= known, sorted(found - known)


def test_a_symbol_stands_once_and_is_used():
    rows = names.names()
    symbols = [row.symbol for row in rows]
    assert len(symbols) == len(set(symbols))
    assert all(row.name and row.unit and row.code for row in rows)
    assert set(symbols) - set().union(*(used(page) for page in promise_pages())) == set()


def test_the_six_promises_have_a_page_each():
    assert {page.stem for page in promise_pages()} == {
        "warm", "dry", "tight", "legal", "safe", "worth",
    }  # fmt: skip
    for page in promise_pages():
        assert "## Known gaps" in page.read_text("utf-8")


def test_symbols_of_an_equation():
    """By hand."""
    assert equations.symbols('R_"si" = sum_j a_j / exp(-2 theta) "of all"') == {
        'R_"si"', "a_j", "theta",
    }  # fmt: skip


def test_an_equation_is_a_drawing_in_the_ink_of_the_page():
    drawn = equations.svg('a_j / R_"si"', block=True)
    assert "currentColor" in drawn
    assert "#000" not in drawn
    assert 'aria-label="a_j / R_&quot;si&quot;"' in drawn


def test_a_figure_comes_from_the_code():
    """Exact: films of ISO 6946; a share; an element."""
    assert figures.figure("physics.conduction.ISO_FILMS.inside") == "0.13"
    assert figures.figure("promises.warmth.MOULD_HUMIDITY as .0%") == "80 %"
    assert figures.figure("physics.airflow._leakage.WALL_SHARE[1] as .0%") == "35 %"
    with pytest.raises((KeyError, AttributeError)):
        figures.figure("promises.no_such_thing")


def test_a_measured_figure_is_that_of_the_last_run(tmp_path: Path):
    """By hand; what no run measured is told in words, and so is a missing file."""
    history = tmp_path / "history.csv"
    assert measured.measured("stock: work, a house", history) == measured.NOT_YET
    history.write_text(
        'date,bench,figure,value\n1,stock,"work, a house",1.5\n2,stock,"work, a house",1.25\n'
        '2,field,"work, a house",9\n2,stock,memory,0.5\n',
        encoding="utf-8",
    )
    assert measured.measured("stock: work, a house as .2f", history) == "1.25"
    assert measured.measured("stock: work, a house * 1000 as ,.0f", history) == "1,250"
    assert measured.measured("stock: work, a house + memory as .2f", history) == "1.75"
    assert measured.measured("stock: work, a house + years", history) == measured.NOT_YET


def test_every_measured_figure_of_a_page_is_one_that_a_benchmark_notes():
    asked = [
        (page.name, *call.partition(" as ")[0].partition("*")[0].partition(": ")[::2])
        for page in PAGES
        for call in re.findall(r"\{measured\}`([^`]+)`", page.read_text("utf-8"))
    ]
    assert asked
    for page, bench, names_ in asked:
        source = (ROOT / "benchmarks" / f"{bench}.py").read_text("utf-8")
        for name in names_.split("+"):
            assert f'record("{name.strip()}"' in source, f"{page}: {bench}: {name}"


def test_every_key_of_the_survey_is_in_its_reference():
    page = survey_reference.page()

    def keys(part: dict) -> set[str]:
        return set(part.get("properties", {}))

    whole = schema()
    tables = [whole, *whole.get("$defs", {}).values()]
    for key in set().union(*(keys(table) for table in tables)):
        assert f"| `{key}` |" in page, key


def test_rooms_of_the_contract_are_the_rooms_of_the_source():
    """Every folder of the source stands in the contract, and in the picture."""
    source = {p.stem for p in rooms.SOURCE.iterdir() if p.suffix == ".py" or p.is_dir()}
    source -= {"__init__", "__main__", "__pycache__", "py"}
    drawn = rooms.picture()
    assert source - set(rooms.layers()) == set()
    for room in rooms.rooms():
        assert f">{room.name}</text>" in drawn
        assert room.says, f"{room.name} has no first line"
    assert {room.name for room in rooms.rooms()} == source


def test_a_room_imports_only_what_stands_below_it():
    """Other method than the linter's: every import statement, read from the text."""
    order = rooms.layers()
    for room in (r.name for r in rooms.rooms()):
        above = {name for name in rooms.imports(room) if order.index(name) < order.index(room)}
        assert not above, room


def test_the_room_pages_are_in_the_contract():
    """A page of the API for every room that others may use from Python."""
    pages = {page.stem for page in (ROOT / "docs" / "api").glob("*.md")} - {"index"}
    physics = {"assembly", "conduction", "moisture", "airflow", "climate", "energy", "humid-air"}
    without = {"cli", "web", "store", "demo", "workers", "fence", "physics"}
    assert pages - physics == {room.name for room in rooms.rooms()} - without


def test_the_matrix_of_clauses_reads_as_an_official_would_have_it():
    """Rows that decide, by somebody who knows the codes: batts and sheet, then foam, four places.

    IRC R702.7 refuses class I up to zone 4; 60 ng of NBC 9.25.4.2 are met by two inches of foam.
    """
    rows = {line.split("|")[1].strip(): line for line in rule_matrix.matrix() if "|" in line}
    short, holds, person = "**falls short**", "holds", "a person"
    for name, expected in (
        ("9.25.4.2 Vapour barrier", [holds] * 8),
        ("9.25.3 Air barrier", [holds] * 8),
        ("9.10.17.10 Fire cover of foam", ["n/a"] * 4 + [holds] * 4),
        ("IRC R702.7 Interior vapour retarder", [short, short] + [holds] * 6),
        ("IRC R316.4 Fire cover of foam", ["n/a"] * 4 + [holds] * 4),
        ("IECC R503.1.1 Cavities exposed in an alteration", [holds] * 4 + [person] * 4),
    ):
        assert [cell.strip() for cell in rows[name].split("|")[3:-1]] == expected, name
