"""Pages, forms and the gate before them; expected statuses are those of RFC 9110."""

from __future__ import annotations

import re
from io import BytesIO
from typing import Any

import pytest
from fastapi.testclient import TestClient
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from PIL import Image

from warmside.store import Store
from warmside.survey import read, template
from warmside.web import Web, begin, create_app

HERE = "http://localhost:8765"
PASSWORD = "one glove on"  # noqa: S105


def own(host: str) -> bool:
    return host == "localhost:8765"


def browser(store: Store, share: bool = False, **more: Any) -> TestClient:
    web = Web(store, b"s" * 32, share=share, hosts=own, **more)
    return TestClient(
        create_app(web), base_url=HERE, follow_redirects=False, raise_server_exceptions=False
    )


def token(client: TestClient, path: str = "/new") -> str:
    found = re.search(r'name="token" value="([0-9a-f]{80})"', client.get(path).text)
    assert found
    return found[1]


def send(client: TestClient, path: str, page: str = "/new", **fields: str) -> Any:
    return client.post(path, data={"token": token(client, page), **fields})


def fields_of(html: str) -> dict[str, str]:
    """What a browser would send of the page's own form, untouched."""
    from html import unescape

    form = html.split('data-draft="', 1)[1].split("</form>")[0]
    found: dict[str, str] = {}
    for tag in re.findall(r"<input[^>]*>", form):
        at = dict(re.findall(r'(\w+)="([^"]*)"', tag))
        if "name" in at and (at.get("type") != "checkbox" or " checked" in tag):
            found[at["name"]] = unescape(at.get("value", ""))
    for name, body in re.findall(r'<select[^>]*name="([^"]*)"[^>]*>(.*?)</select>', form, re.S):
        options = re.findall(r'<option(?: value="([^"]*)")?( selected)?>([^<]*)', body)
        chosen = next((o for o in options if o[1]), options[0])
        found[name] = "" if chosen[2] == "not said" else unescape(chosen[2])
    for name, body in re.findall(r'<textarea[^>]*name="([^"]*)"[^>]*>(.*?)</textarea>', form, re.S):
        found[name] = unescape(body)
    return found


def test_every_page_of_a_job_answers(store: Store, job: str) -> None:
    client = browser(store)
    here = f"/jobs/{job}"
    parts = ("", "/house", "/survey", "/walls/1", "/history", "/history/1", "/photos")
    for path in ("/", "/new", "/catalog", "/sources", *(here + part for part in parts)):
        answer = client.get(path)
        assert answer.status_code == 200, path
        assert "script-src 'self'" in answer.headers["content-security-policy"]
        assert answer.headers["x-content-type-options"] == "nosniff"
        assert not re.search(r"<script(?! src=)|\son\w+=|\sstyle=", answer.text), path


def test_catalog_pages_name_sources(store: Store) -> None:
    client = browser(store)
    for kind in re.findall(r'href="(/catalog/\w+)"', client.get("/catalog").text):
        answer = client.get(kind)
        assert answer.status_code == 200
        assert 'class="source"' in answer.text


def test_links_lead_somewhere(store: Store, job: str) -> None:
    client = browser(store)
    seen: set[str] = set()
    left = ["/", f"/jobs/{job}"]
    while left:
        path = left.pop()
        if path in seen:
            continue
        seen.add(path)
        answer = client.get(path)
        if answer.status_code == 303:  # what is not studied yet leads to the study
            left.append(answer.headers["location"])
            continue
        assert answer.status_code == 200, path
        if "text/html" in answer.headers["content-type"]:
            left += re.findall(r'(?:href|src)="(/[^"#]*)"', answer.text)
    assert len(seen) > 20


def test_a_first_visit_meets_the_demonstration_job_once(store: Store) -> None:
    begin(store, template())
    begin(store, template())
    assert len(store.jobs()) == 1
    store.erase(store.jobs()[0].id, "owner")
    begin(store, template())
    assert store.jobs() == ()
    assert "Nothing here yet" in browser(store).get("/").text


def test_first_own_job(store: Store) -> None:
    client = browser(store)
    facts = {"name": "Gable house", "climate": "winnipeg", "year_built": "1948"}
    answer = send(client, "/new", **facts, volume="250 m3")
    assert answer.status_code == 303
    job = answer.headers["location"].removeprefix("/jobs/")
    house = read(store.text("survey", job).text).house
    assert (house.name, house.year_built, house.volume) == ("Gable house", 1948, 250.0)
    refused = send(client, "/new", **facts, volume="250 pints of tea")
    assert refused.status_code == 422
    assert "Gable house" in refused.text
    assert "pints of tea" in refused.text
    assert 'id="volume-fault">allowed: a volume with its unit' in refused.text
    assert 'id="climate-fault"' not in refused.text
    assert not re.search(r'class="line"', refused.text)  # of a file that nobody has seen
    empty = send(client, "/new", **facts)
    assert 'id="volume-fault">allowed: filled in' in empty.text


