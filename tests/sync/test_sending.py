"""What a station recorded is on the server: all of it, once, in order, whatever came in between."""

import pytest

from assistant.journal.decision_rows import Decided, DecisionReader
from assistant.sync.restoring import verified
from assistant.sync.sending import head_of
from tests.sync.cluster import Cluster
from tests.sync.conftest import Open
from tests.sync.kitchens import Kitchen, batches


def on_server(cluster: Cluster, kitchen: Kitchen) -> list[Decided]:
    """The decisions of a station, in the order of their numbers; each number once, each chain right."""
    with kitchen.link(cluster.port) as link:
        head = head_of(link, kitchen.group.server, kitchen.group.me)
        found = [one for some in verified(link, kitchen.group.server, head) for one in some]
    rows = cluster.run("SELECT count(*) FROM crumbcall.decisions", database=kitchen.database)
    assert rows[0][0] >= len(found) == head.decision  # type: ignore[operator]
    return found


def in_journal(kitchen: Kitchen) -> list[Decided]:
    with DecisionReader.open(kitchen.home.journal_file) as journal:
        return journal.decisions(0, 1_000_000)


def test_every_decision_arrives_as_it_was_written(cluster: Cluster, kitchen: Open) -> None:
    one = kitchen("one")
    one.cook(batches(3))
    done = one.look()
    assert (done.sent, done.last) == (21, 21)
    assert on_server(cluster, one) == in_journal(one)
    opened = "SELECT count(*), min(batch), max(batch) FROM crumbcall.events WHERE name = 'BatchOpened'"
    assert cluster.run(opened, database=one.database) == [(3, 1, 3)]


def test_the_next_look_sends_only_what_is_new(cluster: Cluster, kitchen: Open) -> None:
    one = kitchen("one")
    one.cook(batches(1))
    assert one.look().sent == 7
    assert one.look().sent == 0
    one.cook(batches(2)[7:])
    assert one.look().sent == 7
    assert on_server(cluster, one) == in_journal(one)


def test_a_station_without_a_journal_has_nothing_to_send(kitchen: Open) -> None:
    assert kitchen("one").look().last == 0


def test_weeks_alone_are_sent_in_pieces(
    cluster: Cluster, kitchen: Open, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("assistant.sync.sending.AT_ONCE", 10)
    one = kitchen("one")
    one.cook(batches(6))
    assert one.look().sent == 42
    assert on_server(cluster, one) == in_journal(one)


def test_a_journal_that_was_lost_goes_on_where_it_was(cluster: Cluster, kitchen: Open) -> None:
    """The file is gone, and what stands beside it knows how far it went: the server has the rest."""
    one = kitchen("one")
    one.cook(batches(2))
    one.look()
    before = in_journal(one)
    one.home.journal_file.unlink()
    one.cook(batches(1))
    assert one.look().sent == 7
    assert on_server(cluster, one) == before + in_journal(one)
