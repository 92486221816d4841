"""Tables that grow while old stations are at work, and stations that are newer than the tables."""

from pathlib import Path

import pytest
from alembic import command
from alembic.config import Config

import assistant.sync.server
from assistant.errors import SyncError
from assistant.sync.link import Server
from assistant.sync.server.prepare import prepare
from tests.sync.cluster import OWNER, Cluster
from tests.sync.conftest import Open
from tests.sync.kitchens import batches
from tests.sync.test_sending import in_journal, on_server

NEXT = '''"""A step of a later program: it only adds."""
from alembic import op

revision = "0003"
down_revision = "0002"


def upgrade():
    run = op.get_bind().exec_driver_sql
    run("ALTER TABLE crumbcall.decisions ADD COLUMN weather text NOT NULL DEFAULT ''")
    run("ALTER TABLE crumbcall.flour ADD COLUMN weather text")
    run("CREATE TABLE crumbcall.weather (n int)")
'''


def test_a_server_that_is_prepared_twice_stays_as_it_is(cluster: Cluster, database: str) -> None:
    assert prepare(Server("127.0.0.1", cluster.port, database, OWNER)) == ("0002", "0002")


def test_a_station_that_is_newer_than_the_tables_says_so(cluster: Cluster, kitchen: Open) -> None:
    one = kitchen("one")
    cluster.run("UPDATE crumbcall.version SET version_num = '0001'", database=one.database)
    with pytest.raises(SyncError, match="tables are of step 1, and this crumbcall needs 2; there: crumbcall"):
        one.look()


def test_the_first_step_s_server_becomes_the_second_s_with_all_that_it_has(
    cluster: Cluster, kitchen: Open
) -> None:
    one = kitchen("one")
    one.cook(batches(1))
    one.look()
    shared = (
        "DROP TABLE crumbcall.flour, crumbcall.documents; ALTER TABLE crumbcall.stations DROP COLUMN flour"
    )
    functions = "DROP FUNCTION crumbcall.verify_flour; DROP FUNCTION crumbcall.verify_document"
    step = "UPDATE crumbcall.version SET version_num = '0001'"
    cluster.run(shared, functions, step, database=one.database)
    assert prepare(Server("127.0.0.1", cluster.port, one.database, OWNER)) == ("0001", "0002")
    one.cook(batches(2)[7:])
    assert one.look().sent == 7
    assert on_server(cluster, one) == in_journal(one)


def test_an_old_station_goes_on_beside_a_newer_server(
    cluster: Cluster, kitchen: Open, tmp_path: Path
) -> None:
    one, two = kitchen("one"), kitchen("two")
    one.cook(batches(1))
    one.look()
    (tmp_path / "later").mkdir()
    (tmp_path / "later" / "v0003_weather.py").write_text(NEXT)
    (folder,) = assistant.sync.server.__path__
    config = Config()
    config.set_main_option("script_location", folder)
    config.set_main_option("path_separator", "os")
    config.set_main_option("version_locations", f"{folder}/versions:{tmp_path}/later")
    from sqlalchemy import create_engine

    engine = create_engine(f"postgresql+psycopg://{OWNER}@127.0.0.1:{cluster.port}/{one.database}")
    with engine.connect().execution_options(no_parameters=True) as connection:
        config.attributes["connection"] = connection
        command.upgrade(config, "head")
        connection.commit()
    engine.dispose()
    assert cluster.run("SELECT version_num FROM crumbcall.version", database=one.database) == [("0003",)]
    one.cook(batches(2)[7:])
    assert one.look().sent == 7
    assert two.look().came == 2
    assert on_server(cluster, one) == in_journal(one)
