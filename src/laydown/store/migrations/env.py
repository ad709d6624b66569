"""Runs the steps on the connection that `laydown.store.migrating` hands over."""

from alembic import context

context.configure(connection=context.config.attributes["connection"])
with context.begin_transaction():
    context.run_migrations()
