"""The day record on a phone without a network, in a real browser: nothing lost, nothing doubled."""

from __future__ import annotations

import shutil
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from serving import Line, line_to, served
from warmside.demo import survey_text
from warmside.store import Store

pytestmark = pytest.mark.part("chromium")
PHONE = {"width": 390, "height": 844}
WALL = "kitchen north"


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[str, Path, Line]]:
    """Address of a server, its store, the line to it."""
    data = tmp_path_factory.mktemp("data")
    with served(data) as (port, _process), line_to(port) as line:
        yield f"http://localhost:{port}", data / "warmside.sqlite", line


@pytest.fixture
def place(server: tuple[str, Path, Line]) -> tuple[str, Path, str, Line]:
    """Address of a server, its store, a new job in it with one wall to work on, the line."""
    address, path, line = server
    line.mend()  # whatever the test before left
    with Store.open(path) as store:
        job = store.new_job(survey_text(), "owner").id
        store.choose(job, {WALL: "cc-76"}, 0, "owner")
    return address, path, job, line


@pytest.fixture(scope="module")
def chromium(server: tuple[str, Path, Line]) -> Iterator[Any]:
    """A browser that reaches the server over the line and under the server's own name."""
    from playwright.sync_api import sync_playwright

    address, _store, line = server
    over = f"--host-resolver-rules=MAP {address.partition('//')[2]} 127.0.0.1:{line.port}"
    with sync_playwright() as play:
        started = play.chromium.launch(
            executable_path=shutil.which("chromium"), args=["--no-sandbox", "--disable-gpu", over]
        )
        yield started
        started.close()


@pytest.fixture
def phone(chromium: Any) -> Iterator[Any]:
    with chromium.new_context(viewport=PHONE, has_touch=True) as context:
        yield context.new_page()


def kept(store: Path, job: str, kind: str) -> list[Any]:
    with Store.open(store) as opened:
        return list(opened.records.of(job, kind))


def ready(page: Any, address: str) -> None:
    """The page, with the worker that opens it again without a network."""
    page.goto(address)
    page.evaluate("navigator.serviceWorker.ready.then(() => true)")
    page.wait_for_function("caches.keys().then(k => k.length > 0)")
    page.reload()
    page.wait_for_function("navigator.serviceWorker.controller !== null")
    page.wait_for_function(
        "path => caches.match(path, {ignoreSearch: true}).then(found => !!found)",
        arg=address.partition("/jobs")[1] + address.partition("/jobs")[2],
    )


def cut(line: Line, phone: Any) -> None:
    line.cut()
    phone.context.set_offline(True)  # so that the phone is told, too


def mend(line: Line, phone: Any) -> None:
    line.mend()
    phone.context.set_offline(False)


def probe(page: Any, bay: str, thickness: str) -> None:
    form = page.locator("form[data-entry=probe]")
    page.locator("#f-probe").evaluate("d => { d.open = true; }")
    form.get_by_label("Wall").select_option(WALL)
    form.get_by_label("Bay", exact=True).fill(bay)
    form.get_by_label("Thickness").fill(thickness)
    form.get_by_role("button").click()


def test_entered_reloaded_and_synced_without_a_network(place: Any, phone: Any) -> None:
    address, store, job, line = place
    ready(phone, f"{address}/jobs/{job}/day")
    cut(line, phone)
    bays = [f"bay {n}" for n in range(1, 9)]
    for n, bay in enumerate(bays[:5]):
        probe(phone, bay, f"3.{n}")
    phone.reload()  # the network is cut: the page comes from the phone itself
    assert phone.locator("[data-sync] .waiting li").count() == 5
    for n, bay in enumerate(bays[5:], 5):
        probe(phone, bay, f"3.{n}")
    assert "8 entries wait on this phone" in phone.locator("[data-sync] .state").inner_text()
    assert phone.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
    assert kept(store, job, "probe") == []
    mend(line, phone)
    phone.get_by_text("Everything noted here is kept and sent.").wait_for(timeout=20_000)
    found = kept(store, job, "probe")
    assert [r.data["bay"] for r in found] == bays  # all of them, in order, each once
    assert [round(r.data["thickness_m"] / 0.0254, 2) for r in found] == [
        3.0 + n / 10 for n in range(8)
    ]
    assert phone.locator("#noted li", has_text="Probe").count() == 8


