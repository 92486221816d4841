"""The journal on disk: whole decisions only, one writer, snapshots that can be trusted."""

import signal
import sqlite3
import subprocess
import sys
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest

from assistant.batch.record import events as ev
from assistant.batch.record.evolving.evolve import replay
from assistant.batch.record.state import State
from assistant.clock import ScriptedClock
from assistant.errors import ImpossibleEvent, JournalError
from assistant.journal import store
from assistant.journal.guard.links import Link, links
from assistant.journal.reader import JournalReader
from assistant.journal.store import SqliteJournal
from tests.journal.day import DAY, raw, refused, written


def test_a_reopened_journal_knows_the_state_and_the_last_stamp(path: Path, clock: ScriptedClock) -> None:
    events = written(path, clock)
    with closing(SqliteJournal.open(path, clock)) as journal:
        state, stamp = journal.load()
        assert state == replay(events)
        assert stamp is not None
        assert (stamp.sequence, stamp.wall, stamp.monotonic) == (len(events), clock.wall(), clock.monotonic())
        assert [event for _, event in journal.read()] == events
        (stamp,) = journal.append([ev.LotNamed(at=400.0, lot="8")])
        assert stamp.sequence == len(events) + 1


def test_every_commit_reaches_the_disk_before_it_is_reported(path: Path, clock: ScriptedClock) -> None:
    # sqlite.org, PRAGMA synchronous: in WAL mode only FULL (2) and above survive a loss of power.
    with closing(SqliteJournal.open(path, clock)) as journal:
        assert journal._db.execute("PRAGMA synchronous").fetchone() == (2,)
        assert journal._db.execute("PRAGMA journal_mode").fetchone() == ("wal",)


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE events SET body = '{}' WHERE sequence = 1",
        "DELETE FROM events WHERE sequence = 1",
        "UPDATE decisions SET wall = 0",
        "DELETE FROM decisions",
        "INSERT OR REPLACE INTO events VALUES (1, 1, NULL, 'LotNamed', '{}')",
        "INSERT INTO events VALUES (99, 1, NULL, 'LotNamed', '{}')",
        "INSERT OR REPLACE INTO decisions VALUES (1, 0, 0, '', 0, '', '')",
    ],
)
def test_the_record_can_only_grow(path: Path, clock: ScriptedClock, statement: str) -> None:
    written(path, clock)
    with pytest.raises(sqlite3.IntegrityError, match=r"^the journal (is append-only|leaves no gap)$"):
        raw(path, statement)


def test_an_impossible_event_writes_nothing(path: Path, clock: ScriptedClock) -> None:
    with closing(SqliteJournal.open(path, clock)) as journal:
        with pytest.raises(ImpossibleEvent):
            journal.append([*DAY[0], ev.MixEnded(at=1.0)])
        assert journal.load() == (State(), None)
        assert list(journal.read()) == []
        assert journal.batches() == []


KILLED = """
import sys
from pathlib import Path
from assistant.batch.record import events as ev
from assistant.journal.store import SqliteJournal
from assistant.ports import Stamp
from assistant.clock import ScriptedClock
journal = SqliteJournal.open(Path(sys.argv[1]), ScriptedClock())
number = 0
while True:
    number += 1
    journal.append([ev.LotNamed(at=float(number), lot=str(part)) for part in range(5)])
    print(number, flush=True)
"""


