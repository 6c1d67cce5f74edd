"""Spanish for crews: no text lacks it, no figure is lost, safety has the English beside.

No native tradesperson has read the Spanish: what may hurt is printed in both languages.
"""

from __future__ import annotations

import ast
import io
import re
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import fields, is_dataclass, replace
from datetime import date
from pathlib import Path
from typing import Any, get_args

import pytest
from click.testing import CliRunner
from pypdf import PdfReader

from warmside.catalog import load
from warmside.cli import main
from warmside.demo import survey_text
from warmside.documents import CrewView, crew_sheet, crew_view
from warmside.documents.crew_paper import with_english
from warmside.errors import InputError
from warmside.options import offered
from warmside.promises import with_presumed
from warmside.site import entries, plan_house, work_air, work_area
from warmside.survey import read, template
from warmside.web.day import CALLED, FORMS
from warmside.wording import PAPER, Figure, Sentence, Style, beside_english
from warmside.wording.languages import catalogue
from warmside.wording.sentence import PLACE

DAY = date(2026, 11, 29)
SOURCE = Path(__file__).parent.parent / "src" / "warmside"
ES = replace(PAPER, language="es")
# what people typed, names, sizes that were written before, sources, what no sheet prints
APART = {
    "untimed", "reads", "style",
    "house", "place", "paper", "prepared_by", "svg", "alt", "key", "where", "sources", "source",
    "id", "date", "thickness", "area", "board_feet", "each", "length", "cartridges", "heads",
    "rows",
}  # fmt: skip
# a size with its unit, in one system or both
_WRITTEN = re.compile(r"""^[\d.,/'" -]*\d[\d.,/'" -]*\s?(\(.*\)|[a-zA-Z°³²/% ]+(\(.*\))?)?$""")


@pytest.fixture(scope="module")
def views() -> list[CrewView]:
    """Every option that can be built of the demonstration and of the template, in turns."""
    known, found = load(), []
    for text in (survey_text(), template()):
        survey = read(text)
        whole = with_presumed(survey, known)
        ids = {
            w.name: [o.id for o in offered(w, whole.house, known, whole.options, whole.hazards)
                     if o.kind.worked]
            for w in survey.walls
        }  # fmt: skip
        for turn in range(max(map(len, ids.values()))):
            plans = []
            for name, some in ids.items():
                with suppress(InputError):  # refused, as options are
                    plans += plan_house(survey, known, {name: some[turn % len(some)]},
                                        sealing=("before", "after")[turn % 2])  # fmt: skip
            if plans:
                air = work_air(survey.house, max(work_area(p.frame) for p in plans), known)
                found.append(crew_view(survey.house, tuple(plans), air, known, DAY))
    assert len(found) >= 10
    return found


def texts(value: Any, name: str = "") -> Iterator[str | Sentence | Figure]:
    """Every text of a view but what is apart."""
    if isinstance(value, (Sentence, Figure, str)):
        yield value
    elif is_dataclass(value):
        for field in fields(value):
            wall = name == "walls" and field.name == "name"
            if field.name not in APART and not wall:
                yield from texts(getattr(value, field.name), field.name)
    elif isinstance(value, (tuple, list)):
        for item in value:
            yield from texts(item, name)


def templates(text: str | Sentence | Figure, part: str = "") -> Iterator[str]:
    """What is looked up in the catalogue."""
    if isinstance(text, Sentence):
        if part not in APART:
            yield text.template
        for name, inner in text.parts:
            yield from templates(inner, name)
    elif isinstance(text, Figure):
        if text.noun:
            yield text.noun
    elif part not in APART and part != "text":
        yield text


def lacks(text: str) -> bool:
    """Whether a text has words and no Spanish."""
    bare = PLACE.sub("", text)
    if not re.search(r"[A-Za-z]{2}", bare) or _WRITTEN.match(text):
        return False
    return not catalogue("es").get(text)


def test_no_sentence_of_the_sheet_lacks_its_spanish(views: list[CrewView]) -> None:
    found = {t for view in views for text in texts(view) for t in templates(text) if lacks(t)}
    # exposure limits are quoted with their source, as their bodies print them
    assert {t for t in found if "ppm" not in t} == set()


def test_no_figure_is_lost_on_the_way(views: list[CrewView]) -> None:
    """Exact: the same digits in both languages, in whatever order a sentence has them."""
    count = 0
    for view in views:
        for text in texts(view):
            told = [style.part(text) for style in (PAPER, ES)]
            digits = [sorted(re.findall(r"\d", one)) for one in told]
            assert digits[0] == digits[1], told
            count += bool(digits[0])
    assert count > 500


def test_rows_that_a_crew_may_meet_have_their_spanish() -> None:
    rows = load()
    names = [h.title for h in rows.hazards.values()] + [h.clears for h in rows.hazards.values()]
    names += [sign.head for sign in rows.signs] + [sign.text for sign in rows.signs]
    names += [one.text for one in rows.reminders]
    assert [name for name in names if lacks(name)] == []


def constants(node: ast.AST) -> Iterator[str]:
    for one in ast.walk(node):
        if isinstance(one, ast.Constant) and isinstance(one.value, str):
            yield one.value


