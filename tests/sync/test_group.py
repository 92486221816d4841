"""What one station learned of a lot is known at the others, with and without the network."""

import json
from pathlib import Path

import pytest

from assistant.app.group.membership import lots_of
from assistant.batch.record import events as ev
from assistant.config.settings import Settings
from assistant.journal.reader import JournalReader
from assistant.journal.shapes import encoder
from assistant.journal.summaries import LotBatch
from assistant.station.forecasts import FlourBook, records
from assistant.sync.group_file import FlourRow, GroupFile
from assistant.sync.group_lots import GroupLots
from tests.sync.cluster import Cluster
from tests.sync.conftest import Open
from tests.sync.kitchens import Kitchen, batches


def known(kitchen: Kitchen, lot: str = "471") -> list[tuple[str | None, int]]:
    """Station and number of the batches of a lot, as a kitchen knows them."""
    with JournalReader.open(kitchen.home.journal_file) as journal:
        lots = lots_of(kitchen.home, Settings.load(kitchen.home.settings_file), journal)
        return [(one.station, one.number) for one in lots.lot_batches(also=lot) if one.lot == lot]


def test_a_lot_of_another_kitchen_is_known_here(cluster: Cluster, kitchen: Open) -> None:
    one, two = kitchen("one"), kitchen("two")
    one.cook(batches(6, ready_pct=32.0))
    two.cook(batches(1, lot="8"))
    one.look()
    assert two.look().came == 6
    assert known(two) == [("one", number) for number in range(1, 7)]
    with JournalReader.open(two.home.journal_file) as journal:
        lots = lots_of(two.home, Settings.load(two.home.settings_file), journal)
        there = FlourBook(lots, {}, two.clock.wall, 31.0).forecast("471")
        alone = FlourBook(journal, {}, two.clock.wall, 31.0).forecast("471")
    assert (there.known, there.batches, alone.known) == (True, 6, False)
    assert there.likely_pct > alone.likely_pct
    cluster.stop()
    try:
        assert len(known(two)) == 6
    finally:
        cluster.start()


def test_a_batch_that_was_opened_again_is_evidence_no_more(kitchen: Open) -> None:
    one, two = kitchen("one"), kitchen("two")
    made = batches(2)
    one.cook(made)
    two.cook(batches(1, lot="8"))
    one.look()
    two.look()
    assert known(two) == [("one", 1), ("one", 2)]
    one.cook([[ev.Withdrawn(at=2000.0, what="BatchClosed", grams=None)]])
    one.look()
    two.look()
    assert known(two) == [("one", 1)]


def test_a_station_never_gets_its_own_back(kitchen: Open) -> None:
    one = kitchen("one")
    one.cook(batches(2))
    one.look()
    assert one.look().came == 0
    assert known(one) == [(None, 1), (None, 2)]


class Own:
    """A journal that knows these batches."""

    def __init__(self, *found: LotBatch) -> None:
        self.found = found

    def lot_batches(self, lots: int = 12, batches: int = 40, also: str | None = None) -> list[LotBatch]:  # noqa: ARG002
        return list(self.found)


def made(number: int, ended: float, lot: str = "471") -> LotBatch:
    return LotBatch(number, lot, None, ended, 31.0, (("dry", 30.0), ("ready", 31.0)))


def copy_of(folder: Path, *batches: LotBatch) -> Path:
    """A copy of what station two knows."""
    rows = []
    for one in batches:
        body = encoder(LotBatch)(one)
        del body["station"]
        rows.append(FlourRow("two", one.number, one.number, json.dumps(body)))
    with GroupFile(folder / "group.sqlite") as copy:
        copy.take(rows, {"two": len(rows)})
    return folder / "group.sqlite"


def test_batches_of_several_clocks_stay_in_the_order_of_each(tmp_path: Path) -> None:
    """The clock of the other kitchen went back by a year between its first and its second batch."""
    lots = GroupLots(
        Own(made(1, 400.0), made(2, 700.0)), copy_of(tmp_path, made(1, 500.0), made(2, 10.0), made(3, 900.0))
    )
    found = [(one.station, one.number) for one in lots.lot_batches()]
    assert found == [(None, 1), ("two", 1), ("two", 2), (None, 2), ("two", 3)]
    (record,) = records(lots.lot_batches(), {})
    assert (record.newest, [seen.name for seen in record.seen]) == (3, ["1", "two 1", "two 2", "2", "two 3"])
    assert len(lots.lot_batches(batches=2)) == 2


def test_the_lot_last_used_here_comes_first(tmp_path: Path) -> None:
    lots = GroupLots(Own(made(1, 400.0, "7")), copy_of(tmp_path, made(1, 900.0, "9"), made(2, 800.0, "8")))
    assert [one.lot for one in lots.lot_batches(2)] == ["7", "9"]
    assert [one.lot for one in lots.lot_batches(2, also="8")] == ["7", "9", "8"]


def test_a_copy_that_is_damaged_is_fetched_anew(kitchen: Open) -> None:
    one, two = kitchen("one"), kitchen("two")
    one.cook(batches(3))
    two.cook(batches(1, lot="8"))
    one.look()
    two.look()
    two.home.group_file.write_bytes(b"no database at all" * 100)
    assert known(two) == []
    assert two.look().came == 3
    assert known(two) == [("one", 1), ("one", 2), ("one", 3)]


def test_what_a_newer_program_says_of_a_batch_is_left_out(kitchen: Open) -> None:
    one = kitchen("one")
    with GroupFile(one.home.group_file) as copy:
        copy.take([FlourRow("two", 5, 1, '{"number": 1, "lot": "471", "strange": true}')], {"two": 5})
        assert copy.cursors() == {"two": 5}
    assert GroupLots(Own(), one.home.group_file).lot_batches() == []


def test_only_the_newest_are_kept(kitchen: Open, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("assistant.sync.group_file.MOST_BATCHES", 2)
    monkeypatch.setattr("assistant.sync.fetching.MOST_BATCHES", 2)
    one, two = kitchen("one"), kitchen("two")
    one.cook(batches(4))
    two.cook(batches(1, lot="8"))
    one.look()
    two.look()
    assert known(two) == [("one", 3), ("one", 4)]
    one.cook(batches(5)[28:])
    one.look()
    two.look()
    assert known(two) == [("one", 4), ("one", 5)]