def test_a_killed_writer_leaves_whole_decisions_and_all_that_it_reported(
    path: Path, clock: ScriptedClock
) -> None:
    child = subprocess.Popen([sys.executable, "-c", KILLED, str(path)], stdout=subprocess.PIPE, text=True)
    assert child.stdout is not None
    for _ in range(40):
        child.stdout.readline()
    child.send_signal(signal.SIGKILL)
    reported = 40 + len(child.stdout.read().splitlines())
    child.stdout.close()
    child.wait()
    with closing(SqliteJournal.open(path, clock)) as journal:
        assert journal.moved_aside is None
        events = [event for _, event in journal.read()]
    assert len(events) % 5 == 0
    assert reported <= len(events) // 5 <= reported + 1
    assert events[-1] == ev.LotNamed(at=float(len(events) // 5), lot="4")


def test_a_torn_transaction_is_as_if_it_never_was(path: Path, clock: ScriptedClock) -> None:
    events = written(path, clock)
    torn = """
import os, sqlite3, sys
db = sqlite3.connect(sys.argv[1], isolation_level=None)
db.execute("PRAGMA cache_size = 1")
db.execute("BEGIN IMMEDIATE")
(last,) = db.execute("SELECT max(decision) FROM decisions").fetchone()
(sequence,) = db.execute("SELECT max(sequence) FROM events").fetchone()
db.execute("INSERT INTO decisions VALUES (?, 0, 0, '', 0, '', '')", (last + 1,))
for more in range(1, 500):
    row = (sequence + more, last + 1, "x" * 500)
    db.execute("INSERT INTO events VALUES (?, ?, NULL, 'LotNamed', ?)", row)
os.kill(os.getpid(), 9)
"""
    done = subprocess.run([sys.executable, "-c", torn, str(path)], check=False)
    assert done.returncode == -signal.SIGKILL
    assert path.with_name(path.name + "-wal").stat().st_size > 0, "some of it had reached the disk"
    with closing(SqliteJournal.open(path, clock)) as journal:
        assert [event for _, event in journal.read()] == events


def test_one_writer_at_a_time(path: Path, clock: ScriptedClock) -> None:
    with closing(SqliteJournal.open(path, clock)):
        assert refused(path, clock) == f"{path}: another crumbcall is writing it; stop that one first"
    SqliteJournal.open(path, clock).close()


def test_a_writer_in_another_process_is_seen(path: Path, clock: ScriptedClock) -> None:
    with subprocess.Popen(
        [sys.executable, "-c", KILLED, str(path)], stdout=subprocess.PIPE, stderr=subprocess.DEVNULL
    ) as child:
        assert child.stdout is not None
        child.stdout.readline()
        assert refused(path, clock) == f"{path}: another crumbcall is writing it; stop that one first"
        child.kill()


def test_reading_goes_on_beside_the_writer(path: Path, clock: ScriptedClock) -> None:
    with closing(SqliteJournal.open(path, clock)) as journal, JournalReader.open(path) as reader:
        assert list(reader.read()) == []
        journal.append(DAY[0])
        assert [event for _, event in reader.read()] == list(DAY[0])
        assert reader.load() == journal.load()
        assert [line.number for line in reader.batches()] == [1]
        assert [event for _, event in reader.batch(1)] == list(DAY[0])


def test_a_reader_finds_no_journal(path: Path) -> None:
    with pytest.raises(JournalError) as caught:
        JournalReader.open(path)
    assert str(caught.value) == f"{path}: there is no journal yet; crumbcall listen begins one"
    assert not path.exists()


def test_a_reader_writes_nothing(path: Path, clock: ScriptedClock) -> None:
    written(path, clock)
    with JournalReader.open(path) as reader, pytest.raises(sqlite3.OperationalError, match="readonly"):
        reader._db.execute("DELETE FROM snapshots")


def test_a_batch_that_is_not_there_is_reported(path: Path, clock: ScriptedClock) -> None:
    written(path, clock)
    with JournalReader.open(path) as reader, pytest.raises(JournalError) as caught:
        reader.batch(7)
    assert str(caught.value) == f"{path}: it holds no batch 7; crumbcall batches lists those it holds"


# ---- snapshots


def test_a_start_reads_the_snapshot_and_the_tail_alone(
    path: Path, clock: ScriptedClock, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(store, "SNAPSHOT_EVERY", 5)
    with closing(SqliteJournal.open(path, clock)) as journal:
        for events in DAY:
            journal.append(events)
        kept = [row[0] for row in journal._db.execute("SELECT sequence FROM snapshots ORDER BY 1")]
        assert kept
        expected = journal.load()
        events = [event for _, event in journal.read()]
    assert len(kept) <= 2
    read: list[int] = []

    def noted(db: sqlite3.Connection, after: int = 0) -> Iterator[Link]:
        read.append(after)
        return links(db, after)

    monkeypatch.setattr("assistant.journal.guard.resuming.links", noted)
    monkeypatch.setattr("assistant.journal.guard.resuming.AT_START", 0)
    with closing(SqliteJournal.open(path, clock)) as journal:
        assert journal.load() == expected
        assert journal.load()[0] == replay(events)
    assert read == [len(events) - 1], "closing left a snapshot of the very end"


@pytest.mark.parametrize(
    "spoil",
    [
        "UPDATE snapshots SET state = 'nonsense'",
        "UPDATE snapshots SET code = 'another version', state = replace(state, '1500', '1400')",
        "DELETE FROM snapshots",
    ],
)
def test_a_snapshot_that_can_not_be_trusted_is_made_again(
    path: Path, clock: ScriptedClock, spoil: str
) -> None:
    events = written(path, clock)
    with JournalReader.open(path) as reader:
        lines = reader.batches()
    raw(path, spoil, "UPDATE batches SET water_g = 0, opened_wall = 0")
    with closing(SqliteJournal.open(path, clock)) as journal:
        assert journal.load()[0] == replay(events)
        assert journal.batches() == lines
