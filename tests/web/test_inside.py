"""A wall turned and taken apart: what the picture shows is what was computed, read from pixels."""

from __future__ import annotations

import base64
import gzip
import re
import shutil
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from importlib.resources import files
from io import BytesIO
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image

from serving import served
from studied import Scripted, client_of, kept
from warmside.drawings.thermal import tone
from warmside.physics.conduction import Inside, wall_inside
from warmside.store import Store
from warmside.store.moments import digest
from warmside.study.fields import CELLS, TOLERANCE
from warmside.survey import read, template
from warmside.web.inside import WALL_PARTS, materials_of_walls, plain
from warmside.web.studies import standing
from warmside.web.warm_process import Told
from warmside.wording.languages import catalogue

ROOM, OUTDOORS = 21.0, -10.0  # [degC]
TABLET: Any = {"width": 820, "height": 1180}  # [px]; narrower, outlines hide the studs
COLDEST, WARMEST = -35.0, 25.0  # [degC] of the tones


@pytest.fixture(scope="module")
def wall() -> Inside:
    """The template's first wall as it was found."""
    from warmside.catalog import load
    from warmside.framing import frame_wall
    from warmside.options import LEAVE, apply

    survey, catalog = read(template()), load()
    one = survey.walls[0]
    found = apply(LEAVE, one, frame_wall(one, survey.house, catalog.lumber), catalog, ())
    return wall_inside(found.assembly, cells=CELLS, tolerance=TOLERANCE)


def levels(told: dict[str, Any]) -> np.ndarray:
    shape = [len(told[axis]) - 1 for axis in "xyz"]
    shape[1] += 1
    return np.frombuffer(base64.b64decode(told["factor"]), "<u2").reshape(shape).astype(int)


def test_the_answer_holds_the_computed_wall(wall: Inside) -> None:
    told = plain(wall)
    found = levels(told)
    assert ((found == 0) == np.isnan(wall.factor)).all()
    there = found > 0
    # two bytes: at 60 K between room and outdoors a face is within a thousandth of a kelvin
    assert np.abs((found[there] - 1) / 65534 - wall.factor[there]).max() * 60 <= 1e-3
    part = np.frombuffer(base64.b64decode(told["part"]), np.uint8).reshape(wall.solid.shape)
    assert (part[wall.solid < 0] == 255).all()
    names = [one["words"] for one in told["parts"]]
    # from the room outwards, as such walls are built (common practice, no source)
    assert names == ["Inside finish", "Wood frame", "Boards and paper outside", "Siding"]
    depth = [min(p[3] for p in told["pieces"] if p[0] == n) for n in range(len(names))]
    assert depth == sorted(depth)
    studs = [p for p in told["pieces"] if p[0] == names.index("Wood frame")]
    assert len(studs) > 20
    assert len(gzip.compress(base64.b64decode(told["factor"]), 6)) < 400_000


def test_it_is_solved_once_and_kept(store: Store, wall: Inside) -> None:
    job = kept(store, fields=False)
    script = Scripted(Told(1, inside=wall), Told(1, ends=True))
    client = client_of(store, script)
    assert "inside.js" in client.get(f"/jobs/{job}/client/1").text
    first = client.get(f"/jobs/{job}/client/1/inside?option=leave")
    assert first.status_code == 200
    assert client.get(f"/jobs/{job}/client/1/inside?option=leave").json() == first.json()
    assert [ask.inside for ask in script.asked] == ["leave"]
    for bad in ("1/inside?option=nothing", "9/inside", "1/inside?option=" + "x" * 3000):
        assert client.get(f"/jobs/{job}/client/{bad}").status_code == 404, bad
    assert client_of(store).get(f"/jobs/{job}/client/1/inside").status_code == 404
    failing = Scripted(Told(1, ends=True, fault="it ended"))
    other = next(o["id"] for o in standing(store, job).study["walls"][0]["options"][1:])
    told = client_of(store, failing).get(f"/jobs/{job}/client/1/inside?option={other}")
    assert told.status_code == 503
    assert "it ended" in told.text


