"""Run by Alembic, within the transaction and on the connection of `meterlog.records.migrate`."""

from alembic import context

from meterlog.records.schema import METADATA

context.configure(
    connection=context.config.attributes["connection"], target_metadata=METADATA, render_as_batch=True
)
context.run_migrations()
