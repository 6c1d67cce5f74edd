"""The store: open it, and everything that was ever confirmed is there."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from pathlib import Path
from secrets import token_hex
from types import TracebackType
from typing import Any, BinaryIO, Self, get_args

from sqlalchemy import Connection, Row, Table, and_, delete, func, insert, or_, select

from warmside import survey as surveys
from warmside.errors import Fault, InputError
from warmside.store import archive, ledger
from warmside.store import tables as t
from warmside.store.checks import (
    Prepared,
    added_faults,
    canonical,
    looked_through,
    parsed,
    prepared,
    who_of,
)
from warmside.store.database import Database, address
from warmside.store.drafts import Drafts, keep
from warmside.store.errors import StaleError, UnknownError
from warmside.store.keeping import Change, Erased, Hit, Job, Kept, TextPart
from warmside.store.ledger import SHOP
from warmside.store.merge import touched
from warmside.store.migrate import bring_up_to_date
from warmside.store.moments import digest, folded, moment, now
from warmside.store.numbered import Papers
from warmside.store.parcel import opened
from warmside.store.people import People
from warmside.store.photos import Photos
from warmside.store.records import Records
from warmside.store.results import Results
from warmside.store.sessions import Sessions
from warmside.store.settings import Settings
from warmside.store.tasks import Tasks

_INHERITED: tuple[TextPart, ...] = ("prices", "catalog", "mark")


def _at_once(work: Callable[..., Any], *given: Any, place: str = "") -> Any:  # noqa: ARG001
    """Do it in this process."""
    return work(*given)


class Store:
    """Jobs and all that belongs to them, in a SQLite file or a PostgreSQL database.

    Every method is one short transaction and may be called from any thread. What a method
    returned from is on the disk. Methods raise ``InputError`` for what cannot be kept,
    ``UnknownError`` for what is not there, ``StaleError`` for a save that started from an older
    text, ``StoreError`` when the database cannot answer.
    """

    def __init__(
        self, database: Database, backup: Path | None, apart: Callable[..., Any] = _at_once
    ) -> None:
        self._db, self._apart = database, apart
        self.backup = backup  # copy made because migrations were pending; None otherwise
        self.photos = Photos(database)
        self.records = Records(database)
        self.papers = Papers(database)
        self.drafts = Drafts(database)
        self.people = People(database)
        self.settings = Settings(database)
        self.sessions = Sessions(database)
        self.results = Results(database)
        self.tasks = Tasks(database)

    @classmethod
    def open(cls, where: str | Path, apart: Callable[..., Any] = _at_once) -> Self:
        """Open a store, made if it is not there, brought up to date if it is older.

        Parameters
        ----------
        where : str or Path
            A path of a SQLite file, or ``postgresql://user@host/database``.
        apart : callable, optional
            Where whole texts that somebody sent are looked through, given the work and what it
            takes: ``fence.fenced`` in a server, in this process by default.
        """
        database = Database(address(where))
        try:
            return cls(database, bring_up_to_date(database), apart)
        except BaseException:
            database.close()
            raise

    @property
    def address(self) -> str:
        """What ``open`` takes to open it again, the password of a database included."""
        return self._db.url.render_as_string(hide_password=False)

    @property
    def file(self) -> Path | None:
        """The SQLite file; None for a database."""
        return self._db.file if self._db.is_sqlite else None

    def close(self) -> None:
        """Give the database back."""
        self._db.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        _kind: type[BaseException] | None,
        _error: BaseException | None,
        _trace: TracebackType | None,
    ) -> None:
        self.close()

    # Jobs

    def new_job(self, survey: str, who: str) -> Job:
        """Begin a job with its survey text; it starts with the shop's prices and own rows."""
        who = who_of(who)
        first, id_ = self._looked_through("survey", survey, SHOP), token_hex(8)
        with self._db.writing() as connection:
            new_row(connection, id_)
            ledger.apply(connection, id_, "survey", first, "job begun", who)
            for part in _INHERITED:
                shop = ledger.standing(connection, SHOP, part)
                if shop.hash:
                    what = f"{part} of the shop taken over"
                    ledger.apply(connection, id_, part, prepared(part, shop.text), what, who)
            return _one(connection, id_)

    def jobs(self, archived: bool = False, crew: str | None = None) -> tuple[Job, ...]:
        """All jobs, the last changed first; only those of one crew member if named."""
        order = select(t.job).where(t.job.c.id != SHOP, t.job.c.archived == archived)
        if crew is not None:
            here = and_(t.assignment.c.job_id == t.job.c.id, t.assignment.c.person == folded(crew))
            order = order.join(t.assignment, here)
        with self._db.reading() as connection:
            rows = connection.execute(order.order_by(t.job.c.changed.desc(), t.job.c.id))
            return tuple(_job(row) for row in rows)

    def job(self, job: str) -> Job:
        """One job."""
        with self._db.reading() as connection:
            return _one(connection, job)

    def archive(self, job: str, who: str, archived: bool = True) -> Job:
        """Put a job away, or take it up again."""
        who, state = who_of(who), prepared("state", canonical("state", {"state": "archived"}))
        with self._db.writing() as connection:
            ledger.lock(connection, job)
            if _one(connection, job).archived != archived:
                what = "archived" if archived else "taken up again"
                new = state if archived else None
                ledger.apply(connection, job, "state", new, what, who)
            return _one(connection, job)

    def erase(self, job: str, who: str) -> Erased:
        """Erase a job with its history, photos and drafts, for good.

        Everything computed goes with it, of other jobs too: it is kept by what went in, not by
        job, and can be computed again. The shop's history says that a job was erased, not what
        it held. Copies made before still have it.
        """
        who = who_of(who)
        told = prepared("erased", canonical("erased", {"job": job}))
        with self._db.writing() as connection:
            ledger.lock(connection, job)
            gone = _gone(connection, _one(connection, job), who)
            # Parts hold on to changes and contents, so they go first
            for table in (t.part, t.change):
                connection.execute(delete(table).where(table.c.job_id == job))
            connection.execute(delete(t.job).where(t.job.c.id == job))
            connection.execute(delete(t.result))
            ledger.apply(connection, SHOP, f"erased/{job}", told, f"job {job} erased", who)
        self._db.forget_deleted()
        return gone

    def search(self, words: str, archived: bool = False, most: int = 100) -> tuple[Hit, ...]:
        """Jobs in which every one of ``words`` stands somewhere, the last changed first.

        Names, places, clients, walls, notes and captions are looked through, without regard to
        capitals and accents; a part of a word is enough.
        """
        sought = folded(words)[:200].split()
        if not sought:
            return ()
        like = [t.part.c.words.contains(word, autoescape=True) for word in sought]
        held = t.part.c.job_id == t.job.c.id
        order = select(t.job).where(t.job.c.id != SHOP, t.job.c.archived == archived)
        for one in like:
            order = order.where(select(t.part.c.name).where(held, one).exists())
        with self._db.reading() as connection:
            rows = connection.execute(order.order_by(t.job.c.changed.desc()).limit(most)).all()
            return tuple(Hit(_job(row), _parts_with(connection, row.id, like)) for row in rows)

    # Texts

    def text(self, part: TextPart, job: str = SHOP) -> Kept:
        """A text as it stands, with the revision to name when saving; of the shop by default."""
        _text_part(part)
        with self._db.reading() as connection:
            ledger.known(connection, job)
            found = ledger.standing(connection, job, part)
        return Kept(part, found.text, found.revision)

    def save(
        self, part: TextPart, text: str, revision: int, who: str, job: str = SHOP
    ) -> Change | None:
        """Put ``text`` in the place of the one that was read at ``revision``.

        Returns
        -------
        Change or None
            What was changed; None if the text stands already.

        Raises
        ------
        InputError
            Every fault of the text.
        StaleError
            The part was changed since; the text, unless a file of hours, is kept as a draft.
        """
        _text_part(part)
        new = self._looked_through(part, text, job)
        # a draft is for what was typed; a file is still where it was picked
        return self._save(part, new, revision, who, job, keeps=part not in ("weather", "mark"))

    def _looked_through(self, part: str, text: str, job: str) -> Prepared:
        """A text that somebody sent, as it goes into the tables; refused with its faults."""
        was = self._standing(job) if part in ("survey", "catalog") else None
        found: Prepared = self._apart(looked_through, part, text, was, place=f"the {part}")
        return found

    def _standing(self, job: str) -> tuple[str, str]:
        """Survey and own rows of a job."""
        return self.text("survey", job).text, self.text("catalog", job).text

    def _save(
        self, part: TextPart, new: Prepared, revision: int, who: str, job: str, keeps: bool = True
    ) -> Change | None:
        who, text = who_of(who), new.text
        ledger.numbered(f"revision of {part}", revision)
        if part not in _INHERITED and job == SHOP:
            raise InputError([Fault("job", SHOP, f"a job: the shop has no {part}")])
        with self._db.writing() as connection:
            ledger.lock(connection, job)
            here = ledger.standing(connection, job, part)
            if here.hash == new.hash:
                return None
            if here.revision == revision:
                return ledger.apply(connection, job, part, new, f"{part} saved", who)
            form = f"refused-{part}-{digest(text)[:12]}" if keeps else ""
            refusal = ledger.stale(connection, job, part, revision, form)
            if keeps:
                keep(connection, who, form, {"text": text, "revision": revision}, job)
        raise refusal  # after the draft is on the disk

    def change_survey(
        self, job: str, changes: Mapping[tuple[str | int, ...], Any], revision: int, who: str
    ) -> Change | None:
        """Change some values of the survey, as ``survey.update`` does.

        A survey changed by another since ``revision`` is no obstacle as long as the walls (or
        other tables) touched are as they were; else ``StaleError``, with the text kept.
        """
        ledger.numbered("revision of survey", revision)
        for _ in range(5):
            here = self.text("survey", job)
            base = here.text
            if here.revision != revision:
                base = self.text_at(job, "survey", revision)
            if not touched(base, here.text, changes):
                text, was = surveys.update(here.text, changes), self._standing(job)
                if faults := added_faults(was, (text, was[1])):
                    raise InputError(faults)
                new = prepared("survey", text)
                try:
                    return self._save("survey", new, here.revision, who, job, keeps=False)
                except StaleError:
                    continue  # another was quicker; look again
            break
        new = prepared("survey", surveys.update(base, changes))
        return self._save("survey", new, revision, who, job)

    def choices(self, job: str) -> dict[str, str]:
        """The option chosen for each wall: name of the wall -> id of the option."""
        text = self.text("choices", job).text
        return {str(k): str(v) for k, v in parsed("the choices", text).items()} if text else {}

    def choose(
        self, job: str, options: Mapping[str, str], revision: int, who: str
    ) -> Change | None:
        """Choose an option for each wall named; ``revision`` as read by ``text("choices")``."""
        return self.save("choices", canonical("the choices", options), revision, who, job)

    # History

    def history(
        self, job: str = SHOP, most: int = 100, before: int | None = None, part: str | None = None
    ) -> tuple[Change, ...]:
        """Changes, the newest first; those older than ``before``; of one part if named."""
        where = [] if before is None else [t.change.c.number < ledger.numbered("before", before)]
        if part is not None:
            where.append(t.change.c.part == part)
        with self._db.reading() as connection:
            ledger.known(connection, job)
            return ledger.changes(connection, job, *where, most=most)

    def text_at(self, job: str, part: str, revision: int) -> str:
        """The text that a part had at ``revision``."""
        with self._db.reading() as connection:
            ledger.known(connection, job)
            return ledger.at_revision(connection, job, part, revision)

    def difference(self, job: str, number: int) -> str:
        """What change ``number`` did, as a unified diff."""
        with self._db.reading() as connection:
            ledger.known(connection, job)
            here = t.change.c.number == ledger.numbered("change", number)
            found = ledger.changes(connection, job, here)
            if not found:
                raise UnknownError("change", str(number))
            texts = (ledger.body(connection, job, h) for h in (found[0].before, found[0].after))
            return ledger.difference(*texts)

    def undo(self, job: str, number: int, who: str) -> Change:
        """Take back change ``number``, which must be the last of its part that stands.

        Undoing is a change of its own. ``StaleError`` tells of changes that came after.
        """
        who = who_of(who)
        with self._db.writing() as connection:
            return ledger.undo(connection, job, number, who)

    # Whole jobs

    def export_job(self, job: str, to: BinaryIO | Path) -> None:
        """Write a whole job as one zip file; the same job gives the same bytes."""
        with self._db.reading() as connection:
            _one(connection, job)
            archive.write(connection, job, to)

    def import_job(self, source: BinaryIO | Path, who: str, as_copy: bool = False) -> Job:
        """Take in a job from a file that ``export_job`` wrote.

        Parameters
        ----------
        as_copy : bool
            Take it in under a new id; needed where the job is here already.

        Raises
        ------
        InputError
            A file that is damaged, altered, too large, or no such file at all.
        """
        who = who_of(who)
        with opened(source) as parcel, self._db.writing() as connection:
            id_ = token_hex(8) if as_copy else parcel.job
            if connection.execute(select(t.job.c.id).where(t.job.c.id == id_)).first():
                allowed = "a job that is not here yet, or to be taken in as a copy"
                raise InputError([Fault("the job", f"'{id_}', which is here already", allowed)])
            new_row(connection, id_)
            archive.take_in(connection, id_, parcel)
            told = canonical("import", {"job": id_, "from": parcel.job})
            part = f"import/{id_}"
            ledger.apply(connection, SHOP, part, prepared(part, told), "job taken in", who)
            return _one(connection, id_)