def test_an_answer_that_is_lost_does_not_double_an_entry(place: Any, chromium: Any) -> None:
    """The server keeps the entry, the phone never hears of it and sends again."""
    address, store, job, _line = place
    lost = []

    def lose(route: Any) -> None:
        if route.request.method == "POST" and len(lost) < 2:
            lost.append(route.fetch().status)
            route.abort()
        else:
            route.continue_()

    # routes see no request that passes a worker
    with chromium.new_context(viewport=PHONE, service_workers="block") as context:
        phone = context.new_page()
        phone.goto(f"{address}/jobs/{job}/day")
        phone.route("**/api/**", lose)
        phone.locator("#f-deviation").evaluate("d => { d.open = true; }")
        form = phone.locator("form[data-entry=deviation]")
        form.get_by_label("What was done otherwise").fill("Ribbon caulked from below")
        form.get_by_label("Why").fill("joists too close")
        form.get_by_role("button").click()
        phone.get_by_text("No connection now").wait_for(timeout=20_000)
        phone.get_by_text("Everything noted here is kept and sent.").wait_for(timeout=30_000)
    assert lost == [201, 201]
    assert len(kept(store, job, "deviation")) == 1


def test_what_the_server_refuses_stays_to_be_mended(place: Any, phone: Any) -> None:
    address, store, job, line = place
    ready(phone, f"{address}/jobs/{job}/day")
    cut(line, phone)
    probe(phone, "bay 3", "5")
    probe(phone, "bay 4", "3")
    mend(line, phone)
    phone.locator("[data-sync] .waiting .fault", has_text="the depth of bay 3").wait_for(
        timeout=20_000
    )
    assert len(kept(store, job, "probe")) == 1  # the good one went through
    phone.reload()
    phone.get_by_role("button", name="Take it back into its form").click()
    form = phone.locator("form[data-entry=probe]")
    assert form.get_by_label("Thickness").input_value() == "5"
    form.get_by_label("Thickness").fill("3.3")
    form.get_by_role("button").click()
    phone.get_by_text("Everything noted here is kept and sent.").wait_for(timeout=20_000)
    assert len(kept(store, job, "probe")) == 2


def test_joints_ticked_and_a_gate_signed_without_a_network(place: Any, phone: Any) -> None:
    address, store, job, line = place
    phone.goto(f"{address}/jobs/{job}/crew")
    phone.get_by_role("link", name=WALL).click()
    wall = phone.url
    ready(phone, wall)
    cut(line, phone)
    phone.reload()
    for number in (1, 2, 6):
        phone.get_by_role("button", name=f"Run {number} sealed", exact=True).click()
    phone.locator("form", has=phone.locator("input[value=make-safe]")).get_by_label(
        "Who signs"
    ).fill("Kim Roy")
    phone.locator("form", has=phone.locator("input[value=make-safe]")).get_by_role("button").click()
    mend(line, phone)
    phone.get_by_text("Everything noted here is kept and sent.").wait_for(timeout=20_000)
    assert [r.data["run"].partition("|")[0] for r in kept(store, job, "joint")] == [
        "studs side by side", "studs side by side", "top plates",
    ]  # fmt: skip
    assert [r.data["passed"] for r in kept(store, job, "gate")] == [True]
    phone.reload()
    assert "3 of 20 runs sealed" in phone.inner_text("main")


def test_signatures_are_drawn_and_a_typed_name_counts(place: Any, phone: Any) -> None:
    address, store, job, _line = place
    phone.goto(f"{address}/jobs/{job}/day")
    phone.locator("#f-signature").evaluate("d => { d.open = true; }")
    form = phone.locator("form[data-entry=signature]")
    for name in ("Kim Roy", "Ana Wirth"):
        form.get_by_label("As", exact=True).select_option("installer")
        form.get_by_label("Name").fill(name)
        if name == "Kim Roy":
            pad = form.locator("canvas")
            pad.scroll_into_view_if_needed()
            box = pad.bounding_box()
            phone.mouse.move(box["x"] + 20, box["y"] + 30)
            phone.mouse.down()
            phone.mouse.move(box["x"] + 200, box["y"] + 90, steps=6)
            phone.mouse.up()
        form.get_by_role("button", name="Note it down").click()
        phone.get_by_text("Everything noted here is kept and sent.").wait_for(timeout=20_000)
    drawn, typed = kept(store, job, "signature")
    assert len(drawn.data["strokes"]) == 1
    assert all(0 <= x <= 1000 and 0 <= y <= 400 for x, y in drawn.data["strokes"][0])
    assert typed.data["strokes"] == []
    assert phone.locator("svg.drawn-name").count() == 1


