"""A job file that somebody sent: opened with care, believed only as far as it adds up.

Nothing in it is ever unpacked to a path; every read is bounded; names are held against the few
that a job file has.
"""

from __future__ import annotations

import re
import struct
import zlib
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, BinaryIO
from zipfile import ZIP_DEFLATED, ZIP_STORED, BadZipFile, ZipFile, ZipInfo

from warmside.errors import Fault, InputError
from warmside.store.checks import (
    LONGEST_WEATHER,
    canonical,
    checked,
    is_json,
    longest,
    parsed,
    prepared,
    storable,
    who_of,
)
from warmside.store.images import LARGEST_IMAGE, Image, kept_as_is
from warmside.store.moments import digest, moment

FORMAT, KIND = 1, "warmside job"
TEXTS = {
    "survey.toml": "survey",
    "prices.toml": "prices",
    "catalog.toml": "catalog",
    "choices.json": "choices",
    "weather.txt": "weather",
    "mark.svg": "mark",
}
LARGEST = 1 << 30  # [byte] of the file, and of all that is in it
MOST_CHANGES = 200_000
_MEBI = 1 << 20
_LIMITS = {  # [byte]
    "manifest.json": _MEBI,
    "records.json": 64 * _MEBI,
    "photos.json": 4 * _MEBI,
    "history.json": 256 * _MEBI,
    **{name: 4 * longest(part) for name, part in TEXTS.items()},
}
_NEEDED = ("manifest.json", "survey.toml", "records.json", "photos.json", "history.json")
_PHOTO = re.compile(r"photos/([0-9a-f]{64})\.jpg")
_PART = re.compile(
    r"survey|prices|catalog|choices|weather|mark|state|(record|photo|paper)/[a-z0-9-]{8,40}"
)
_CHANGE = ("number", "at", "who", "part", "what", "before", "after", "undoes")
_SHAPES: dict[str, dict[str, Any]] = {
    "record": {"kind": str, "wall": str, "data": dict, "replaces": str},
    "photo": {
        "file": str, "wall": str, "caption": str,
        "x": (int, float, type(None)), "z": (int, float, type(None)),
    },
    "state": {"state": str},
}  # fmt: skip
_BROKEN = (BadZipFile, zlib.error, struct.error, EOFError, OSError, ValueError, NotImplementedError,
           RuntimeError, OverflowError, MemoryError)  # fmt: skip


@dataclass(frozen=True)
class Parcel:
    """A job file looked through: everything in it hangs together."""

    job: str
    documents: Mapping[str, bytes]
    changes: tuple[Mapping[str, Any], ...]
    texts: Mapping[str, str]
    photos: Mapping[str, Image]  # without their large image, which ``photo`` reads again
    _file: ZipFile

    def photo(self, hash_: str) -> bytes:
        """A photo file; checked again, since the file may have changed on the disk."""
        data = _read(self._file, f"photos/{hash_}.jpg")
        if digest(data) != hash_:
            raise _fault(f"photos/{hash_}.jpg", "another photo than before", "a file at rest")
        return data


@contextmanager
def opened(source: BinaryIO | Path) -> Iterator[Parcel]:
    """The job file, for as long as it stays open; ``InputError`` for any other."""
    try:
        file = _zip(source)
    except _BROKEN as error:
        if isinstance(error, InputError):
            raise
        raise _fault("", "no zip file", "a file written by exporting a job") from None
    with file:
        yield _looked_through(file)


def _fault(place: str, read: str, allowed: str) -> InputError:
    return InputError([Fault(f"the job file, {place}" if place else "the job file", read, allowed)])


def _zip(source: BinaryIO | Path) -> ZipFile:
    """The zip, after its list of contents is known to be short."""
    with source.open("rb") if isinstance(source, Path) else _kept_open(source) as file:
        size = file.seek(0, 2)
        if size > LARGEST:
            raise _fault("", f"{size} bytes", f"up to {LARGEST} bytes")
        file.seek(max(0, size - 22))
        end = file.read(22)
        # ZIP's end record (APPNOTE 4.3.16), without a comment after it
        entries, length = struct.unpack("<10xHI6x", end)
        if end[:4] != b"PK\5\6" or entries == 0xFFFF or length > 4 * _MEBI:
            raise _fault("", "no zip file as it writes them", "a file written by exporting a job")
        file.seek(0)
    return ZipFile(source)


@contextmanager
def _kept_open(file: BinaryIO) -> Iterator[BinaryIO]:
    yield file


