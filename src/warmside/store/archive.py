"""A whole job as one file: a zip of its texts, photos, records and history.

=================  ==================================================================
survey.toml        the survey as it stands (also prices.toml, catalog.toml, choices.json,
                   weather.txt)
records.json       the records that stand, in the order they were noted
photos.json        the photos that stand and where they are pinned
photos/HASH.jpg    the photo files, named by their SHA-256
history.json       every change, and every text that ever stood, by its SHA-256
manifest.json      format, job, program, and size and SHA-256 of every other file
=================  ==================================================================

The history is the truth; the other files follow from it. Taking a job in replays the history and
writes the file anew, so that what comes out again is, byte for byte, what went in.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any, BinaryIO
from zipfile import ZIP_DEFLATED, ZIP_STORED, ZipFile, ZipInfo

from sqlalchemy import Connection, and_, select

from warmside import __version__
from warmside.errors import Fault, InputError
from warmside.store import ledger, photos, records
from warmside.store import tables as t
from warmside.store.images import Image
from warmside.store.moments import digest
from warmside.store.parcel import FORMAT, KIND, TEXTS, Parcel

_DAY = (1980, 1, 1, 0, 0, 0)  # the earliest a zip can say; when it was written is not part of it


def write(connection: Connection, job: str, to: BinaryIO | Path) -> None:
    """Write the job as a zip file."""
    listed: dict[str, dict[str, int | str]] = {}
    with ZipFile(to, "w") as file:

        def put(name: str, data: bytes) -> None:
            info = ZipInfo(name, _DAY)
            info.create_system, info.external_attr = 3, 0o100644 << 16
            info.compress_type = ZIP_STORED if name.endswith(".jpg") else ZIP_DEFLATED
            file.writestr(info, data, compresslevel=6)
            listed[name] = {"bytes": len(data), "sha256": digest(data)}

        for name, data in documents(connection, job).items():
            put(name, data)
        for hash_ in _photo_files(connection, job):
            here = and_(t.photo_file.c.job_id == job, t.photo_file.c.hash == hash_)
            image = connection.execute(select(t.photo_file.c.image).where(here)).scalar_one()
            put(f"photos/{hash_}.jpg", bytes(image))
        made_by = f"warmside {__version__}"
        head = {"format": FORMAT, "kind": KIND, "job": job, "made_by": made_by, "files": {**listed}}
        put("manifest.json", _json(head))


def documents(connection: Connection, job: str) -> dict[str, bytes]:
    """All files of a job but the manifest and the photo files."""
    files = {}
    for name, part in TEXTS.items():
        text = ledger.standing(connection, job, part)
        if text.hash:
            files[name] = text.text.encode("utf-8")
    files["records.json"] = _json({"records": [_record(r) for r in records.rows(connection, job)]})
    files["photos.json"] = _json({"photos": [_photo(p) for p in photos.rows(connection, job)]})
    files["history.json"] = _history(connection, job)
    return files


def take_in(connection: Connection, job: str, parcel: Parcel) -> None:
    """Replay the history of a parcel into an empty job, and hold the result against the parcel."""
    for hash_, image in parcel.photos.items():
        data = parcel.photo(hash_)
        kept = Image(data, image.thumbnail, image.width, image.height)
        photos.keep_file(connection, job, hash_, kept)
    ledger.replay(connection, job, parcel.changes, parcel.texts)
    rebuilt = documents(connection, job)
    for name in sorted(rebuilt.keys() | parcel.documents.keys()):
        if parcel.documents.get(name) != rebuilt.get(name):
            read = "something other than the history tells"
            raise InputError([Fault(f"the job file, {name}", read, "a file that was not altered")])


def _photo_files(connection: Connection, job: str) -> list[str]:
    order = select(t.photo_file.c.hash).where(t.photo_file.c.job_id == job)
    return [*connection.execute(order.order_by(t.photo_file.c.hash)).scalars()]


def _history(connection: Connection, job: str) -> bytes:
    rows = connection.execute(
        select(t.change).where(t.change.c.job_id == job).order_by(t.change.c.number)
    ).mappings()
    changes = [{k: v for k, v in row.items() if k != "job_id"} for row in rows]
    texts = connection.execute(
        select(t.content.c.hash, t.content.c.body)
        .where(t.content.c.job_id == job)
        .order_by(t.content.c.hash)
    )
    return _json({"changes": changes, "texts": {row.hash: row.body for row in texts}})


def _record(record: Any) -> dict[str, Any]:
    told = {k: getattr(record, k) for k in ("id", "kind", "wall", "data", "replaces", "who")}
    return told | {"at": record.at.isoformat()}


def _photo(photo: Any) -> dict[str, Any]:
    told = {k: getattr(photo, k) for k in ("id", "file", "wall", "x", "z", "caption", "who")}
    return told | {"at": photo.at.isoformat()}


def _json(data: Any) -> bytes:
    return (json.dumps(data, indent=1, sort_keys=True, ensure_ascii=True) + "\n").encode()