def test_every_step_and_gate_has_its_spanish() -> None:
    """Static: what no demonstration meets is translated as well."""
    missed = []
    steps = SOURCE / "options/kinds/_steps.py"
    for file in (steps, SOURCE / "works/whole_house.py", SOURCE / "works/site_work.py",
                 SOURCE / "works/lead.py"):  # fmt: skip
        for node in ast.walk(ast.parse(file.read_text("utf-8"))):
            name = getattr(getattr(node, "func", None), "id", "")
            if not isinstance(node, ast.Call):
                continue
            read = node.args if name == "Gate" or (name == "say" and file == steps) else []
            read = node.args[1:3] if name == "Step" and file == steps else read
            read = [node.args[n] for n in (1, 3, 4, 5)] if name == "_work" else read
            missed += [t for arg in read for t in constants(arg) if lacks(t)]
    assert missed == []


def test_lines_of_safety_have_the_english_beside(views: list[CrewView]) -> None:
    view = next(v for v in views if v.limits)
    both = with_english(view, ES)
    assert view.day is not None
    assert both.day is not None
    for some, lines in ((view.day.notes, both.day.notes), (view.reminders, both.reminders),
                        (view.warnings, both.warnings)):  # fmt: skip
        for text, line in zip(some, lines, strict=True):
            assert line == f"{ES.part(text)} [EN: {PAPER.part(text)}]"
    for sign, line in zip(view.signs, both.signs, strict=True):
        assert f"[EN: {sign.text}]" in line.text
    spray = next(step for step in both.steps if step.id == "spray")
    assert all("[EN: " in str(text) for text in spray.do)
    assert with_english(view, PAPER) is view
    pages = PdfReader(io.BytesIO(crew_sheet(view, ES))).pages
    said = " ".join(" ".join(page.extract_text() for page in pages).split())
    assert "NO ENTRAR [EN: KEEP OUT]" in said
    assert "Hoja de cuadrilla" in said
    for english in ("The steps, on every wall", "Before anything else", "Joints in working order"):
        assert english not in said


def test_what_the_reader_reads_is_told_once_where_both_are_alike() -> None:
    assert beside_english("B7", ES) == "B7"
    assert beside_english("KEEP OUT", PAPER) == "KEEP OUT"
    assert beside_english("KEEP OUT", Style(language="es")) == "NO ENTRAR [EN: KEEP OUT]"


# ------------------------------------------------------------------ the pages of the day


PAGES = ("site_plan", "site_wall", "site_day", "site_parts")


def source_of(page: str) -> str:
    return (SOURCE / "web/templates" / f"{page}.html").read_text("utf-8")


@pytest.mark.parametrize("page", PAGES)
def test_no_words_of_a_day_s_page_lack_their_spanish(page: str) -> None:
    text = source_of(page)
    told = re.findall(r'\{\{ "((?:[^"\\]|\\.)+)" \| (?:written|beside)', text)
    told += re.findall(r'said\("((?:[^"\\]|\\.)+)"', text)
    told += [t for pair in re.findall(r'\("([^"]+)" if [^)]*? else "([^"]+)"\) \| written', text)
             for t in pair]  # fmt: skip
    assert len(told) > 10
    assert [t for t in told if not catalogue("es").get(t.replace('\\"', '"'))] == []


@pytest.mark.parametrize("page", PAGES)
def test_no_words_stand_bare_in_a_day_s_page(page: str) -> None:
    """Whatever is read stands in a filter; what the office alone reads is told apart."""
    text = re.sub(r"\{[{%#].*?[}%#]\}", " ", source_of(page), flags=re.DOTALL)
    bare = re.sub(r"<[^>]*>|aria-[a-z]+=\"[^\"]*\"|&nbsp;", "\n", text)
    office = ("Nothing is decided yet for", "Study the house", ", or choose an option there.",
              "The office puts an option forward.", "en español")  # fmt: skip
    words = {line.strip() for line in bare.splitlines() if re.search(r"[A-Za-z]{3}", line)}
    assert {w for w in words if not any(" ".join(w.split()).startswith(o) for o in office)} == set()


def test_forms_of_the_day_have_their_spanish() -> None:
    names = [words for _, words, _ in FORMS] + list(CALLED.values())
    for name in dir(entries):
        model = getattr(entries, name)
        if isinstance(model, type) and issubclass(model, entries.Entry):
            for field in model.model_fields.values():
                names.append(field.title or "")
                names += [c for c in get_args(field.annotation) if isinstance(c, str)]
    assert len(set(names)) > 60
    assert [name for name in names if lacks(name)] == []


def test_the_sheet_by_command(tmp_path: Path) -> None:
    file = tmp_path / "house.toml"
    file.write_text(template(), "utf-8")
    told = CliRunner().invoke(
        main, ["crew", str(file), "--option", "cc-51", "--language", "es", "--out",
               str(tmp_path / "out")],
    )  # fmt: skip
    assert told.exit_code == 0, told.output
    first = PdfReader(tmp_path / "out" / "crew-sheet.pdf").pages[0].extract_text()
    assert "Aire de la zona de trabajo" in first