def _looked_through(file: ZipFile) -> Parcel:
    _refuse_entries(file.infolist())
    names = [info.filename for info in file.infolist()]
    job = _manifest(file, names)
    hashes = [match[1] for name in names if (match := _PHOTO.fullmatch(name))]
    documents = {n: _read(file, n) for n in names if n in _LIMITS and n != "manifest.json"}
    changes, texts = _history(documents["history.json"])
    _refuse_other_photos(texts, changes, set(hashes))
    photos = {}
    for hash_ in hashes:
        kept = kept_as_is(_read(file, f"photos/{hash_}.jpg"))
        photos[hash_] = replace(kept, image=b"")
    return Parcel(job, documents, changes, texts, photos, file)


def _refuse_entries(entries: list[ZipInfo]) -> None:
    """Only the few names of a job file, each once, plain files, and not too large."""
    seen: set[str] = set()
    for info in entries:
        name = info.filename
        shown = repr(name)[:80]
        if name in seen or not (name in _LIMITS or _PHOTO.fullmatch(name)):
            read = f"{shown} twice" if name in seen else shown
            raise _fault("", read, "the files that exporting a job writes, each once")
        seen.add(name)
        kind = info.external_attr >> 16 & 0o170000
        if kind not in (0, 0o100000) or info.flag_bits & 1:
            raise _fault(name, "a link, a folder or a locked file", "plain files")
        if info.compress_type not in (ZIP_STORED, ZIP_DEFLATED):
            raise _fault(name, f"compression {info.compress_type}", "stored or deflated files")
        if info.file_size > _LIMITS.get(name, LARGEST_IMAGE):
            allowed = f"up to {_LIMITS.get(name, LARGEST_IMAGE)} bytes"
            raise _fault(name, f"{info.file_size} bytes", allowed)
    total = sum(info.file_size for info in entries)
    if total > LARGEST:
        raise _fault("", f"{total} bytes when unpacked", f"up to {LARGEST} bytes")
    for name in _NEEDED:
        if name not in seen:
            raise _fault("", f"no {name}", "a file written by exporting a job")


def _read(file: ZipFile, name: str) -> bytes:
    """A file of the zip; never more than its list of contents says, which is bounded."""
    try:
        with file.open(name) as member:
            data = member.read(_LIMITS.get(name, LARGEST_IMAGE) + 1)
    except (*_BROKEN, KeyError):
        raise _fault(name, "a damaged file", "the file as it was written") from None
    if len(data) > _LIMITS.get(name, LARGEST_IMAGE):
        raise _fault(name, "more than its size says", "the file as it was written")
    return data


def _manifest(file: ZipFile, names: list[str]) -> str:
    """The job's id, after every file is found to be as the manifest says."""
    head = _json("manifest.json", _read(file, "manifest.json"))
    if head.get("kind") != KIND or head.get("format") != FORMAT:
        read = f"kind {str(head.get('kind'))[:40]!r}, format {str(head.get('format'))[:20]}"
        raise _fault("manifest.json", read, f"kind {KIND!r}, format {FORMAT}")
    job, listed = head.get("job"), head.get("files")
    if not isinstance(job, str) or not re.fullmatch(r"[a-z0-9]{16}", job):
        raise _fault("manifest.json, job", repr(job)[:80], "the id of a job")
    if not isinstance(listed, dict) or set(listed) != set(names) - {"manifest.json"}:
        raise _fault("manifest.json, files", "other files than there are", "each file once")
    for name, said in listed.items():
        data = _read(file, name)
        if said != {"bytes": len(data), "sha256": digest(data)}:
            raise _fault(name, "another size or SHA-256 than the manifest says", "as written")
        photo = _PHOTO.fullmatch(name)
        if photo and photo[1] != said["sha256"]:
            raise _fault(name, f"SHA-256 {said['sha256']}", "the name of its own SHA-256")
    return job


def _json(name: str, data: bytes) -> dict[str, Any]:
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError:
        raise _fault(name, "bytes that are not UTF-8", "JSON") from None
    return parsed(f"the job file, {name}", text)


