"""The page of the prices: a table that is saved, a total that follows, files for a spreadsheet."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest
from fastapi.testclient import TestClient

from warmside.estimate import default_prices, from_csv, read_prices, table_of
from warmside.store import Store
from warmside.web import Web, create_app


@pytest.fixture
def client(store: Store) -> Iterator[TestClient]:
    with TestClient(
        create_app(Web(store, b"s" * 32, hosts=lambda _: True)), base_url="http://127.0.0.1"
    ) as found:
        yield found


def sheet(client: TestClient, job: str) -> dict[str, str]:
    """The table as the page would send it."""
    html = client.get(f"/jobs/{job}/prices").text
    start = html.index('class="prices"')
    form = html[start : html.index("</form>", start)]
    found = dict(re.findall(r'name="([^"]+)" value="([^"]*)"', form))
    assert "token" in found
    return found


def place(client: TestClient, job: str, key: str) -> str:
    """Number of a row."""
    text = from_csv(client.get(f"/jobs/{job}/prices.csv").text)
    return str([row[1] for row in table_of(text)].index(key))


def test_the_table_is_saved_as_typed(client: TestClient, job: str, store: Store) -> None:
    typed = sheet(client, job)
    n = place(client, job, "primer")
    typed |= {f"{n}.value": "0,15", f"{n}.unit": "ft2", f"{n}.trade": "painter"}
    assert client.post(f"/jobs/{job}/prices", data=typed).status_code in (200, 303)
    row = read_prices(store.text("prices", job).text).row("primer")
    assert row is not None
    assert (str(row.price), row.unit, row.trade) == ("0.15", "ft2", "painter")
    typed[f"{n}.value"] = "0,20"  # the same once more would change nothing
    assert client.post(f"/jobs/{job}/prices", data=typed).status_code == 409  # of an old page


def test_the_total_is_told_and_nothing_is_kept(client: TestClient, job: str, store: Store) -> None:
    typed = sheet(client, job)
    before = store.text("prices", job).text
    told = client.post(f"/jobs/{job}/prices/total", data=typed).json()
    assert told["unpriced"] is False
    n = place(client, job, "mark_up")
    wrong = client.post(f"/jobs/{job}/prices/total", data=typed | {f"{n}.value": "=1+1"})
    assert wrong.status_code == 422
    assert "no formula" in wrong.json()["faults"][0]["allowed"]
    assert store.text("prices", job).text == before


def test_files_hold_the_same_list_and_csv_may_be_pasted(
    client: TestClient, job: str, store: Store
) -> None:
    text = client.get(f"/jobs/{job}/prices.csv").text
    currency = read_prices(from_csv(text)).currency
    assert read_prices(from_csv(text)) == default_prices(currency)
    form = sheet(client, job)
    sent = {"token": form["token"], "revision": form["revision"], "text": text}
    assert client.post(f"/jobs/{job}/prices", data=sent).status_code in (200, 303)
    assert read_prices(store.text("prices", job).text) == default_prices(currency)
    assert client.get(f"/jobs/{job}/prices.exe").status_code == 422


def test_the_work_as_a_calendar(client: TestClient, job: str) -> None:
    pytest.importorskip("icalendar", reason="in requirements/run.txt, not installed here")
    answer = client.get(f"/jobs/{job}/calendar.ics?first=2026-03-02")
    assert answer.status_code == 200
    assert answer.headers["content-type"].startswith("text/calendar")
    assert answer.text.startswith("BEGIN:VCALENDAR")
    assert client.get(f"/jobs/{job}/calendar.ics?first=soon").status_code == 422
