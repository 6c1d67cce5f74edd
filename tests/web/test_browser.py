"""A new user's way from an empty store to the proposal, in a real browser, wide and narrow."""

from __future__ import annotations

import re
import shutil
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

from serving import served

pytestmark = pytest.mark.part("chromium")
WIDE, NARROW = {"width": 1440, "height": 900}, {"width": 390, "height": 844}


@pytest.fixture(scope="module")
def address(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    data = tmp_path_factory.mktemp("data")
    with served(data) as (port, _process):
        yield f"http://localhost:{port}"


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
        assert [c for c in complaints if not re.search("status of (422|409)", c)] == []
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
    page.get_by_role("link", name="kitchen wing east").first.click()
    page.get_by_role("button", name="Take this wall out").click()


@pytest.mark.parametrize(
    ("size", "scripts", "name"),
    [(WIDE, True, "Lane house"), (NARROW, True, "Thumb house"), (NARROW, False, "Plain house")],
    ids=["desk", "phone", "phone-without-scripts"],
)
def test_from_nothing_to_the_proposal(
    address: str, size: dict[str, int], scripts: bool, name: str
) -> None:
    with screen(size, scripts) as page:
        begin(page, address, name)
        page.get_by_role("link", name="north front").first.click()
        page.get_by_label("Length", exact=True).fill("20 ft 900 in")
        page.get_by_role("button", name="Save the wall").click()
        assert page.get_by_role("alert").inner_text().count("allowed")
        page.get_by_label("Length", exact=True).fill("24 ft")
        if scripts:
            page.locator(".kept", has_text="Draft kept").wait_for()
        page.get_by_role("button", name="Save the wall").click()
        page.get_by_role("link", name="Study", exact=True).click()
        page.get_by_role("button", name="Study this house").click()
        page.get_by_role("heading", name="Walls and their six promises").wait_for(timeout=300_000)
        page.get_by_role("link", name="Papers").click()
        link = page.get_by_role("link", name="Offer (PDF)").get_attribute("href")
        with urllib.request.urlopen(address + link) as answer:  # noqa: S310
            assert answer.headers["content-type"] == "application/pdf"
            assert answer.read(5) == b"%PDF-"
        if size is WIDE:
            read_with_a_thumb(page, address)


# what the keyboard stands on: its outline [px], and whether a bar that stays put covers it
FOCUS = """() => {
  const at = document.activeElement, box = at.getBoundingClientRect(), look = getComputedStyle(at);
  const seen = document.elementFromPoint(
    Math.min(Math.max(box.x + box.width / 2, 1), innerWidth - 2),
    Math.min(Math.max(box.y + Math.min(box.height / 2, 20), 1), innerHeight - 2));
  const label = at.closest('label');
  return { at: at.outerHTML.slice(0, 90), none: at === document.body,
    outline: look.outlineStyle === 'none' ? 0 : parseFloat(look.outlineWidth),
    covered: !(seen && (at.contains(seen) || seen.contains(at) || label?.contains(seen))) };
}"""


def test_the_keyboard_is_seen_wherever_it_stands(address: str) -> None:
    """WCAG 2.2, 2.4.7 and 2.4.11: an outline round what has the focus, nothing laid over it."""
    with screen(WIDE) as page:
        begin(page, address, "Key house")
        house = page.url.split("?")[0].rstrip("/")
        for path in ("", "/house", "/walls/1", "/survey", "/photos", "/crew"):
            page.goto(house + path)
            for _ in range(70):
                page.keyboard.press("Tab")
                now = page.evaluate(FOCUS)
                if now["none"]:
                    break
                assert now["outline"] >= 2, (path, now["at"])
                assert not now["covered"], (path, now["at"])


NOT_PAGES = re.compile(
    r"^/(health|metrics)$|/(depths|inside)$|\.(zip|pdf|csv|xlsx|ics|svg|json|js|css)$|^/static|^/api|\{(photo|number|name|entry)\}"
)


def every_page(here: str) -> list[str]:
    """Every route of the table that answers with a page, on the job at ``here``."""
    from warmside.web.access import TABLE

    values = {"job": here.rpartition("/")[2], "wall": "1", "kind": "foams", "promise": "warm"}
    paths = [entry.removeprefix("GET ") for entry in TABLE if entry.startswith("GET ")]
    filled = [
        re.sub(r"\{(\w+)\}", lambda m: values.get(m[1], "x"), path)
        for path in paths
        if not NOT_PAGES.search(path)
    ]
    more = ("/nope", "/catalog/codes", "/?q=north", f"{here}/study/1/dry", f"{here}/history/1")
    return [*filled, *more]


def test_nothing_stands_in_the_way_of_assistive_technology(address: str) -> None:
    """axe-core 4.14.1 finds no violation on any page; dark, contrast is asked (WCAG 1.4.3)."""
    from playwright.sync_api import sync_playwright

    axe = (Path(__file__).parent / "vendor" / "axe.min.js").read_text("utf-8")
    every = "{resultTypes: ['violations']}"
    contrast = "{resultTypes: ['violations'], runOnly: ['color-contrast']}"
    with sync_playwright() as play:
        chromium = play.chromium.launch(
            executable_path=shutil.which("chromium"), args=["--no-sandbox", "--disable-gpu"]
        )
        for scheme, rules in (("light", every), ("dark", contrast)):
            context = chromium.new_context(
                color_scheme=scheme, bypass_csp=True, reduced_motion="reduce"
            )
            page = context.new_page()
            page.goto(address)
            studied = page.locator(".jobs a", has_text="Lane house")
            link = studied if studied.count() else page.locator(".jobs a").last
            pages = every_page(str(link.first.get_attribute("href")))
            assert len(pages) >= 25
            for path in pages:
                answer = page.goto(address + path)
                assert answer is not None
                assert "html" in answer.headers["content-type"], path
                page.evaluate(axe)
                found = page.evaluate(f"axe.run(document, {rules})")
                told = [(v["id"], v["nodes"][0]["html"][:120]) for v in found["violations"]]
                assert told == [], (scheme, path)
        chromium.close()


def test_the_drawing_is_read_and_moved_without_a_mouse(address: str) -> None:
    with screen(WIDE) as page:
        begin(page, address, "Corner house")
        page.get_by_role("link", name="north front").first.click()
        box = page.locator("[data-framing][tabindex]")
        box.wait_for()
        box.focus()
        reading = page.locator("[data-reading]")
        page.keyboard.press("ArrowRight")
        assert reading.inner_text().startswith("outlet 1:")
        page.keyboard.press("ArrowDown")
        assert reading.inner_text().startswith("parlour window: window, 3' 0\" wide")
        page.keyboard.press("Enter")
        page.keyboard.press("ArrowRight")
        page.keyboard.press("Shift+ArrowRight")
        # the template's window stands at 4 ft; one step of 1/2 in and ten of them
        assert page.get_by_label("From left, parlour window").input_value() == "4' 5-1/2\""
        with page.expect_response(lambda answer: answer.url.endswith("/drawing")):
            page.keyboard.press("Enter")
        page.get_by_role("button", name="Save the wall").click()
        page.get_by_text("Saved.").wait_for()
        page.get_by_role("link", name="Every piece as a list").click()
        row = page.locator("tr[data-x]", has_text="parlour window")
        assert "4' 5-1/2\" from the left" in row.inner_text()


def test_two_people_at_the_same_wall(address: str) -> None:
    """The second is told and loses nothing."""
    with screen(WIDE) as first, screen_beside(first) as second:
        begin(first, address, "Twin house")
        first.get_by_role("link", name="north front").first.click()
        second.goto(first.url)
        first.get_by_label("Length", exact=True).fill("23 ft")
        second.get_by_label("Length", exact=True).fill("25 ft")
        first.get_by_role("button", name="Save the wall").click()
        first.get_by_text("Saved.").wait_for()
        second.get_by_role("button", name="Save the wall").click()
        second.get_by_role("heading", name="Someone saved first; your changes are kept").wait_for()
        assert second.get_by_label("Length", exact=True).input_value() == "25 ft"
        changed = second.locator("table", has_text="Changed meanwhile").inner_text()
        assert "23 ft" in changed
        assert "both changed it" in changed


@contextmanager
def screen_beside(page: Any) -> Iterator[Any]:
    """A second person's browser."""
    context = page.context.browser.new_context(viewport=WIDE)
    yield context.new_page()
    context.close()


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
    before = page.locator("figure.image.small image").get_attribute("href")
    page.get_by_label("Outdoors").fill("10")
    page.wait_for_function(
        "was => document.querySelector('figure.image.small image').getAttribute('href') !== was",
        arg=before,
    )
    assert "outside 10 °C" in page.locator("figure.image.small").inner_text()


def test_without_scripts_on_a_phone(address: str) -> None:
    with screen(NARROW, scripts=False) as page:
        begin(page, address, "Back lane")
        page.get_by_role("link", name="north front").first.click()
        page.get_by_label("Length", exact=True).fill("22 ft")
        page.get_by_role("button", name="Keep as a draft").click()
        page.get_by_role("link", name="north front").first.click()
        page.get_by_role("link", name="Use draft").click()
        assert page.get_by_label("Length", exact=True).input_value() == "22 ft"
        page.get_by_role("button", name="Save the wall").click()
        page.get_by_role("link", name="Study", exact=True).click()
        page.get_by_role("button", name="Study this house").click()
        page.get_by_role("button", name="Stop it").click()
        page.get_by_role("button", name="Study this house").wait_for()
