"""Who may call what: every route, every role. Expected answers follow from the table alone."""

from __future__ import annotations

import re
from typing import Any

import pytest
from fastapi.routing import APIRoute
from fastapi.testclient import TestClient

from warmside.store import Store
from warmside.web import Web, create_app
from warmside.web.access import TABLE

PASSWORD = "one glove on"  # noqa: S105
# by role, the needs that it fulfils; as the issue asks: a crew sees no money and no other job
MAY = {
    "nobody": {"anyone"},
    "crew": {"anyone", "crew"},
    "estimator": {"anyone", "crew", "office"},
    "owner": {"anyone", "crew", "office", "owner"},
}


def browser(store: Store) -> TestClient:
    web = Web(store, b"s" * 32, share=True, hosts=lambda _: True)
    return TestClient(create_app(web), follow_redirects=False, raise_server_exceptions=False)


def routes_of(app: Any) -> set[str]:
    found: set[str] = set()
    left = [*app.routes]
    while left:
        route = left.pop()
        if isinstance(route, APIRoute):
            found |= {f"{method} {route.path}" for method in route.methods}
        else:
            router = getattr(route, "original_router", None) or getattr(route, "router", None)
            left += getattr(router, "routes", [])
    return found


def test_the_table_is_complete(store: Store) -> None:
    web = Web(store, b"s" * 32, hosts=lambda _: True)
    assert routes_of(create_app(web)) == set(TABLE)


def filled(path: str, job: str) -> str:
    values = {"job": job, "wall": "1", "number": "1", "name": "warmside.css", "of": "0",
              "kind": "foams",
              "promise": "warm", "photo": "none", "task": "none", "run": "0" * 64,
              "record": "none", "token": "none.none", "paper": "proposal.pdf",
              "link": "none"}  # fmt: skip
    return re.sub(r"\{(\w+)\}", lambda m: values[m[1]], path)


@pytest.mark.parametrize("role", list(MAY))
def test_every_route_lets_in_whom_the_table_says(store: Store, job: str, role: str) -> None:
    store.people.add("Olga", "owner", PASSWORD, "owner")
    client = browser(store)
    name = "Olga"
    if role not in ("nobody", "owner"):
        name = "Kim"
        store.people.add(name, role, PASSWORD, "Olga")  # type: ignore[arg-type]
        if role == "crew":
            store.people.assign(name, job, "Olga")
    if role != "nobody":
        client.cookies.set("warmside-session", store.sessions.begin(name))
    word = token_of(store, client)
    for entry, need in TABLE.items():
        if entry == "POST /sign-out":
            continue
        method, path = entry.split(" ")
        place = filled(path, job)
        if path.startswith("/api/"):
            body = {"text": "x"} if method in ("POST", "PUT") and "{" not in path else None
            answer = client.request(method, place, json=body) if body else (
                client.request(method, place)
            )  # fmt: skip
        else:
            sent = {"token": word} if method == "POST" else None
            answer = client.request(method, place, data=sent)
        assert answer.status_code < 500, (entry, answer.text[:300])
        refused = answer.status_code in (401, 403) or (
            answer.headers.get("location") == "/sign-in" and need != "anyone"
        )
        assert refused == (need not in MAY[role]), (entry, role, answer.status_code)


def token_of(store: Store, client: TestClient) -> str:
    """The form token of this browser, whoever is signed in."""
    client.get("/sign-in")
    web = Web(store, b"s" * 32)
    return web.token_for(client.cookies["warmside-browser"])


def test_a_crew_member_meets_only_given_jobs_and_no_money(store: Store, job: str) -> None:
    store.people.add("Olga", "owner", PASSWORD, "owner")
    store.people.add("Kim", "crew", PASSWORD, "Olga")
    client = browser(store)
    client.cookies.set("warmside-session", store.sessions.begin("Kim"))
    for entry, need in TABLE.items():
        method, path = entry.split(" ")
        if "{job}" in path and need == "crew" and method == "GET":
            assert client.get(filled(path, job)).status_code == 404, entry
    assert client.get("/api/jobs").json() == []
    store.people.assign("Kim", job, "Olga")
    for path in ("/", f"/jobs/{job}", f"/jobs/{job}/walls/1", f"/jobs/{job}/photos"):
        html = client.get(path).text
        assert not re.search(r"CAD|USD|/price|/papers|/history", html), path
