"""The client's view: nothing of the shop on it, plain without scripts, data as they were."""

from __future__ import annotations

import base64
import json
import re
from html import unescape
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from studied import Scripted, client_of, kept
from warmside.physics.airflow import Band
from warmside.store import Store
from warmside.study.depths import Depth
from warmside.study.report.wishes import WISHES as RANKS
from warmside.survey import read, template
from warmside.web import client as client_module
from warmside.web.client import WISHES, WORDS
from warmside.web.studies import standing
from warmside.web.warm_process import Told
from warmside.wording.languages import catalogue


def depth(thickness: float, factor: float) -> Depth:
    seen = np.array([[True, True], [False, True], [True, True]])
    return Depth(
        thickness, 1.0 + thickness, 0.7, "bay", 900.0, Band(1.0, 2.0, 3.0),
        np.array([0.0, 1.0, 2.0, 3.0]), np.array([0.0, 1.0, 2.0]),
        np.full((3, 2), factor), seen,
    )  # fmt: skip


@pytest.fixture
def studied(store: Store) -> str:
    return kept(store)


def test_nothing_of_the_shop_stands_on_it(store: Store, studied: str) -> None:
    client = client_of(store)
    where = client.get(f"/jobs/{studied}/client")
    assert (where.status_code, where.headers["location"]) == (303, f"/jobs/{studied}/client/1")
    page = client.get(f"/jobs/{studied}/client/1").text
    for shop in ('href="/stock"', 'href="/"', "/price", "/prices", "Search all jobs", "mark-up"):
        assert shop not in page, shop
    assert "What we advise" in page
    assert "client.js" not in page  # nothing moves where no process can work it out
    stands = standing(store, studied)
    assert stands.dossier is not None
    solved = stands.dossier["walls"][0]["options"][0]["field"]
    assert ("&amp;option=leave&amp;" in page) == solved  # no picture that was not computed
    assert client.get(f"/jobs/{studied}/client/1?outside=-40").status_code == 200
    for bad in ("outside=-60", "outside=nan", "outside=warm"):
        assert client.get(f"/jobs/{studied}/client/1?{bad}").status_code == 422, bad
    for bad in ("2", "0", "2/depths", "2/thermal.svg"):
        assert client.get(f"/jobs/{studied}/client/{bad}").status_code == 404, bad


def test_a_wall_that_is_left_is_told_as_left(store: Store) -> None:
    page = client_of(store).get(f"/jobs/{kept(store, left=True, fields=False)}/client/1").text
    wall = read(template()).walls[0].name
    told = page.partition("What we leave alone")[2]
    assert f"{wall}: left as it is." in told
    assert "We advise to leave this wall as it is." in page.partition("</h1>")[2]


def test_a_wall_that_is_worked_on_is_not_told_as_left(store: Store, studied: str) -> None:
    assert "What we leave alone" not in client_of(store).get(f"/jobs/{studied}/client/1").text


def test_a_house_that_was_not_studied_has_none(store: Store, job: str) -> None:
    begin = client_of(store).get(f"/jobs/{job}/client")
    assert (begin.status_code, begin.headers["location"]) == (303, f"/jobs/{job}/study")
    assert client_of(store).get(f"/jobs/{job}/client/1").status_code == 404
    assert client_of(store).get(f"/jobs/{job}/client/1/depths").status_code == 404


def events_of(text: str) -> list[tuple[str, Any]]:
    """Server-sent events: their names and data."""
    found = re.findall(r"^event: (\w+)\ndata: (.*)$", text, re.M)
    return [(name, json.loads(data)) for name, data in found]


def test_depths_are_told_as_they_are_solved_and_read_back_as_they_were(
    store: Store, studied: str
) -> None:
    script = Scripted(
        Told(1, depths=(0.0508, 0.0254)), Told(1, depth=depth(0.0, 0.5)), Told(1),
        Told(1, depth=depth(0.0508, 0.75)), Told(1, depth=depth(0.0254, 0.7)), Told(1, ends=True),
    )  # fmt: skip
    client = client_of(store, script)
    assert "client.js" in client.get(f"/jobs/{studied}/client/1").text
    answer = client.get(f"/jobs/{studied}/client/1/depths?first=0.0508")
    assert answer.headers["content-type"].startswith("text/event-stream")
    first = events_of(answer.text)
    assert [name for name, _ in first] == ["depths", "depth", "depth", "depth", "end"]
    assert first[0][1] == {
        "all": [0.0254, 0.0508],
        "first": 0.0508,
    }  # what is looked at comes first
    assert first[-1][1] == {"fault": ""}
    assert events_of(client.get(f"/jobs/{studied}/client/1/depths").text) == first
    (asked,) = script.asked  # once: then it is kept
    assert (asked.depths, asked.first) == (True, 0.0508)
    found = [what for name, what in first if name == "depth"]
    assert [one["thickness"] for one in found] == [0.0, 0.0508, 0.0254]
    assert found[1]["saving"] == [1.0, 2.0, 3.0]
    levels = np.frombuffer(base64.b64decode(found[1]["factor"]), "<u2").reshape(3, 2)
    assert levels[1, 0] == 0  # the opening
    # two bytes: at 60 K between room and outside a place is within a thousandth of a kelvin
    assert np.abs(levels[levels > 0] / 65535 - 0.75).max() * 60.0 <= 1e-3
    for bad in ("nan", "-1", "2", "x"):
        path = f"/jobs/{studied}/client/1/depths?first={bad}"
        assert client.get(path).status_code == 422, bad


def test_a_process_that_failed_keeps_nothing(store: Store, studied: str) -> None:
    script = Scripted(Told(1, depth=depth(0.0, 0.5)), Told(1, ends=True, fault="it ended"))
    client = client_of(store, script)
    for _ in range(2):
        told = events_of(client.get(f"/jobs/{studied}/client/1/depths").text)
        assert told[-1] == ("end", {"fault": "it ended"})
    assert len(script.asked) == 2


