"""Whatever is sent is refused or inert: never a fault of the program (5xx, RFC 9110), never run."""

from __future__ import annotations

import re
import struct
import zlib
from io import BytesIO
from typing import Any
from zipfile import ZIP_DEFLATED, ZipFile

import pytest
import schemathesis
from fastapi.testclient import TestClient
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from PIL import Image
from schemathesis.checks import not_a_server_error

from warmside.store import Store
from warmside.survey import read, template
from warmside.web import Web, create_app
from warmside.web.access import TABLE

FIXED = settings(
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
    max_examples=settings.default.max_examples if settings.default.max_examples > 500 else 40,
)
FORMS = sorted(
    entry.removeprefix("POST ")
    for entry in TABLE
    if entry.startswith("POST ") and "/api/" not in entry and entry != "POST /sign-out"
)


@pytest.fixture
def client(store: Store) -> TestClient:
    app = create_app(Web(store, b"s" * 32, hosts=lambda _: True))
    return TestClient(app, follow_redirects=False, raise_server_exceptions=False)


def token(client: TestClient) -> str:
    found = re.search(r'name="token" value="(\w+)"', client.get("/new").text)
    assert found
    return found[1]


# The API, by its own description


def test_the_api_holds_to_its_description(store: Store, job: str) -> None:
    """Every operation with whatever its description allows, and what it does not."""
    app = create_app(Web(store, b"s" * 32, hosts=lambda _: True))
    schema = schemathesis.openapi.from_asgi("/api/openapi.json", app)
    operations = [found.ok() for found in schema.get_all_operations()]
    assert len(operations) >= 12

    for operation in operations:

        @settings(FIXED, max_examples=max(5, FIXED.max_examples // 8))
        @given(case=operation.as_strategy(), known=st.booleans())
        def call(case: Any, known: bool) -> None:
            if known and "job" in case.path_parameters:
                case.path_parameters["job"] = job
            case.call_and_validate(checks=[not_a_server_error])

        call()


# Every form

WORDS = st.text(max_size=40) | st.sampled_from([
    "", "0", "1", "-1", "12,5 in", "1e400 m", "nan", "9" * 400, "\x00", "\ud800", "true", "[[", '"',
    "24 ft", "../../etc/passwd", "<script>alert(1)</script>", "yes", "owner", "warm", "\u202e",
])  # fmt: skip
NAMES = st.sampled_from([
    "name", "password", "role", "do", "job", "wall", "x", "z", "caption", "text", "revision",
    "draft", "back", "drop", "quiet", "option", "length", "height", "faces", "frame", "climate",
    "year_built", "volume", "box.0.x", "opening.0.left", "hazard.0.kind", "reading.99.date",
    "found.finish", "heating.fuel", "copy", "take_up", "units", "step", "nonsense", "",
])  # fmt: skip


@pytest.mark.parametrize("path", FORMS)
def test_no_form_breaks_the_server(client: TestClient, store: Store, job: str, path: str) -> None:
    word = token(client)

    @settings(FIXED, max_examples=max(4, FIXED.max_examples // 4))
    @given(st.dictionaries(NAMES, WORDS, max_size=8), st.data())
    def fuzz(sent: dict[str, str], data: st.DataObject) -> None:
        known = {"job": job, "wall": "1", "number": "1", "photo": "none", "task": "none",
                 "promise": "warm"}  # fmt: skip
        place = re.sub(r"\{(\w+)\}", lambda m: data.draw(st.sampled_from(
            [known.get(m[1], "x")] * 3 + ["0", "99", "x", "%2e%2e", "1e9"])), path)  # fmt: skip
        plain = {k: v.encode("utf-8", "replace").decode() for k, v in sent.items()}
        answer = client.post(place, data=plain | {"token": word})
        assert answer.status_code < 500, (place, plain, answer.text[:400])

    fuzz()
    for kept in store.jobs():
        read(store.text("survey", kept.id).text)  # what is kept still reads


# Uploads


def png(width: int, height: int) -> bytes:
    """A PNG that promises a picture of this size and holds next to nothing (PNG 1.2, 11.2.2)."""

    def chunk(name: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + name + data + struct.pack(
            ">I", zlib.crc32(name + data)
        )  # fmt: skip

    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return (b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(b"\0" * 99))
            + chunk(b"IEND", b""))  # fmt: skip


def zipped(files: dict[str, bytes]) -> bytes:
    file = BytesIO()
    with ZipFile(file, "w", ZIP_DEFLATED) as parcel:
        for name, data in files.items():
            parcel.writestr(name, data)
    return file.getvalue()


def test_bombs_and_wrong_types_are_refused(client: TestClient, job: str) -> None:
    data = {"token": token(client)}
    for content in (
        png(60_000, 60_000), png(2**31 - 1, 1), b"<svg xmlns='x' onload='alert(1)'/>", b"%PDF-1.7",
        b"MZ" + b"\0" * 200, zipped({"a": b"x"}), b"RIFF\0\0\0\0WEBP", b"\xff\xd8\xff\xe0" * 40,
    ):  # fmt: skip
        files = {"photo": ("p.jpg", content, "image/jpeg")}
        answer = client.post(f"/jobs/{job}/photos", data=data, files=files)
        assert answer.status_code == 422, content[:20]
    for content in (
        zipped({"../../evil": b"x"}), zipped({"/etc/evil": b"x"}), zipped({"job.json": b"{}"}),
        zipped({"bomb": b"\0" * (64 << 20)}), b"PK\x05\x06" + b"\0" * 18, b"\x00\xff" * 50,
        b"x = [" * 9000,
    ):  # fmt: skip
        files = {"file": ("job.zip", content, "application/zip")}
        answer = client.post("/take-in", data=data, files=files)
        assert answer.status_code == 422, content[:20]


def test_a_picture_that_is_also_a_page_is_only_a_picture(
    client: TestClient, store: Store, job: str
) -> None:
    file = BytesIO()
    Image.new("RGB", (64, 48), "teal").save(file, "JPEG", comment=b"<script>alert(1)</script>")
    both = file.getvalue() + b"<html><script>alert(1)</script></html>"
    files = {"photo": ("p.html", both, "text/html")}
    answer = client.post(f"/jobs/{job}/photos", data={"token": token(client)}, files=files)
    assert answer.status_code == 303
    shown = client.get(f"/jobs/{job}/photos/{store.photos.of(job)[0].id}")
    assert b"script" not in shown.content  # made anew, not passed on
    assert shown.headers["content-type"] == "image/jpeg"
    assert shown.headers["x-content-type-options"] == "nosniff"


# Texts, origins


def test_script_in_every_text_field_is_inert(client: TestClient, store: Store) -> None:
    evil = "<script>alert(1)</script>"
    survey = re.sub(
        r'^((?:name|place|client|notes|where|cleared_by) = )"[^"]*"', rf'\1"{evil}"', template(),
        flags=re.M,
    )  # fmt: skip
    # two walls, and two openings of one wall, need two names
    seen = iter(range(99))
    survey = re.sub(r'^name = "<script>alert\(1\)', lambda m: f"{m[0]}{next(seen)}", survey,
                    flags=re.M)  # fmt: skip
    job = store.new_job(re.sub(r"^walls? = .*\n", "", survey, flags=re.M), evil).id
    data = {"token": token(client), "caption": evil}
    file = BytesIO()
    Image.new("RGB", (64, 48), "teal").save(file, "JPEG")
    files = {"photo": ("p.jpg", file.getvalue(), "image/jpeg")}
    assert client.post(f"/jobs/{job}/photos", data=data, files=files).status_code == 303
    read_pages = 0
    for entry in TABLE:
        method, path = entry.split(" ")
        if method != "GET" or path.startswith("/api/"):
            continue
        values = {"job": job, "wall": "1", "number": "1", "kind": "foams", "promise": "warm"}
        place = re.sub(r"\{(\w+)\}", lambda m, v=values: v.get(m[1], "x"), path)
        answer = client.get(place, params={"q": evil})
        if "html" in answer.headers.get("content-type", ""):
            read_pages += "&lt;script&gt;" in answer.text
            assert not re.search(r"<script>alert", answer.text), place
        policy = answer.headers["content-security-policy"]
        assert "script-src 'self'" in policy
        assert "unsafe" not in policy
    assert read_pages >= 8  # the text was met, so it was escaped


def test_a_forged_origin_changes_nothing(client: TestClient, store: Store, job: str) -> None:
    word, before = token(client), store.job(job).revision
    for entry in TABLE:
        method, path = entry.split(" ")
        if method == "GET":
            continue
        place = path.replace("{job}", job).replace("{wall}", "1").replace("{number}", "1")
        for forged in ({"origin": "http://elsewhere.example"}, {"sec-fetch-site": "cross-site"}):
            answer = client.request(method, place, data={"token": word}, headers=forged)
            assert answer.status_code == 403, entry
    assert store.job(job).revision == before
