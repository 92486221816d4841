"""A replaced machine gets its journal back, byte for byte; what was changed on the server is found."""

import sqlite3
from contextlib import closing
from typing import Any

import pytest

from assistant.cli.sync.command import sync_command
from assistant.errors import SyncError
from assistant.sync.link import Server
from assistant.sync.server.prepare import release
from tests.sync.cluster import OWNER, Cluster
from tests.sync.conftest import Open
from tests.sync.kitchens import Kitchen, batches


def restore(kitchen: Kitchen) -> None:
    sync_command.main(["restore"], obj=kitchen.home, standalone_mode=False)


def rows(kitchen: Kitchen) -> list[list[tuple[Any, ...]]]:
    """All rows of the record, and of what follows from it."""
    with closing(sqlite3.connect(kitchen.home.journal_file)) as db:
        return [
            db.execute(f"SELECT * FROM {table} ORDER BY 1").fetchall()
            for table in ("decisions", "events", "batches")
        ]


def test_a_new_machine_has_the_same_journal(
    cluster: Cluster, kitchen: Open, capsys: pytest.CaptureFixture[str]
) -> None:
    old, new = kitchen("one"), kitchen("one", folder="new machine")
    old.cook(batches(3))
    old.look()
    with pytest.raises(SyncError, match="Another installation sends as 'one'"):
        restore(new)
    release(Server("127.0.0.1", cluster.port, old.database, OWNER), "one")
    restore(new)
    assert capsys.readouterr().out == (
        "21 decisions with 21 events and 3 batches are here again, each checked by its chain.\n"
    )
    assert rows(new) == rows(old)
    new.cook(batches(4)[21:])
    assert new.look().sent == 7


def test_a_journal_that_is_there_is_never_overwritten(kitchen: Open) -> None:
    one = kitchen("one")
    one.cook(batches(1))
    one.look()
    with pytest.raises(SyncError, match="there is a journal already, and it is not overwritten"):
        restore(one)


def test_there_is_nothing_to_restore_of_a_new_station(kitchen: Open) -> None:
    with pytest.raises(SyncError, match="no decisions of this station; there is nothing to restore"):
        restore(kitchen("one"))


@pytest.mark.parametrize(
    "spoiled",
    [
        "UPDATE crumbcall.decisions SET bodies[1] = replace(bodies[1], '2000', '3000') WHERE decision = 1",
        "DELETE FROM crumbcall.decisions WHERE decision = 4",
        "UPDATE crumbcall.stations SET decision = 6",
        "UPDATE crumbcall.stations SET decision = 8",
    ],
)
def test_what_was_changed_on_the_server_is_not_restored(
    cluster: Cluster, kitchen: Open, spoiled: str
) -> None:
    one = kitchen("one")
    one.cook(batches(1))
    one.look()
    for file in one.home.data.glob("*journal*"):
        file.unlink()
    cluster.run(
        f"SET session_replication_role = replica; {spoiled}", database=one.database
    )  # as an owner could who means it
    with pytest.raises(SyncError, match="nothing is restored"):
        restore(one)
    assert not list(one.home.data.glob("journal.sqlite*"))
