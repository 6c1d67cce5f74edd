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
    return sheet_of(client.get(f"/jobs/{job}/prices").text)


def sheet_of(html: str) -> dict[str, str]:
    start = html.index('class="prices"')
    form = html[start : html.index("</form>", start)]
    found = dict(re.findall(r'<input [^>]*?name="([^"]+)"[^>]*? value="([^"]*)"', form))
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
    usual = read_prices(from_csv(text))
    assert (usual.currency, usual.place) == ("CAD", "MB")  # the house stands in Winnipeg
    assert usual == default_prices("CAD", "MB")
    form = sheet(client, job)
    sent = {"token": form["token"], "revision": form["revision"], "text": text}
    assert client.post(f"/jobs/{job}/prices", data=sent).status_code in (200, 303)
    assert read_prices(store.text("prices", job).text) == usual
    assert client.get(f"/jobs/{job}/prices.exe").status_code == 422


def test_the_work_as_a_calendar(client: TestClient, job: str) -> None:
    pytest.importorskip("icalendar", reason="in requirements/run.txt, not installed here")
    answer = client.get(f"/jobs/{job}/calendar.ics?first=2026-03-02")
    assert answer.status_code == 200
    assert answer.headers["content-type"].startswith("text/calendar")
    assert answer.text.startswith("BEGIN:VCALENDAR")
    assert client.get(f"/jobs/{job}/calendar.ics?first=soon").status_code == 422


def test_a_refused_cell_keeps_what_was_typed_and_is_named_as_the_page_names_it(
    client: TestClient, job: str, store: Store
) -> None:
    typed = sheet(client, job)
    wrong, right = place(client, job, "mask"), place(client, job, "batt")
    typed |= {f"{wrong}.value": "=2", f"{right}.value": "9.99"}
    answer = client.post(f"/jobs/{job}/prices", data=typed)
    assert answer.status_code == 422
    (told,) = re.findall(r'<section class="told".*?</section>', answer.text, re.DOTALL)
    assert f'<a href="#f-{wrong}-value"><b>Hours for one unit of work: Mask, ventilate' in told
    assert len(re.findall(r'aria-invalid="true"', answer.text)) == 1
    assert sheet_of(answer.text)[f"{right}.value"] == "9.99"
    assert sheet_of(answer.text)[f"{wrong}.value"] == "=2"
    refused = client.post(f"/jobs/{job}/prices/total", data=typed).json()["faults"]
    assert [one["place"].partition(",")[0] for one in refused] == [
        "Hours for one unit of work: Mask"
    ]
    assert not store.text("prices", job).text


def test_a_number_that_the_list_refuses_is_shown_at_its_cell(client: TestClient, job: str) -> None:
    typed = sheet(client, job)
    for key, value in (("minimum_charge", "-5"), ("holdback", "2"), ("primer", "x")):
        n = place(client, job, key)
        told = client.post(f"/jobs/{job}/prices", data=typed | {f"{n}.value": value}).text
        assert f'href="#f-{n}-value"' in told, key
        assert f'id="f-{n}-value" name="{n}.value"' in told, key


def test_no_two_rows_of_a_section_read_the_same_and_none_by_its_key(
    client: TestClient, job: str
) -> None:
    html = client.get(f"/jobs/{job}/prices").text
    for section in re.findall(r"<details.*?</details>", html, re.DOTALL):
        rows = re.findall(r'class="lead-cell">(.*?)</td>', section, re.DOTALL)
        places = re.findall(r'name="\d+\.unit"[^>]* value="([^"]*)"', section)
        told = list(zip(rows, places, strict=True)) if "Taxes" in section else rows
        assert len(told) == len(set(told)), section[:80]
        assert not [row for row in rows if "_" in row]
    titles = re.findall(r"<summary>(.*?) <span", html)
    assert titles[:3] == ["The list", "What an hour costs", "Goods"]


def test_without_an_option_put_forward_no_total_is_told(client: TestClient, job: str) -> None:
    """0.00 would read as a price."""
    told = client.post(f"/jobs/{job}/prices/total", data=sheet(client, job)).json()
    assert told["lines"] == []
    assert "comes with the study" in told["note"]
    assert "comes with the study" in client.get(f"/jobs/{job}/prices").text
