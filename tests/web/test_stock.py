"""A stock sent in on a page, run in the background, read and exported."""

from __future__ import annotations

import gzip
import json
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from stock.small import TEXT
from warmside.store import Store
from warmside.web import create_app, stock, work
from warmside.web.web import Web

TABLE = b"id,archetype,year\nA,shed,1950\nB,shed,1952\nB,shed,1953\nC,shed,1954\n"


@pytest.fixture
def client(store: Store) -> TestClient:
    web = Web(store, b"secret" * 6, hosts=lambda _: True)
    return TestClient(create_app(web), base_url="http://localhost:8765")


def token(client: TestClient) -> str:
    text = client.get("/stock").text
    return text.split('name="token" value="')[1].split('"')[0]


def send(client: TestClient, table: bytes = TABLE, **typed: str):
    files = [("table", ("t.csv", table)), ("archetypes", ("shed.toml", TEXT.encode()))]
    data = {"token": token(client), "goal": "saving"} | typed
    return client.post("/stock", data=data, files=files, follow_redirects=False)


def work_off(store: Store, where: Path) -> None:
    task = store.tasks.take()
    assert task is not None
    stock.do(store, task, str(where), work._teller(store, task))
    store.tasks.finish(task.id)


def test_sent_in_judged_and_read(client: TestClient, store: Store, tmp_path: Path):
    sent = send(client, years="2", budget="9000", crew="500")
    assert sent.status_code == 303
    address = sent.headers["location"]
    assert "waiting for their turn" in client.get(address).text
    work_off(store, tmp_path / "warmside.sqlite")
    shown = client.get(address).text
    assert "Which houses first: 3 houses" in shown
    assert "1 row of the table could not be used" in shown
    assert "The prices are invented" in shown
    assert client.get(f"{address}/stock.pdf").content.startswith(b"%PDF")
    assert "cost CAD" in client.get(f"{address}/programme.csv").text
    assert client.get(f"{address}/houses.csv").text.startswith("key,id,archetype,option")
    assert client.get(f"{address}/stock.parquet").content.startswith(b"PAR1")
    assert "row 4, id" in client.get(f"{address}/refused.csv").text
    assert client.get(f"{address}/passwords").status_code == 404
    assert 'class="jobs"' in client.get("/stock").text


def test_planned_again_nothing_is_judged_again(client: TestClient, store: Store, tmp_path: Path):
    address = send(client, years="1").headers["location"]
    work_off(store, tmp_path / "warmside.sqlite")
    again = client.post(
        f"{address}/plan", follow_redirects=False,
        data={"token": token(client), "goal": "carbon", "years": "3", "budget": "5", "crew": "9"},
    )  # fmt: skip
    other = again.headers["location"]
    assert other != address
    files = sorted((tmp_path / "stock-runs").rglob("houses/*.parquet"))
    before = [f.stat().st_mtime_ns for f in files]
    work_off(store, tmp_path / "warmside.sqlite")
    assert [f.stat().st_mtime_ns for f in files] == before
    assert "No house can be done with this money" in client.get(other).text


@pytest.mark.parametrize(
    ("table", "typed", "told"),
    [
        (b"id,area\nA,1\n", {}, "archetype"),
        (b"\xff\xfe\x00", {}, "UTF-8"),
        (b"id,archetype\n,\n", {}, "no row that can be used"),
        (TABLE, {"goal": "glory"}, "money saved, carbon saved, risk taken away"),
        (TABLE, {"years": "0"}, "a whole number from 1 to 40"),
        (TABLE, {"budget": "1e9"}, "a whole number from 0"),
    ],
)
def test_what_cannot_be_run_is_told_on_the_form(client: TestClient, table, typed, told):
    sent = send(client, table, **typed)
    assert sent.status_code == 422
    assert told in sent.text


def test_a_broken_archetype_is_told_with_its_line(client: TestClient):
    broken = TEXT.replace("triangular", "trapezoid")
    files = [("table", ("t.csv", TABLE)), ("archetypes", ("shed.toml", broken.encode()))]
    sent = client.post("/stock", data={"token": token(client)}, files=files)
    assert sent.status_code == 422
    assert "the key trapezoid" in sent.text
    files[1] = ("archetypes", ("../../shed.toml", TEXT.encode()))
    assert client.post("/stock", data={"token": token(client)}, files=files).status_code in (
        200,
        422,
    )


def test_a_run_that_nobody_asked_for_is_not_here(client: TestClient):
    assert client.get("/stock/" + "0" * 64).status_code == 404
    assert client.get("/stock/..%2f..").status_code == 404
    assert client.get("/stock/" + "0" * 64 + "/stock.pdf").status_code == 404


def test_a_stopped_run_says_so(client: TestClient):
    address = send(client).headers["location"]
    client.post(f"{address}/cancel", data={"token": token(client)})
    assert "This run was stopped" in client.get(address).text


def test_the_input_is_kept_as_it_was_sent(client: TestClient, store: Store):
    send(client)
    [task] = store.tasks.of()
    kept = json.loads(gzip.decompress(store.results.get(task.data["inputs"]) or b""))
    assert kept["table"].encode() == TABLE
    assert kept["archetypes"] == {"shed": TEXT}


def test_all_that_is_wrong_with_a_wish_is_told_beside_its_field(client: TestClient):
    told = send(client, years="soon", budget="-1", crew="12,500").text
    for key, allowed in (("years", "from 1 to 40"), ("budget", "from 0 to 1,000,000,000")):
        assert f'id="{key}-fault">allowed: a whole number {allowed}' in told
    assert 'id="crew-fault"' not in told
    assert 'value="soon"' in told
    assert 'value="12,500"' in told


def test_a_plan_that_is_refused_stays_with_its_run(
    client: TestClient, store: Store, tmp_path: Path
):
    """And thousands may be parted as people write them."""
    address = send(client, years="2", budget="9 000", crew="1,500").headers["location"]
    [task] = store.tasks.of()
    assert task.data["wish"] == {"goal": "saving", "years": 2, "budget": 9000, "crew": 1500}
    work_off(store, tmp_path / "warmside.sqlite")
    typed = {"token": token(client), "goal": "risk", "years": "many", "budget": "1,00"}
    answer = client.post(f"{address}/plan", data=typed)
    assert answer.status_code == 422
    assert "Plan again with other money" in answer.text
    for kept in ('value="many"', 'value="1,00"', 'id="years-fault"', 'id="budget-fault"'):
        assert kept in answer.text