def link_to(store: Store, job: str, *papers: str) -> tuple[str, str]:
    """An address that shows ``papers`` of a job to whoever has it, and the id of its record."""
    until = (datetime.now(UTC) + timedelta(days=1)).isoformat(timespec="seconds")
    data = {"reader": "Ana", "role": "client", "papers": list(papers), "until": until,
            "hash": digest("word")}  # fmt: skip
    record = store.records.add(job, "link", data, "owner")
    return f"/read/{job}/{record.id}.word", record.id


def test_whoever_has_a_link_to_the_view_opens_the_wall_too(store: Store, wall: Inside) -> None:
    job = kept(store, fields=False)
    client = client_of(store, Scripted(Told(1, inside=wall), Told(1, ends=True)))
    address, id = link_to(store, job, "view")
    page = client.get(f"{address}/walls/1").text
    assert f'data-inside="{address}/walls/1/inside"' in page
    assert "inside.js" in page
    assert "/jobs/" not in page
    asked = f"{address}/walls/1/inside?option=leave"
    assert (
        client.get(asked).json() == client.get(f"/jobs/{job}/client/1/inside?option=leave").json()
    )
    assert client.get(f"{link_to(store, job, 'proposal')[0]}/walls/1/inside").status_code == 404
    assert client.get(asked.replace(".word", ".another")).status_code == 404
    store.records.withdraw(job, id, "owner")
    assert client.get(asked).status_code == 404


def test_the_drawing_library_is_small_and_has_its_notice() -> None:
    static = files("warmside.web").joinpath("static")
    for name, most in (("three.js", 250_000), ("gestures.js", 12_000)):
        content = static.joinpath(name).read_bytes()
        assert len(gzip.compress(content, 6)) <= most, name
        # nothing is fetched from anywhere: the only address names SVG's sister, a namespace
        addresses = set(re.findall(rb"https?://[^\"'`) ]+", content))
        assert addresses <= {b"http://www.w3.org/1999/xhtml"}, name
        notice = static.joinpath(name.replace(".js", ".txt")).read_text("utf-8")
        assert "Permission is hereby granted, free of charge" in notice
    for script in ("inside.js", "client.js", "warmside.js"):
        assert b"three.js" not in static.joinpath(script).read_bytes()  # named by the page alone


def test_no_words_of_it_lack_their_french() -> None:
    source = files("warmside.web").joinpath("templates", "client_inside.html").read_text("utf-8")
    told = re.findall(r'(?:said|write\.sentence)\("((?:[^"\\]|\\.)+)"', source)
    told += [part.words for part in WALL_PARTS] + list(materials_of_walls())
    assert len(told) > 70
    assert [text for text in told if not catalogue("fr").get(text)] == []


# --- in a browser


@pytest.fixture(scope="module")
def page(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Any]:
    from playwright.sync_api import sync_playwright

    folder = tmp_path_factory.mktemp("data")
    with served(folder) as (port, _process):
        pass  # it makes the store
    with Store.open(folder / "warmside.sqlite") as store:
        job = kept(store, fields=False)
    with served(folder) as (port, _process), sync_playwright() as play:
        browser = play.chromium.launch(
            executable_path=shutil.which("chromium"),
            args=["--no-sandbox", "--use-gl=angle", "--use-angle=swiftshader",
                  "--enable-unsafe-swiftshader"],
        )  # fmt: skip
        made = browser.new_page(viewport=TABLET)
        made.told = []
        made.on("console", lambda m: made.told.append(m.text) if m.type == "error" else None)
        made.on("pageerror", lambda e: made.told.append(str(e)))
        made.goto(f"http://localhost:{port}/jobs/{job}/client/1")
        yield made
        browser.close()


def look(page: Any) -> Any:
    """The picture on a tablet, opened where it is not yet: each test finds it as it was first."""
    page.set_viewport_size(TABLET)
    canvas = page.locator("[data-solid] canvas")
    if not canvas.is_visible():
        page.get_by_role("button", name="Look into it").click()
        canvas.wait_for()
    page.get_by_label("today", exact=True).check()
    page.locator("#inside-open").fill("0")
    page.locator("#inside-outdoors").fill(str(int(OUTDOORS)))
    canvas.scroll_into_view_if_needed()
    page.wait_for_timeout(400)
    return canvas


