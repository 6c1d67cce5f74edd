"""A whole job as one file: out, in, out again; and files that mean harm. Expectations are exact."""

from __future__ import annotations

import io
import json
import struct
import zipfile
from hashlib import sha256

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from PIL import Image

from warmside.errors import InputError
from warmside.estimate import default_text
from warmside.store import Store


def picture(size=(64, 48)) -> bytes:
    file = io.BytesIO()
    Image.new("RGB", size, (90, 120, 30)).save(file, "JPEG")
    return file.getvalue()


PHOTO = picture((600, 400))


def full_job(store, survey):
    """A job with one of everything, something undone and something removed."""
    store.save("prices", default_text(), 0, "Ann")
    job = store.new_job(survey, "Ann")
    store.save("survey", survey + "# ½ in \U0001f9e4\n", 1, "Bo", job.id)
    store.save(
        "survey", survey + "# again\r\n", store.text("survey", job.id).revision, "Bo", job.id
    )
    store.undo(job.id, store.job(job.id).revision, "Ann")
    store.choose(job.id, {"north": "closed-cell"}, 0, "Ann")
    one = store.photos.add(job.id, PHOTO, "Cy", "north", 2.0, 1.5, "stain")
    store.photos.pin(job.id, one.id, one.revision, "Cy", "east", 0.1, 1 / 3)
    two = store.photos.add(job.id, picture(), "Cy")
    store.photos.remove(job.id, two.id, two.revision, "Cy")
    reading = store.records.add(
        job.id, "reading", {"moisture": 0.19, "n": "\0\ud800"}, "Cy", "north"
    )
    store.records.add(job.id, "reading", {"moisture": 0.1}, "Cy", "north", replaces=reading.id)
    day = store.records.add(job.id, "day", {"note": "frost"}, "Cy")
    store.records.withdraw(job.id, day.id, "Cy")
    store.archive(job.id, "Ann")
    return store.job(job.id)


def exported(store, job) -> bytes:
    file = io.BytesIO()
    store.export_job(job, file)
    return file.getvalue()


def imported(store, data, **options):
    return store.import_job(io.BytesIO(data), "Di", **options)


def test_out_in_and_out_again_is_the_same_file(store, lite, survey):
    """From either engine into SQLite and on; not one byte differs, and no field is left out."""
    job = full_job(store, survey)
    first = exported(store, job.id)
    assert exported(store, job.id) == first
    assert imported(lite, first) == job
    assert exported(lite, job.id) == first
    assert lite.history(job.id) == store.history(job.id)
    assert lite.records.of(job.id, corrected=True) == store.records.of(job.id, corrected=True)
    assert lite.photos.of(job.id) == store.photos.of(job.id)
    photo = store.photos.of(job.id)[0].id
    for small in (False, True):
        assert lite.photos.file(job.id, photo, small) == store.photos.file(job.id, photo, small)
    assert [hit.job for hit in lite.search("stain frost", archived=True)] == []
    assert [hit.job for hit in lite.search("stain angstrom", archived=True)] == [job]
    assert lite.history()[0].what == "job taken in"
    lite.undo(job.id, job.revision, "Di")  # its history is alive
    assert lite.jobs()[0].id == job.id


def test_a_job_that_is_here_comes_in_as_a_copy(store, survey):
    job = full_job(store, survey)
    data = exported(store, job.id)
    with pytest.raises(InputError, match="here already"):
        imported(store, data)
    copy = imported(store, data, as_copy=True)
    assert copy.id != job.id
    files = [zipfile.ZipFile(io.BytesIO(d)) for d in (data, exported(store, copy.id))]
    assert files[0].namelist() == files[1].namelist()
    for name in files[0].namelist():
        first, second = (file.read(name) for file in files)
        if name == "manifest.json":  # the one field that may differ
            second = second.replace(copy.id.encode(), job.id.encode())
        assert first == second


def test_what_a_person_finds_in_the_file(lite, survey):
    job = full_job(lite, survey)
    file = zipfile.ZipFile(io.BytesIO(exported(lite, job.id)))
    assert file.read("survey.toml").decode() == survey + "# ½ in \U0001f9e4\n"
    assert file.read("prices.toml").decode() == default_text()
    head = json.loads(file.read("manifest.json"))
    assert (head["format"], head["job"]) == (1, job.id)
    for name, said in head["files"].items():
        data = file.read(name)
        assert said == {"bytes": len(data), "sha256": sha256(data).hexdigest()}
    assert set(head["files"]) == set(file.namelist()) - {"manifest.json"}


@pytest.fixture(scope="module")
def job_file(survey, tmp_path_factory) -> bytes:
    with Store.open(tmp_path_factory.mktemp("job") / "s.sqlite") as store:
        return exported(store, full_job(store, survey).id)


