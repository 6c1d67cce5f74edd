"""The tables as they stand after the newest migration.

A job is a set of named parts (``survey``, ``prices``, ``record/ID`` ...), each a text. ``content``
holds every text a part ever had, under its SHA-256; ``change`` says which text took the place of
which, when and by whom; ``part`` is what follows from the changes: the text that stands now.
Contents and photos belong to one job each, so that erasing a job erases all of it.

Moments are UTC text of fixed length, ``2026-11-02T07:15:30.123456Z``: it sorts as time does and
reads the same from either engine.
"""

from __future__ import annotations

from sqlalchemy import (
    Boolean,
    CheckConstraint,
    Column,
    ForeignKey,
    ForeignKeyConstraint,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    String,
    Table,
    Text,
)

# A constraint without a name cannot be dropped by a later migration
NAMES = {
    "ix": "ix_%(table_name)s_%(column_0_N_name)s",
    "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "ck": "ck_%(table_name)s_%(constraint_name)s",
    "fk": "fk_%(table_name)s_%(column_0_N_name)s",
    "pk": "pk_%(table_name)s",
}
metadata = MetaData(naming_convention=NAMES)

ID, HASH, MOMENT, WHO, PART = String(32), String(64), String(27), String(80), String(200)


def _job_id(**options: bool) -> Column[str]:
    return Column("job_id", ID, ForeignKey("job.id", ondelete="CASCADE"), **options)  # type: ignore[arg-type]


job = Table(
    "job",
    metadata,
    Column("id", ID, primary_key=True),
    Column("name", Text, nullable=False),
    Column("place", Text, nullable=False),
    Column("client", Text, nullable=False),
    Column("walls", Text, nullable=False),  # names, as a JSON list
    Column("created", MOMENT, nullable=False),
    Column("changed", MOMENT, nullable=False),
    Column("changed_by", WHO, nullable=False),
    Column("revision", Integer, nullable=False),  # number of the last change
    Column("archived", Boolean(create_constraint=False), nullable=False),
)

content = Table(
    "content",
    metadata,
    _job_id(primary_key=True),
    Column("hash", HASH, primary_key=True),
    Column("body", Text, nullable=False),
)

change = Table(
    "change",
    metadata,
    _job_id(primary_key=True),
    Column("number", Integer, primary_key=True, autoincrement=False),
    Column("at", MOMENT, nullable=False),
    Column("who", WHO, nullable=False),
    Column("part", PART, nullable=False),
    Column("what", Text, nullable=False),
    Column("before", HASH),  # null: the part was not there
    Column("after", HASH),  # null: the part was taken away
    Column("undoes", Integer),
    ForeignKeyConstraint(["job_id", "before"], ["content.job_id", "content.hash"]),
    ForeignKeyConstraint(["job_id", "after"], ["content.job_id", "content.hash"]),
    CheckConstraint("number > 0", name="number"),
)
Index(None, change.c.job_id, change.c.part, change.c.number)
Index(None, change.c.job_id, change.c.undoes)

part = Table(
    "part",
    metadata,
    _job_id(primary_key=True),
    Column("name", PART, primary_key=True),
    Column("revision", Integer, nullable=False),  # number of its last change
    Column("hash", HASH),
    Column("words", Text, nullable=False),  # what a search looks through, folded
    ForeignKeyConstraint(["job_id", "hash"], ["content.job_id", "content.hash"]),
    ForeignKeyConstraint(["job_id", "revision"], ["change.job_id", "change.number"]),
)

photo_file = Table(
    "photo_file",
    metadata,
    _job_id(primary_key=True),
    Column("hash", HASH, primary_key=True),
    Column("width", Integer, nullable=False),
    Column("height", Integer, nullable=False),
    Column("image", LargeBinary, nullable=False),
    Column("thumbnail", LargeBinary, nullable=False),
)

draft = Table(
    "draft",
    metadata,
    Column("who", WHO, primary_key=True),
    _job_id(primary_key=True),
    Column("form", PART, primary_key=True),
    Column("at", MOMENT, nullable=False),
    Column("data", Text, nullable=False),
)

person = Table(
    "person",
    metadata,
    Column("key", WHO, primary_key=True),  # the name, folded
    Column("name", WHO, nullable=False),
    Column("role", String(16), nullable=False),
    Column("password", Text, nullable=False),  # argon2, with its salt and cost
    Column("active", Boolean(create_constraint=False), nullable=False),
    Column("created", MOMENT, nullable=False),
    CheckConstraint("role IN ('owner', 'estimator', 'crew')", name="role"),
)

assignment = Table(
    "assignment",
    metadata,
    Column("person", WHO, ForeignKey("person.key", ondelete="CASCADE"), primary_key=True),
    _job_id(primary_key=True),
)
Index(None, assignment.c.job_id)

result = Table(
    "result",
    metadata,
    Column("key", HASH, primary_key=True),
    Column("kind", String(32), nullable=False),
    Column("used", MOMENT, nullable=False),
    Column("size", Integer, nullable=False),
    Column("data", LargeBinary, nullable=False),
)

task = Table(
    "task",
    metadata,
    Column("id", ID, primary_key=True),
    _job_id(nullable=False),
    Column("kind", String(32), nullable=False),
    Column("key", HASH, nullable=False),  # under which the result is kept
    Column("who", WHO, nullable=False),
    Column("state", String(16), nullable=False),
    Column("step", Text, nullable=False),
    Column("done", Integer, nullable=False),
    Column("total", Integer, nullable=False),
    Column("error", Text, nullable=False),
    Column("data", Text, nullable=False),
    Column("created", MOMENT, nullable=False),
    Column("changed", MOMENT, nullable=False),
    CheckConstraint("state IN ('waiting', 'running', 'done', 'failed', 'cancelled')", name="state"),
)
Index(None, task.c.job_id)
Index(None, task.c.state, task.c.created)

session = Table(
    "session",
    metadata,
    Column("token", HASH, primary_key=True),  # its SHA-256: a copied store lets nobody in
    Column("person", WHO, ForeignKey("person.key", ondelete="CASCADE"), nullable=False),
    Column("created", MOMENT, nullable=False),
    Column("used", MOMENT, nullable=False),
)
Index(None, session.c.person)
