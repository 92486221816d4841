"""What Alembic runs for an upgrade: the steps, in one transaction, on `prepare`'s connection."""

from alembic import context

# Alembic gives this file the name env_py; imported as a module of the package it does nothing.
if __name__ == "env_py":
    context.configure(
        connection=context.config.attributes["connection"],
        version_table="version",
        version_table_schema="crumbcall",
    )
    with context.begin_transaction():
        context.run_migrations()
