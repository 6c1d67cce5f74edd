"""Who only reads, one's own account, names under a record, figures for the owner. Exact.

Statuses are those of RFC 9110; the text of figures follows the OpenMetrics 1.0 specification.
"""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from fastapi.testclient import TestClient

from warmside.site import read_log, signed_by
from warmside.store import Store
from warmside.web import Web, create_app, links, tokens

PASSWORD, OTHER = "one glove on", "two gloves off"


@pytest.fixture
def client(store: Store) -> TestClient:
    store.people.add("Olga", "owner", PASSWORD, "Olga")
    web = Web(store, b"s" * 32, share=True, hosts=lambda _: True)
    found = TestClient(create_app(web), follow_redirects=False, raise_server_exceptions=False)
    found.cookies.set("warmside-session", store.sessions.begin("Olga"))
    return found


def send(client: TestClient, path: str, **form: str) -> Any:
    client.get("/sign-in")
    word = Web(None, b"s" * 32).token_for(client.cookies["warmside-browser"])  # type: ignore[arg-type]
    return client.post(path, data=form | {"token": word})


def stranger(client: TestClient) -> TestClient:
    return TestClient(client.app, follow_redirects=False, raise_server_exceptions=False)


def address_of(html: str) -> str:
    found = re.search(r"http://testserver(/read/[^<]+)", html)
    assert found
    return found[1]


