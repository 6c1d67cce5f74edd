"""From the contract to the receipt in the pages: sums to the cent, faults told on the same page."""

from __future__ import annotations

import io
import re

import pytest
from PIL import Image
from pypdf import PdfReader

from test_job_papers import contract
from warmside.store import Store
from web.test_pages import browser, send


@pytest.fixture
def agreed(store: Store, job: str) -> str:
    store.papers.issue(job, "contract", lambda number, _: contract(number), "owner")
    return f"/jobs/{job}"


def test_invoice_change_receipt(store: Store, agreed: str) -> None:
    client = browser(store)
    page = f"{agreed}/papers"
    assert "1,130.00" in client.get(page).text
    assert send(client, f"{page}/invoice", page).status_code == 303
    change = {"found": "rot <b>", "price": "100", "days": "1", "signed_by": "The owners"}
    assert send(client, f"{page}/change", page, **change).status_code == 303
    told = send(client, f"{page}/receipt", page, invoice="1", amount="152.55", how="cheque")
    assert told.status_code == 303
    text = client.get(page).text
    assert "1,243.00" in text  # 1130.00 + 100 and its 13 %
    assert "rot &lt;b&gt;" in text
    for name in ("contract/1", "invoice/1", "change/1", "receipt/1", "warranty/1"):
        for language in ("en", "fr"):
            got = client.get(f"{page}/{name}.pdf?language={language}")
            assert got.content.startswith(b"%PDF-"), name
    rows = client.get(f"{agreed}/money.csv").text
    assert rows.count("\n") == 5
    assert client.get(f"{agreed}/reminder.ics").text.startswith("BEGIN:VCALENDAR\r\n")
    for path in ("invoice/2.pdf", "gift/1.pdf", "contract/1.pdf?language=xx"):
        assert client.get(f"{page}/{path}").status_code == 404, path


def test_a_mark_is_put_in_and_taken_out(store: Store, job: str, agreed: str) -> None:
    client = browser(store)
    page, file = f"{agreed}/papers", io.BytesIO()
    Image.new("RGB", (60, 30), "navy").save(file, "PNG")

    def put(data: bytes, **fields: str) -> int:
        word = re.search(r'name="token" value="(\w+)"', client.get(page).text)
        assert word
        revision = str(store.text("mark", job).revision)
        sent = {"token": word[1], "revision": revision} | fields
        return client.post(f"{agreed}/mark", data=sent, files={"mark": ("x", data)}).status_code

    assert client.get(f"{agreed}/mark.svg").status_code == 404
    before = client.get(f"{page}/contract/1.pdf").content
    assert put(file.getvalue(), always="yes") == 303
    policy = client.get(f"{agreed}/mark.svg").headers["content-security-policy"]
    assert policy.endswith("frame-ancestors 'none'; sandbox")
    after = client.get(f"{page}/contract/1.pdf").content
    images = [len(PdfReader(io.BytesIO(made)).pages[0].images) for made in (before, after)]
    assert images == [0, 1]
    other = store.new_job(store.text("survey", job).text, "owner").id
    assert store.text("mark", other).text == store.text("mark", job).text
    for bad in (b"", b"GIF89a", b"<svg><script/></svg>", b"<svg><g></svg>",
                b"\x89PNG\r\n\x1a\n"):  # fmt: skip
        assert put(bad) == 422
    assert store.text("mark", job).text
    assert put(b"", without="1") == 303
    assert store.text("mark", job).text == ""
    assert client.get(f"{agreed}/mark.svg").status_code == 404


@pytest.mark.parametrize(
    ("kind", "fields"),
    [
        ("receipt", {"invoice": "9", "amount": "1"}),
        ("receipt", {"invoice": "x", "amount": "1"}),
        ("change", {"found": "", "signed_by": "o"}),
        ("change", {"found": "x", "signed_by": "o", "price": "1e9999"}),
        ("change", {"found": "x", "signed_by": "o", "price": "-99999"}),
        ("change", {"found": "x", "signed_by": "", "days": "nan"}),
    ],
)
def test_faults_are_told_and_use_no_number(
    store: Store, job: str, agreed: str, kind: str, fields: dict[str, str]
) -> None:
    client = browser(store)
    page = f"{agreed}/papers"
    assert send(client, f"{page}/{kind}", page, **fields).status_code == 422
    assert [paper["kind"] for paper in store.papers.of(job)] == ["contract"]


def test_no_contract_before_a_study(store: Store, job: str) -> None:
    client = browser(store)
    page = f"/jobs/{job}/papers"
    assert send(client, f"{page}/contract", page).status_code == 422
    assert store.papers.of(job) == ()
    assert send(client, f"{page}/gift", page).status_code == 404
