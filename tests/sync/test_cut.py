"""The network and the server go away at any moment: nothing is lost, nothing is there twice."""

import pytest

from assistant.errors import SyncError
from tests.sync.cluster import Cluster
from tests.sync.conftest import Open
from tests.sync.kitchens import batches
from tests.sync.proxy import Cable
from tests.sync.test_sending import in_journal, on_server


def test_a_cable_pulled_at_any_byte_loses_and_doubles_nothing(cluster: Cluster, kitchen: Open) -> None:
    whole = Cable(cluster.port)
    try:
        measured = kitchen("measured", port=whole.port)
        measured.cook(batches(4))
        measured.look()
    finally:
        whole.close()
    # From the greeting to the last bytes before the farewell, each cut on a station of its own.
    for i, most in enumerate(range(1, whole.passed - 300, whole.passed // 8)):
        one = kitchen(f"station{i:x}", port=cluster.port)
        one.look()
        one.cook(batches(4))
        cable = Cable(cluster.port, most)
        try:
            one.settle(cable.port)
            with pytest.raises(SyncError, match="goes on alone"):
                one.look()
        finally:
            cable.close()
        assert on_server(cluster, one) in ([], in_journal(one))
        one.settle(cluster.port)
        one.look()
        assert on_server(cluster, one) == in_journal(one)


def test_a_commit_whose_answer_was_lost_is_not_sent_again(cluster: Cluster, kitchen: Open) -> None:
    """All bytes went out, and the line was cut before the answer came: the next look finds it there."""
    one = kitchen("one")
    one.cook(batches(2))
    one.look()
    with one.link() as link:
        row = link.execute("SELECT station, decision, chain FROM crumbcall.stations").fetchone()
    assert row is not None
    assert row[1] == 14
    one.home.group_file.unlink()  # what the station remembered of it is gone too
    assert one.look().sent == 0
    assert on_server(cluster, one) == in_journal(one)


def test_a_server_that_restarts_is_found_again(cluster: Cluster, kitchen: Open) -> None:
    one = kitchen("one")
    one.cook(batches(1))
    one.look()
    cluster.stop()
    try:
        one.cook(batches(2)[7:])
        with pytest.raises(SyncError, match="nothing answers there"):
            one.look()
    finally:
        cluster.start()
    assert one.look().sent == 7
    assert on_server(cluster, one) == in_journal(one)


def test_a_line_that_dies_while_decisions_are_sent(cluster: Cluster, kitchen: Open) -> None:
    """The server ends the connection in mid-transaction: the piece is whole or not there."""
    one = kitchen("one")
    one.look()
    one.cook(batches(2))
    cluster.run(
        """CREATE FUNCTION hang_up() RETURNS trigger LANGUAGE plpgsql AS
        $$ BEGIN PERFORM pg_terminate_backend(pg_backend_pid()); RETURN NULL; END $$""",
        "CREATE TRIGGER z AFTER INSERT ON crumbcall.decisions FOR EACH STATEMENT EXECUTE FUNCTION hang_up()",
        database=one.database,
    )
    with pytest.raises(SyncError):
        one.look()
    assert on_server(cluster, one) == []
    cluster.run("DROP TRIGGER z ON crumbcall.decisions", database=one.database)
    one.look()
    assert on_server(cluster, one) == in_journal(one)
