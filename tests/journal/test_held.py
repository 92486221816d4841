"""Storage that fails: what can't be written is held, in order, and written once it can be, nothing twice."""

import shutil
import sqlite3
from collections.abc import Sequence
from contextlib import closing
from pathlib import Path

import pytest

from assistant.batch.record import events as ev
from assistant.batch.record.evolving.evolve import replay
from assistant.clock import ScriptedClock
from assistant.errors import JournalError, StorageError
from assistant.journal import held
from assistant.journal.damage import KeptDecision
from assistant.journal.held import HeldJournal
from assistant.journal.holding import in_memory
from assistant.journal.reader import JournalReader
from assistant.journal.store import SqliteJournal
from assistant.ports import Stamp
from tests.journal.day import DAY, written
from tests.journal.full_disk import no_room


def lot(number: int) -> list[ev.Event]:
    return [ev.LotNamed(at=float(number), lot=str(number))]


def on_disk(path: Path) -> list[tuple[Stamp, ev.Event]]:
    with JournalReader.open(path) as reader:
        return list(reader.read())


def test_what_the_kernel_refuses_is_held_and_written_later_with_its_own_stamps(
    path: Path, clock: ScriptedClock
) -> None:
    with closing(HeldJournal.open(path, clock)) as journal:
        journal.append(lot(1))
        with no_room():
            stamps: list[Stamp] = []
            for number in range(2, 5):
                clock.move(10.0)
                stamps += journal.append(lot(number))
            assert (journal.failing, journal.held) == (True, 3)
            assert [stamp.sequence for stamp in stamps] == [2, 3, 4]
            assert [event for _, event in journal.read()] == [lot(n)[0] for n in range(1, 5)]
            assert journal.try_again() == []
            assert len(on_disk(path)) == 1
        clock.move(300.0)
        assert journal.try_again() == [lot(n)[0] for n in range(2, 5)]
        assert (journal.failing, journal.held, journal.next_try) == (False, 0, None)
        found = on_disk(path)
        assert [stamp for stamp, _ in found[1:]] == stamps
        assert [event for _, event in found] == [lot(n)[0] for n in range(1, 5)]
        clock.move(1.0)
        assert [stamp.sequence for stamp in journal.append(lot(5))] == [5]


def test_tries_come_less_and_less_often_and_a_slow_one_is_followed_by_a_long_pause(
    path: Path, clock: ScriptedClock, monkeypatch: pytest.MonkeyPatch
) -> None:
    journal = HeldJournal.open(path, clock)
    with no_room():
        journal.append(lot(1))
        pauses = []
        for _ in range(6):
            assert journal.next_try is not None
            pauses.append(journal.next_try - clock.monotonic())
            clock.move(pauses[-1])
            journal.try_again()
    assert pauses == [5.0, 10.0, 20.0, 40.0, 60.0, 60.0]

    def slow(_: HeldJournal) -> int:
        clock.move(30.0)
        raise StorageError("the disk fails")

    with monkeypatch.context() as patch:
        patch.setattr(HeldJournal, "_written", slow)
        journal.try_again()
    assert journal.next_try == clock.monotonic() + 300.0
    journal.close()
    assert journal.held == 0


def test_a_disk_that_is_full_is_told_from_one_that_fails(path: Path, clock: ScriptedClock) -> None:
    with closing(HeldJournal.open(path, clock)) as journal:
        journal._store._db.execute("PRAGMA max_page_count = 1")
        journal.append([ev.LotNamed(at=1.0, lot="4" * 20_000)])
        troubles = [journal.trouble]
        journal._store._db.execute("PRAGMA max_page_count = 100000")
        journal.try_again()
        journal._store._db.execute("PRAGMA query_only = 1")
        journal.append(lot(2))
        troubles.append(journal.trouble)
        assert troubles == ["full", "read_only"]
        journal._store._db.execute("PRAGMA query_only = 0")
    assert len(on_disk(path)) == 2


@pytest.mark.parametrize("anew", [False, True])
def test_a_commit_that_was_called_failed_but_reached_the_disk_is_not_written_again(
    path: Path, clock: ScriptedClock, monkeypatch: pytest.MonkeyPatch, anew: bool
) -> None:
    real = SqliteJournal.append_kept

    def ambiguous(journal: SqliteJournal, decisions: Sequence[KeptDecision]) -> Sequence[Stamp]:
        head = journal._head
        real(journal, decisions)
        journal._head = head
        raise StorageError("the disk fails or is full")

    with closing(HeldJournal.open(path, clock)) as journal:
        journal.append(lot(1))
        monkeypatch.setattr(SqliteJournal, "append_kept", ambiguous)
        for number in (2, 3):
            clock.move(1.0)
            journal.append(lot(number))
        monkeypatch.undo()
        assert (journal.held, len(on_disk(path))) == (2, 2)
        journal._failed = held.REOPEN_AFTER if anew else 0
        assert journal.try_again() == [*lot(2), *lot(3)]
        assert [event for _, event in on_disk(path)] == [*lot(1), *lot(2), *lot(3)]
        assert [stamp.sequence for stamp in journal.append(lot(4))] == [4]


def test_what_something_else_wrote_meanwhile_is_not_built_upon(path: Path, clock: ScriptedClock) -> None:
    journal = HeldJournal.open(path, clock)
    with no_room():
        journal.append(lot(1))
    journal._store.append_kept([journal._store.decision(lot(99))])
    journal._store._head = type(journal._store._head)()
    assert journal.try_again() == []
    assert "written by something else" in str(journal.error)
    with pytest.raises(StorageError, match="1 decisions could not be written and are lost"):
        journal.close()