# the picture is drawn in the next frame after what asked for it
TWO_FRAMES = "new Promise(then => requestAnimationFrame(() => requestAnimationFrame(then)))"


def pixels(canvas: Any) -> np.ndarray:
    canvas.page.evaluate(TWO_FRAMES)
    return np.asarray(Image.open(BytesIO(canvas.screenshot())).convert("RGB")).astype(int)


def seen(canvas: Any, wall: Inside, places: np.ndarray) -> np.ndarray:
    """Where places x, y, z [m] of the wall lie in the picture [px], by the camera it tells."""
    matrix = np.array([float(v) for v in canvas.get_attribute("data-sees").split()])
    x, y, z = places.T
    middle = ((wall.x[0] + wall.x[-1]) / 2, (wall.z[0] + wall.z[-1]) / 2)
    points = np.stack((x - middle[0], z - middle[1], -y, np.ones_like(x)))
    clip = matrix.reshape(4, 4).T @ points
    box = canvas.bounding_box()
    u, v = clip[:2] / clip[3]
    return np.stack(((u + 1) / 2 * box["width"], (1 - v) / 2 * box["height"]), axis=1)


def faces(wall: Inside, j: int, along: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Middles of large cells on the j-th face across the wall, and their temperatures [degC]."""
    x, z = ((e[1:] + e[:-1]) / 2 for e in (wall.x, wall.z))
    wide = np.minimum.outer(np.diff(wall.x), np.diff(wall.z)) > 0.06
    where = np.argwhere(along & wide)
    rng = np.random.default_rng(7)
    where = where[rng.permutation(len(where))[:60]]
    places = np.array([(x[i], wall.y[j], z[k]) for i, k in where])
    return places, np.array([OUTDOORS + (ROOM - OUTDOORS) * wall.factor[i, j, k] for i, k in where])


def agree(picture: np.ndarray, at: np.ndarray, temperature: np.ndarray) -> None:
    """Colours of the picture against the tones of the drawings' own scale, to 2 levels of 255."""
    wanted = tone(temperature, COLDEST, WARMEST).astype(int)
    found = np.array([picture[int(v), int(u)] for u, v in at])
    off = np.abs(found - wanted).max(axis=1)
    assert np.percentile(off, 90) <= 2, (found[:5], wanted[:5])
    assert np.ptp(wanted[:, 0]) > 3  # there is something to tell apart


@pytest.mark.part("chromium")
def test_colours_are_the_computed_temperatures(page: Any, wall: Inside) -> None:
    canvas = look(page)
    page.get_by_role("button", name="From the room").click()
    front = pixels(canvas)
    places, warm = faces(wall, 0, wall.solid[:, 0] >= 0)
    agree(front, seen(canvas, wall, places), warm)
    # the finish off: the wood's own room side, colder than the finish before it
    page.locator("#inside-open").fill("1")
    opened = pixels(canvas)
    role = np.array([s.layer.role == "wood" for s in wall.solids] + [False])
    j = int(np.searchsorted(wall.y, 0.0))
    wood = role[wall.solid[:, j]]
    x, z = ((e[1:] + e[:-1]) / 2 for e in (wall.x, wall.z))
    where = np.argwhere(wood)[:: max(1, wood.sum() // 40)]
    spots = np.array([(x[i], wall.y[j], z[k]) for i, k in where])
    warmth = np.array([OUTDOORS + (ROOM - OUTDOORS) * wall.factor[i, j, k] for i, k in where])
    at = seen(canvas, wall, spots)
    got = np.array([opened[int(v), int(u)] for u, v in at])
    off = np.abs(got - tone(warmth, COLDEST, WARMEST).astype(int)).max(axis=1)
    assert np.median(off) <= 2  # thin pieces have their outlines over some of these pixels
    assert np.abs(opened - front).mean() > 2
    page.locator("#inside-open").fill("0")
    # from outdoors, by the outer face
    page.get_by_role("button", name="From outdoors").click()
    back = pixels(canvas)
    places, cold = faces(wall, wall.y.size - 1, wall.solid[:, -1] >= 0)
    agree(back, seen(canvas, wall, places), cold)
    # warmer outdoors, every part is
    page.locator("#inside-outdoors").fill("20")
    assert np.abs(pixels(canvas) - back).mean() > 20
    assert page.told == []


@pytest.mark.part("chromium")
def test_the_keyboard_turns_and_opens_it(page: Any, wall: Inside) -> None:
    canvas = look(page)
    page.get_by_role("button", name="From the room").click()
    before = pixels(canvas)
    canvas.focus()
    page.keyboard.press("ArrowRight")
    turned = pixels(canvas)
    assert np.abs(turned - before).mean() > 2
    page.keyboard.press("ArrowLeft")
    assert np.abs(pixels(canvas) - before).mean() < 0.5
    page.keyboard.press("+")
    assert np.abs(pixels(canvas) - before).mean() > 2
    page.keyboard.press("-")
    for taken, words in ((1, "Inside finish taken off"), (2, "Inside finish, Wood frame")):
        page.keyboard.press("o")
        page.evaluate(TWO_FRAMES)
        assert page.locator("#inside-open").input_value() == str(taken)
        assert words in canvas.get_attribute("aria-label")
    page.keyboard.press("c")
    page.keyboard.press("c")
    page.evaluate(TWO_FRAMES)
    assert "nothing is taken off" in canvas.get_attribute("aria-label")
    # what the picture says stands in the table too
    rows = page.locator("[data-inside-rows] tr").all_inner_texts()
    assert [row.split("\t")[0] for row in rows] == [
        "Inside finish", "Wood frame", "Boards and paper outside", "Siding"]  # fmt: skip
    # touched, a place tells its temperature
    places, warm = faces(wall, 0, wall.solid[:, 0] >= 0)
    u, v = seen(canvas, wall, places)[0]
    box = canvas.bounding_box()
    page.mouse.move(box["x"] + u, box["y"] + v)
    told = page.locator("[data-inside-place]").inner_text()
    read_ = float(re.search(r"(-?[\d.]+) °C", told)[1])  # type: ignore[index]
    assert read_ == pytest.approx(warm[0], rel=0, abs=0.51)  # to a degree, as the offer has it
    assert told.startswith("Inside finish")


@pytest.mark.part("chromium")
def test_a_finger_scrolls_past_it_and_nothing_bars_the_way(page: Any) -> None:
    canvas = look(page)
    assert canvas.evaluate("e => getComputedStyle(e).touchAction") == "pan-y"
    axe = (Path(__file__).parent / "vendor" / "axe.min.js").read_text("utf-8")
    page.context.new_cdp_session(page).send("Page.setBypassCSP", {"enabled": True})
    for width in (1440, 820, 390):
        page.set_viewport_size({"width": width, "height": 1000})
        page.wait_for_timeout(300)
        assert page.evaluate("document.documentElement.scrollWidth") <= width
        page.evaluate(axe)
        found = page.evaluate("axe.run(document, {resultTypes: ['violations']})")
        assert [(v["id"], v["nodes"][0]["html"][:120]) for v in found["violations"]] == [], width


@pytest.mark.part("chromium")
def test_where_nothing_can_be_drawn_the_table_says_it(page: Any) -> None:
    address, other = page.url, page.context.browser.new_page()
    other.add_init_script(
        "HTMLCanvasElement.prototype.getContext = new Proxy(HTMLCanvasElement.prototype.getContext,"
        "{apply: (get, on, kind) => kind[0].startsWith('webgl') ? null : get.apply(on, kind)})"
    )
    other.goto(address)
    other.get_by_role("button", name="Look into it").click()
    other.locator("[data-inside-rows] tr").first.wait_for()
    assert "This browser cannot draw it" in other.locator("[data-inside-said]").inner_text()
    assert not other.locator("[data-solid] canvas").is_visible()
    other.context.close()
