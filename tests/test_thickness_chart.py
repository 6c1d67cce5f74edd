"""The thickness chart: what it shows, in words too, and bad input."""

from __future__ import annotations

from xml.etree import ElementTree

import pytest

from warmside.drawings import Thickness, thickness_curve
from warmside.errors import InputError

SVG = "{http://www.w3.org/2000/svg}"
POINTS = [
    Thickness('1"|25 mm', 1.4, 6700.0, (6000.0, 8000.0, 9900.0), note="1 pass"),
    Thickness('2"|51 mm', 1.9, 485.0, (500.0, 722.0, 900.0), note="2 passes"),
    Thickness('3"|76 mm', 2.2, 477.0, (250.0, 379.0, 500.0), note="2 passes"),
    Thickness('1/2"|13 mm', 2.9, 2283.0, (600.0, 803.0, 1000.0), "furring", "3 passes"),
    Thickness('2"|51 mm', 4.3, None, None, "board", "2 passes"),
]


def tree(svg: str) -> ElementTree.Element:
    return ElementTree.fromstring(svg)  # noqa: S314 our own text


def texts(svg: str) -> list[str]:
    return [node.text or "" for node in tree(svg).iter(f"{SVG}text")]


def test_every_figure_stands_in_words_for_those_who_cannot_see_it():
    svg = thickness_curve(POINTS, best=1, currency="CAD", sentence="Foam pays best at 2 inches.")
    told = tree(svg).findtext(f"{SVG}desc") or ""
    for word in ("1.40", "CAD 485", "722", "furring", "Pays best at 2", "2 inches"):
        assert word in told


def test_the_same_curve_in_the_r_of_the_trade():
    """Exact: R 1 is 0.17611 m2 K/W; the curve has the form of the other, on another scale."""
    point = Thickness('2"|51 mm', 2.113, None, None)
    svg = thickness_curve([point], unit="R")
    assert "R-12.0" in (tree(svg).findtext(f"{SVG}desc") or "")
    assert "R of the framed wall" in " ".join(texts(svg))
    assert "K/W" not in svg


def test_what_pays_is_marked_and_what_cannot_be_built_says_so():
    found = texts(thickness_curve(POINTS, best=1, currency="CAD"))
    assert "pays best up to here" in found
    assert found.count("not here") == 1
    assert "beyond: furring" in found
    assert "pays best up to here" not in texts(thickness_curve(POINTS))


def test_hostile_words_stay_text():
    svg = thickness_curve(
        [Thickness("<script>|&", 1.0, 1.0, (1.0, 1.0, 1.0))], sentence="</svg><b>", title="<i>"
    )
    assert "<script>" not in svg
    assert tree(svg).tag == f"{SVG}svg"


@pytest.mark.parametrize(
    ("points", "best", "message"),
    [
        ([], None, "no thickness"),
        ([Thickness("a", float("nan"), 1.0, (1.0, 1.0, 1.0))], None, "finite"),
        ([Thickness("a", 1.0, float("inf"), (1.0, 1.0, 1.0))], None, "finite"),
        (POINTS, 9, "best"),
    ],
)
def test_bad_input_is_named(points, best, message):
    with pytest.raises(InputError, match=message):
        thickness_curve(points, best=best)