def test_a_connection_that_stays_dead_is_opened_anew(path: Path, clock: ScriptedClock) -> None:
    with closing(HeldJournal.open(path, clock)) as journal:
        journal.append(lot(1))
        journal._store._db.execute("PRAGMA query_only = 1")
        journal.append(lot(2))
        for _ in range(held.REOPEN_AFTER):
            assert journal.try_again() == []
        assert journal.try_again() == lot(2)
        assert [stamp.sequence for stamp in journal.append(lot(3))] == [3]
    assert [event for _, event in on_disk(path)] == [*lot(1), *lot(2), *lot(3)]


def test_no_more_is_held_than_there_is_room_for(
    path: Path, clock: ScriptedClock, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(held, "MOST_HELD", 2)
    monkeypatch.setattr(held, "AT_ONCE", 1)
    with closing(HeldJournal.open(path, clock)) as journal:
        with no_room():
            journal.append(lot(1))
            journal.append(lot(2))
            with pytest.raises(StorageError, match="no more can be held"):
                journal.append(lot(3))
        assert journal.try_again() == [*lot(1), *lot(2)]


def test_what_can_not_be_written_at_all_is_refused_while_holding_too(
    path: Path, clock: ScriptedClock
) -> None:
    with closing(HeldJournal.open(path, clock)) as journal:
        with no_room():
            journal.append(lot(1))
            with pytest.raises(ValueError, match="nan"):
                journal.append([ev.LoudnessSet(at=float("nan"), steps=1)])
        assert journal.held == 1


# ---- at the start


def test_a_start_without_room_reads_the_journal_and_writes_later(path: Path, clock: ScriptedClock) -> None:
    events = written(path, clock)
    with no_room():
        journal = HeldJournal.open(path, clock)
        assert (journal.failing, journal.unread) == (True, False)
        state, last = journal.load()
        assert state == replay(events)
        assert last is not None
        clock.move(5.0)
        journal.append(lot(7))
        with pytest.raises(JournalError, match="another crumbcall is writing it"):
            HeldJournal.open(path, clock)
        assert journal.try_again() == []
    assert journal.try_again() == lot(7)
    assert not journal.failing
    with pytest.raises(JournalError, match="another crumbcall is writing it"):
        HeldJournal.open(path, clock)
    journal.close()
    assert [event for _, event in on_disk(path)] == [*events, *lot(7)]


def test_a_log_that_can_not_be_recovered_on_its_disk_is_read_by_way_of_memory(
    path: Path, tmp_path: Path, clock: ScriptedClock, monkeypatch: pytest.MonkeyPatch
) -> None:
    full = tmp_path / "full" / path.name
    full.parent.mkdir()
    with closing(SqliteJournal.open(path, clock)) as running:
        for events in DAY:
            running.append(events)
        for tail in ("", "-wal"):  # as a power cut leaves them
            shutil.copyfile(f"{path}{tail}", f"{full}{tail}")
        expected = running.load()

    def refused(*_: object) -> None:
        raise sqlite3.OperationalError("disk I/O error")

    def full_disk(*_: object) -> None:
        raise StorageError("the disk is full")

    with monkeypatch.context() as patch:
        patch.setattr(in_memory, "connect_to_read", refused)
        patch.setattr(SqliteJournal, "open", full_disk)
        journal = HeldJournal.open(full, clock)
    assert (journal.load(), journal.unread) == (expected, False)
    journal.append(lot(7))
    journal.close()
    assert [event for _, event in on_disk(full)][-1:] == lot(7)


def test_a_record_that_nobody_can_read_is_left_alone_and_what_comes_stands_beside_it(
    path: Path, clock: ScriptedClock, monkeypatch: pytest.MonkeyPatch
) -> None:
    events = written(path, clock)

    def refused(*_: object) -> None:
        raise StorageError("the disk fails")

    with monkeypatch.context() as patch:
        patch.setattr(in_memory, "connect_to_read", refused)
        patch.setattr(shutil, "copyfile", refused)
        patch.setattr(SqliteJournal, "open", refused)
        journal = HeldJournal.open(path, clock)
    assert journal.unread
    assert list(journal.read()) == []
    journal.append(lot(1))
    journal.close()
    assert [event for _, event in on_disk(path)] == events
    (apart,) = path.parent.glob("journal.apart-*.sqlite")
    assert [event for _, event in on_disk(apart)] == lot(1)


def test_a_journal_that_never_was_begins_in_memory(path: Path, clock: ScriptedClock) -> None:
    with no_room():
        journal = HeldJournal.open(path.parent / "new" / path.name, clock)
        journal.append(DAY[0])
        assert not journal.unread
    journal.close()
    assert [event for _, event in on_disk(path.parent / "new" / path.name)] == list(DAY[0])


@pytest.mark.parametrize("what", ["folder", "foreign", "newer"])
def test_what_is_not_the_storages_fault_still_ends_the_start(
    path: Path, clock: ScriptedClock, what: str
) -> None:
    if what == "folder":
        path.parent.joinpath("file").touch()
        path = path.parent / "file" / path.name
    else:
        with closing(sqlite3.connect(path)) as db:
            db.execute("CREATE TABLE guests (name TEXT)" if what == "foreign" else "PRAGMA user_version = 99")
    with pytest.raises(JournalError) as caught:
        HeldJournal.open(path, clock)
    assert not isinstance(caught.value, StorageError)
