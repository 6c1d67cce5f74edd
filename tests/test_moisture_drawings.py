"""Drawings of moisture through the years: what stands in them, and what is refused."""

from __future__ import annotations

import re
from xml.etree import ElementTree

import pytest

from warmside.drawings import Course, mould_years, wood_years
from warmside.errors import InputError
from warmside.physics.moisture import critical_humidity

DAYS = 365
SHEATHING = Course("Board sheathing", [0.24 - 0.12 * k / (DAYS - 1) for k in range(DAYS)])
STUD = Course("Stud <& wood>", [0.15] * DAYS)
SPACE = "{http://www.w3.org/2000/svg}"


def parsed(svg):
    return ElementTree.fromstring(svg)  # noqa: S314 our own text


def texts(svg):
    return [node.text for node in parsed(svg).iter(f"{SPACE}text")]


def limit(celsius):
    return critical_humidity(celsius, 80.0) / 100.0


def test_wood_stands_against_the_three_limits_of_the_trade():
    """Common practice, no source: below 19 % dry, above 26 % near fibre saturation."""
    svg = wood_years([SHEATHING, STUD], first_month=10)
    said = texts(svg)
    assert {"26 % rot can start", "20 %", "19 % dry", "Board sheathing", "Stud <& wood>"} <= {*said}
    months = [text for text in said if re.fullmatch(r"[A-Z][a-z]{2}", text)]
    assert months[0] == "Oct"
    assert len(months) == 12
    described = parsed(svg).find(f"{SPACE}desc").text
    assert "Board sheathing: 24% at the start, 24% at most, 12% at the end" in described


def test_the_course_falls_as_far_as_its_values():
    """Exact: the line's fall over the axis' height is 12 % over the 30 % that the axis shows."""
    root = parsed(wood_years([SHEATHING]))
    points = [tuple(map(float, p.split(","))) for p in
              root.find(f"{SPACE}polyline").attrib["points"].split()]  # fmt: skip
    assert len(points) == DAYS
    lines = [line.attrib for line in root.iter(f"{SPACE}line")]
    high = next(float(a["y1"]) - float(a["y2"]) for a in lines if a["x1"] == a["x2"])
    assert (points[-1][1] - points[0][1]) / high == pytest.approx(0.12 / 0.30, abs=2e-3)


def test_ten_years_are_named_by_year():
    said = texts(wood_years([Course("Boards", [0.15] * 3650)]))
    assert "year 10" in said
    assert "Jan" not in said


def test_days_above_the_limit_are_filled_and_counted():
    """At 10 degC pine's limit is 82.03 % (1999 model, second-hand): 100 days at 90 % exceed it."""
    humidity = [0.90] * 100 + [0.80] * 265
    svg = mould_years([10.0] * DAYS, humidity, limit, [0.4] * DAYS, between=("Foam", "Boards"))
    root = parsed(svg)
    assert len(list(root.iter(f"{SPACE}rect"))) == 100
    said = " ".join(texts(svg))
    assert "Above it on 100 of 365 days; mould index 0.4, limit 3." in said
    assert "Foam (room side) and Boards (cold side)" in said


@pytest.mark.parametrize(
    "courses",
    [[], [Course("a", [0.1])], [Course("a", [0.1, float("nan")])], [Course("a", [0.1, -0.2])],
     [Course("a", [0.1, 0.2]), Course("b", [0.1, 0.2, 0.3])]],
)  # fmt: skip
def test_bad_courses_are_refused(courses):
    with pytest.raises(InputError, match="moisture chart"):
        wood_years(courses)


def test_unequal_series_are_refused():
    with pytest.raises(InputError, match="unequal"):
        mould_years([10.0, 9.0, 8.0], [0.5, 0.6], limit, [0.0, 0.0], between=("a", "b"))
