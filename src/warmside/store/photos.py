"""Photos, each pinned to a place on a wall.

The files lie in the database, not beside it: a photo and its pin come or go in one transaction,
one file holds the whole store, a backup or a PostgreSQL dump needs no second step, and no path is
ever made from what somebody sent. At 1.5 MiB at most (0.4 MB usual) the engines read them about as
fast as a file system would; they have a table of their own so that nothing else pages over them.
"""

from __future__ import annotations

import json
import math
from collections.abc import Sequence
from typing import Any
from uuid import uuid4

from sqlalchemy import Connection, and_, func, insert, select

from warmside import survey
from warmside.errors import Fault, InputError
from warmside.store import ledger
from warmside.store import tables as t
from warmside.store.checks import Prepared, canonical, prepared, who_of, word
from warmside.store.database import Database
from warmside.store.errors import UnknownError
from warmside.store.images import Image, cleaned
from warmside.store.keeping import Photo
from warmside.store.moments import digest, moment

ID = r"[a-z0-9-]{8,40}"
_SLACK = 1e-6  # [m]
MOST = 2000  # photos of one job


class Photos:
    """The photos of all jobs."""

    def __init__(self, database: Database) -> None:
        self._db = database

    def add(
        self,
        job: str,
        data: bytes | Image,
        who: str,
        wall: str = "",
        x: float | None = None,
        z: float | None = None,
        caption: str = "",
        id: str | None = None,
    ) -> Photo:
        """Keep a photo: turned upright, location and all else stripped, made smaller.

        Parameters
        ----------
        data : bytes or Image
            JPEG, PNG or WebP as the phone sent it, told by its content; or what ``cleaned`` made
            of that.
        wall : str
            Name of a wall of the job's survey, or "" for the house.
        x, z : float, optional
            Place on the wall [m], from its left end and the underside of its bottom plate.
        id : str, optional
            Chosen by the sender, so that a photo sent twice over a bad connection is kept once.

        Raises
        ------
        InputError
            No photo, too large, or a place that is not on the wall.
        """
        id_ = uuid4().hex if id is None else word("id", id, ID, "8 to 40 letters and digits")
        who, image = who_of(who), data if isinstance(data, Image) else cleaned(data)
        file = digest(image.image)
        text = canonical("photo", _pin(file, wall, x, z, caption))
        with self._db.writing() as connection:
            ledger.lock(connection, job)
            there = ledger.standing(connection, job, f"photo/{id_}")
            if there.revision:  # it came before, moved or removed since
                return _again(connection, job, id_, file)
            _refuse_misplaced(connection, job, wall, x, z)
            if len(rows(connection, job)) >= MOST:
                raise InputError([Fault("photos", f"more than {MOST}", "fewer in one job")])
            keep_file(connection, job, file, image)
            new = prepared(f"photo/{id_}", text)
            ledger.apply(connection, job, f"photo/{id_}", new, "photo added", who)
            return _one(connection, job, id_)

    def pin(
        self,
        job: str,
        photo: str,
        revision: int,
        who: str,
        wall: str = "",
        x: float | None = None,
        z: float | None = None,
        caption: str = "",
    ) -> Photo:
        """Put a photo elsewhere, or word its caption anew; ``StaleError`` if another did so."""
        file = self.get(job, photo).file
        new = prepared(f"photo/{photo}", canonical("photo", _pin(file, wall, x, z, caption)))
        self._change(job, photo, revision, who, "photo moved", new, (wall, x, z))
        return self.get(job, photo)

    def remove(self, job: str, photo: str, revision: int, who: str) -> None:
        """Take a photo from the job; undo brings it back."""
        self._change(job, photo, revision, who, "photo removed", None)

    def get(self, job: str, photo: str) -> Photo:
        """One photo."""
        with self._db.reading() as connection:
            return _one(connection, job, photo)

    def of(self, job: str, wall: str | None = None) -> tuple[Photo, ...]:
        """Photos of a job, in the order they came; of one wall if named."""
        with self._db.reading() as connection:
            found = rows(connection, job)
        return tuple(photo for photo in found if wall is None or photo.wall == wall)

    def file(self, job: str, photo: str, thumbnail: bool = False) -> bytes:
        """The JPEG file of a photo."""
        column = t.photo_file.c.thumbnail if thumbnail else t.photo_file.c.image
        with self._db.reading() as connection:
            here = and_(
                t.photo_file.c.job_id == job,
                t.photo_file.c.hash == _one(connection, job, photo).file,
            )
            return bytes(connection.execute(select(column).where(here)).scalar_one())

    def _change(
        self,
        job: str,
        photo: str,
        revision: int,
        who: str,
        what: str,
        new: Prepared | None,
        place: tuple[str, float | None, float | None] = ("", None, None),
    ) -> None:
        who, part = who_of(who), f"photo/{photo}"
        with self._db.writing() as connection:
            ledger.lock(connection, job)
            if _one(connection, job, photo).revision != revision:
                raise ledger.stale(connection, job, part, revision)
            _refuse_misplaced(connection, job, *place)
            ledger.apply(connection, job, part, new, what, who)