def import_into(where: str, source: Path, who: str, as_copy: bool) -> Job:
    """Take a job in, in a process that has no store open; see ``Store.import_job``."""
    with Store.open(where) as store:
        return store.import_job(source, who, as_copy)


def _gone(connection: Connection, job: Job, who: str) -> Erased:
    """What erasing a job takes away."""

    def count(table: Table, *where: Any) -> int:
        return int(
            connection.execute(select(func.count()).select_from(table).where(*where)).scalar_one()
        )

    return Erased(
        job=job.id,
        name=job.name,
        client=job.client,
        at=moment(now()),
        who=who,
        changes=count(t.change, t.change.c.job_id == job.id),
        photos=count(t.photo_file, t.photo_file.c.job_id == job.id),
        results=count(t.result),
    )


def new_row(connection: Connection, id_: str) -> None:
    """An empty job, to be filled by changes."""
    shown = {"name": "", "place": "", "client": "", "walls": "[]", "changed_by": ""}
    times = {"created": now(), "changed": now()}
    connection.execute(insert(t.job).values(id=id_, revision=0, archived=False, **shown, **times))


def _text_part(part: str) -> None:
    if part not in get_args(TextPart):
        raise InputError([Fault("part", repr(part)[:80], ", ".join(get_args(TextPart)))])


def _one(connection: Connection, job: str) -> Job:
    here = and_(t.job.c.id == ledger.plain("job", job), t.job.c.id != SHOP)
    row = connection.execute(select(t.job).where(here)).first()
    if row is None:
        raise UnknownError("job", job)
    return _job(row)


def _job(row: Row[Any]) -> Job:
    values: dict[str, Any] = row._asdict()
    for key in ("created", "changed"):
        values[key] = moment(values[key])
    return Job(**values | {"walls": tuple(json.loads(values["walls"]))})


def _parts_with(connection: Connection, job: str, like: list[Any]) -> tuple[str, ...]:
    rows = connection.execute(
        select(t.part.c.name).where(t.part.c.job_id == job, or_(*like)).order_by(t.part.c.name)
    )
    return tuple(rows.scalars())
