"""Work in the background, and who is signed in."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"

_HASH, _MOMENT, _WHO, _ID = sa.String(64), sa.String(27), sa.String(80), sa.String(32)


def upgrade() -> None:
    """From jobs, photos, drafts, people and results."""
    op.create_index("ix_change_job_id_undoes", "change", ["job_id", "undoes"])
    op.create_table(
        "task",
        sa.Column("id", _ID, nullable=False),
        sa.Column("job_id", _ID, nullable=False),
        sa.Column("kind", sa.String(32), nullable=False),
        sa.Column("key", _HASH, nullable=False),
        sa.Column("who", _WHO, nullable=False),
        sa.Column("state", sa.String(16), nullable=False),
        sa.Column("step", sa.Text, nullable=False),
        sa.Column("done", sa.Integer, nullable=False),
        sa.Column("total", sa.Integer, nullable=False),
        sa.Column("error", sa.Text, nullable=False),
        sa.Column("data", sa.Text, nullable=False),
        sa.Column("created", _MOMENT, nullable=False),
        sa.Column("changed", _MOMENT, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_task"),
        sa.ForeignKeyConstraint(["job_id"], ["job.id"], name="fk_task_job_id", ondelete="CASCADE"),
        sa.CheckConstraint(
            "state IN ('waiting', 'running', 'done', 'failed', 'cancelled')",
            name=op.f("ck_task_state"),
        ),
    )
    op.create_index("ix_task_job_id", "task", ["job_id"])
    op.create_index("ix_task_state_created", "task", ["state", "created"])
    op.create_table(
        "session",
        sa.Column("token", _HASH, nullable=False),
        sa.Column("person", _WHO, nullable=False),
        sa.Column("created", _MOMENT, nullable=False),
        sa.Column("used", _MOMENT, nullable=False),
        sa.PrimaryKeyConstraint("token", name="pk_session"),
        sa.ForeignKeyConstraint(
            ["person"], ["person.key"], name="fk_session_person", ondelete="CASCADE"
        ),
    )
    op.create_index("ix_session_person", "session", ["person"])
