"""A paper signed by a link: by one person, once, as it was shown; hostile addresses open nothing.

Statuses are those of RFC 9110; fingerprints are SHA-256 of FIPS 180-4, by the standard library.
"""

from __future__ import annotations

import json
import re
import threading
from datetime import UTC, datetime, timedelta
from hashlib import sha256
from typing import Any

import pytest
from fastapi.testclient import TestClient

from test_job_papers import contract
from warmside.contract import fingerprint, read_paper
from warmside.errors import InputError
from warmside.store import Store
from warmside.web import Web, create_app, signatures, tokens
from web.test_readers import PASSWORD, send, stranger


@pytest.fixture
def client(store: Store, job: str) -> TestClient:
    store.people.add("Olga", "owner", PASSWORD, "Olga")
    store.people.add("Cy", "crew", PASSWORD, "Olga")
    web = Web(store, b"s" * 32, share=True, hosts=lambda _: True)
    found = TestClient(create_app(web), follow_redirects=False, raise_server_exceptions=False)
    found.cookies.set("warmside-session", store.sessions.begin("Olga"))
    store.papers.issue(job, "contract", lambda number, _: contract(number), "Olga")
    return found


WISH = {"paper": "contract-1", "signer": "Ana Wirth", "days": "7"}


def link_to(client: TestClient, job: str, **other: str) -> str:
    made = send(client, f"/jobs/{job}/signing-links", **(WISH | other))
    assert made.status_code == 200, made.text
    found = re.search(r"http://testserver(/sign/[^<]+)", made.text)
    assert found
    return found[1]


def filled(html: str) -> dict[str, str]:
    """The hidden fields of the form."""
    return dict(re.findall(r'type="hidden" name="(\w+)" value="([^"]*)"', html))


def signed(person: TestClient, address: str, **other: str) -> Any:
    form = filled(person.get(address).text) | {"name": "ana  WIRTH", "agreed": "yes"} | other
    return person.post(f"{address}/signature", data=form)


def given(store: Store, job: str) -> list[dict[str, Any]]:
    return [p for p in store.papers.of(job) if p["kind"] == "signature"]


def test_a_named_person_reads_and_signs_once(client: TestClient, store: Store, job: str) -> None:
    address, other = link_to(client, job), stranger(client)
    page = other.get(address)
    assert page.status_code == 200
    assert "$1,130.00" in page.text  # the sum of the contract, as its PDF has it
    assert "<script" not in page.text.partition("</head>")[2]
    assert "Ana Wirth" in page.text
    assert other.get(f"{address}/paper.pdf").content.startswith(b"%PDF-")
    assert "Signer ici" in other.get(f"{address}?language=fr").text
    assert signed(other, address).status_code == 303
    (one,) = given(store, job)
    (paper,) = [p for p in store.papers.of(job) if p["kind"] == "contract"]
    text = json.dumps(paper, sort_keys=True, separators=(",", ":"))
    assert one["content"] == sha256(text.encode()).hexdigest()
    assert (one["name"], one["of"], one["of_number"]) == ("Ana Wirth", "contract", 1)
    assert "Ana Wirth" in one["said"]
    after = other.get(address).text
    assert "Signed by Ana Wirth. Signature 1." in after
    assert one["content"] in after
    assert "Sign it, once" not in after
    history = store.history(job)
    assert [(c.what, c.who) for c in history[:2]] == [
        ("signature 1", "Ana Wirth (by a link)"), ("signing-link noted", "Olga"),
    ]  # fmt: skip
    with pytest.raises(InputError):
        store.undo(job, history[0].number, "Olga")
    shop = client.get(f"/jobs/{job}/papers").text
    assert "Contract 1 signed by Ana Wirth" in shop
    for name in ("signature/1", "contract/1"):
        for language in ("en", "fr"):
            made = client.get(f"/jobs/{job}/papers/{name}.pdf?language={language}")
            assert made.content.startswith(b"%PDF-"), name
    assert client.get(f"/jobs/{job}/money.csv").text.count("\n") == 2  # its money is the contract's