def test_an_untouched_form_changes_nothing(store: Store, job: str) -> None:
    client = browser(store)
    before = store.text("survey", job)
    for path in ("/house", "/walls/1", "/walls/2"):
        fields = fields_of(client.get(f"/jobs/{job}{path}").text)
        answer = client.post(f"/jobs/{job}{path}", data=fields)
        assert answer.status_code == 303, re.findall(r"<li>.*</li>", answer.text)[:5]
    assert store.text("survey", job) == before


def test_a_wall_is_changed_in_trade_units(store: Store, job: str) -> None:
    client, path = browser(store), f"/jobs/{job}/walls/1"
    fields = fields_of(client.get(path).text)
    count = len(read(store.text("survey", job).text).walls[0].boxes)
    new = {f"box.{count}.kind": "outlet", f"box.{count}.x": "3 ft", f"box.{count}.z": "21 in"}
    answer = client.post(path, data=fields | {"length": "25 ft 6 in"} | new)
    assert answer.status_code == 303
    wall = read(store.text("survey", job).text).walls[0]
    assert wall.length == pytest.approx(25.5 * 0.3048, rel=1e-12)  # exact: 1 ft = 0.3048 m
    assert wall.boxes[-1].z == pytest.approx(21 * 0.0254, rel=1e-12)
    fields = fields_of(client.get(path).text)
    answer = client.post(path, data=fields | {f"box.{count}.remove": "yes"})
    assert answer.status_code == 303
    assert len(read(store.text("survey", job).text).walls[0].boxes) == count


def test_a_refused_field_is_named_and_kept(store: Store, job: str) -> None:
    client, path = browser(store), f"/jobs/{job}/walls/1"
    fields = fields_of(client.get(path).text) | {"spacing": "900 in"}
    answer = client.post(path, data=fields)
    assert answer.status_code == 422
    assert 'value="900 in"' in answer.text
    assert re.search(r'id="f-spacing-fault">read .*allowed: ', answer.text)
    assert 'aria-invalid="true"' in answer.text


def test_the_second_of_two_is_told_and_loses_nothing(store: Store, job: str) -> None:
    client, path = browser(store), f"/jobs/{job}/walls/1"
    mine = fields_of(client.get(path).text)
    theirs = client.post(path, data=mine | {"notes": "seen from the lane"})
    assert theirs.status_code == 303
    answer = client.post(path, data=mine | {"notes": "frost on the nails"})
    assert answer.status_code == 409
    assert "frost on the nails" in answer.text
    assert "seen from the lane" in answer.text
    kept = [str(d.data) for d in store.drafts.of("owner", job)]
    assert any("frost on the nails" in text for text in kept)
    again = fields_of(answer.text)
    assert client.post(path, data=again).status_code == 303
    assert "frost on the nails" in store.text("survey", job).text


def test_a_new_name_of_a_wall_goes_to_its_hazards(store: Store, job: str) -> None:
    client, path = browser(store), f"/jobs/{job}/walls/1"
    fields = fields_of(client.get(path).text)
    assert client.post(path, data=fields | {"name": "street side"}).status_code == 303
    survey = read(store.text("survey", job).text)
    assert {h.wall for h in survey.hazards} <= {"street side", None}


def test_edits_of_two_walls_do_not_meet(store: Store, job: str) -> None:
    client = browser(store)
    pages = {n: fields_of(client.get(f"/jobs/{job}/walls/{n}").text) for n in (1, 2)}
    for n, fields in pages.items():
        data = fields | {"notes": f"note {n}"}
        assert client.post(f"/jobs/{job}/walls/{n}", data=data).status_code == 303
    walls = read(store.text("survey", job).text).walls
    assert [w.notes for w in walls[:2]] == ["note 1", "note 2"]