def _history(data: bytes) -> tuple[tuple[dict[str, Any], ...], dict[str, str]]:
    """Changes and texts, after each change is found to follow from those before it."""
    told = _json("history.json", data)
    changes, texts = told.get("changes"), told.get("texts")
    if not isinstance(changes, list) or not isinstance(texts, dict) or not changes:
        raise _fault("history.json", "no list of changes", "changes and texts")
    if len(changes) > MOST_CHANGES:
        raise _fault("history.json", f"{len(changes)} changes", f"up to {MOST_CHANGES}")
    for hash_, text in texts.items():
        if not isinstance(text, str) or len(text) > LONGEST_WEATHER:
            raise _fault("history.json", f"text {hash_[:80]}", f"{LONGEST_WEATHER} characters")
        storable("the job file, history.json", text)
        if digest(text) != hash_:
            raise _fault("history.json", f"text {hash_[:80]}", "a text under its SHA-256")
    stands: dict[str, str | None] = {}
    for number, change in enumerate(changes, 1):
        try:
            _refuse_change(number, change, changes, texts, stands)
        except (KeyError, TypeError, ValueError) as error:
            if isinstance(error, InputError):
                raise
            allowed = "a change that follows from those before it"
            raise _fault(f"history.json, change {number}", str(error)[:80], allowed) from None
        stands[change["part"]] = change["after"]
    if stands.get("survey") is None or changes[0]["part"] != "survey":
        raise _fault("history.json", "no survey to begin with", "a job with a survey")
    _refuse_texts(changes, texts, stands)
    return tuple(changes), texts


def _refuse_change(
    number: int,
    change: dict[str, Any],
    changes: list[dict[str, Any]],
    texts: dict[str, str],
    stands: dict[str, str | None],
) -> None:
    """ValueError for a change that cannot be what happened."""
    if sorted(change) != sorted(_CHANGE) or (
        change["number"] is not number
        and (type(change["number"]) is not int or change["number"] != number)
    ):
        raise ValueError("numbers or names out of order")
    part, after, undoes = change["part"], change["after"], change["undoes"]
    moment(change["at"])
    if who_of(change["who"]) != change["who"] or not _PART.fullmatch(part):
        raise ValueError("a name that is none")
    if not isinstance(change["what"], str) or not 0 < len(change["what"]) <= 300:
        raise ValueError("no word of what was done")
    storable("what was done", change["what"])
    if change["before"] != stands.get(part) or (after is not None and after not in texts):
        raise ValueError("another text than stood before")
    if after is None and (part == "survey" or part not in stands):
        raise ValueError("nothing in the place of a survey")
    for kind in ("record", "paper"):
        if part.startswith(f"{kind}/") and after is not None and change["before"] is not None:
            raise ValueError(f"a {kind} overwritten")
    if undoes is not None:
        if type(undoes) is not int or not 0 < undoes < number:
            raise ValueError("an undone change that is not there")
        undone = changes[undoes - 1]
        if undone["part"] != part or undone["before"] != after or undone["undoes"] is not None:
            raise ValueError("an undone change of something else")


def _refuse_texts(
    changes: list[dict[str, Any]], texts: dict[str, str], stands: dict[str, str | None]
) -> None:
    """Texts that their parts cannot hold; those that stand are read in full."""
    used = {(c["part"], c["after"]) for c in changes if c["after"] is not None}
    if texts.keys() != {hash_ for _, hash_ in used}:
        raise _fault("history.json", "texts that no change brought", "the texts of the changes")
    for part, hash_ in used:
        place = f"the job file, {part}"
        text, kind = texts[hash_], part.split("/")[0]
        if len(text) > longest(part):
            read = f"{len(text)} characters"
            raise InputError([Fault(place, read, f"up to {longest(part)} characters")])
        if is_json(part):
            data = parsed(place, text)
            if canonical(place, data) != text or not _fits(data, kind):
                raise InputError([Fault(place, "another form than it writes", f"a {kind}")])
        elif stands[part] == hash_:
            checked(part, text)
        try:
            prepared(part, text)
        except (ValueError, RecursionError) as error:
            raise InputError([Fault(place, str(error)[:80], "a text without faults")]) from None
        if kind == "choices":
            checked(part, text)


def _fits(data: dict[str, Any], kind: str) -> bool:
    shape = _SHAPES.get(kind)
    if shape is None:
        return True
    return set(data) == set(shape) and all(
        isinstance(data[key], type_) and not isinstance(data[key], bool)
        for key, type_ in shape.items()
    )


def _refuse_other_photos(
    texts: Mapping[str, str], changes: tuple[dict[str, Any], ...], there: set[str]
) -> None:
    """Every photo of the history is there, and no other."""
    hashes = {c["after"] for c in changes if c["part"].startswith("photo/")} - {None}
    told = {parsed("photo", texts[hash_])["file"] for hash_ in hashes}
    if told != there:
        read = f"{len(told ^ there)} photos more or fewer than the history tells"
        raise _fault("photos", read, "every photo of the job, and no other")