def rows_of(page: str) -> dict[str, list[str]]:
    """The table of two ways, by what its rows say."""
    table = page.partition('<table class="two-ways">')[2].partition("</table>")[0]
    rows = re.findall(r'<tr[^>]*><th scope="row">([^<]*)</th><td>(.*?)</td><td>(.*?)</td>', table)
    return {name: [one, two] for name, one, two in rows}


def test_figures_are_those_of_the_offer(store: Store, studied: str) -> None:
    """What a client is told of a price, R and a cold spot is written alike on page and paper."""
    from warmside.web.letterhead import style_of_job

    client = client_of(store)
    (wall,) = standing(store, studied).study["walls"]
    page = client.get(f"/jobs/{studied}/client/1").text
    french = client.get(f"/jobs/{studied}/client/1?language=fr").text
    for language, text in (("en", page), ("fr", french)):
        style = style_of_job(store, studied, language)  # type: ignore[arg-type]
        assert style.part(wall["advice"]) in unescape(text)
        for way in wall["ways"][:3]:
            if price := way["choice"]["price"]:
                assert style.figure(price) in unescape(text)
            assert style.figure(way["choice"]["resistance"]) in unescape(text)
    assert not re.search(r"R-\d+\.\d|CAD \d|\d\.\d °C", page.partition("<main")[2])
    assert '<html lang="fr"' in french
    assert "Ce que nous conseillons" in french


def test_two_ways_by_what_the_client_asks_for(store: Store, studied: str) -> None:
    client = client_of(store)
    (wall,) = standing(store, studied).study["walls"]
    ways = {way["id"]: way for way in wall["ways"]}
    assert len(ways) > 4
    assert set(WISHES) == set(RANKS)
    for wish in WISHES:
        order = sorted(ways.values(), key=lambda way: way["place"][wish])
        assert [way["place"][wish] for way in order] == list(range(len(ways)))  # each its own
        page = client.get(f"/jobs/{studied}/client/1?wish={wish}").text
        assert len(rows_of(page)) == 7
        listed = re.findall(r"<ol.*?</ol>", page, re.S)[0]
        names = [unescape(n) for n in re.findall(r"<li><b>(.*?)</b>", listed)]
        assert len(names) == len(order)
    kept = {o["id"]: o["keeps"] for o in wall["options"]}
    able = [w for w in ways.values() if w["worked"] and kept[w["id"]]]
    for wish, value in (
        ("warm", lambda w: -w["choice"]["resistance"].value),
        ("price", lambda w: w["choice"]["price"].value),
        ("saving", lambda w: -w["choice"]["saving"].value),
    ):
        found = [value(w) for w in sorted(able, key=lambda w, k=wish: w["place"][k])]  # type: ignore[misc]
        assert found == sorted(found), wish
    calm = sorted(able, key=lambda way: way["place"]["calm"])
    inside = ("from the room", "inside finish")
    opened = [any(word in str(way["side"]) for word in inside) for way in calm]
    assert opened == sorted(opened)  # rooms that stay closed come first
    one, two = list(ways)[-2:]
    asked = client.get(f"/jobs/{studied}/client/1?wish=dry&one={one}&two={two}").text
    picked = re.findall(r'<option value="([^"]+)" selected', asked)
    assert picked == [one, two]
    for bad in ("wish=rich", "language=xx"):
        assert client.get(f"/jobs/{studied}/client/1?{bad}").status_code == 422
    assert client.get(f"/jobs/{studied}/client/1?one=none&two=%00").status_code == 200


@pytest.mark.parametrize("page", ["client", "sign"])
def test_no_words_of_a_client_s_page_lack_their_french(page: str) -> None:
    source = (Path(client_module.__file__).parent / "templates" / f"{page}.html").read_text()
    told = re.findall(r'said\("((?:[^"\\]|\\.)+)"', source)
    apart = ("English", "Français", "two")
    pairs = re.findall(r'\("(\w+)", "([^"]+)"\)', source)
    told += [words for _, words in pairs if words not in apart]
    told += list(WISHES.values()) if page == "client" else []
    told += [str(w) for w in WORDS.values()] if page == "client" else []
    assert len(told) > 10
    assert [text for text in told if not catalogue("fr").get(text)] == []


def test_a_house_of_the_states_is_told_in_its_own_degrees(store: Store) -> None:
    job = kept(store, climate="boston")
    page = client_of(store).get(f"/jobs/{job}/client/1?outside=14").text
    assert 'value="14"' in page
    assert "Outdoors, °F" in page
    assert "°C" not in page
    picture = client_of(store).get(f"/jobs/{job}/client/1/thermal.svg?option=leave&outside=-10")
    assert picture.status_code == 200
    assert "°C" not in picture.text
    assert "14 °F" in picture.text  # -10 degC


def test_a_thermal_image_has_letters_for_a_phone(store: Store, studied: str) -> None:
    """On the pages of the shop as on the client's: drawn for the width that it is seen at."""
    client = client_of(store)
    page = client.get(f"/jobs/{studied}/study/1/warm?option=leave").text
    shown = re.findall(
        r'<figure class="elevation (wide|small) image"><svg[^>]* viewBox="0 0 (\d+)', page
    )
    assert shown == [("wide", "820"), ("small", "380")]
    for path in ("study", "client"):
        for narrow, width in (("true", "380"), ("false", "820")):
            drawn = client.get(f"/jobs/{studied}/{path}/1/thermal.svg?option=leave&narrow={narrow}")
            assert f'viewBox="0 0 {width} ' in drawn.text, (path, narrow)