def test_a_link_opens_the_papers_named_and_nothing_else(
    client: TestClient, store: Store, job: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    wish = {"reader": "Building office", "role": "official", "days": "14", "close-out": "yes"}
    made = send(client, f"/jobs/{job}/links", **wish)
    assert made.status_code == 200
    address, other = address_of(made.text), stranger(client)
    page = other.get(address)
    assert page.status_code == 200
    assert "Building office (official)" in page.text
    assert "close-out.pdf" in page.text
    assert "proposal" not in page.text
    assert other.get(f"{address}/proposal.pdf").status_code == 404  # not named
    assert other.get(f"{address}/close-out.pdf").status_code == 404  # not judged yet
    # what is at hand is handed out as it is
    from fastapi.responses import Response

    monkeypatch.setattr(links, "close_out", lambda *_: Response(b"%PDF-x", media_type="x/pdf"))
    assert other.get(f"{address}/close-out.pdf").content == b"%PDF-x"
    for path in (f"/jobs/{job}", f"/jobs/{job}/papers", "/", f"/jobs/{job}/close-out.pdf"):
        assert other.get(path).headers["location"] == "/sign-in", path
    for wrong in (address[:-1], address[:-1] + "~", f"/read/{job}/none.none", f"/read/{job}/x",
                  f"/read/none/{address.rpartition('/')[2]}"):  # fmt: skip
        assert other.get(wrong).status_code == 404, wrong
    # a copied store opens no paper: what the address ends with stands nowhere in it
    secret = address.rpartition(".")[2]
    assert all(secret not in str(record.data) for record in store.records.of(job))
    assert address not in client.get(f"/jobs/{job}/links").text  # shown once


def test_a_link_ends_by_its_day_and_by_hand(
    client: TestClient, store: Store, job: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    wish = {"reader": "Ana Wirth", "role": "client", "days": "2", "proposal": "yes"}
    address = address_of(send(client, f"/jobs/{job}/links", **wish).text)
    other = stranger(client)
    assert other.get(address).status_code == 200
    real = datetime

    class Later(datetime):
        @classmethod
        def now(cls, tz: Any = None) -> Any:
            return real.now(tz) + timedelta(days=2, seconds=1)

    with monkeypatch.context() as patch:
        patch.setattr(tokens, "datetime", Later)
        assert other.get(address).status_code == 404
    assert other.get(address).status_code == 200
    (link,) = links.links_of(store, job)
    assert link.until - datetime.now(UTC) < timedelta(days=2)
    assert send(client, f"/jobs/{job}/links/{link.id}/end").status_code == 303
    assert other.get(address).status_code == 404
    assert [c.what for c in store.history(job)[:2]] == ["link withdrawn", "link noted"]


@pytest.mark.parametrize(
    "wrong",
    [{"reader": ""}, {"role": "owner"}, {"days": "91"}, {"days": "0"}, {"days": "x"},
     {"proposal": ""}, {"reader": "x" * 81}],
)  # fmt: skip
def test_a_link_that_is_none_is_refused(
    client: TestClient, store: Store, job: str, wrong: dict[str, str]
) -> None:
    wish = {"reader": "Ana", "role": "client", "days": "2", "proposal": "yes"} | wrong
    assert send(client, f"/jobs/{job}/links", **wish).status_code == 422
    assert links.links_of(store, job) == []


def test_another_password_ends_the_other_sessions(client: TestClient, store: Store) -> None:
    elsewhere = store.sessions.begin("Olga")
    assert "You are signed in as owner" in client.get("/me").text
    assert send(client, "/me/password", now="wrong", new=OTHER).status_code == 422
    assert send(client, "/me/password", now=PASSWORD, new="password").status_code == 422
    assert store.people.sign_in("Olga", PASSWORD)
    assert send(client, "/me/password", now=PASSWORD, new=OTHER).status_code == 303
    assert store.people.sign_in("Olga", PASSWORD) is None
    assert store.people.sign_in("Olga", OTHER)
    assert store.sessions.person(elsewhere) is None
    assert client.get("/me").status_code == 200  # this browser goes on
    elsewhere = store.sessions.begin("Olga")
    assert send(client, "/me/sign-out").status_code == 303
    assert store.sessions.person(elsewhere) is None
    assert client.get("/me").status_code == 200


def test_guessing_ones_password_at_ones_own_page_has_to_wait(client: TestClient) -> None:
    answers = [send(client, "/me/password", now=f"guess {n}", new=OTHER) for n in range(8)]
    assert 429 in {answer.status_code for answer in answers}


def test_a_signature_says_whose_account_in_which_role_and_how(
    client: TestClient, store: Store, job: str
) -> None:
    """A crew member may type an inspector's name; the papers print who did."""
    store.people.add("Kim", "crew", PASSWORD, "Olga")
    store.people.assign("Kim", job, "Olga")
    client.cookies.set("warmside-session", store.sessions.begin("Kim"))
    for n, strokes in enumerate(([], [[[0, 0], [900, 300]]])):
        data = {"at": datetime.now(UTC).isoformat(), "day": "2026-01-05", "role": "inspector",
                "name": "Ana Wirth"}  # fmt: skip
        entry = {"id": f"signature-{n}", "kind": "signature",
                 "data": data | ({"strokes": strokes} if strokes else {})}  # fmt: skip
        for _ in range(2):  # sent again, it is kept once
            answer = client.post(f"/api/jobs/{job}/entries", json=entry)
            assert answer.status_code == 201, answer.text
    typed, drawn = read_log(store.records.of(job)).of("signature")
    for noted, way in ((typed, "typed"), (drawn, "drawn")):
        form = rf"Ana Wirth as inspector, {way} \(account Kim, crew, \d\d:\d\d\)"
        assert re.fullmatch(form, signed_by(noted))


def test_figures_for_the_owner_are_openmetrics(client: TestClient, store: Store) -> None:
    from warmside.survey import template

    store.new_job(template(), "Olga")
    answer = client.get("/metrics")
    assert answer.headers["content-type"].startswith("application/openmetrics-text; version=1.0.0")
    lines = answer.text.split("\n")
    assert lines[-2:] == ["# EOF", ""]
    figures = dict(line.split(" ") for line in lines if line and not line.startswith("#"))
    assert float(figures["warmside_jobs"]) == len(store.jobs())
    assert float(figures["warmside_people_signed_in"]) == 1
    for name in figures:
        assert f"# TYPE {name} gauge" in lines
    store.people.add("Kim", "crew", PASSWORD, "Olga")
    client.cookies.set("warmside-session", store.sessions.begin("Kim"))
    assert client.get("/metrics").status_code == 403