def keep_file(connection: Connection, job: str, file: str, image: Image) -> None:
    """Keep the files of a photo once."""
    here = and_(t.photo_file.c.job_id == job, t.photo_file.c.hash == file)
    if connection.execute(select(t.photo_file.c.hash).where(here)).first() is None:
        connection.execute(insert(t.photo_file).values(job_id=job, hash=file, **vars(image)))


def rows(connection: Connection, job: str, *where: Any) -> Sequence[Photo]:
    """The photos that stand, in the order they came."""
    prefix = "photo/"
    first = t.change.alias("first")
    came = (
        select(func.min(first.c.number))
        .where(first.c.job_id == job, first.c.part == t.part.c.name)
        .scalar_subquery()
    )
    found = connection.execute(
        select(t.part.c.name, t.part.c.revision, t.content.c.body, t.change.c.at, t.change.c.who)
        .join(t.content, and_(t.content.c.job_id == job, t.content.c.hash == t.part.c.hash))
        .join(t.change, and_(t.change.c.job_id == job, t.change.c.number == t.part.c.revision))
        .where(t.part.c.job_id == job, t.part.c.name.startswith(prefix, autoescape=True), *where)
        .order_by(came)
    ).all()
    sizes = {
        row.hash: (row.width, row.height)
        for row in connection.execute(
            select(t.photo_file.c.hash, t.photo_file.c.width, t.photo_file.c.height).where(
                t.photo_file.c.job_id == job
            )
        )
    }
    photos = []
    for row in found:
        pin = json.loads(row.body)
        width, height = sizes[pin["file"]]
        name = row.name.removeprefix(prefix)
        photos.append(
            Photo(name, job, **pin, width=width, height=height, revision=row.revision,
                  at=moment(row.at), who=row.who)
        )  # fmt: skip
    return photos


def _one(connection: Connection, job: str, photo: str) -> Photo:
    ledger.known(connection, job)
    found = rows(connection, job, t.part.c.name == f"photo/{ledger.plain('photo', photo)}")
    if not found:
        raise UnknownError("photo", photo)
    return found[0]


def _again(connection: Connection, job: str, id_: str, file: str) -> Photo:
    """The photo that was kept under this id already; another one is refused."""
    first = ledger.changes(connection, job, t.change.c.part == f"photo/{id_}")[-1]
    kept = json.loads(ledger.body(connection, job, first.after))
    if kept["file"] != file:
        raise InputError([Fault("id", id_, "an id not taken; photos are never overwritten")])
    found = rows(connection, job, t.part.c.name == f"photo/{id_}")
    if found:
        return found[0]
    raise InputError([Fault("photo", "one that was removed", "History, to bring it back")])


def _pin(
    file: str, wall: str, x: float | None, z: float | None, caption: str
) -> dict[str, str | float | None]:
    if not isinstance(caption, str) or len(caption) > 1000:
        raise InputError([Fault("caption", f"{len(str(caption))} characters", "text up to 1000")])
    return {"file": file, "wall": wall, "x": x, "z": z, "caption": caption.strip()}


def _refuse_misplaced(
    connection: Connection, job: str, wall: str, x: float | None, z: float | None
) -> None:
    """A pin lies on a wall of the survey as it is now."""
    if (x is None) != (z is None) or (x is not None and not wall):
        raise InputError([Fault("place of the photo", "half of one", "a wall with x and z")])
    if not wall:
        return
    surveyed = survey.check(ledger.standing(connection, job, "survey").text).survey
    walls = {w.name: w for w in surveyed.walls} if surveyed else {}
    if wall not in walls:
        allowed = "one of " + ", ".join(f'"{name}"' for name in list(walls)[:8])
        raise InputError([Fault("wall of the photo", repr(wall)[:80], allowed)])
    if x is None or z is None:
        return
    if not (math.isfinite(x) and math.isfinite(z) and -_SLACK <= x <= walls[wall].length + _SLACK):
        allowed = f"x from 0 to {walls[wall].length:g} m"
        raise InputError([Fault("place of the photo", f"({x}, {z})", allowed)])
    height = walls[wall].height_between(x, x)
    if not -_SLACK <= z <= height + _SLACK:
        allowed = f"z from 0 to {height:g} m"
        raise InputError([Fault("place of the photo", f"({x}, {z})", allowed)])
