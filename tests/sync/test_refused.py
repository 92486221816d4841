"""What the server does not take, whoever asks: gaps, other chains, changes, another's name."""

import math
import sqlite3
from contextlib import closing
from dataclasses import replace
from typing import Any

import psycopg
import pytest

from assistant.errors import SyncError
from assistant.journal.chain import chained
from assistant.journal.decision_rows import Decided, DecisionReader
from assistant.journal.schema import ONLY_GROW
from assistant.sync.link import Server
from assistant.sync.member import Member
from assistant.sync.rounds import look
from assistant.sync.sending import head_of, insert, values_of
from assistant.sync.server.prepare import release
from tests.sync.cluster import OWNER, Cluster
from tests.sync.conftest import Open
from tests.sync.kitchens import Kitchen, batches
from tests.sync.test_sending import in_journal, on_server


def nth(kitchen: Kitchen, number: int) -> Decided:
    """A decision of its journal."""
    with DecisionReader.open(kitchen.home.journal_file) as journal:
        return journal.decisions(number - 1, 1)[0]


def put(kitchen: Kitchen, one: Decided, name: str = "", *, plainly: bool = False) -> None:
    """Insert a decision by hand, as the station's account and installation."""
    statement = insert(1)
    if plainly:
        statement = statement.replace(b"ON CONFLICT DO NOTHING", b"")
    with kitchen.link() as by_hand:
        me = Member(name or kitchen.name, kitchen.group.me.installation)
        station = head_of(by_hand, kitchen.group.server, me).station
        by_hand.execute("SELECT set_config('crumbcall.installation', %s, true)", (me.installation,))
        by_hand.execute(statement, values_of(station, one))


def code_of(error: pytest.ExceptionInfo[Any]) -> str | None:
    found: str | None = error.value.sqlstate
    return found


def test_a_decision_out_of_its_order(cluster: Cluster, kitchen: Open) -> None:
    one = kitchen("one")
    one.look()
    one.cook(batches(1))
    for number in (2, 3, 7):
        with pytest.raises(psycopg.Error) as caught:
            put(one, nth(one, number))
        assert code_of(caught) == "CR002"
    put(one, nth(one, 1))
    with pytest.raises(psycopg.Error) as caught:
        put(one, nth(one, 3))
    assert code_of(caught) == "CR002"
    one.look()
    assert on_server(cluster, one) == in_journal(one)


def test_a_decision_that_comes_twice_is_there_once(cluster: Cluster, kitchen: Open) -> None:
    one = kitchen("one")
    one.cook(batches(1))
    one.look()
    for number in range(1, 8):
        put(one, nth(one, number))
    with pytest.raises(psycopg.errors.UniqueViolation):
        put(one, nth(one, 7), plainly=True)
    assert on_server(cluster, one) == in_journal(one)


def test_a_decision_that_was_changed_on_the_way(kitchen: Open) -> None:
    one = kitchen("one")
    one.look()
    one.cook(batches(1))
    first, second = nth(one, 1), nth(one, 2)
    event = first.events[0]
    for changed in (
        replace(
            first, events=(event._replace(body=str(event.body).replace("2000", "3000")), *first.events[1:])
        ),
        replace(first, events=(event._replace(batch=2), *first.events[1:])),
        replace(first, events=(*first.events, event)),
        replace(first, row=first.row._replace(wall=math.nextafter(first.row.wall, 0))),
        replace(first, row=first.row._replace(wall_trusted=1 - first.row.wall_trusted)),
        replace(first, row=first.row._replace(boot="another")),
        replace(first, row=first.row._replace(station="another")),
        replace(first, chain=second.chain),
    ):
        with pytest.raises(psycopg.Error) as caught:
            put(one, changed)
        assert code_of(caught) == "CR003", changed
    put(one, first)
    # A chain that is right in itself and does not begin at the one before.
    with pytest.raises(psycopg.Error) as caught:
        put(one, replace(second, chain=chained("", second.row, second.events)))
    assert code_of(caught) == "CR003"


FORBIDDEN = (
    "UPDATE crumbcall.decisions SET wall = 0",
    "DELETE FROM crumbcall.decisions",
    "TRUNCATE crumbcall.decisions",
    "DELETE FROM crumbcall.decisions_00",
    "UPDATE crumbcall.stations SET decision = 0, chain = ''",
    "UPDATE crumbcall.stations SET installation = NULL",
    "ALTER TABLE crumbcall.decisions DISABLE TRIGGER ALL",
    "INSERT INTO crumbcall.stations (name) VALUES ('other')",
    "INSERT INTO crumbcall.decisions_00 (station, decision) VALUES (1, 1)",
    "INSERT INTO crumbcall.claims (name, installation, account) VALUES ('one', '', 'postgres')",
    "SELECT crumbcall.release('one')",
    "DROP SCHEMA crumbcall CASCADE",
    "CREATE TABLE crumbcall.mine (n int)",
)