def test_a_draft_is_kept_taken_up_and_dropped(store: Store, job: str) -> None:
    client, path = browser(store), f"/jobs/{job}/walls/1"
    fields = fields_of(client.get(path).text) | {"length": "31 f"}
    quiet = {"draft": "wall-1", "quiet": "1"}
    assert client.post(f"/jobs/{job}/draft", data=fields | quiet).status_code == 204
    assert "A draft of yours" in client.get(path).text
    assert 'value="31 f"' in client.get(f"{path}?take_up=1").text
    drop = {"draft": "wall-1", "drop": "1", "back": path}
    answer = client.post(f"/jobs/{job}/draft", data=fields | drop)
    assert (answer.status_code, answer.headers["location"]) == (303, path)
    assert "A draft of yours" not in client.get(path).text


def test_a_wall_comes_and_goes_and_undo_brings_it_back(store: Store, job: str) -> None:
    client = browser(store)
    count = len(read(store.text("survey", job).text).walls)
    new = {"name": "shed", "faces": "W", "frame": "platform", "length": "8 ft", "height": "7 ft"}
    answer = send(client, f"/jobs/{job}/walls", **new)
    assert answer.headers["location"] == f"/jobs/{job}/walls/{count + 1}"
    assert client.get(answer.headers["location"]).status_code == 200
    revision = str(store.text("survey", job).revision)
    gone = send(client, f"/jobs/{job}/walls/{count + 1}/remove", revision=revision)
    assert gone.status_code == 303
    number = store.history(job)[0].number
    back = send(client, f"/jobs/{job}/history/{number}/undo")
    assert back.status_code == 303
    assert len(read(store.text("survey", job).text).walls) == count + 1


def test_export_and_take_in(store: Store, job: str) -> None:
    client = browser(store)
    data = client.get(f"/jobs/{job}/export.zip").content
    taken = {"token": token(client), "copy": "yes"}
    files = {"file": ("x.zip", data, "application/zip")}
    answer = client.post("/take-in", data=taken, files=files)
    assert answer.status_code == 303
    copy = answer.headers["location"].removeprefix("/jobs/")
    assert store.text("survey", copy).text == store.text("survey", job).text
    hostile = {"file": ("x.zip", b"PK\x03\x04" + b"\0" * 99, "application/zip")}
    assert client.post("/take-in", data=taken, files=hostile).status_code == 422


def test_photos_are_told_by_content(store: Store, job: str) -> None:
    client, path = browser(store), f"/jobs/{job}/photos"
    wall = read(store.text("survey", job).text).walls[0].name
    file = BytesIO()
    Image.new("RGB", (40, 30), "teal").save(file, "PNG")
    data = {"token": token(client), "wall": wall, "x": "3 ft", "z": "21 in", "caption": "<b>nail"}
    good = {"photo": ("p.html", file.getvalue(), "text/html")}
    assert client.post(path, data=data, files=good).status_code == 303
    photo = store.photos.of(job)[0]
    answer = client.get(f"{path}/{photo.id}")
    assert answer.headers["content-type"] == "image/jpeg"
    assert "&lt;b&gt;nail" in client.get(path).text
    for bad in (b"<svg onload='x'/>", b"<html>", b"", b"GIF89a" + b"\0" * 50, b"\xff\xd8\xff"):
        files = {"photo": ("p.jpg", bad, "image/jpeg")}
        assert client.post(path, data=data, files=files).status_code == 422
    misplaced = data | {"x": "900 ft"}
    assert client.post(path, data=misplaced, files=good).status_code == 422


def test_strangers_are_refused(store: Store, job: str) -> None:
    client, path = browser(store), f"/jobs/{job}/put-away"
    fields = {"token": token(client)}
    assert client.get("/", headers={"host": "evil.example:8765"}).status_code == 400
    assert client.get("/", headers={"host": "localhost:1"}).status_code == 400
    for headers in (
        {"origin": "http://evil.example"},
        {"origin": "null"},
        {"origin": "https://localhost:8765"},
        {"sec-fetch-site": "cross-site"},
    ):
        assert client.post(path, data=fields, headers=headers).status_code == 403, headers
    assert client.post(path, data={"token": "0" * 64}).status_code == 403
    assert client.post(path, data={"x": "1"}).status_code == 403
    assert client.post(path, content=b"{}").status_code == 415
    assert not store.job(job).archived
    huge = b"token=" + b"x" * (5 << 20)
    form = {"content-type": "application/x-www-form-urlencoded"}
    assert client.post(path, content=huge, headers=form).status_code == 413
    assert client.post(path, data=fields, headers={"origin": HERE}).status_code == 303
    assert store.job(job).archived