def forged(data: bytes, change=None, manifest=None, adjust=None) -> bytes:
    """The job file with members changed (None: left out), its manifest made to fit again."""
    source = zipfile.ZipFile(io.BytesIO(data))
    members = {name: source.read(name) for name in source.namelist()}
    head = json.loads(members.pop("manifest.json"))
    for name, new in (change or {}).items():
        members[name] = new(members.get(name)) if callable(new) else new
    members = {name: content for name, content in members.items() if content is not None}
    head["files"] = {
        name: {"bytes": len(content), "sha256": sha256(content).hexdigest()}
        for name, content in members.items()
    }
    head |= manifest or {}
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as file:
        for name, content in {**members, "manifest.json": json.dumps(head).encode()}.items():
            info = zipfile.ZipInfo(name)
            info.compress_type = zipfile.ZIP_DEFLATED
            if adjust:
                adjust(info)
            file.writestr(info, content)
    return out.getvalue()


def history(change):
    """A member change that works on the history as data."""

    def new(content):
        told = json.loads(content)
        change(told)
        return json.dumps(told, indent=1, sort_keys=True).encode() + b"\n"

    return {"history.json": new}


def first_photo(data: bytes) -> str:
    return next(n for n in zipfile.ZipFile(io.BytesIO(data)).namelist() if n.endswith(".jpg"))


def test_forging_nothing_is_taken_in(lite, job_file):
    """The forger's tool itself makes a file that is accepted."""
    assert exported(lite, imported(lite, forged(job_file)).id) == job_file


def link(info):
    if info.filename == "survey.toml":
        info.external_attr = 0o120777 << 16


def lying(data: bytes) -> bytes:
    """The survey says it is 100 bytes long (APPNOTE 4.3.12: size at 24 of the central header)."""
    at = data.index(b"survey.toml", data.index(b"PK\1\2")) - 46
    return data[: at + 24] + struct.pack("<I", 100) + data[at + 28 :]


FORGED = {
    "path up": lambda d: forged(d, {"../../evil.toml": b"x"}),
    "absolute path": lambda d: forged(d, {"/etc/evil": b"x"}),
    "path in photos": lambda d: forged(d, {"photos/../x.jpg": PHOTO}),
    "back slash": lambda d: forged(d, {"photos\\x.jpg": PHOTO}),
    "folder": lambda d: forged(d, {"photos/": b""}),
    "other file": lambda d: forged(d, {"run.exe": b"MZ"}),
    "other case": lambda d: forged(d, {"SURVEY.toml": b"x"}),
    "link": lambda d: forged(d, adjust=link),
    "no survey": lambda d: forged(d, {"survey.toml": None}),
    "no history": lambda d: forged(d, {"history.json": None}),
    "other survey": lambda d: forged(d, {"survey.toml": lambda c: c + b"# more\n"}),
    "own rows from nowhere": lambda d: forged(d, {"catalog.toml": b"\n"}),
    "other records": lambda d: forged(d, {"records.json": b'{"records": []}\n'}),
    "other pins": lambda d: forged(d, {"photos.json": b'{"photos": []}\n'}),
    "history not JSON": lambda d: forged(d, {"history.json": b"{"}),
    "history not text": lambda d: forged(d, {"history.json": b"\xff"}),
    "history deep": lambda d: forged(d, {"history.json": b'{"a":' + b"[" * 200_000}),
    "history a list": lambda d: forged(d, {"history.json": b"[]"}),
    "history empty": lambda d: forged(d, {"history.json": b'{"changes":[],"texts":{}}'}),
    "bomb": lambda d: forged(d, {"survey.toml": b" " * (5 << 20)}),
    "bomb as photo": lambda d: forged(d, {first_photo(d): b"\0" * (2 << 20)}),
    "size that lies": lambda d: lying(forged(d, {"survey.toml": b" " * (5 << 20)})),
    "photo missing": lambda d: forged(d, {first_photo(d): None}),
    "photo more": lambda d: forged(d, {f"photos/{sha256(PHOTO).hexdigest()}.jpg": PHOTO}),
    "photo another": lambda d: forged(d, {first_photo(d): PHOTO}),
    "format": lambda d: forged(d, manifest={"format": 2}),
    "kind": lambda d: forged(d, manifest={"kind": "other"}),
    "no job": lambda d: forged(d, manifest={"job": "../../x"}),
    "job of the shop": lambda d: forged(d, manifest={"job": "shop"}),
    "files no table": lambda d: forged(d, manifest={"files": []}),
    "files wrong": lambda d: forged(d, manifest={"files": {"survey.toml": None}}),
    "change out of order": lambda d: forged(d, history(lambda h: h["changes"].reverse())),
    "change missing": lambda d: forged(d, history(lambda h: h["changes"].pop(2))),
    "change no table": lambda d: forged(d, history(lambda h: h["changes"].append(3))),
    "change with more": lambda d: forged(d, history(lambda h: h["changes"][0].update(x=1))),
    "yes for a number": lambda d: forged(d, history(lambda h: h["changes"][0].update(number=True))),
    "no name": lambda d: forged(d, history(lambda h: h["changes"][1].update(who=""))),
    "name no text": lambda d: forged(d, history(lambda h: h["changes"][1].update(who=3))),
    "time": lambda d: forged(d, history(lambda h: h["changes"][1].update(at="2026-13-01"))),
    "other part": lambda d: forged(d, history(lambda h: h["changes"][1].update(part="person/ann"))),
    "part no text": lambda d: forged(d, history(lambda h: h["changes"][1].update(part=[]))),
    "text unknown": lambda d: forged(d, history(lambda h: h["changes"][1].update(after="0" * 64))),
    "text missing": lambda d: forged(d, history(lambda h: h["texts"].popitem())),
    "text altered": lambda d: forged(
        d, history(lambda h: h["texts"].update({next(iter(h["texts"])): "x"}))
    ),
    "text from nowhere": lambda d: forged(
        d, history(lambda h: h["texts"].update({sha256(b"x").hexdigest(): "x"}))
    ),
    "undoes itself": lambda d: forged(d, history(lambda h: h["changes"][-1].update(undoes=99))),
    "undoes another": lambda d: forged(d, history(lambda h: h["changes"][-1].update(undoes=1))),
    "nothing": lambda _: b"",
    "no zip": lambda _: b"PK\3\4" + b"x" * 400,
    "an image": lambda _: PHOTO,
    "cut": lambda d: d[:-30],
    "comment": lambda d: d[:-2] + b"\1\0x",
    "many entries": lambda d: d[:-12] + struct.pack("<H", 0xFFFF) + d[-10:],
    "prefix only": lambda _: b"PK\5\6" + b"\0" * 18,
}


