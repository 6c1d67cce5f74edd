"""The JSON API: use cases, one shape of refusal, and whatever its description allows."""

from __future__ import annotations

from typing import Any

import pytest
from fastapi.testclient import TestClient
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from warmside.store import Store
from warmside.survey import template
from warmside.web import Web, create_app


def caller(store: Store) -> TestClient:
    web = Web(store, b"s" * 32, hosts=lambda _: True)
    return TestClient(create_app(web), raise_server_exceptions=False)


def test_a_job_from_survey_to_task(store: Store) -> None:
    client = caller(store)
    assert client.post("/api/check", json={"text": template()}).json() == []
    begun = client.post("/api/jobs", json={"text": template()})
    assert begun.status_code == 201
    here = f"/api/jobs/{begun.json()['id']}"
    kept = client.get(f"{here}/survey").json()
    text = kept["text"].replace("bedrooms = 3", "bedrooms = 4")
    saved = client.put(f"{here}/survey", json={"text": text, "revision": kept["revision"]})
    assert saved.json()["revision"] > kept["revision"]
    stale = client.put(f"{here}/survey", json={"text": text + "\n# x", "revision": 1})
    assert stale.status_code == 409
    number = client.get(f"{here}/history").json()[0]["number"]
    assert client.post(f"{here}/history/{number}/undo").json()["undoes"] == number
    task = client.post(f"{here}/study").json()
    assert task["state"] == "waiting"
    assert client.post(f"{here}/study").json()["id"] == task["id"]
    assert client.delete(f"/api/tasks/{task['id']}").json()["state"] == "cancelled"
    assert client.get(f"{here}/study").status_code == 404


def test_every_refusal_has_one_shape(store: Store, job: str) -> None:
    client = caller(store)
    answers = [
        client.get("/api/jobs/nope"),
        client.get("/api/nowhere"),
        client.post("/api/jobs", json={"text": "x ="}),
        client.post("/api/jobs", json={"txet": "x"}),
        client.post("/api/jobs", data={"text": "x"}),
        client.post("/api/jobs", content=b"{", headers={"content-type": "application/json"}),
        client.post(f"/api/jobs/{job}/history/99/undo"),
        client.patch("/api/jobs"),
    ]
    for answer in answers:
        assert 400 <= answer.status_code < 500
        assert answer.json()["error"].keys() == {"status", "title", "text", "faults"}
        assert answer.json()["error"]["status"] == answer.status_code


def test_the_description_names_every_path(store: Store) -> None:
    client = caller(store)
    described = client.get("/api/openapi.json").json()
    assert {"/api/jobs", "/api/jobs/{job}/survey", "/api/tasks/{task}"} <= described["paths"].keys()
    assert all(path.startswith("/api/") for path in described["paths"])
    for path, verbs in described["paths"].items():
        for verb, told in verbs.items():
            assert told.get("description") or told.get("summary"), (verb, path)


ANY = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False) | st.text(max_size=30),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner,
                                                                max_size=3),
    max_leaves=6,
)  # fmt: skip


@pytest.fixture
def described(store: Store) -> tuple[TestClient, dict[str, Any]]:
    client = caller(store)
    return client, client.get("/api/openapi.json").json()["paths"]


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=40)
@given(data=st.data())
def test_nothing_sent_breaks_the_server(
    described: tuple[TestClient, dict[str, Any]], job: str, data: st.DataObject
) -> None:
    client, paths = described
    path, verbs = data.draw(st.sampled_from(sorted(paths.items())))
    verb = data.draw(st.sampled_from(sorted(verbs)))
    word = st.just(job) | st.from_regex(r"[\w.%-]{1,12}", fullmatch=True)
    place = path
    for name in ("job", "task", "number"):
        place = place.replace(f"{{{name}}}", data.draw(word))
    body: Any = data.draw(ANY | st.fixed_dictionaries({"text": st.text(max_size=80)}, optional={
        "revision": st.integers() }))  # fmt: skip
    query = data.draw(st.dictionaries(st.sampled_from(["q", "before", "archived"]),
                                      st.text(max_size=20)))  # fmt: skip
    send = {"json": body} if verb in ("post", "put") else {}
    answer = client.request(verb, place, params=query, **send)
    assert answer.status_code < 500, (verb, place, body, answer.text[:300])
    if answer.status_code >= 400:
        assert "error" in answer.json()