def test_replay_and_a_second_signature_are_refused(
    client: TestClient, store: Store, job: str
) -> None:
    address, other = link_to(client, job), stranger(client)
    form = filled(other.get(address).text) | {"name": "Ana Wirth", "agreed": "yes"}
    assert other.post(f"{address}/signature", data=form).status_code == 303
    again = other.post(f"{address}/signature", data=form)
    assert again.status_code == 422
    assert "second signature" in again.text
    third = link_to(client, job)  # another link, the same person
    assert "cannot be signed any more" in other.get(third).text
    assert other.post(f"{third}/signature", data=form).status_code == 422
    assert len(given(store, job)) == 1
    # a second owner signs the same paper by a link of their own
    both = link_to(client, job, signer="Bo Wirth")
    assert signed(other, both, name="Bo Wirth").status_code == 303
    assert [p["name"] for p in given(store, job)] == ["Ana Wirth", "Bo Wirth"]


def test_of_two_at_once_one_signs(client: TestClient, store: Store, job: str) -> None:
    address, statuses = link_to(client, job), list[int]()
    people = [stranger(client) for _ in range(4)]
    forms = [filled(one.get(address).text) | {"name": "Ana Wirth", "agreed": "yes"}
             for one in people]  # fmt: skip
    gate = threading.Barrier(len(people))

    def go(person: TestClient, form: dict[str, str]) -> None:
        gate.wait()
        statuses.append(person.post(f"{address}/signature", data=form).status_code)

    threads = [threading.Thread(target=go, args=pair) for pair in zip(people, forms, strict=True)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(statuses) == [303, 422, 422, 422]
    assert [p["number"] for p in given(store, job)] == [1]


@pytest.mark.parametrize(
    ("wrong", "told"),
    [({"name": "Bo Wirth"}, "your name"), ({"name": ""}, "your name"), ({"agreed": ""}, "the box"),
     ({"content": "0" * 64}, "another paper"), ({"content": ""}, "another paper")],
)  # fmt: skip
def test_what_is_not_meant_is_refused(
    client: TestClient, store: Store, job: str, wrong: dict[str, str], told: str
) -> None:
    answer = signed(stranger(client), link_to(client, job), **wrong)
    assert answer.status_code == 422
    assert told in answer.text
    assert given(store, job) == []


def test_a_form_from_elsewhere_signs_nothing(client: TestClient, store: Store, job: str) -> None:
    address, other = link_to(client, job), stranger(client)
    form = filled(other.get(address).text) | {"name": "Ana Wirth", "agreed": "yes"}
    for bad in ({"token": "0" * 80}, {"token": ""}):
        assert other.post(f"{address}/signature", data=form | bad).status_code == 403
    elsewhere = {"origin": "https://elsewhere.example"}
    assert other.post(f"{address}/signature", data=form, headers=elsewhere).status_code == 403
    large = form | {"name": "x" * (17 << 10)}
    assert other.post(f"{address}/signature", data=large).status_code == 413
    assert given(store, job) == []


def test_a_link_ends_by_its_day_by_hand_and_by_a_later_contract(
    client: TestClient, store: Store, job: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    other, real = stranger(client), datetime

    class Later(datetime):
        @classmethod
        def now(cls, tz: Any = None) -> Any:
            return real.now(tz) + timedelta(days=7, seconds=1)

    first = link_to(client, job)
    form = filled(other.get(first).text) | {"name": "Ana Wirth", "agreed": "yes"}
    with monkeypatch.context() as patch:
        patch.setattr(tokens, "datetime", Later)
        patch.setattr(signatures, "datetime", Later)
        assert other.get(first).status_code == 404
        assert other.post(f"{first}/signature", data=form).status_code == 404
    (link,) = signatures.signing_links(store, job)
    assert link.until - datetime.now(UTC) < timedelta(days=7)
    assert send(client, f"/jobs/{job}/links/{link.id}/end").status_code == 303
    assert other.get(first).status_code == 404
    # changed after the link was given: the later contract has a link of its own
    second = link_to(client, job)
    late = filled(other.get(second).text) | {"name": "Ana Wirth", "agreed": "yes"}
    store.papers.issue(
        job, "contract", lambda n, _: contract(n, "2000.00") | {"supersedes": 1}, "Olga"
    )
    answer = other.post(f"{second}/signature", data=late)
    assert answer.status_code == 422
    assert "another stands in the place of" in answer.text
    assert "cannot be signed any more" in other.get(second).text
    assert given(store, job) == []
    assert send(client, f"/jobs/{job}/signing-links", **WISH).status_code == 422
    assert signed(other, link_to(client, job, paper="contract-2")).status_code == 303


def test_a_link_that_was_made_for_other_words_opens_nothing(
    client: TestClient, store: Store, job: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As where a job came from elsewhere with its papers tampered with."""
    address, other = link_to(client, job), stranger(client)
    form = filled(other.get(address).text) | {"name": "Ana Wirth", "agreed": "yes"}
    of = store.papers.of
    monkeypatch.setattr(
        type(store.papers), "of",
        lambda _, one: tuple(p | {"before_tax": "1.00"} for p in of(one)),
    )  # fmt: skip
    assert other.get(address).status_code == 409
    assert other.get(f"{address}/paper.pdf").status_code == 409
    monkeypatch.undo()
    assert other.post(f"{address}/signature", data=form).status_code == 303


def test_addresses_that_are_guessed_open_nothing_and_have_to_wait(
    client: TestClient, store: Store, job: str
) -> None:
    address, other = link_to(client, job), stranger(client)
    assert other.get(address).status_code == 200
    secret = address.rpartition(".")[2]
    assert len(secret) >= 43  # 256 bits
    assert all(secret not in str(record.data) for record in store.records.of(job))
    bad = [address[:-1], address[:-1] + "~", f"/sign/{job}/none.none", f"/sign/{job}/x",
           f"/sign/{job}/" + "y" * 5000, f"/sign/none/{address.rpartition('/')[2]}",
           address.replace("/sign/", "/read/")]  # fmt: skip
    statuses = [other.get(path).status_code for path in bad]
    assert set(statuses) == {404, 429}
    assert statuses[:4] == [404] * 4
    assert other.get(address).status_code == 429  # this address too, from there, for a while
    for path in (f"/jobs/{job}/links", f"/jobs/{job}/papers"):
        assert other.get(path).headers["location"] == "/sign-in", path


def test_only_the_office_gives_links(client: TestClient, store: Store, job: str) -> None:
    crew = stranger(client)
    crew.cookies.set("warmside-session", store.sessions.begin("Cy"))
    assert send(crew, f"/jobs/{job}/signing-links", **WISH).status_code == 403
    out = send(stranger(client), f"/jobs/{job}/signing-links", **WISH)
    assert out.headers["location"] == "/sign-in"
    assert signatures.signing_links(store, job) == []


@pytest.mark.parametrize(
    "wrong",
    [{"signer": ""}, {"signer": "x" * 81}, {"signer": "Ana\x07"}, {"days": "0"}, {"days": "31"},
     {"days": "x"}, {"days": "7e9"}, {"paper": "contract-2"}, {"paper": "invoice-1"},
     {"paper": ""}],
)  # fmt: skip
def test_a_link_that_is_none_is_refused(
    client: TestClient, store: Store, job: str, wrong: dict[str, str]
) -> None:
    assert send(client, f"/jobs/{job}/signing-links", **(WISH | wrong)).status_code == 422
    assert signatures.signing_links(store, job) == []


def test_a_signature_is_of_one_paper_word_for_word() -> None:
    paper = read_paper(contract()).model_dump(mode="json")
    one = read_paper({
        "kind": "signature", "number": 1, "date": "2026-03-04", "of": "contract", "of_number": 1,
        "content": fingerprint(paper), "name": "Ana", "at": "2026-03-04T10:00:00+00:00",
        "said": "yes", "link": "x",
    })  # fmt: skip
    assert one.holds(paper)  # type: ignore[union-attr]
    assert not one.holds(paper | {"before_tax": "1000.01"})  # type: ignore[union-attr]
    assert not one.holds(paper | {"number": 2})  # type: ignore[union-attr]
    naive = one.model_dump(mode="json") | {"at": "2026-03-04T10:00:00"}
    for bad in ({"content": "x"}, {"name": ""}, {"of": "invoice"}):
        with pytest.raises(InputError):
            read_paper(one.model_dump(mode="json") | bad)
    with pytest.raises(InputError):  # a moment without its zone is none
        read_paper(naive)
