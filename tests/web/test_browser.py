"""A new user's way from an empty store to the proposal, in a real browser, wide and narrow."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

pytestmark = pytest.mark.part("chromium")
WIDE, NARROW = {"width": 1440, "height": 900}, {"width": 390, "height": 844}


@pytest.fixture(scope="module")
def address(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    data = tmp_path_factory.mktemp("data")
    command = [sys.executable, "-m", "warmside", "serve", "--data", str(data), "--port", "0"]
    source = str(Path(__file__).parents[2] / "src")
    environment = os.environ | {"PYTHONPATH": source, "PYTHONUNBUFFERED": "1"}
    with subprocess.Popen(
        command, env=environment, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True
    ) as server:
        assert server.stdout
        found = re.search(r"http://localhost:\d+", server.stdout.readline())
        assert found
        yield found[0]
        server.terminate()
        server.wait(20)


@contextmanager
def screen(size: dict[str, int], scripts: bool = True) -> Iterator[Any]:
    from playwright.sync_api import sync_playwright

    with sync_playwright() as play:
        chromium = play.chromium.launch(
            executable_path=shutil.which("chromium"), args=["--no-sandbox", "--disable-gpu"]
        )
        context = chromium.new_context(viewport=size, java_script_enabled=scripts)
        page = context.new_page()
        complaints: list[str] = []
        page.on("console", lambda m: complaints.append(m.text) if m.type == "error" else None)
        page.on("pageerror", lambda e: complaints.append(str(e)))
        yield page
        # a refused form is told in the console too; that is meant
        assert [c for c in complaints if "status of 422" not in c] == []
        chromium.close()


def begin(page: Any, address: str, name: str) -> None:
    page.goto(address)
    page.get_by_role("link", name="Begin a job").click()
    for label, text in (("Name of the job", name), ("Climate", "winnipeg"),
                        ("Year built", "1948"), ("Heated volume", "250 m3")):  # fmt: skip
        page.get_by_label(label).fill(text)
    page.get_by_role("button", name="Begin the job").click()
    page.get_by_role("heading", name=name, level=1).wait_for()
    # the template's second wall is not this house's
    page.get_by_role("link", name="kitchen wing east").click()
    page.get_by_role("button", name="Take this wall out").click()


def test_from_nothing_to_the_proposal(address: str) -> None:
    with screen(WIDE) as page:
        begin(page, address, "Lane house")
        page.get_by_role("link", name="north front").first.click()
        page.get_by_label("Length", exact=True).fill("20 ft 900 in")
        page.get_by_role("button", name="Save the wall").click()
        assert page.get_by_role("alert").inner_text().count("allowed")
        page.get_by_label("Length", exact=True).fill("24 ft")
        page.locator(".kept", has_text="Draft kept").wait_for()
        page.get_by_role("button", name="Save the wall").click()
        page.get_by_role("link", name="Study", exact=True).click()
        page.get_by_role("button", name="Study this house").click()
        page.get_by_role("heading", name="Walls and their six promises").wait_for(timeout=180_000)
        page.get_by_role("link", name="Papers").click()
        link = page.get_by_role("link", name="Proposal (PDF)").get_attribute("href")
        with urllib.request.urlopen(address + link) as answer:  # noqa: S310
            assert answer.headers["content-type"] == "application/pdf"
            assert answer.read(5) == b"%PDF-"
        read_with_a_thumb(page, address)


def test_nothing_stands_in_the_way_of_assistive_technology(address: str) -> None:
    """axe-core 4.14.1 finds no violation on the pages, light and dark."""
    from playwright.sync_api import sync_playwright

    axe = (Path(__file__).parent / "vendor" / "axe.min.js").read_text("utf-8")
    with sync_playwright() as play:
        chromium = play.chromium.launch(
            executable_path=shutil.which("chromium"), args=["--no-sandbox", "--disable-gpu"]
        )
        for scheme in ("light", "dark"):
            context = chromium.new_context(color_scheme=scheme, bypass_csp=True)
            page = context.new_page()
            page.goto(address)
            here = page.locator(".jobs a").last.get_attribute("href")
            for path in ("/", "/new", "/catalog/foams", "/sources", "/nope",
                         *(f"{here}{part}" for part in ("", "/house", "/walls/1", "/survey",
                           "/history", "/photos", "/study", "/prices"))):  # fmt: skip
                page.goto(address + path)
                page.evaluate(axe)
                found = page.evaluate("axe.run(document, {resultTypes: ['violations']})")
                told = [(v["id"], v["nodes"][0]["html"][:120]) for v in found["violations"]]
                assert told == [], (scheme, path)
        chromium.close()


def read_with_a_thumb(page: Any, address: str) -> None:
    """Every page of the study stays within a phone's width, and the sliders draw."""
    page.set_viewport_size(NARROW)
    page.goto(address)
    page.get_by_role("link", name="Lane house").click()
    here = page.url
    paths = ("", "/house", "/walls/1", "/study", "/study/1", "/study/1/dry", "/price", "/papers",
             "/photos", "/survey", "/history", "/study/1/warm")  # fmt: skip
    for path in paths:
        page.goto(here + path)
        assert page.evaluate("document.documentElement.scrollWidth") <= NARROW["width"], path
    before = page.locator("figure.image image").get_attribute("href")
    page.get_by_label("Outdoors").fill("10")
    page.wait_for_function(
        "was => document.querySelector('figure.image image').getAttribute('href') !== was",
        arg=before,
    )
    assert "outside 10 °C" in page.locator("figure.image").inner_text()


def test_without_scripts_on_a_phone(address: str) -> None:
    with screen(NARROW, scripts=False) as page:
        begin(page, address, "Back lane")
        page.get_by_role("link", name="north front").first.click()
        page.get_by_label("Length", exact=True).fill("22 ft")
        page.get_by_role("button", name="Keep as a draft").click()
        page.get_by_role("link", name="north front").first.click()
        page.get_by_role("link", name="Take it up").click()
        assert page.get_by_label("Length", exact=True).input_value() == "22 ft"
        page.get_by_role("button", name="Save the wall").click()
        page.get_by_role("link", name="Study", exact=True).click()
        page.get_by_role("button", name="Study this house").click()
        page.get_by_role("button", name="Stop it").click()
        page.get_by_role("button", name="Study this house").wait_for()
