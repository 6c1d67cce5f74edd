"""Every page of the demonstration's job in the units that its reader chose."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from datetime import date
from html import unescape
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from studied import keep
from warmside.demo import survey_text
from warmside.store import Store
from warmside.study import study
from warmside.survey import read
from warmside.web import Web, create_app
from warmside.web.dossier import PARTS
from warmside.wording import Style

Shown = Callable[..., dict[str, str]]
TRADE = Style(temperature="°F")
METRIC = Style("metric", "m²", "m³", "°C", "RSI", "ng", "m³")
WALL = 3  # east side: batts and a sheet, as the client asked
PAGES = (
    "", "/survey", "/study", f"/study/{WALL}", "/price", "/papers", "/crew", f"/crew/{WALL}",
    "/day",
    *(f"/study/{WALL}/{s}" for s in ("warm", "dry", "tight", "legal", "safe", "worth-it")),
)  # fmt: skip
# figures in metres, degrees Celsius and their like; a source's title may quote a standard's own
_METRIC = re.compile(
    r"(?<![\w.,])-?\d[\d.,]*\s?(?:mm|cm|m|km|°C|K|kg|g/m²|kg/m³|L|L/s|m/s|W/\(m·K\)|m² K/W|RSI"
    r"|cm²/m|cm²|m²|m³)(?![\w²³/'])|RSI \d|degC"
)
_TRADE = re.compile(
    r"(?<![\w.,/-])-?\d[\d.,]*\s?(?:ft|in(?! all)|lb|oz/ft²|°F|cfm|ft²|ft³|in²|board ft|board feet"
    r"|Btu/h|gal)(?![\w²³/'])|\d(?:'|\")[ -]\d|\bR-\d"
)


@pytest.fixture(scope="module")
def shown(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Shown]:
    where: Path = tmp_path_factory.mktemp("units") / "warmside.sqlite"
    survey = survey_text()
    with Store.open(where) as store:
        job = store.new_job(survey, "owner").id
        texts = {part: store.text(part, job).text for part in PARTS}  # type: ignore[arg-type]
        found = study(read(survey), fields=False, years=0)
        keep(store, texts, found, date(2026, 3, 4))
        web = Web(store, b"s" * 32, hosts=lambda _: True)
        client = TestClient(create_app(web))

        def pages(style: Style, told: Callable[[str], str] = _words) -> dict[str, str]:
            web.set_writing("owner", style)
            read_ = {path: client.get(f"/jobs/{job}{path}") for path in PAGES}
            assert {answer.status_code for answer in read_.values()} == {200}
            return {path: told(answer.text) for path, answer in read_.items()}

        yield pages


def _words(html: str) -> str:
    """What a reader reads: no drawings' text, no sources, no names of wares and options."""
    for name in (
        r"<(script|style|svg|textarea|option)\b.*?</\1>", r"<ol>.*?</ol>",
        r"<summary>.*?</summary>",
        r'<(\w+) class="(?:source|hint)">.*?</\1>', r'<td class="lead-cell">.*?</td>',
        r'<th scope="row">.*?</th>', r'<ul class="hint">.*?</ul>',
    ):  # fmt: skip
        html = re.sub(name, " ", html, flags=re.S)
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", html)).split())


def _drawn(html: str) -> str:
    """What stands in the drawings of a page, one text after another."""
    drawings = re.findall(r"<svg\b.*?</svg>", html, flags=re.S)
    return " | ".join(text for one in drawings for text in re.findall(r">([^<>]+)</text>", one))


def _foreign(pages: dict[str, str], pattern: re.Pattern[str]) -> dict[str, int]:
    counts = {path: len(pattern.findall(text)) for path, text in pages.items()}
    return {path: count for path, count in counts.items() if count}


# figures of the other system that still stand on a page; they may only fall. What a survey typed
# ("10 mm", "13 ft and 15 ft 6 in"), rain in millimetres and names of boards stay as they are.
# /study: rain in mm, wind in m/s and distances of the weather notes,
# litres and kilograms of the balance of water: plain text.
LEFT = {"": 2, "/study": 4, f"/crew/{WALL}": 2, f"/study/{WALL}/worth-it": 1}
LEFT_METRIC = {"": 4, "/study": 2, f"/study/{WALL}": 3, "/price": 9, f"/crew/{WALL}": 7}


def test_pages_for_feet_and_fahrenheit(shown: Shown) -> None:
    """Common practice, no source: who reads feet reads square feet, pounds, gallons, Fahrenheit."""
    found = _foreign(shown(TRADE), _METRIC)
    assert {path: count for path, count in found.items() if count > LEFT.get(path, 0)} == {}


def test_pages_for_metres_and_celsius(shown: Shown) -> None:
    found = _foreign(shown(METRIC), _TRADE)
    assert {path: n for path, n in found.items() if n > LEFT_METRIC.get(path, 0)} == {}


@pytest.mark.parametrize(("chosen", "other"), [("°F", "°C"), ("°C", "°F")])
def test_drawings_are_in_the_degrees_of_their_reader(shown: Shown, chosen: str, other: str) -> None:
    """The section on the design night is kept with the study, whoever reads it."""
    told = shown(Style(temperature=chosen), _drawn)
    for path in (f"/study/{WALL}/warm", f"/study/{WALL}/dry"):
        assert f"temperature, {chosen}" in told[path]
    assert {path: text for path, text in told.items() if other in text} == {}


def test_figures_of_the_other_system_are_counted() -> None:
    """The patterns see what they are to see."""
    metric = "1.5 m, 41.2 m², -12.5 °C, RSI 2.13, 20 K, 492 L/s, 2,796 cm², 38 mm, 27.7 kg"
    trade = "5' 2\", 443 ft², 10 °F, R-12.1, 1,043 cfm, 433 in², 61 lb, 2 gal"
    assert len(_METRIC.findall(metric)) == 9
    assert len(_TRADE.findall(trade)) == 8
    assert _METRIC.findall(trade) == []
    assert _TRADE.findall(metric) == []
