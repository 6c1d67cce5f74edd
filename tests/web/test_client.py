"""The client's view: nothing of the shop on it, plain without scripts, data as they were."""

from __future__ import annotations

import base64
from collections.abc import AsyncGenerator
from datetime import date
from typing import Any

import numpy as np
import pytest
from fastapi.testclient import TestClient

from warmside.physics.airflow import Band
from warmside.store import Store
from warmside.study import study, with_choices
from warmside.study.depths import Depth
from warmside.survey import read, template, write
from warmside.web import Web, create_app
from warmside.web.dossier import PARTS, base_of, keep, key_of
from warmside.web.studies import standing
from warmside.web.warm_process import Ask, Told


class Scripted:
    """Warm processes that tell what they were given, and count how often they are asked."""

    def __init__(self, *told: Told) -> None:
        self.told, self.asked = told, list[Ask]()

    def start(self) -> None: ...

    def stop(self) -> None: ...

    async def follow(self, ask: Ask) -> AsyncGenerator[Told]:
        self.asked.append(ask)
        for one in self.told:
            yield one


def depth(thickness: float, factor: float) -> Depth:
    seen = np.array([[True, True], [False, True], [True, True]])
    return Depth(
        thickness, 1.0 + thickness, 0.7, "bay", 900.0, Band(1.0, 2.0, 3.0),
        np.array([0.0, 1.0, 2.0, 3.0]), np.array([0.0, 1.0, 2.0]),
        np.full((3, 2), factor), seen,
    )  # fmt: skip


def client_of(store: Store, warm: Any = None) -> TestClient:
    web = Web(store, b"s" * 32, hosts=lambda _: True, warm=warm)
    return TestClient(create_app(web), follow_redirects=False)


def kept(store: Store, *, left: bool = False) -> str:
    """A job with one wall, studied; ``left``: with nothing done on it."""
    found = read(template())
    one = found.model_copy(update={"walls": found.walls[:1], "options": ()})
    job = store.new_job(write(one), "owner").id
    texts = {part: store.text(part, job).text for part in PARTS}  # type: ignore[arg-type]
    made = study(read(texts["survey"]), years=0, fields=not left)
    if left:
        made = with_choices(made, {wall.wall.name: "leave" for wall in made.walls})
    keep(store, key_of(texts), base_of(texts), made, texts["survey"], date(2026, 3, 4))
    return job


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
    assert ("thermal.svg?option=leave" in page) == solved  # no picture that was not computed
    assert client.get(f"/jobs/{studied}/client/1?outside=-40").status_code == 200
    for bad in ("outside=-60", "outside=nan", "outside=warm"):
        assert client.get(f"/jobs/{studied}/client/1?{bad}").status_code == 422, bad
    for bad in ("2", "0", "2/depths.json"):
        assert client.get(f"/jobs/{studied}/client/{bad}").status_code == 404, bad


def test_a_wall_that_is_left_is_told_as_left(store: Store) -> None:
    page = client_of(store).get(f"/jobs/{kept(store, left=True)}/client/1").text
    wall = read(template()).walls[0].name
    told = page.partition("What we leave alone")[2]
    assert f"{wall}: left as it is." in told


def test_a_wall_that_is_worked_on_is_not_told_as_left(store: Store, studied: str) -> None:
    assert "What we leave alone" not in client_of(store).get(f"/jobs/{studied}/client/1").text


def test_a_house_that_was_not_studied_has_none(store: Store, job: str) -> None:
    begin = client_of(store).get(f"/jobs/{job}/client")
    assert (begin.status_code, begin.headers["location"]) == (303, f"/jobs/{job}/study")
    assert client_of(store).get(f"/jobs/{job}/client/1").status_code == 404
    assert client_of(store).get(f"/jobs/{job}/client/1/depths.json").status_code == 404


def test_depths_are_solved_once_and_read_back_as_they_were(store: Store, studied: str) -> None:
    script = Scripted(
        Told(1, depth=depth(0.0, 0.5)), Told(1), Told(1, depth=depth(0.0254, 0.75)),
        Told(1, ends=True),
    )  # fmt: skip
    client = client_of(store, script)
    assert "client.js" in client.get(f"/jobs/{studied}/client/1").text
    first = client.get(f"/jobs/{studied}/client/1/depths.json").json()["depths"]
    again = client.get(
        f"/jobs/{studied}/client/1/depths.json", headers={"accept-encoding": "identity"}
    )
    assert again.json()["depths"] == first
    assert len(script.asked) == 1
    assert script.asked[0].depths
    assert [one["thickness"] for one in first] == [0.0, 0.0254]
    assert first[1]["saving"] == [1.0, 2.0, 3.0]
    levels = np.frombuffer(base64.b64decode(first[1]["factor"]), "<u2").reshape(3, 2)
    assert levels[1, 0] == 0  # the opening
    # two bytes: at 60 K between room and outside a place is within a thousandth of a kelvin
    assert np.abs(levels[levels > 0] / 65535 - 0.75).max() * 60.0 <= 1e-3


def test_a_process_that_failed_keeps_nothing(store: Store, studied: str) -> None:
    script = Scripted(Told(1, depth=depth(0.0, 0.5)), Told(1, ends=True, fault="it ended"))
    client = client_of(store, script)
    assert client.get(f"/jobs/{studied}/client/1/depths.json").status_code == 503
    assert client.get(f"/jobs/{studied}/client/1/depths.json").status_code == 503
    assert len(script.asked) == 2