def test_script_in_every_text_is_inert(store: Store) -> None:
    evil = "<script>alert(1)</script>"
    survey = template().replace("Storey-and-a-half on the corner", evil).replace(
        "north front", evil
    )  # fmt: skip
    job = store.new_job(survey, evil).id
    client = browser(store)
    for part in ("", "/house", "/survey", "/walls/1", "/history", "/history/1", "/photos"):
        html = client.get(f"/jobs/{job}{part}").text
        assert evil not in html
        assert "&lt;script&gt;" in html
    assert evil not in client.get("/").text
    assert evil not in client.get("/", params={"q": evil}).text


def test_paths_lead_nowhere_else(store: Store, job: str) -> None:
    client = browser(store)
    for path in (
        "/static/..%2f..%2fcli.py", "/static/nope.css", "/static/0123456789abcdef/nope.css",
        "/static/x/..%2f..%2fcli.py", "/jobs/..%2f..", "/jobs/nope",
        f"/jobs/{job}/walls/99", f"/jobs/{job}/walls/0", f"/jobs/{job}/photos/..%2fx",
        f"/jobs/{job}/history/999", "/catalog/nope", "/.env",
    ):  # fmt: skip
        assert client.get(path).status_code == 404, path
    assert client.get(f"/jobs/{job}/walls/x").status_code == 422
    back = {"draft": "x", "back": "//evil.example/"}
    answer = send(client, f"/jobs/{job}/draft", **back)
    assert answer.headers["location"] == f"/jobs/{job}"


TEXTS = st.text(max_size=60) | st.sampled_from(
    ["", "12,5 in", "-1 ft", "1e400 m", "nan", "9" * 500, "\x00", "true", "[[", '"', "24 ft"]
)


@pytest.fixture
def client(store: Store) -> TestClient:
    return browser(store)


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=25)
@given(data=st.data())
def test_no_form_breaks_the_server(
    store: Store, client: TestClient, job: str, data: st.DataObject
) -> None:

    path = data.draw(st.sampled_from(["/walls/1", "/house", "/survey", "/draft", "/walls"]))
    page = path if path not in ("/draft", "/walls") else "/house"
    fields = fields_of(client.get(f"/jobs/{job}{page}").text)
    names = [*sorted(fields), "box.0.remove", "box.99.x", "opening.2.name", "nonsense", "draft"]
    wild = data.draw(st.dictionaries(st.sampled_from(names), TEXTS, max_size=6))
    wild.pop("token", None)
    answer = client.post(f"/jobs/{job}{path}", data=fields | wild)
    assert answer.status_code in (303, 204, 404, 409, 422), answer.text[:500]
    read(store.text("survey", job).text)


def test_sharing_asks_everyone_to_sign_in(store: Store, job: str) -> None:
    for name, role in (("Olga", "owner"), ("Emil", "estimator"), ("Kim", "crew")):
        store.people.add(name, role, PASSWORD, "owner")  # type: ignore[arg-type]
    client = browser(store, share=True)
    answer = client.get(f"/jobs/{job}")
    assert (answer.status_code, answer.headers["location"]) == (303, "/sign-in")
    wrong = send(client, "/sign-in", "/sign-in", name="Kim", password="no such word")  # noqa: S106
    assert wrong.status_code == 422
    right = send(client, "/sign-in", "/sign-in", name="Kim", password=PASSWORD)
    assert right.status_code == 303
    assert "httponly" in right.headers["set-cookie"].lower()
    assert client.get(f"/jobs/{job}").status_code == 404
    store.people.assign("Kim", job, "Olga")
    assert client.get(f"/jobs/{job}").status_code == 200
    assert client.get(f"/jobs/{job}/survey").status_code == 403
    assert send(client, "/sign-out", "/").headers["location"] == "/sign-in"
    assert client.get("/").status_code == 303


def test_guessing_has_to_wait(store: Store) -> None:
    store.people.add("Olga", "owner", PASSWORD, "owner")
    client = browser(store, share=True)
    word = token(client, "/sign-in")
    data = {"token": word, "name": "Olga", "password": "guess guess"}
    answers = [client.post("/sign-in", data=data).status_code for _ in range(5)]
    assert answers == [422] * 5
    # each guess beyond the free ones doubles the wait, however slow the machine is
    while answers[-1] == 422 and len(answers) < 14:
        answers.append(client.post("/sign-in", data=data).status_code)
    assert answers[-1] == 429
    answer = client.post("/sign-in", data={"token": word, "name": "Olga", "password": PASSWORD})
    assert answer.status_code == 429
    assert int(answer.headers["retry-after"]) >= 1
