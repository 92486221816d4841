"""Damage: what the chain does not vouch for is mended or set aside, never guessed."""

import json
import os
import sqlite3
import stat
from collections.abc import Callable
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import pytest

from assistant.batch.record import events as ev
from assistant.batch.record.evolving.evolve import replay
from assistant.clock import ScriptedClock
from assistant.errors import JournalError
from assistant.journal.chain import FIRST, DecisionRow, EventRow, chained
from assistant.journal.guard import resuming
from assistant.journal.reader import JournalReader
from assistant.journal.store import SqliteJournal
from assistant.ports import Stamp
from tests.journal.day import DAY, raw, spoiled, written

Story = list[tuple[Stamp, ev.Event]]


def story(path: Path) -> Story:
    with JournalReader.open(path) as reader:
        return list(reader.read())


def decision_of(sequence: int) -> tuple[int, range]:
    """Number of the decision of an entry of the day, and all its entries."""
    end = 0
    for number, events in enumerate(DAY, 1):
        begin, end = end + 1, end + len(events)
        if sequence <= end:
            return number, range(begin, end + 1)
    raise AssertionError(sequence)


# ---- files that are broken


def damaged_at_a_page(path: Path) -> None:
    with path.open("rb+") as file:
        file.seek(3 * 4096)
        file.write(b"\xa5" * 4096)


def no_database(path: Path) -> None:
    path.write_bytes(b"flour " * 2000)


