"""For who keeps the server: makes and upgrades the tables of a group's memory, and frees a station's name."""

from pathlib import Path

from assistant.errors import SyncError
from assistant.sync.link import Server, check_extra, connect, told


def prepare(server: Server) -> tuple[str, str]:
    """Bring the server to today's tables, whole or not at all; its step before ("" for none) and now.

    Stations may be writing meanwhile: those of an older program go on, for steps only add.
    Raises SyncError, one line.
    """
    check_extra()
    from alembic import command
    from alembic.config import Config
    from alembic.runtime.migration import MigrationContext
    from sqlalchemy import create_engine
    from sqlalchemy.exc import DBAPIError
    from sqlalchemy.pool import NullPool

    engine = create_engine("postgresql+psycopg://", creator=lambda: connect(server), poolclass=NullPool)
    config = Config()
    config.set_main_option("script_location", str(Path(__file__).parent))
    config.set_main_option("path_separator", "os")

    def step() -> str:
        options = {"version_table": "version", "version_table_schema": "crumbcall"}
        return MigrationContext.configure(connection, opts=options).get_current_revision() or ""

    with told(server):
        try:
            # Without parameters a step may hold several statements.
            with engine.connect().execution_options(no_parameters=True) as connection:
                connection.exec_driver_sql("CREATE SCHEMA IF NOT EXISTS crumbcall")
                before = step()
                config.attributes["connection"] = connection
                command.upgrade(config, "head")
                connection.commit()
                return before, step()
        except DBAPIError as error:
            raise (error.orig or error) from error


def release(server: Server, station: str) -> None:
    """Free a station's name for the machine that takes its place. Raises SyncError where there is none."""
    with connect(server) as link, told(server):
        row = link.execute("SELECT crumbcall.release(%s)", (station,)).fetchone()
    if row is None or not row[0]:
        raise SyncError(
            f"{server.name} has no station {station!r}; crumbcall sync status lists those it has."
        )
