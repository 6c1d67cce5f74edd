"""Figures beside the drawing and the client view, in a real browser: by key, read back, axe 0."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from serving import served
from studied import keep
from warmside.store import Store
from warmside.study import study
from warmside.survey import read, template, write
from warmside.web.dossier import PARTS, body_of, keep_study

pytestmark = pytest.mark.part("chromium")
SIZES = {"phone": (390, 844), "tablet": (820, 1180), "desk": (1440, 900)}
SECRET = bytes(range(32))
# the middle of the right half and of the left, red green blue
PIXELS = """() => { const c = document.querySelector('canvas'), p = c.getContext('2d');
  return [0.25, 0.6].map((x) => [...p.getImageData(c.width * x, c.height * 0.9, 1, 1).data]); }"""


@pytest.fixture(scope="module")
def address(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """A server with one studied wall."""
    folder = tmp_path_factory.mktemp("moving")
    (folder / "secret").write_bytes(SECRET)
    found = read(template())
    one = found.model_copy(update={"walls": found.walls[:1], "options": ()})
    with Store.open(folder / "warmside.sqlite") as store:
        job = store.new_job(write(one), "owner").id
        texts = {part: store.text(part, job).text for part in PARTS}  # type: ignore[arg-type]
        made = study(read(texts["survey"]), fields=False, years=0)
        keep_study(store, body_of(texts), made, SECRET)
        keep(store, texts, made, date(2026, 3, 4))
    with served(folder) as (port, _):
        yield f"http://localhost:{port}/jobs/{job}"


@contextmanager
def opened(size: str, scheme: str = "light", scripts: bool = True) -> Iterator[Any]:
    from playwright.sync_api import sync_playwright

    with sync_playwright() as play:
        chromium = play.chromium.launch(
            executable_path=shutil.which("chromium"), args=["--no-sandbox", "--disable-gpu"]
        )
        wide, high = SIZES[size]
        page = chromium.new_context(
            viewport={"width": wide, "height": high}, color_scheme=scheme,
            java_script_enabled=scripts, bypass_csp=True,
        ).new_page()  # fmt: skip
        complaints: list[str] = []
        page.on("console", lambda m: complaints.append(m.text) if m.type == "error" else None)
        page.on("pageerror", lambda e: complaints.append(str(e)))
        yield page
        assert complaints == []
        chromium.close()


def no_violation(page: Any) -> None:
    axe = (Path(__file__).parent / "vendor" / "axe.min.js").read_text("utf-8")
    page.evaluate(axe)
    found = page.evaluate("axe.run(document)")["violations"]
    assert [(v["id"], v["nodes"][0]["html"][:200]) for v in found] == []
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")


@pytest.mark.parametrize(("size", "scheme"), [("phone", "dark"), ("tablet", "light")])
def test_the_clients_view_moves_by_key(address: str, size: str, scheme: str) -> None:
    with opened(size, scheme) as page:
        page.goto(f"{address}/client/1")
        page.locator("[data-ready]:not([hidden])").wait_for(timeout=240_000)
        # what is not worked out yet is said so, and the picture is that of the nearest depth
        waits = page.locator("[data-waits]")
        said = page.locator("[data-said]").inner_text()
        assert waits.inner_text() == "" or "Worked out" in said
        no_violation(page)
        page.locator("[data-said][hidden]").wait_for(state="attached", timeout=240_000)
        assert waits.inner_text() == ""
        for name in ("r0", "r1", "t0", "t1", "price"):  # no finer than the offer
            assert "." not in page.locator(f"[data-{name}]").inner_text(), name
        before = [page.locator(f"[data-{name}]").inner_text() for name in ("r0", "r1", "t1")]
        page.locator("#depth").focus()
        page.keyboard.press("Home")
        page.wait_for_timeout(200)
        thin = [page.locator(f"[data-{name}]").inner_text() for name in ("r0", "r1", "t1")]
        assert thin[0] == before[0]
        page.keyboard.press("End")
        page.wait_for_timeout(200)
        full = [page.locator(f"[data-{name}]").inner_text() for name in ("r0", "r1", "t1")]
        assert float(full[1].partition("-")[2]) > float(thin[1].partition("-")[2])
        mild, cold = [], []
        for key, seen in (("End", mild), ("Home", cold)):
            page.locator("#outdoors").focus()
            page.keyboard.press(key)
            page.wait_for_timeout(200)
            seen += page.evaluate(PIXELS)
        # colder outdoors is a darker tone, more so today than after the work
        assert sum(cold[0][:3]) < sum(mild[0][:3])
        assert sum(cold[0][:3]) < sum(cold[1][:3])
        page.locator("#split").focus()
        page.keyboard.press("End")  # all of it is today
        page.wait_for_timeout(200)
        assert page.evaluate(PIXELS)[1] != cold[1]
        frames = page.evaluate("performance.getEntriesByName('slider frame').map(f => f.duration)")
        assert len(frames) >= 5


@pytest.mark.parametrize("size", ["phone", "tablet"])
def test_the_clients_view_without_scripts(address: str, size: str) -> None:
    with opened(size, scripts=False) as page:
        page.goto(f"{address}/client/1")
        assert page.get_by_role("heading", name="What we advise").is_visible()
        assert not page.locator("[data-ready]").is_visible()
        page.get_by_label("Lowest price").check()
        page.get_by_role("button", name="Sort by it").click()
        table = page.get_by_role("table", name="Two ways beside each other")
        assert len(table.get_by_role("columnheader").all()) == 2
        box = table.bounding_box()
        assert box["x"] >= 0
        assert box["x"] + box["width"] <= SIZES[size][0]  # both of them in sight at once


@pytest.mark.parametrize(("size", "scheme"), [("phone", "light"), ("desk", "dark")])
def test_figures_stand_beside_the_drawing_and_follow_the_form(
    address: str, size: str, scheme: str
) -> None:
    with opened(size, scheme) as page:
        page.goto(f"{address}/walls/1")
        page.locator("[data-option]:not([hidden])").wait_for(timeout=240_000)
        no_violation(page)
        pick = page.get_by_label("Option", exact=True)
        pick.select_option("cc-full")
        shown = page.locator("[data-option]:not([hidden]) dd").first
        before = shown.inner_text()
        # figures of before may still come until the form is asked about
        with page.expect_request(lambda sent: sent.url.endswith("/figures"), timeout=120_000):
            page.get_by_label("Spacing on centres").fill("12 in")  # more wood: less resistance
        page.wait_for_function(
            "() => document.querySelector('[data-option]:not([hidden]) dd')"
            " && !document.querySelector('.figures.old')",
            timeout=120_000,
        )
        assert pick.input_value() == "cc-full"  # what somebody looks at stays
        number = [float(text.split("R-")[1].split()[0]) for text in (before, shown.inner_text())]
        assert number[1] < number[0]
