"""Runs the steps on the connection it is handed, in one transaction with their record."""

from alembic import context

from warmside.store.tables import metadata

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=metadata,
    render_as_batch=True,
    transactional_ddl=True,
    transaction_per_migration=False,
)
context.run_migrations()
