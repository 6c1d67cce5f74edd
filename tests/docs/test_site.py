"""The site builds offline without a warning, and every link in it resolves."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import unquote, urlsplit

import pytest

ROOT = Path(__file__).parents[2]
NO_NETWORK = "import socket; socket.socket.connect = None"  # whoever asks the network fails


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The built site; the build may not reach the network."""
    out = tmp_path_factory.mktemp("site")
    build = (
        f"{NO_NETWORK}; import sys; from sphinx.cmd.build import main; sys.exit(main(sys.argv[1:]))"
    )
    done = subprocess.run(
        [sys.executable, "-c", build, "-E", "-W", "--keep-going", "-q", "-b", "html",
         "-d", str(out / "doctrees"), str(ROOT / "docs"), str(out / "html")],
        capture_output=True, text=True, check=False, timeout=900,
        env={**os.environ, "PYTHONPATH": str(ROOT / "src")},
    )  # fmt: skip
    assert done.returncode == 0, done.stderr[-4000:]
    return out / "html"


class _Links(HTMLParser):
    """Everything a page points to or fetches, and what can be pointed to in it."""

    def __init__(self) -> None:
        super().__init__()
        self.points: list[str] = []
        self.fetches: list[str] = []
        self.names: set[str] = set()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        for key, value in attrs:
            if key in ("id", "name") and value:
                self.names.add(value)
            elif value and tag == "a" and key == "href":
                self.points.append(value)
            elif value and (key == "src" or (tag == "link" and key == "href")):
                self.fetches.append(value)


def _read(page: Path) -> _Links:
    links = _Links()
    links.feed(page.read_text("utf-8"))
    return links


def test_internal_links_resolve(site: Path):
    pages = {page: _read(page) for page in site.rglob("*.html")}
    assert len(pages) > 40

    def resolves(page: Path, link: str) -> bool:
        parts = urlsplit(link)
        target = (page.parent / unquote(parts.path)).resolve() if parts.path else page
        if not parts.fragment:
            return target.is_file()
        return target in pages and unquote(parts.fragment) in pages[target].names

    broken = [
        f"{page.name}: {link}"
        for page, links in pages.items()
        for link in (*links.points, *links.fetches)
        if not urlsplit(link).scheme and not resolves(page, link)
    ]
    assert not broken


def test_nothing_is_fetched_from_elsewhere(site: Path):
    """Scripts, styles, fonts and pictures all lie in the site."""
    for page in site.rglob("*.html"):
        away = [f for f in _read(page).fetches if urlsplit(f).scheme not in ("", "data")]
        assert not away, page.name
    for sheet in site.rglob("*.css"):
        assert not re.findall(r"url\([\"']?https?:|@import", sheet.read_text("utf-8")), sheet.name


def test_no_role_is_left_unread(site: Path):
    """A bar within a table cuts a role in two."""
    for page in site.rglob("*.html"):
        text = page.read_text("utf-8")
        assert "{figure-from}" not in text, page.name
        assert "{m}" not in text, page.name
        assert "{measured" not in text, page.name
        assert "{figure-<" not in text, page.name


def test_figures_and_pictures_are_in_the_pages(site: Path):
    first = (site / "first-house.html").read_text("utf-8")
    assert first.count('<figure class="drawn">') == 4
    assert len(re.findall(r'<span class="figure">[^<]+</span>', first)) >= 10
    gallery = (site / "examples.html").read_text("utf-8")
    assert gallery.count("agrees") >= 40
    assert "DIFFERS" not in gallery
