"""A wall's drawing as something to read and move, and each person's own units and dates."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime
from html import unescape

import pytest
from fastapi.testclient import TestClient

from warmside.catalog import load
from warmside.demo import survey_text
from warmside.errors import InputError
from warmside.framing import frame_wall
from warmside.store import Store
from warmside.survey import read
from warmside.web import Web, create_app
from warmside.web.pieces import Piece, pieces
from warmside.web.writing import chosen, offered, written
from warmside.wording import WAYS, Style


@pytest.fixture
def client(store: Store) -> TestClient:
    web = Web(store, b"s" * 32, hosts=lambda _: True)
    return TestClient(create_app(web), follow_redirects=False, raise_server_exceptions=False)


@pytest.fixture
def house(store: Store) -> str:
    return f"/jobs/{store.new_job(survey_text(), 'owner').id}"


def token(client: TestClient) -> str:
    word = re.search(r'name="token" value="(\w+)"', client.get("/new").text)
    assert word
    return word[1]


def listed() -> tuple[Piece, ...]:
    survey = read(survey_text())
    frame = frame_wall(survey.walls[0], survey.house, load().lumber)
    return pieces(frame, survey.walls[0], Style())


def test_every_piece_of_the_frame_is_listed_once() -> None:
    survey = read(survey_text())
    wall = survey.walls[0]
    frame = frame_wall(wall, survey.house, load().lumber)
    found = pieces(frame, wall, Style())
    count = {group: sum(p.group == group for p in found) for group in {p.group for p in found}}
    # exact: one row for each thing that the frame or the survey holds
    assert count["Members"] == len(frame.members)
    assert count["Bays"] == len(frame.bays)
    assert count["Pockets"] == len(frame.pockets)
    assert count["Windows and doors"] == len(wall.openings)
    holes = sum(joint.kind in ("box", "penetration") for joint in frame.joints)
    assert count["Joints"] == len(frame.joints) - holes
    assert len({(p.group, p.name) for p in found}) == len(found)
    for piece in found:
        x0, z0, x1, z1 = piece.spot
        assert x0 <= x1, piece
        assert z0 <= z1, piece
        assert x1 <= frame.length + 0.06, piece  # a mark of 50 mm round a point may stand over
        assert z1 <= frame.height + 0.06, piece


def test_a_stud_moves_by_its_place_on_the_layout() -> None:
    """Exact: the k-th stud's centre is k spacings from the start, so d of it is d/k of spacing."""
    wall = read(survey_text()).walls[0]
    found = [p for p in listed() if p.moves and p.moves.x == "spacing"]
    assert len(found) > 5
    for piece in found:
        assert piece.moves
        centre = (piece.spot[0] + piece.spot[2]) / 2
        along = centre if wall.layout_from == "left" else wall.length - centre
        assert abs(piece.moves.per) * wall.spacing == pytest.approx(along, rel=0, abs=2e-3)
        assert (piece.moves.per > 0) == (wall.layout_from == "left")


def test_moving_goes_through_the_form_and_its_faults(client: TestClient, house: str) -> None:
    page = client.get(f"{house}/walls/1").text
    texts = re.findall(r'name="(opening[^"]+)" value="([^"]*)"', page)
    fields = {n: unescape(v) for n, v in texts if not n.endswith(("remove", "weight_pockets"))}
    fields |= {f"opening.{n}.weight_pockets": "yes" for n in range(6) if
               f'name="opening.{n}.weight_pockets" value="yes" checked' in page}  # fmt: skip
    revision = re.search(r'name="revision" value="(\d+)"', page)
    assert revision
    sent = fields | {"token": token(client), "revision": revision[1]}
    names = [n for n in fields if n.endswith(".name")]
    parlour = next(n for n in names if fields[n].startswith("parlour")).removesuffix("name")
    drawn = client.post(f"{house}/walls/1/drawing", data=sent | {f"{parlour}left": "5' 6\""})
    assert drawn.status_code == 200, drawn.text
    # both windows of a column moved apart: the lower stands at 5' 6", which is 1.6764 m
    assert "5&#39; 6&#34; from the left" in drawn.text
    assert 'data-x-now="1.6764"' in drawn.text
    refused = client.post(f"{house}/walls/1/drawing", data=sent | {f"{parlour}left": "29 ft"})
    assert refused.status_code == 422
    assert "parlour" in refused.text
    # only drawn: nothing was kept
    assert client.get(f"{house}/walls/1").text.count("5&#39; 6&#34; from the left") == 0
    assert client.get(f"{house}/history").text.count("survey saved") == 0


def test_the_list_reads_without_scripts(client: TestClient, house: str) -> None:
    html = client.get(f"{house}/walls/1/pieces").text
    for words in ("bay 1", "stud bay", "king stud 1", "sill to foundation", "parlour window"):
        assert words in html, words
    drawn = client.get(f"{house}/walls/1/elevation.svg")
    assert drawn.headers["content-type"] == "image/svg+xml"
    assert re.search(r'data-plane="[\d.]+ [\d.]+ [\d.]+"', drawn.text)
    assert client.get(f"{house}/walls/99/pieces").status_code == 404
    assert client.get(f"{house}/walls/0/elevation.svg").status_code == 404


