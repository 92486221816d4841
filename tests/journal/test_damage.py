"""A broken journal is moved aside whole, and what can be read of it goes on."""

import json
import os
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest

from assistant.batch.record import events as ev
from assistant.batch.record.evolving.evolve import replay
from assistant.clock import ScriptedClock
from assistant.journal.reader import JournalReader
from assistant.journal.store import SqliteJournal
from tests.journal.day import DAY, raw, refused, written


def damaged_at_a_page(path: Path) -> None:
    with path.open("rb+") as file:
        file.seek(3 * 4096)
        file.write(b"\xa5" * 4096)


def no_database(path: Path) -> None:
    path.write_bytes(b"flour " * 2000)


def cut_short(path: Path) -> None:
    os.truncate(path, path.stat().st_size // 2)


def body_unreadable(path: Path) -> None:
    raw(
        path,
        "DROP TRIGGER events_no_UPDATE",
        "UPDATE events SET body = '{\"at\": 1' WHERE sequence = 4",
        "DELETE FROM snapshots",
    )


@pytest.mark.parametrize("harm", [damaged_at_a_page, no_database, cut_short, body_unreadable])
def test_a_damaged_file_is_moved_aside_and_a_new_one_begun(
    path: Path, clock: ScriptedClock, harm: Callable[[Path], None]
) -> None:
    events = written(path, clock)
    harm(path)
    broken = path.read_bytes()
    with closing(SqliteJournal.open(path, clock)) as journal:
        aside = journal.moved_aside
        # A scripted clock begins at 2026-01-12 07:00 UTC; seven seconds went by.
        assert aside == path.with_name("journal.damaged-20260112T070007Z.sqlite")
        assert aside is not None
        assert aside.read_bytes() == broken
        kept = [event for _, event in journal.read()]
        assert kept == events[: len(kept)]
        assert journal.load()[0] == replay(kept)
        journal.append([ev.LotNamed(at=500.0, lot="8")])
    with closing(SqliteJournal.open(path, clock)) as journal:
        assert journal.moved_aside is None
        assert len(list(journal.read())) == len(kept) + 1


def test_what_can_be_read_of_a_damaged_journal_is_carried_over(path: Path, clock: ScriptedClock) -> None:
    written(path, clock)
    with JournalReader.open(path) as reader:
        before = list(reader.read())
    body_unreadable(path)
    with closing(SqliteJournal.open(path, clock)) as journal:
        # Entry 4 can't be read: whole decisions before it stand, with their own times.
        whole = [count for count in range(1, 4) if sum(len(events) for events in DAY[:count]) < 4]
        assert journal.carried_over == len(whole)
        assert list(journal.read()) == before[: sum(len(events) for events in DAY[: len(whole)])]


def test_a_second_damage_within_the_same_second_overwrites_nothing(path: Path, clock: ScriptedClock) -> None:
    names = []
    for _ in range(2):
        no_database(path)
        with closing(SqliteJournal.open(path, clock)) as journal:
            assert journal.moved_aside is not None
            names.append(journal.moved_aside.name)
    assert names == ["journal.damaged-20260112T070000Z.sqlite", "journal.damaged-20260112T070000Z-2.sqlite"]


def test_an_event_of_a_newer_version_is_no_damage(path: Path, clock: ScriptedClock) -> None:
    written(path, clock)
    raw(path, "DROP TRIGGER events_no_UPDATE", "UPDATE events SET name = 'DoughSung' WHERE sequence = 4")
    raw(path, "DELETE FROM snapshots")
    assert refused(path, clock) == (
        f"{path}: entry 4 is a 'DoughSung', which is not known here; "
        "read it with the version of crumbcall that wrote it"
    )
    assert path.exists()


def test_events_that_do_not_follow_are_reported(path: Path, clock: ScriptedClock) -> None:
    written(path, clock)
    body = json.dumps({"at": 1.0})
    raw(
        path,
        "DROP TRIGGER events_no_UPDATE",
        f"UPDATE events SET name = 'RestEnded', body = '{body}' WHERE sequence = 1",
        "DELETE FROM snapshots",
    )
    assert refused(path, clock) == (
        f"{path}: entry 1 can't follow those before it "
        "(RestEnded in phase idle: the table allows it in resting, extruding); "
        "keep the file, and begin a new journal elsewhere"
    )