def cut_short(path: Path) -> None:
    os.truncate(path, path.stat().st_size // 2)


def without_its_beginning(path: Path) -> None:
    with path.open("rb+") as file:
        file.write(b"\0" * 100)


@pytest.mark.parametrize("harm", [damaged_at_a_page, no_database, cut_short, without_its_beginning])
def test_a_broken_file_is_moved_aside_and_what_is_true_goes_on(
    path: Path, clock: ScriptedClock, harm: Callable[[Path], None]
) -> None:
    written(path, clock)
    before = story(path)
    harm(path)
    broken = path.read_bytes()
    with closing(SqliteJournal.open(path, clock)) as journal:
        aside = journal.moved_aside
        # A scripted clock begins at 2026-01-12 07:00 UTC; seven seconds went by.
        assert aside == path.with_name("journal.damaged-20260112T070007Z.sqlite")
        assert aside is not None
        assert aside.read_bytes() == broken
        kept = list(journal.read())
        assert [one for one in before if one in kept] == kept
        assert journal.load()[0] == replay(event for _, event in kept)
        lost = {stamp.sequence for stamp, _ in before} - {stamp.sequence for stamp, _ in kept}
        told = {at for one in journal.set_aside for at in range(one.sequence, one.last_sequence + 1)}
        assert lost <= told
        (stamp,) = journal.append([ev.LotNamed(at=500.0, lot="8")])
        assert stamp.sequence == len(before) + 1
    with closing(SqliteJournal.open(path, clock)) as journal:
        assert (journal.moved_aside, journal.set_aside) == (None, [])
        assert len(list(journal.read())) == len(kept) + 1


def test_all_decisions_are_read_out_of_a_file_that_lost_its_beginning(
    path: Path, clock: ScriptedClock
) -> None:
    written(path, clock)
    before = story(path)
    without_its_beginning(path)
    with closing(SqliteJournal.open(path, clock)) as journal:
        assert (journal.carried_over, journal.set_aside) == (len(DAY), [])
    assert story(path) == before


def test_decisions_on_both_sides_of_a_lost_page_are_saved(path: Path, clock: ScriptedClock) -> None:
    with closing(SqliteJournal.open(path, clock)) as journal:
        for number in range(1000):
            journal.append([ev.LotNamed(at=float(number), lot=f"{number}")])
    with closing(sqlite3.connect(path)) as db:
        (page,) = db.execute("SELECT rootpage FROM sqlite_schema WHERE name = 'events'").fetchone()
    before = story(path)
    content = path.read_bytes()
    middle = content.index(b'"lot":"500"') // 4096
    with path.open("rb+") as file:
        for lost in (page - 1, middle):  # the root of the events, and one of their pages
            file.seek(lost * 4096)
            file.write(b"\xff" * 4096)
    with closing(SqliteJournal.open(path, clock)) as journal:
        (gap,) = journal.set_aside
        kept = list(journal.read())
        assert 900 < len(kept) == journal.carried_over < 1000
        assert kept == [one for one in before if not gap.sequence <= one[0].sequence <= gap.last_sequence]
        assert gap.sequence <= 501 <= gap.last_sequence
    assert story(path) == kept


def test_a_second_damage_within_the_same_second_overwrites_nothing(path: Path, clock: ScriptedClock) -> None:
    names = []
    for _ in range(2):
        no_database(path)
        with closing(SqliteJournal.open(path, clock)) as journal:
            assert journal.moved_aside is not None
            names.append(journal.moved_aside.name)
    assert names == ["journal.damaged-20260112T070000Z.sqlite", "journal.damaged-20260112T070000Z-2.sqlite"]


def test_a_start_that_ended_between_saving_and_moving_finds_what_was_saved(
    path: Path, clock: ScriptedClock
) -> None:
    events = written(path, clock)
    path.rename(path.with_name(path.name + ".saved"))
    with closing(SqliteJournal.open(path, clock)) as journal:
        assert [event for _, event in journal.read()] == events


# ---- a decision that is not what was written


def test_other_grams_are_never_read(path: Path, clock: ScriptedClock) -> None:
    written(path, clock)
    before = story(path)
    spoiled(path, "UPDATE events SET body = replace(body, '1', '4') WHERE sequence = 4")
    number, entries = decision_of(4)
    with JournalReader.open(path) as reader, pytest.raises(JournalError) as caught:
        list(reader.read())
    assert "not what was written; crumbcall ledger repair sets that aside" in str(caught.value)
    raw(path, "DELETE FROM snapshots")
    with closing(SqliteJournal.open(path, clock)) as journal:
        (one, *_) = journal.set_aside
        assert (one.decision, one.last_decision) == (number, number)
        assert (one.sequence, one.last_sequence) == (entries[0], entries[-1])
        said = [row[10] for row in json.loads(one.found)]
        assert any("4" in body for body in said)
        kept = list(journal.read())
    assert all(one in before for one in kept)
    assert not {stamp.sequence for stamp, _ in kept} & set(entries)
    with closing(SqliteJournal.open(path, clock)) as journal:
        assert journal.set_aside == [], "it is told once"
        assert list(journal.read()) == kept


@pytest.mark.parametrize(
    "flip",
    [
        "UPDATE events SET body = 'z' || substr(body, 2) WHERE sequence = 4",
        "UPDATE events SET batch = 5 WHERE sequence = 4",
        "UPDATE events SET name = 'CatchOpened' WHERE name = 'BatchOpened'",
        "UPDATE decisions SET wall = wall + 4 WHERE decision = 3",
        "UPDATE decisions SET wall_trusted = 1 - wall_trusted WHERE decision = 2",
        "UPDATE decisions SET station = 'jitchen' WHERE decision = 2",
        "UPDATE decisions SET chain = 'x' || substr(chain, 2) WHERE decision = 2",
    ],
)
def test_a_flipped_bit_is_turned_back_where_the_chain_proves_it(
    path: Path, clock: ScriptedClock, flip: str
) -> None:
    written(path, clock)
    before = story(path)
    spoiled(path, flip, "DELETE FROM snapshots")
    with closing(SqliteJournal.open(path, clock)) as journal:
        assert journal.mended == 1
        assert journal.set_aside == []
    assert story(path) == before
    with closing(SqliteJournal.open(path, clock)) as journal:
        assert journal.mended == 0
        with pytest.raises(sqlite3.IntegrityError, match="append-only"):
            journal._db.execute("UPDATE decisions SET wall = 0")


def test_of_a_long_journal_a_snapshot_speaks_for_what_was_damaged_before_it(
    path: Path, clock: ScriptedClock, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(resuming, "AT_START", 0)
    events = written(path, clock)
    spoiled(path, "UPDATE events SET body = replace(body, '1', '4') WHERE sequence = 1")
    with closing(SqliteJournal.open(path, clock)) as journal:
        assert journal.load()[0] == replay(events)
        with pytest.raises(JournalError, match="not what was written"):
            list(journal.read())
        journal.repair()
        assert next(one.sequence for one in journal.set_aside) == 1
        assert all(event in events for _, event in journal.read())


def rechained(path: Path) -> None:
    """Give every decision the chain of what it holds now, as another program would have written it."""
    with closing(sqlite3.connect(path)) as db:
        chain, chains = FIRST, list[tuple[int, str]]()
        for row in db.execute("SELECT * FROM decisions ORDER BY decision").fetchall():
            query = "SELECT sequence, batch, name, body FROM events WHERE decision = ? ORDER BY sequence"
            rows = [EventRow(*event) for event in db.execute(query, row[:1])]
            chain = chained(chain, DecisionRow(*row[:6]), rows)
            chains.append((row[0], chain))
    spoiled(path, *(f"UPDATE decisions SET chain = '{made}' WHERE decision = {at}" for at, made in chains))


def test_one_unknown_name_refuses_no_start_and_is_read_by_who_knows_it(
    path: Path, clock: ScriptedClock
) -> None:
    written(path, clock)
    before = story(path)
    (name,) = sqlite3.connect(path).execute("SELECT name FROM events WHERE sequence = 1").fetchone()
    spoiled(path, "UPDATE events SET name = 'DoughSung' WHERE sequence = 1", "DELETE FROM snapshots")
    rechained(path)
    path.with_name(path.name + ".end").unlink()
    with closing(SqliteJournal.open(path, clock)) as journal:
        one = journal.set_aside[0]
        assert one.why.startswith("entry 1 is a 'DoughSung', which is not known here")
        assert one.verified
        assert "DoughSung" in one.found
        journal.append([ev.LotNamed(at=900.0, lot="9")])
    spoiled(path, f"UPDATE events SET name = '{name}' WHERE sequence = 1", "DELETE FROM snapshots")
    rechained(path)
    path.with_name(path.name + ".end").unlink()
    with closing(SqliteJournal.open(path, clock)) as journal:
        assert [event for _, event in journal.read()][:-1] == [event for _, event in before]


def test_a_batch_whose_end_is_lost_counts_as_dropped_and_the_next_is_whole(
    path: Path, clock: ScriptedClock
) -> None:
    closing_at = next(at for at, events in enumerate(DAY, 1) if isinstance(events[0], ev.BatchClosed))
    with closing(SqliteJournal.open(path, clock)) as journal:
        for events in DAY:
            journal.append(events)
        for events in DAY:
            for event in events:
                if isinstance(event, ev.BatchOpened):
                    journal.append([replace(event, batch=2, at=900.0)])
    spoiled(path, f"UPDATE events SET body = '{{}}' WHERE decision = {closing_at}", "DELETE FROM snapshots")
    with closing(SqliteJournal.open(path, clock)) as journal:
        assert [one.decision for one in journal.set_aside] == [closing_at]
        assert [(line.number, line.outcome) for line in journal.batches()] == [(1, "dropped"), (2, "open")]


# ---- an end that is lost


def running(path: Path, clock: ScriptedClock, folder: Path) -> Path:
    """A journal as a power cut leaves it, with its log."""
    with closing(SqliteJournal.open(path, clock)) as journal:
        for number in range(5):
            clock.move(1.0)
            journal.append([ev.LotNamed(at=float(number), lot=f"{number}")])
        folder.mkdir()
        for tail in ("", "-wal", ".end"):
            (folder / (path.name + tail)).write_bytes(path.with_name(path.name + tail).read_bytes())
    return folder / path.name


def test_a_cut_log_is_told_and_nothing_takes_the_numbers_of_what_was_lost(
    path: Path, tmp_path: Path, clock: ScriptedClock
) -> None:
    copy = running(path, clock, tmp_path / "copy")
    log = copy.with_name(copy.name + "-wal")
    os.truncate(log, log.stat().st_size - 4096 - 24)
    with closing(SqliteJournal.open(copy, clock)) as journal:
        (one,) = journal.set_aside
        assert (one.decision, one.last_decision, one.found) == (5, 5, "")
        assert one.why.startswith("it is missing: the journal ended before it")
        (stamp,) = journal.append([ev.LotNamed(at=9.0, lot="9")])
        assert stamp.sequence == 6
    with closing(SqliteJournal.open(copy, clock)) as journal:
        assert journal.set_aside == []
        assert [stamp.sequence for stamp, _ in journal.read()] == [1, 2, 3, 4, 6]


@pytest.mark.parametrize("tail", ["header", "frame"])
def test_what_lies_behind_a_damaged_place_of_the_log_is_read_all_the_same(
    path: Path, tmp_path: Path, clock: ScriptedClock, tail: str
) -> None:
    copy = running(path, clock, tmp_path / "copy")
    before = story(path)
    log = copy.with_name(copy.name + "-wal")
    content = bytearray(log.read_bytes())
    content[10 if tail == "header" else -5000] ^= 1
    log.write_bytes(content)
    with pytest.raises(JournalError, match=r"missing at its end|older version"):
        JournalReader.open(copy)
    log.write_bytes(content)
    with closing(SqliteJournal.open(copy, clock)) as journal:
        assert journal.mended > 0
        assert journal.set_aside == []
        assert list(journal.read()) == before


# ---- what is derived


@pytest.mark.parametrize(
    "spoil",
    [
        "UPDATE batches SET water_g = water_g + 1",
        "UPDATE batches SET lot = '13'",
        "DELETE FROM batches",
        "UPDATE snapshots SET state = replace(state, '1500', '1400')",
        "UPDATE snapshots SET sequence = sequence - 1",
        "UPDATE snapshots SET chain = 'a' || substr(chain, 2)",
    ],
)
def test_what_is_derived_is_made_anew_where_it_is_not_what_was_written(
    path: Path, clock: ScriptedClock, spoil: str
) -> None:
    events = written(path, clock)
    with JournalReader.open(path) as reader:
        lines, lots = reader.batches(), reader.lot_batches()
    raw(path, spoil)
    with JournalReader.open(path) as reader:
        assert (reader.load()[0], reader.batches(), reader.lot_batches()) == (replay(events), lines, lots)
    with closing(SqliteJournal.open(path, clock)) as journal:
        assert (journal.load()[0], journal.batches(), journal.lot_batches()) == (replay(events), lines, lots)
    with closing(sqlite3.connect(path)) as db:
        assert db.execute("SELECT count(*) FROM batches").fetchone() == (len(lines),)


@pytest.mark.parametrize("mark", ["user_version = 0", "user_version = 5", "application_id = 7"])
def test_a_mark_of_the_file_that_its_tables_contradict_is_turned_back(
    path: Path, clock: ScriptedClock, mark: str
) -> None:
    events = written(path, clock)
    raw(path, f"PRAGMA {mark}")
    with closing(SqliteJournal.open(path, clock)) as journal:
        assert [event for _, event in journal.read()] == events


# ---- a file that is gone, moved or another


def unlinked(path: Path) -> None:
    path.unlink()


def renamed(path: Path) -> None:
    path.rename(path.with_name("elsewhere.sqlite"))


def replaced(path: Path) -> None:
    path.rename(path.with_name("elsewhere.sqlite"))
    with closing(sqlite3.connect(path)) as db:
        db.execute("CREATE TABLE guests (name TEXT)")


def removed_with_its_log(path: Path) -> None:
    for one in path.parent.glob("journal.sqlite*"):
        one.unlink()


@pytest.mark.parametrize("harm", [unlinked, renamed, replaced, removed_with_its_log])
def test_a_file_that_is_gone_under_the_station_is_there_again_before_the_next_answer(
    path: Path, clock: ScriptedClock, harm: Callable[[Path], None]
) -> None:
    with closing(SqliteJournal.open(path, clock)) as journal:
        for events in DAY:
            journal.append(events)
        harm(path)
        journal.append([ev.LotNamed(at=900.0, lot="9")])
        assert len(journal.replaced) == 1
        expected = [*(event for events in DAY for event in events), ev.LotNamed(at=900.0, lot="9")]
        assert [event for _, event in story(path)] == expected
        journal.append([ev.LotNamed(at=901.0, lot="10")])
        assert len(journal.replaced) == 1
    assert len(story(path)) == len(expected) + 1
    with closing(SqliteJournal.open(path, clock)) as journal:
        assert (journal.moved_aside, journal.set_aside) == (None, [])


def test_a_file_that_is_cut_under_the_station_is_told(path: Path, clock: ScriptedClock) -> None:
    written(path, clock)
    with closing(SqliteJournal.open(path, clock)) as journal:
        os.truncate(path, 4096)
        with pytest.raises(JournalError):
            journal.append([ev.LotNamed(at=900.0, lot="9")])


def test_only_the_stations_user_may_read_the_files(path: Path, clock: ScriptedClock) -> None:
    path.touch(0o644)
    with closing(SqliteJournal.open(path, clock)) as journal:
        journal.append(DAY[0])
        modes = {one.name: stat.S_IMODE(one.stat().st_mode) for one in path.parent.iterdir()}
    names = ("", "-wal", "-shm", ".lock", ".end")
    assert modes == dict.fromkeys((path.name + tail for tail in names), 0o600)


def test_pours_after_one_that_is_lost_stay_in_the_account(path: Path, clock: ScriptedClock) -> None:
    with closing(SqliteJournal.open(path, clock)) as journal:
        journal.append(DAY[0])
        for entry in (2, 3, 4):
            journal.append(
                [ev.WaterAdded(at=100.0 + entry, entry=entry, grams=100.0 + entry, source="voice")]
            )
    spoiled(path, "UPDATE events SET body = replace(body, '102.0', '717.0') WHERE body LIKE '%\"entry\":2,%'")
    with closing(SqliteJournal.open(path, clock)) as journal:
        assert len(journal.set_aside) == 1
        batch = journal.load()[0].batch
        assert batch is not None
        assert batch.water_g == 207.0