def test_an_account_of_a_station_may_only_insert_and_read(kitchen: Open) -> None:
    one = kitchen("one")
    one.cook(batches(1))
    one.look()
    for statement in FORBIDDEN:
        with one.link() as link, pytest.raises(psycopg.errors.InsufficientPrivilege):
            link.execute(statement.encode())


def test_not_even_the_owner_removes_what_was_recorded(cluster: Cluster, database: str) -> None:
    for table in ("decisions", "flour", "documents"):
        for statement in (f"DELETE FROM crumbcall.{table}", f"TRUNCATE crumbcall.{table}"):
            with pytest.raises(psycopg.Error) as caught:
                cluster.run(statement, database=database)
            assert code_of(caught) == "CR004"


def test_nobody_writes_under_the_name_of_another(cluster: Cluster, kitchen: Open) -> None:
    """The account is the same, as in a kitchen that has one for all: the installation tells them apart."""
    one, two = kitchen("one"), kitchen("two")
    one.cook(batches(1))
    two.look()
    one.look()
    two.cook(batches(2))
    with pytest.raises(psycopg.Error) as caught:
        put(two, nth(two, 8), "one")
    assert code_of(caught) == "CR001"
    assert on_server(cluster, one) == in_journal(one)


def test_two_stations_with_one_name_are_told_so(cluster: Cluster, kitchen: Open) -> None:
    first, second = kitchen("one"), kitchen("one", folder="copy")
    first.cook(batches(1))
    second.cook(batches(2))
    first.look()
    with pytest.raises(SyncError) as caught:
        second.look()
    line = str(caught.value)
    assert "Another installation sends as 'one'" in line
    assert "[station] id" in line
    assert "crumbcall sync release 'one'" in line
    assert "\n" not in line
    first.cook(batches(2)[7:])
    assert first.look().sent == 7
    assert on_server(cluster, first) == in_journal(first)


def test_a_name_that_was_freed_is_the_next_ones(cluster: Cluster, kitchen: Open) -> None:
    first, second = kitchen("one"), kitchen("one", folder="new machine")
    first.look()
    release(Server("127.0.0.1", cluster.port, first.database, OWNER), "one")
    assert second.look().last == 0
    with pytest.raises(SyncError, match="Another installation"):
        first.look()
    with pytest.raises(SyncError, match="has no station 'three'"):
        release(Server("127.0.0.1", cluster.port, first.database, OWNER), "three")


def test_another_journal_under_the_same_name(cluster: Cluster, kitchen: Open) -> None:
    one = kitchen("one")
    one.cook(batches(2))
    one.look()
    sent = in_journal(one)
    for file in one.home.data.glob("*journal*"):
        file.unlink()
    one.cook(batches(1))
    with pytest.raises(SyncError, match="has 14 decisions of 'one', and this journal only 7") as caught:
        one.look()
    assert "crumbcall sync restore" in str(caught.value)
    one.clock.move(5.0)
    one.cook(batches(4)[7:])
    with pytest.raises(SyncError, match="their first 14 decisions differ"):
        one.look()
    assert on_server(cluster, one) == sent


def test_a_clock_that_goes_back_changes_no_order(cluster: Cluster, kitchen: Open) -> None:
    one = kitchen("one")
    one.cook(batches(1))
    one.clock.set_wall(one.clock.wall() - 86_400.0 * 400)
    one.cook(batches(2)[7:])
    look(one.group)
    assert on_server(cluster, one) == in_journal(one)


def test_a_decision_that_was_damaged_here_is_not_taken(cluster: Cluster, kitchen: Open) -> None:
    one = kitchen("one")
    one.look()
    one.cook(batches(1)[:6])
    with closing(sqlite3.connect(one.home.journal_file)) as db:
        db.execute("DROP TRIGGER events_no_UPDATE")
        db.execute("UPDATE events SET body = replace(body, '2000', '3000') WHERE sequence = 1")
        db.execute(ONLY_GROW["events", "UPDATE"])
        db.commit()
    with pytest.raises(SyncError, match="decision 1 is not what its chain says: the journal here is damaged"):
        one.look()
    assert on_server(cluster, one) == []
