"""What a notebook shows of a study."""

from __future__ import annotations

from xml.etree import ElementTree

import pytest

from warmside.demo import survey_text
from warmside.notebook import load_ipython_extension
from warmside.study import WallStudy, Weights, study
from warmside.study.parts import SIGNS
from warmside.survey import read
from warmside.wording import PROMISES

# something is done to every wall, whether it pays or not
LEAST_COST = Weights(cost=2.0)
HOSTILE = '<script>alert("x")</script>&'


@pytest.fixture(scope="module")
def house():
    survey = read(survey_text())
    walls = [survey.walls[5].model_copy(update={"name": HOSTILE})]
    return study(
        survey.model_copy(update={"walls": tuple(walls)}), fields=False, years=0, weights=LEAST_COST
    )


def rows(html: str) -> list[list[str]]:
    table = ElementTree.fromstring(html)  # noqa: S314 our own text
    return [["".join(cell.itertext()) for cell in row] for row in table.iter("tr")]


def test_a_study_shows_each_wall_as_found_and_as_put_forward(house):
    head, found, after = rows(house._repr_html_())
    assert found[0] == HOSTILE
    assert "<script>" not in house._repr_html_()
    assert head[2:4] == ["R", "coldest surface"]
    assert found[4:10] == [
        f"{SIGNS[verdict]} {verdict}"
        for verdict in (house.walls[0].as_found.verdict(p) for p in PROMISES)
    ]
    assert after[1] == house.walls[0].chosen.option.name
    assert f"{house.walls[0].chosen.price.total:,.2f}" in after[-1]


def test_a_wall_shows_all_its_options(house):
    (wall,) = house.walls
    names = [row[0] for row in rows(wall._repr_html_())[1:]]
    assert names == [option.option.name for option in wall.options]


def test_both_say_in_a_line_what_they_are(house):
    assert repr(house) == (f"<Study of 'Ferry Road house': 1 wall, CAD {house.price.total:,.2f}>")
    assert repr(house.walls[0]).startswith("<WallStudy ")
    assert len(repr(house.walls[0])) < 150


def test_the_notebook_draws_a_wall(house):
    class Formatter:
        known: dict[type, object] = {}  # noqa: RUF012

        def for_type(self, kind, draw):
            self.known[kind] = draw

    class Shell:
        class display_formatter:  # noqa: N801 the notebook's own name
            formatters = {"image/svg+xml": Formatter()}  # noqa: RUF012

    load_ipython_extension(Shell)
    svg = Formatter.known[WallStudy](house.walls[0])
    assert ElementTree.fromstring(svg).tag.endswith("svg")  # noqa: S314 our own text
    assert "<script>" not in svg
