"""Jobs with their parts and changes, photos, drafts, people, results."""

from datetime import UTC, datetime

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None

_HASH, _MOMENT, _WHO, _PART = sa.String(64), sa.String(27), sa.String(80), sa.String(200)


def upgrade() -> None:
    """From nothing."""
    _jobs()
    _contents()
    _changes()
    _photos_and_drafts()
    _people()
    op.create_table(
        "result",
        sa.Column("key", _HASH, nullable=False),
        sa.Column("kind", sa.String(32), nullable=False),
        sa.Column("used", _MOMENT, nullable=False),
        sa.Column("size", sa.Integer, nullable=False),
        sa.Column("data", sa.LargeBinary, nullable=False),
        sa.PrimaryKeyConstraint("key", name="pk_result"),
    )


def _job_id() -> sa.Column[str]:
    return sa.Column("job_id", sa.String(32), nullable=False)


def _of_job(table: str) -> sa.ForeignKeyConstraint:
    return sa.ForeignKeyConstraint(
        ["job_id"], ["job.id"], name=f"fk_{table}_job_id", ondelete="CASCADE"
    )


def _of_content(table: str, column: str) -> sa.ForeignKeyConstraint:
    return sa.ForeignKeyConstraint(
        ["job_id", column],
        ["content.job_id", "content.hash"],
        name=f"fk_{table}_job_id_{column}",
    )


def _jobs() -> None:
    job = op.create_table(
        "job",
        sa.Column("id", sa.String(32), nullable=False),
        sa.Column("name", sa.Text, nullable=False),
        sa.Column("place", sa.Text, nullable=False),
        sa.Column("client", sa.Text, nullable=False),
        sa.Column("walls", sa.Text, nullable=False),
        sa.Column("created", _MOMENT, nullable=False),
        sa.Column("changed", _MOMENT, nullable=False),
        sa.Column("changed_by", _WHO, nullable=False),
        sa.Column("revision", sa.Integer, nullable=False),
        sa.Column("archived", sa.Boolean(create_constraint=False), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_job"),
    )
    # The shop itself is kept like a job: the prices that new jobs start with, people, settings
    began = datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%S.%fZ")
    shop = {"id": "shop", "name": "", "place": "", "client": "", "walls": "[]", "created": began}
    changed = {"changed": began, "changed_by": "", "revision": 0, "archived": False}
    op.bulk_insert(job, [shop | changed])


def _contents() -> None:
    op.create_table(
        "content",
        _job_id(),
        sa.Column("hash", _HASH, nullable=False),
        sa.Column("body", sa.Text, nullable=False),
        sa.PrimaryKeyConstraint("job_id", "hash", name="pk_content"),
        _of_job("content"),
    )


def _changes() -> None:
    op.create_table(
        "change",
        _job_id(),
        sa.Column("number", sa.Integer, nullable=False, autoincrement=False),
        sa.Column("at", _MOMENT, nullable=False),
        sa.Column("who", _WHO, nullable=False),
        sa.Column("part", _PART, nullable=False),
        sa.Column("what", sa.Text, nullable=False),
        sa.Column("before", _HASH),
        sa.Column("after", _HASH),
        sa.Column("undoes", sa.Integer),
        sa.PrimaryKeyConstraint("job_id", "number", name="pk_change"),
        _of_job("change"),
        _of_content("change", "before"),
        _of_content("change", "after"),
        sa.CheckConstraint("number > 0", name=op.f("ck_change_number")),
    )
    op.create_index("ix_change_job_id_part_number", "change", ["job_id", "part", "number"])
    op.create_table(
        "part",
        _job_id(),
        sa.Column("name", _PART, nullable=False),
        sa.Column("revision", sa.Integer, nullable=False),
        sa.Column("hash", _HASH),
        sa.Column("words", sa.Text, nullable=False),
        sa.PrimaryKeyConstraint("job_id", "name", name="pk_part"),
        _of_job("part"),
        _of_content("part", "hash"),
        sa.ForeignKeyConstraint(
            ["job_id", "revision"],
            ["change.job_id", "change.number"],
            name="fk_part_job_id_revision",
        ),
    )


def _photos_and_drafts() -> None:
    op.create_table(
        "photo_file",
        _job_id(),
        sa.Column("hash", _HASH, nullable=False),
        sa.Column("width", sa.Integer, nullable=False),
        sa.Column("height", sa.Integer, nullable=False),
        sa.Column("image", sa.LargeBinary, nullable=False),
        sa.Column("thumbnail", sa.LargeBinary, nullable=False),
        sa.PrimaryKeyConstraint("job_id", "hash", name="pk_photo_file"),
        _of_job("photo_file"),
    )
    op.create_table(
        "draft",
        sa.Column("who", _WHO, nullable=False),
        _job_id(),
        sa.Column("form", _PART, nullable=False),
        sa.Column("at", _MOMENT, nullable=False),
        sa.Column("data", sa.Text, nullable=False),
        sa.PrimaryKeyConstraint("who", "job_id", "form", name="pk_draft"),
        _of_job("draft"),
    )


def _people() -> None:
    op.create_table(
        "person",
        sa.Column("key", _WHO, nullable=False),
        sa.Column("name", _WHO, nullable=False),
        sa.Column("role", sa.String(16), nullable=False),
        sa.Column("password", sa.Text, nullable=False),
        sa.Column("active", sa.Boolean(create_constraint=False), nullable=False),
        sa.Column("created", _MOMENT, nullable=False),
        sa.PrimaryKeyConstraint("key", name="pk_person"),
        sa.CheckConstraint("role IN ('owner', 'estimator', 'crew')", name=op.f("ck_person_role")),
    )
    op.create_table(
        "assignment",
        sa.Column("person", _WHO, nullable=False),
        _job_id(),
        sa.PrimaryKeyConstraint("person", "job_id", name="pk_assignment"),
        sa.ForeignKeyConstraint(
            ["person"], ["person.key"], name="fk_assignment_person", ondelete="CASCADE"
        ),
        _of_job("assignment"),
    )
    op.create_index("ix_assignment_job_id", "assignment", ["job_id"])
