"""Styles, scripts and fonts of the pages: kept for good, small, and whole when they arrive."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

import warmside.web
from warmside.demo import survey_text
from warmside.store import Store
from warmside.web import Web, create_app
from warmside.web.files import address, edition

TEMPLATES = Path(warmside.web.__file__).parent / "templates"
LINKED = re.compile(r'(?:href|src)="(/static/[^"]+)"')
FONTS = re.compile(r'url\("([\w.-]+)"\)')
MOST = 200_000  # [byte] of a wall's page with an empty cache, as agreed


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    with Store.open(tmp_path / "warmside.sqlite") as opened:
        yield opened


@pytest.fixture
def client(store: Store) -> TestClient:
    return TestClient(create_app(Web(store, b"s" * 32, hosts=lambda _: True)))


def sent(client: TestClient, path: str) -> int:
    """Bytes of an answer as they travel."""
    with client.stream("GET", path, headers={"accept-encoding": "gzip"}) as answer:
        assert answer.status_code == 200, path
        return sum(len(part) for part in answer.iter_raw())


def test_every_file_that_a_page_names_is_there() -> None:
    """Exact: ``address`` knows no other, so that a name that is wrong fails here."""
    named = [n for page in TEMPLATES.glob("*.html")
             for n in re.findall(r"static\('([\w.-]+)'\)", page.read_text("utf-8"))]  # fmt: skip
    assert len(named) > 10
    assert all(address(name) == f"/static/{edition()}/{name}" for name in named)
    with pytest.raises(KeyError):
        address("nope.css")


def test_a_file_is_kept_for_good_under_its_edition_alone(client: TestClient) -> None:
    """RFC 8246: ``immutable`` only for an address whose content never changes."""
    now = client.get(address("warmside.css"))
    assert now.headers["cache-control"] == "public, max-age=31536000, immutable"
    before = client.get("/static/0123456789abcdef/warmside.css")  # a page of an older edition
    assert before.content == now.content
    assert "immutable" not in before.headers["cache-control"]
    assert client.get("/day-worker.js").headers["cache-control"] == "no-cache"


def test_answers_are_packed_for_those_who_can_read_them(client: TestClient, store: Store) -> None:
    job = store.new_job(survey_text(), "owner").id
    for path in (f"/jobs/{job}/walls/1", address("warmside.css")):
        plain = client.get(path, headers={"accept-encoding": "identity"})
        assert "content-encoding" not in plain.headers
        packed = client.get(path, headers={"accept-encoding": "gzip"})
        assert packed.headers["content-encoding"] == "gzip"
        assert "accept-encoding" in packed.headers["vary"].lower()
        assert sent(client, path) < 0.5 * len(plain.content)
        if path.endswith(".css"):
            assert packed.content == plain.content


def test_a_wall_s_page_is_light(client: TestClient, store: Store) -> None:
    """With an empty cache: the page, what it links to, both fonts, and the pieces it asks for."""
    job = store.new_job(survey_text(), "owner").id
    for wall in range(1, 10):
        path = f"/jobs/{job}/walls/{wall}"
        files = set(LINKED.findall(client.get(path).text))
        fonts = {address(name) for file in files if file.endswith(".css")
                 for name in FONTS.findall(client.get(file).text)}  # fmt: skip
        assert len(fonts) == 2
        asked = {path, f"{path}/pieces", *files, *fonts}
        assert sum(sent(client, one) for one in asked) <= MOST, wall


def test_fonts_are_woff2(client: TestClient) -> None:
    """WOFF File Format 2.0, W3C 2018, section 4.1: the signature is ``wOF2``."""
    for weight in ("regular", "semibold"):
        answer = client.get(address(f"inter-{weight}.woff2"))
        assert answer.headers["content-type"] == "font/woff2"
        assert answer.content[:4] == b"wOF2"


def test_no_two_pages_carry_the_same_token(client: TestClient) -> None:
    """The length of a packed page must tell nothing about a token (CVE-2013-3587)."""
    client.get("/")
    web, browser = client.app.state.web, client.cookies["warmside-browser"]
    tokens = {web.token_for(browser) for _ in range(20)}
    assert len(tokens) == 20
    assert all(web.token_fits(browser, token) for token in tokens)
    one = tokens.pop()
    salt, mac = one[:16], one[16:]
    for wrong in ("", one[:-1], f"{salt[:-1]}x{mac}", f"{salt}x{mac}", mac, salt, "\udcff" + one):
        assert not web.token_fits(browser, wrong)
    assert not web.token_fits("another-browser-entirely", one)