def test_entries_of_another_person_wait_for_them(place: Any, phone: Any) -> None:
    address, store, job, _line = place
    phone.goto(f"{address}/jobs/{job}/day")
    entry = (
        '{"by": "Somebody else", "words": "Note a deviation", "refused": "", "id": "a", "sent":'
        ' {"id": "abcdef0123456789", "kind": "deviation", "wall": "", "replaces": "", "data":'
        ' {"at": "2026-11-25T08:00:00Z", "what": "theirs", "why": "theirs"}}}'
    )
    phone.evaluate(
        "([job, entry]) => localStorage.setItem(`warmside-entry/${job}/000-a`, entry)", [job, entry]
    )
    phone.reload()
    phone.get_by_text("1 of somebody else").wait_for()
    time.sleep(0.5)
    assert kept(store, job, "deviation") == []


def test_nothing_stands_in_the_way_of_assistive_technology(place: Any, chromium: Any) -> None:
    """axe-core 4.14.1 finds no violation on the crew's pages, light and dark, all forms open."""
    address, _, job, _ = place
    axe = (Path(__file__).parent / "vendor" / "axe.min.js").read_text("utf-8")
    with chromium.new_context(bypass_csp=True, viewport=PHONE, service_workers="block") as context:
        page = context.new_page()
        for path in ("crew", "crew/7", "day", "hours", "yield"):
            page.goto(f"{address}/jobs/{job}/{path}")
            page.evaluate("document.querySelectorAll('details').forEach(d => d.open = true)")
            page.evaluate(axe)
            assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"], path
            for scheme in ("light", "dark"):
                page.emulate_media(color_scheme=scheme)
                found = page.evaluate("axe.run(document, {resultTypes: ['violations']})")
                told = [(v["id"], v["nodes"][0]["html"][:160]) for v in found["violations"]]
                assert told == [], (scheme, path)


def jpeg(folder: Path, name: str, colour: str, size: tuple[int, int] = (640, 480)) -> str:
    from PIL import Image

    path = folder / name
    Image.new("RGB", size, colour).save(path, "JPEG")
    return str(path)


def wall_page(phone: Any, address: str, job: str) -> str:
    phone.goto(f"{address}/jobs/{job}/crew")
    phone.get_by_role("link", name=WALL).click()
    return str(phone.url)


def photos_in(store: Path, job: str) -> list[Any]:
    with Store.open(store) as opened:
        return list(opened.photos.of(job))


def until(found: Any, seconds: float = 30.0) -> Any:
    end = time.monotonic() + seconds
    while not (some := found()) and time.monotonic() < end:
        time.sleep(0.1)
    return some


def test_photos_taken_without_a_network_are_kept_and_sent(
    place: Any, phone: Any, tmp_path: Path
) -> None:
    address, store, job, line = place
    wall = wall_page(phone, address, job)
    ready(phone, wall)
    cut(line, phone)
    for n, colour in enumerate(("red", "green", "blue"), 1):
        phone.locator("#cover-photo").set_input_files(jpeg(tmp_path, f"{n}.jpg", colour))
        phone.get_by_role("button", name="Add the photo").click()
        phone.get_by_text(f"{n} photo").first.wait_for()
    assert phone.url == wall  # no error page of the browser took its place
    phone.reload()
    waiting = phone.locator("[data-photos] .waiting img")
    waiting.nth(2).wait_for()  # the phone's own store answers after the page has loaded
    assert waiting.count() == 3
    assert phone.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
    assert photos_in(store, job) == []
    mend(line, phone)
    assert until(lambda: len(photos_in(store, job)) == 3)
    found = photos_in(store, job)
    assert [(p.wall, p.caption, p.width, p.height) for p in found] == [
        (WALL, "before cover", 640, 480)
    ] * 3
    colours = []
    with Store.open(store) as opened:
        from io import BytesIO

        from PIL import Image

        for photo in found:
            pixel = Image.open(BytesIO(opened.photos.file(job, photo.id))).getpixel((9, 9))
            colours.append(max(range(3), key=lambda k, pixel=pixel: pixel[k]))
    assert colours == [0, 1, 2]  # each picture as it was taken, in order
    phone.get_by_text("sent and kept").wait_for()