def test_each_kind_is_written_as_chosen() -> None:
    trade = Style()
    other = Style("metric", "m²", "m³", "°F", "RSI", "ng", "m³")
    both = Style(thermal_resistance="R and RSI")
    # exact by definition: 1 in = 25.4 mm, 1 ft3 = 0.028316846592 m3, F = 1.8 C + 32;
    # R 1 = 0.1761 m2K/W and 1 perm = 57.2 ng/(s m2 Pa) as in NIST SP 811, app. B.8
    cases = [
        ("length", 1.5748, "5' 2\"", "1.575 m"),
        ("length", 0.0381, '1-1/2"', "38.1 mm"),
        ("area", 92.90304, "1,000 ft²", "92.9 m²"),
        ("area", 0.00064516, "1 in²", "6.45 cm²"),
        ("volume", 28.316846592, "1000 ft³", "28.3 m³"),
        ("temperature", -40.0, "-40 °C", "-40 °F"),
        ("temperature", 21.0, "21 °C", "70 °F"),
        ("thermal resistance", 1.7611, "R-10.0", "RSI 1.76"),
        ("permeance", 57.2135e-12, "1 perm", "57.2 ng/(s·m²·Pa)"),
        ("foam", 2.359737216, "1000 board feet", "2.36 m³"),
    ]
    for kind, value, first, second in cases:
        assert trade(value, kind).replace(",", "") == first.replace(",", ""), kind
        assert other(value, kind) == second, kind
    assert both(1.7611, "thermal resistance") == "R-10.0 (RSI 1.76)"
    assert trade(None, "length") == ""
    assert set(WAYS) == {n.replace("_", " ") for n in offered() if n not in
                                 ("step", "dates", "language")}  # fmt: skip


def test_a_figure_is_written_without_a_power_of_ten() -> None:
    write = Style()
    # 1 kWh = 3.6 MJ, exact; the rest only says how many digits are shown
    metric = Style(length="metric", area="m²")
    assert write.by_unit(2.28e10, "J") == "6,333 kWh"
    assert metric.by_unit(1462.4, "kg") == "1,462 kg"
    assert write.by_unit(1462.4, "kg") == "3,224 lb"  # 1 lb = 0.45359237 kg, exact
    assert write.by_unit(-2379.2, "CAD") == "-CAD 2,380"
    assert write.by_unit(0.0000147, "") == "0.0000147"
    assert metric.by_unit(0.0106, "kg/m2") == "11 g/m²"
    assert write.by_unit(None, "J") == ""


def test_what_a_text_comes_to() -> None:
    """A decimal comma reads as a point; a text in one's own way is not told again."""
    metric, trade = Style(length="metric", volume="m³"), Style()
    assert metric.again("24 ft", "length") == "7.315 m"
    assert metric.again("2,44 m", "length") == ""
    assert trade.again("2,44 m", "length") == "8' 1/16\""  # 96.06 in
    assert trade.again("8 ft 1-1/2 in", "length") == ""
    assert metric.again("9900 ft3", "volume") == "280 m³"
    assert metric.again("no length", "length") == ""


def test_dates_read_as_the_reader_writes_them() -> None:
    """The usual order of each language (common practice, as in the CLDR's short dates)."""
    day, write = date(2026, 3, 4), Style()
    for languages, shown in (
        ("en-US,en;q=0.9", "03/04/2026"), ("en-GB", "04/03/2026"), ("de-DE,de;q=0.8", "04.03.2026"),
        ("fr-CA,fr;q=0.9", "2026-03-04"), ("fr", "04/03/2026"), ("en-CA,en-US;q=0.8", "2026-03-04"),
        ("", "2026-03-04"), ("x" * 5000, "2026-03-04"), (",;=,", "2026-03-04"),
    ):  # fmt: skip
        assert write.date(day, languages) == shown, languages
    fixed = Style(dates="04.03.2026")
    assert fixed.moment(datetime(2026, 3, 4, 7, 5, tzinfo=UTC), "en-US") == "04.03.2026 07:05"


def test_a_persons_choices_hold_on_every_page(store: Store, client: TestClient, house: str) -> None:
    before = client.get(house).text
    assert "ft³" in before
    sent = Style("metric", "m²", "m³", "°F", "RSI", "ng", "m³", "10 mm").to_json()
    assert client.post("/units", data=sent | {"token": token(client)}).status_code == 303
    assert written(store.settings.get("units", "owner")) == Style(**sent)
    for path in (house, f"{house}/walls/1", f"{house}/walls/1/pieces"):
        html = client.get(path).text
        shown = re.sub(r'(value|aria-label)="[^"]*"|<desc>.*?</desc>', "", html)
        assert not re.search(r"\d ft[²³]|\d&#39; \d", shown), path
    assert "is 9.144 m" in client.get(f"{house}/walls/1").text  # 30 ft, exact
    wrong = client.post("/units", data={"token": token(client), "length": "cubits"})
    assert wrong.status_code == 422
    assert "cubits" in wrong.text


def test_choices_that_are_not_offered_are_refused_or_passed_over() -> None:
    assert written(None) == Style()
    assert written({"length": "cubits", "area": "m²", "x": 1}) == Style(area="m²")
    with pytest.raises(InputError, match="cubits"):
        chosen(Style().to_json() | {"length": "cubits"})
