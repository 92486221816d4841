"""What a station recorded is on the server: all of it, once, in order, whatever came in between."""

import pytest

from assistant.journal.decision_rows import DecisionReader, link_after, row_of
from tests.sync.cluster import Cluster
from tests.sync.conftest import Open
from tests.sync.kitchens import Kitchen, batches


def on_server(cluster: Cluster, kitchen: Kitchen) -> list[str]:
    """The records of a station, in the order of their numbers; each number once, each link right."""
    rows = cluster.run(
        f"""SELECT d.decision, d.record, d.chain FROM crumbcall.decisions d JOIN crumbcall.stations s
        USING (station) WHERE s.name = '{kitchen.name}' ORDER BY d.decision""",
        database=kitchen.database,
    )
    assert [row[0] for row in rows] == list(range(1, len(rows) + 1))
    link = b""
    for _, record, chain in rows:
        assert isinstance(record, str)
        assert isinstance(chain, bytes)
        link = link_after(link, record)
        assert link == chain
    return [str(row[1]) for row in rows]


def in_journal(kitchen: Kitchen) -> list[str]:
    with DecisionReader.open(kitchen.home.journal_file) as journal:
        return [row.text for row in journal.decisions(0, 1_000_000)]


def test_every_decision_arrives_as_it_was_written(cluster: Cluster, kitchen: Open) -> None:
    one = kitchen("one")
    one.cook(batches(3))
    done = one.look()
    assert (done.sent, done.last) == (21, 21)
    assert on_server(cluster, one) == in_journal(one)
    names = [event.name for text in on_server(cluster, one) for event in row_of(text).events]
    assert names.count("BatchOpened") == 3


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