@pytest.mark.parametrize("name", FORGED)
def test_a_forged_file_is_refused_and_nothing_stays(lite, job_file, name):
    with pytest.raises(InputError) as caught:
        imported(lite, FORGED[name](job_file))
    assert caught.value.faults
    for fault in caught.value.faults:
        assert fault.place
        assert fault.allowed
        assert len(str(fault)) < 500
    assert lite.jobs() == lite.jobs(archived=True) == ()
    assert lite.history() == ()


def swapped(old: bytes, new: bytes):
    """A history in which one text is another from the start, hashes made to fit."""

    def change(told):
        text = json.dumps(told)
        for hash_, body in [*told["texts"].items()]:
            if old in body.encode("utf-8", "surrogatepass"):
                altered = body.replace(old.decode(), new.decode())
                fresh = sha256(altered.encode()).hexdigest()
                text = text.replace(hash_, fresh)
                told = json.loads(text)
                told["texts"][fresh] = altered
                text = json.dumps(told)
        return json.loads(text)

    def apply(told):
        fresh = change(told)
        told.clear()
        told.update(fresh)

    return history(apply)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        (b'"moisture":0.19', b'"moisture":1e999'),  # not finite
        (b'"kind":"day"', b'"kind": "day"'),  # not as the program writes it
        (b'"caption":"stain"', b'"caption":7'),
        (b'"state":"archived"', b'"state":"archived","x":1'),
        (b'"closed-cell"', b"7"),
        (b"[house]", b"[house"),
        (b"[house]", b"house = 3\n[house2]"),
    ],
)
def test_texts_that_their_parts_cannot_hold_are_refused(lite, job_file, old, new):
    with pytest.raises(InputError):
        imported(lite, forged(job_file, swapped(old, new)))
    assert lite.jobs(archived=True) == ()


@settings(
    max_examples=max(25, settings().max_examples // 10),
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(at=st.floats(0, 1, exclude_max=True), new=st.binary(max_size=4), cut=st.integers(0, 4))
def test_a_damaged_file_is_refused_or_the_same_job(lite, job_file, at, new, cut):
    place = int(at * len(job_file))
    try:
        job = imported(lite, job_file[:place] + new + job_file[place + cut :])
    except InputError:
        return
    assert exported(lite, job.id) == job_file
    lite.erase(job.id, "Di")


def test_a_path_in_and_out(lite, survey, tmp_path):
    job = lite.new_job(survey, "Ann")
    lite.export_job(job.id, tmp_path / "job.zip")
    lite.erase(job.id, "Ann")
    assert lite.import_job(tmp_path / "job.zip", "Ann") == job
    with pytest.raises(InputError):
        lite.import_job(tmp_path / "no such file", "Ann")
    with pytest.raises(InputError):
        lite.import_job(tmp_path, "Ann")