def test_a_photo_whose_answer_is_lost_is_kept_once(
    place: Any, chromium: Any, tmp_path: Path
) -> None:
    address, store, job, _line = place
    lost = []

    def lose(route: Any) -> None:
        if route.request.method == "POST" and len(lost) < 1:
            lost.append(route.fetch().status)
            route.abort()
        else:
            route.continue_()

    with chromium.new_context(viewport=PHONE, service_workers="block") as context:
        phone = context.new_page()
        phone.goto(f"{address}/jobs/{job}/photos")
        phone.route("**/photos", lose)
        phone.locator("#photo").set_input_files(jpeg(tmp_path, "a.jpg", "red"))
        phone.get_by_role("button", name="Add the photo").click()
        phone.get_by_text("No connection now").wait_for(timeout=20_000)
        phone.locator("ul.photos img").first.wait_for(timeout=30_000)
    assert lost == [204]
    assert len(photos_in(store, job)) == 1


def test_a_photo_that_is_refused_can_be_saved_or_thrown_away(
    place: Any, phone: Any, tmp_path: Path
) -> None:
    address, store, job, _line = place
    phone.goto(f"{address}/jobs/{job}/photos")
    bad = tmp_path / "no.jpg"
    bad.write_bytes(b"not a picture" * 20)
    phone.locator("#photo").set_input_files(str(bad))
    phone.get_by_role("button", name="Add the photo").click()
    phone.locator("[data-photos] .fault").wait_for(timeout=20_000)
    phone.reload()
    assert "photo" in phone.locator("[data-photos] .fault").inner_text()
    assert photos_in(store, job) == []
    with phone.expect_download() as download:
        phone.get_by_role("link", name="Save it as a file").click()
    assert Path(download.value.path()).read_bytes() == bad.read_bytes()
    phone.on("dialog", lambda dialog: dialog.accept())
    phone.get_by_role("button", name="Throw it away").click()
    assert until(lambda: phone.locator("[data-photos] .waiting li").count() == 0)


def test_a_mistaken_tap_is_taken_back_with_its_trace(place: Any, phone: Any) -> None:
    address, store, job, _line = place
    wall_page(phone, address, job)
    phone.get_by_role("button", name="Run 1 sealed", exact=True).click()
    phone.get_by_role("button", name="Run 1 not sealed after all").click(timeout=20_000)
    phone.get_by_role("button", name="Run 1 sealed", exact=True).wait_for(timeout=20_000)
    (joint,) = kept(store, job, "joint")
    (back,) = kept(store, job, "take-back")
    assert back.data["record"] == joint.id
    gate = phone.locator("form", has=phone.locator("input[value=make-safe]")).first
    gate.get_by_label("Who signs").fill("Kim Roy")
    gate.get_by_role("button", name="Sign this gate").click()
    assert until(lambda: kept(store, job, "gate"))
    phone.reload()
    step = phone.locator("ol.steps > li").first
    step.locator("summary").first.click()
    step.locator("details.back summary").click()
    step.get_by_label("Why").fill("signed the wrong wall")
    step.get_by_role("button", name="Take it back").click()
    assert until(lambda: len(kept(store, job, "take-back")) == 2)
    phone.reload()
    assert "open" in phone.locator("ol.steps > li").first.locator("summary").first.inner_text()
    phone.goto(f"{address}/jobs/{job}/day")
    noted = phone.locator("#noted").inner_text()
    assert noted.count("taken back below") == 2
    assert "signed the wrong wall" in noted


def test_a_phone_that_keeps_nothing_uploads_as_ever(
    place: Any, chromium: Any, tmp_path: Path
) -> None:
    """A private window whose database does not open."""
    address, store, job, _line = place
    with chromium.new_context(viewport=PHONE, service_workers="block") as context:
        phone = context.new_page()
        phone.add_init_script("IDBFactory.prototype.open = () => { throw new Error('private'); };")
        phone.goto(f"{address}/jobs/{job}/photos")
        phone.locator("#photo").set_input_files(jpeg(tmp_path, "a.jpg", "red"))
        phone.get_by_role("button", name="Add the photo").click()
        phone.locator("ul.photos img").first.wait_for(timeout=20_000)
    assert len(photos_in(store, job)) == 1
