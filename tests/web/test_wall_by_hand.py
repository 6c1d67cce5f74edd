"""Windows, boxes and pipes put in, moved and sized on the drawing: by mouse, thumb and keyboard.

What was done by hand is read back from the list of pieces after a save, in the units it was asked
in; lengths of feet and inches are exact (1 in = 25.4 mm).
"""

from __future__ import annotations

import re
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

from serving import served
from warmside.units import parse

pytestmark = pytest.mark.part("chromium")
Spot = tuple[float, float]  # [px]
DESK, TABLET, PHONE = (1440, 900), (820, 1180), (390, 844)


@pytest.fixture(scope="module")
def address(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    with served(tmp_path_factory.mktemp("data")) as (port, _process):
        yield f"http://localhost:{port}"


@pytest.fixture(scope="module")
def chromium() -> Iterator[Any]:
    from playwright.sync_api import sync_playwright

    with sync_playwright() as play:
        browser = play.chromium.launch(
            executable_path=shutil.which("chromium"), args=["--no-sandbox", "--disable-gpu"]
        )
        yield browser
        browser.close()


@contextmanager
def wall(chromium: Any, address: str, size: tuple[int, int], touch: bool = False) -> Iterator[Any]:
    """The template's first wall, 24 ft long, in a job of its own."""
    context = chromium.new_context(
        viewport={"width": size[0], "height": size[1]}, has_touch=touch, reduced_motion="reduce"
    )
    page = context.new_page()
    complaints: list[str] = []
    page.on("console", lambda m: complaints.append(m.text) if m.type == "error" else None)
    page.on("pageerror", lambda e: complaints.append(str(e)))
    page.goto(f"{address}/new")
    for label, text in (("Name of the job", "By hand"), ("Climate", "winnipeg"),
                        ("Year built", "1948"), ("Heated volume", "250 m3")):  # fmt: skip
        page.get_by_label(label).fill(text)
    page.get_by_role("button", name="Begin the job").click()
    page.get_by_role("link", name="north front").first.click()
    page.locator("[data-framing][tabindex]").wait_for()
    page.locator("[data-figures-body] [data-option]").first.wait_for(state="attached")
    yield page
    assert [c for c in complaints if not re.search("status of (422|409)", c)] == []
    context.close()


def spot(page: Any, x: float, z: float) -> tuple[float, float]:
    """Where ``x``, ``z`` [m] of the wall lies on the screen [px]."""
    told = page.evaluate(
        """([x, z]) => {
          const all = [...document.querySelectorAll('.elevation svg')];
          const svg = all.find(one => one.getClientRects().length), to = svg.getScreenCTM();
          const [scale, left, bottom] = svg.dataset.plane.split(' ').map(Number);
          return [to.e + (left + x * scale) * to.a, to.f + (bottom - z * scale) * to.d];
        }""",
        [x, z],
    )
    return told[0], told[1]


FOOT = 0.3048
# the template's parlour window: 4 ft from the left, sill at 2 ft 6 in, 3 ft by 5 ft; its door
# stands at 16 ft, 3 ft 2 in by 6 ft 10 in
MIDDLE = (5.5 * FOOT, 5.0 * FOOT)


def value(page: Any, name: str) -> str:
    return str(page.locator(f'form[data-draw] [name="{name}"]').input_value())


@contextmanager
def drawn(page: Any) -> Iterator[Any]:
    """What is done within is drawn at its end, and nothing waits to be drawn."""
    with page.expect_response(lambda answer: answer.url.endswith("/drawing")) as told:
        yield told
    settled(page)


def settled(page: Any) -> None:
    page.locator('[data-framing][aria-busy="false"]').wait_for()


def saved(page: Any) -> str:
    page.get_by_role("button", name="Save the wall").click()
    page.get_by_text("Saved.").wait_for()
    page.get_by_role("link", name="Every piece as a list").click()
    return str(page.locator("table.pieces").inner_text())


def drag(page: Any, start: tuple[float, float], end: tuple[float, float]) -> None:
    page.mouse.move(*start)
    page.mouse.down()
    for k in range(1, 6):
        page.mouse.move(*(a + (b - a) * k / 5 for a, b in zip(start, end, strict=True)))
    with drawn(page):
        page.mouse.up()


def test_a_mouse_moves_sizes_repeats_and_takes_out(chromium: Any, address: str) -> None:
    with wall(chromium, address, DESK) as page:
        # dragged about 3 ft 6 in it comes to stand by a stud: one of its sides, or its middle
        drag(page, spot(page, *MIDDLE), spot(page, MIDDLE[0] + 3.5 * FOOT, MIDDLE[1]))
        reading = page.locator("[data-reading]")
        assert "Not saved yet" in reading.inner_text()
        left = value(page, "opening.0.left")
        inches = parse(left, "length") / 0.0254
        assert 88 < inches < 92
        # exact: studs of 1-3/4 in at every 16 in have their faces 7/8 in from their marks
        from_mark = [(inches + side + 8) % 16 - 8 for side in (0, 18, 36)]
        assert any(abs(abs(off) - face) < 1e-6 for off in from_mark for face in (0, 0.875)), left
        # its right side pulled out by a foot
        grip = page.locator('.grip[data-grip="right"]').last.bounding_box()
        at = (grip["x"] + grip["width"] / 2, grip["y"] + grip["height"] / 2)
        one = spot(page, FOOT, 0)[0] - spot(page, 0, 0)[0]
        page.keyboard.down("Alt")  # away from the lines
        drag(page, at, (at[0] + one, at[1]))
        page.keyboard.up("Alt")
        assert value(page, "opening.0.width") in ("4' 0\"", "3' 11-1/2\"", "4' 1/2\"")
        assert value(page, "opening.0.left") == left
        with drawn(page):
            page.get_by_role("button", name="Undo").click()
        assert value(page, "opening.0.width") == "3 ft"
        with drawn(page):
            page.get_by_role("button", name="Redo").click()
        assert value(page, "opening.0.width") != "3 ft"
        for _ in range(2):
            with drawn(page):
                page.get_by_role("button", name="Undo").click()
        assert value(page, "opening.0.left") == "4 ft"
        assert page.get_by_role("button", name="Undo").is_disabled()

        # one more like it stands free of it and of the door, and has a name of its own
        page.mouse.click(*spot(page, *MIDDLE))
        with drawn(page):
            page.get_by_role("button", name="One more like it").click()
        assert value(page, "opening.2.name") == "parlour window 2"
        assert value(page, "opening.2.width") == "3 ft"
        page.locator("[data-hand] [data-out]").wait_for()
        page.mouse.click(*spot(page, 17.5 * FOOT, 3 * FOOT))
        assert reading.inner_text().startswith("front door")
        with drawn(page):
            page.get_by_role("button", name="Take it out").click()
        list_ = saved(page)
        assert "parlour window 2" in list_
        assert "front door" not in list_


def test_lengths_as_people_type_them_beside_the_drawing(chromium: Any, address: str) -> None:
    with wall(chromium, address, TABLET) as page:
        page.mouse.click(*spot(page, *MIDDLE))
        hand = page.get_by_label("The piece in hand")
        hand.get_by_label("Width").fill("2 6")
        hand.get_by_label("Sill").fill("2ft9")
        with drawn(page):
            hand.get_by_label("From left").fill("62 1/2")
        assert value(page, "opening.0.width") == "2 6"
        hand.get_by_label("Height").focus()
        list_ = saved(page)
        # exact: 2 6 is 2 ft 6 in, and a number alone is in inches: 62-1/2 in is 5 ft 2-1/2 in
        assert "window, 2' 6\" wide, 5' 0\" high, 5' 2-1/2\" from the left, sill 2' 9\" up" in list_
        page.get_by_role("link", name="To the wall").click()
        assert value(page, "opening.0.width") == "2 ft 6 in"


def test_the_keyboard_does_all_of_it(chromium: Any, address: str) -> None:
    with wall(chromium, address, DESK) as page:
        press = page.keyboard.press
        button = page.get_by_role("button", name="Window", exact=True)
        button.focus()
        with drawn(page):
            press("Enter")
        reading = page.locator("[data-reading]")
        # put in, in hand, the drawing has the keyboard
        assert page.evaluate("document.activeElement.matches('[data-framing]')")
        assert value(page, "opening.2.name") == "window"
        assert value(page, "opening.2.width") == "3' 0\""  # as large as the wall's last window
        press("Enter")
        press("End")
        assert ", by the " in reading.inner_text(), reading.inner_text()
        before = value(page, "opening.2.width")
        press("s")
        press("ArrowLeft")
        with drawn(page):
            press("Enter")
        assert value(page, "opening.2.width") != before
        assert value(page, "opening.2.width") == "2' 11-1/2\""  # one step of half an inch
        with drawn(page):
            press("Control+z")
        assert value(page, "opening.2.width") == before
        with drawn(page):
            press("Control+Shift+z")
        assert value(page, "opening.2.width") == "2' 11-1/2\""
        wide = page.locator("[data-sheet]").evaluate("e => e.clientWidth")
        press("+")
        assert page.locator("[data-sheet]").evaluate("e => e.clientWidth") > 1.4 * wide
        press("0")
        assert page.locator("[data-sheet]").evaluate("e => e.clientWidth") == wide
        with drawn(page):
            press("Delete")
        assert value(page, "opening.2.name") == ""
        for name, group in (("Inside wall", "partition"), ("Box", "box"), ("Pipe or cable", "pipe"),
                            ("Door", "opening")):  # fmt: skip
            rows = page.locator(f'form [data-row^="{group}."]').count()
            page.get_by_role("button", name=name, exact=True).focus()
            with drawn(page) as told:
                press("Enter")
            assert told.value.status == 200, (name, reading.inner_text())
            assert page.locator(f'form [data-row^="{group}."]').count() == rows + 1, name
        list_ = saved(page)
        assert "two-stud post" in list_
        assert "door, 3' 2\" wide, 6' 10\" high" in list_


class Thumb:
    """Fingers on the glass, by the browser's own input."""

    def __init__(self, page: Any) -> None:
        self.line = page.context.new_cdp_session(page)

    def send(self, kind: str, *points: tuple[float, float]) -> None:
        told = [{"x": x, "y": y, "id": n} for n, (x, y) in enumerate(points)]
        self.line.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": told})

    def swipe(self, *ways: tuple[Spot, Spot], steps: int = 12) -> None:
        for k in range(steps + 1):
            share = k / steps
            at = [(a + (c - a) * share, b + (d - b) * share) for (a, b), (c, d) in ways]
            self.send("touchMove" if k else "touchStart", *at)
        self.send("touchEnd")


def test_a_thumb_scrolls_the_page_and_moves_what_it_holds(chromium: Any, address: str) -> None:
    with wall(chromium, address, PHONE, touch=True) as page:
        thumb = Thumb(page)
        page.locator("[data-framing]").scroll_into_view_if_needed()
        page.evaluate("scrollTo(0, 60)")
        page.wait_for_timeout(300)
        # a swipe that begins on the drawing, on a window nobody has in hand, scrolls the page
        x, y = spot(page, *MIDDLE)
        thumb.swipe(((x, y), (x, y - 150)))
        page.wait_for_function("scrollY > 120")
        assert value(page, "opening.0.left") == "4 ft"
        page.evaluate("scrollTo(0, 60)")
        page.wait_for_timeout(200)
        page.touchscreen.tap(*spot(page, *MIDDLE))
        page.locator("[data-hand]:not([hidden])").wait_for()
        # in hand it follows, and the page stays
        x, y = spot(page, *MIDDLE)
        at = page.evaluate("scrollY")
        with drawn(page):
            thumb.swipe(((x, y), (x + 50, y)))
        assert value(page, "opening.0.left") not in ("4 ft", "4' 0\"")
        assert page.evaluate("scrollY") == at
        # two fingers look nearer; one then scrolls the sheet in its frame
        x, y = spot(page, 12 * FOOT, 4 * FOOT)
        thumb.swipe(((x - 20, y), (x - 90, y)), ((x + 20, y), (x + 90, y)))
        near = "e => e.clientWidth / e.parentElement.clientWidth"
        page.wait_for_function(f"({near})(document.querySelector('[data-sheet]')) > 1.8")
        assert page.evaluate("document.documentElement.scrollWidth") <= PHONE[0]
        before = page.locator("[data-framing]").evaluate("e => e.scrollLeft")
        box = page.locator("[data-framing]").bounding_box()
        x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
        thumb.swipe(((x, y), (x - 60, y)))
        page.wait_for_function(
            "past => document.querySelector('[data-framing]').scrollLeft > past", arg=before + 20
        )
        assert "parlour window" in saved(page)


def test_what_cannot_stand_there_is_told_and_kept_in_hand(chromium: Any, address: str) -> None:
    with wall(chromium, address, DESK) as page:
        page.mouse.click(*spot(page, *MIDDLE))
        with drawn(page) as told:
            page.get_by_label("The piece in hand").get_by_label("From left").fill("15 ft")
        assert told.value.status == 422
        reading = page.locator("[data-reading]")
        page.locator("[data-reading]", has_text="front door").wait_for()
        assert reading.inner_text().startswith("parlour window")
        assert page.locator(".chosen-piece.refused").count() == 1
        with drawn(page):
            page.get_by_label("The piece in hand").get_by_label("From left").fill("8 ft")
        page.locator(".chosen-piece:not(.refused)").wait_for(state="attached")


def test_nothing_stands_in_the_way_while_a_piece_is_in_hand(chromium: Any, address: str) -> None:
    """axe-core finds no violation, and what is touched is 44 px (WCAG 2.5.5) at every width."""
    axe = (Path(__file__).parent / "vendor" / "axe.min.js").read_text("utf-8")
    for size in (DESK, TABLET, PHONE):
        with wall(chromium, address, size) as page:
            page.get_by_role("button", name="Box", exact=True).click()
            settled(page)
            line = page.context.new_cdp_session(page)
            line.send("Page.setBypassCSP", {"enabled": True})
            page.evaluate(axe)
            found = page.evaluate("axe.run(document, {resultTypes: ['violations']})")
            assert [(v["id"], v["nodes"][0]["html"][:120]) for v in found["violations"]] == [], size
            assert page.evaluate("document.documentElement.scrollWidth") <= size[0]
            for box in page.locator("[data-tools] button, [data-hand] button:visible").all():
                at = box.bounding_box()
                assert at["height"] >= 43.9, box.inner_text()
                assert at["width"] >= 43.9, box.inner_text()


# size on the screen of every letter in a drawing that is seen [px], the small ones with their text
LETTERS = """() => [...document.querySelectorAll('svg text')].filter(t => t.getClientRects().length)
  .map(t => { const m = t.getScreenCTM();
    return [parseFloat(getComputedStyle(t).fontSize) * Math.hypot(m.a, m.b), t.textContent]; })"""


def test_letters_of_drawings_can_be_read_on_a_phone(chromium: Any, address: str) -> None:
    """At least 11 px at a width of 390."""
    context = chromium.new_context(viewport={"width": PHONE[0], "height": PHONE[1]})
    page = context.new_page()
    page.goto(address)
    house = page.locator(".jobs a").last.get_attribute("href")
    for path in ("/walls/1", "/walls/3"):
        page.goto(f"{address}{house}{path}")
        found = page.evaluate(LETTERS)
        assert len(found) > 10, path
        assert [told for told in found if told[0] < 10.99] == [], path
        assert page.evaluate("document.documentElement.scrollWidth") <= PHONE[0], path
    context.close()
