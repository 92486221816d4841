"""The journal on disk: whole decisions only, one writer, nothing lost."""

import json
import os
import signal
import sqlite3
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path

import pytest

from assistant.batch import commands as cmd
from assistant.batch import events as ev
from assistant.batch.evolve import replay
from assistant.batch.state import State
from assistant.clock import ScriptedClock
from assistant.errors import ImpossibleEvent, JournalError
from assistant.journal import store
from assistant.journal.reader import JournalReader
from assistant.journal.schema import APPLICATION_ID, MIGRATIONS, migrate, version
from assistant.journal.store import SqliteJournal
from assistant.ports import Stamp
from assistant.testing_journal import decisions

DAY = decisions(
    (0.0, cmd.NewBatch(cmd.Amount(1500))),
    (60.0, cmd.AddWater(cmd.Amount(335, exact=True))),
    (61.0, cmd.Mix()),
    (181.0, cmd.JudgeCrumb("dry")),
    (200.0, cmd.PourRest()),
    (300.0, cmd.JudgeCrumb("ready")),
    (320.0, cmd.CloseBatch()),
)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "journal.sqlite"


@pytest.fixture
def clock() -> ScriptedClock:
    return ScriptedClock()


def written(path: Path, clock: ScriptedClock) -> list[ev.Event]:
    """Write a day to a journal and give its events."""
    with closing(SqliteJournal.open(path, clock)) as journal:
        for events in DAY:
            clock.move(1.0)
            journal.append(events)
    return [event for events in DAY for event in events]


def raw(path: Path, *statements: str) -> None:
    with closing(sqlite3.connect(path)) as db:
        for statement in statements:
            db.execute(statement)
        db.commit()


def refused(path: Path, clock: ScriptedClock) -> str:
    with pytest.raises(JournalError) as caught:
        SqliteJournal.open(path, clock)
    return str(caught.value)


def test_a_reopened_journal_knows_the_state_and_the_last_stamp(path: Path, clock: ScriptedClock) -> None:
    events = written(path, clock)
    with closing(SqliteJournal.open(path, clock)) as journal:
        state, stamp = journal.load()
        assert state == replay(events)
        assert stamp is not None
        assert (stamp.sequence, stamp.wall, stamp.monotonic) == (len(events), clock.wall(), clock.monotonic())
        assert [event for _, event in journal.read()] == events
        (stamp,) = journal.append([ev.LotNamed(400.0, "8")])
        assert stamp.sequence == len(events) + 1


def test_every_commit_reaches_the_disk_before_it_is_told(path: Path, clock: ScriptedClock) -> None:
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
        "INSERT OR REPLACE INTO decisions VALUES (1, 0, 0, '', 0, '')",
    ],
)
def test_the_record_can_only_grow(path: Path, clock: ScriptedClock, statement: str) -> None:
    written(path, clock)
    with pytest.raises(sqlite3.IntegrityError, match=r"^the journal (is append-only|leaves no gap)$"):
        raw(path, statement)


def test_an_impossible_event_writes_nothing(path: Path, clock: ScriptedClock) -> None:
    with closing(SqliteJournal.open(path, clock)) as journal:
        with pytest.raises(ImpossibleEvent):
            journal.append([*DAY[0], ev.MixEnded(1.0)])
        assert journal.load() == (State(), None)
        assert list(journal.read()) == []
        assert journal.batches() == []


KILLED = """
import sys
from pathlib import Path
from assistant.batch import events as ev
from assistant.journal.store import SqliteJournal
from assistant.ports import Stamp
from assistant.clock import ScriptedClock
journal = SqliteJournal.open(Path(sys.argv[1]), ScriptedClock())
number = 0
while True:
    number += 1
    journal.append([ev.LotNamed(float(number), str(part)) for part in range(5)])
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
    assert events[-1] == ev.LotNamed(float(len(events) // 5), "4")


def test_a_torn_transaction_is_as_if_it_never_was(path: Path, clock: ScriptedClock) -> None:
    events = written(path, clock)
    torn = """
import os, sqlite3, sys
db = sqlite3.connect(sys.argv[1], isolation_level=None)
db.execute("PRAGMA cache_size = 1")
db.execute("BEGIN IMMEDIATE")
(last,) = db.execute("SELECT max(decision) FROM decisions").fetchone()
(sequence,) = db.execute("SELECT max(sequence) FROM events").fetchone()
db.execute("INSERT INTO decisions VALUES (?, 0, 0, '', 0, '')", (last + 1,))
for more in range(1, 500):
    db.execute("INSERT INTO events VALUES (?, ?, NULL, 'LotNamed', ?)", (sequence + more, last + 1, "x" * 500))
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


def test_a_batch_that_is_not_there_is_told(path: Path, clock: ScriptedClock) -> None:
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
    real = SqliteJournal.read

    def noted(journal: SqliteJournal, after: int = 0) -> Iterator[tuple[Stamp, ev.Event]]:
        read.append(after)
        return real(journal, after)

    monkeypatch.setattr(SqliteJournal, "read", noted)
    with closing(SqliteJournal.open(path, clock)) as journal:
        assert journal.load() == expected
        assert journal.load()[0] == replay(events)
    assert read == [len(events)], "closing left a snapshot of the very end"


@pytest.mark.parametrize(
    "spoil",
    [
        "UPDATE snapshots SET state = 'nonsense'",
        "UPDATE snapshots SET code = 'another version', state = replace(state, '1500', '1400')",
        "DELETE FROM snapshots",
    ],
)
def test_a_snapshot_that_can_not_be_trusted_is_made_anew(
    path: Path, clock: ScriptedClock, spoil: str
) -> None:
    events = written(path, clock)
    with JournalReader.open(path) as reader:
        lines = reader.batches()
    raw(path, spoil, "UPDATE batches SET water_g = 0, opened_wall = 0")
    with closing(SqliteJournal.open(path, clock)) as journal:
        assert journal.load()[0] == replay(events)
        assert journal.batches() == lines


# ---- damage


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
        journal.append([ev.LotNamed(500.0, "8")])
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


def test_events_that_do_not_follow_are_told(path: Path, clock: ScriptedClock) -> None:
    written(path, clock)
    body = json.dumps({"at": 1.0})
    raw(
        path,
        "DROP TRIGGER events_no_UPDATE",
        f"UPDATE events SET name = 'RestEnded', body = '{body}' WHERE sequence = 1",
        "DELETE FROM snapshots",
    )
    assert refused(path, clock) == (
        f"{path}: entry 1 can't follow those before it (RestEnded in phase idle: the table allows it in resting); "
        "keep the file, and begin a new journal elsewhere"
    )


# ---- disks and folders


def test_a_full_disk_keeps_nothing_and_is_told(path: Path, clock: ScriptedClock) -> None:
    with closing(SqliteJournal.open(path, clock)) as journal:
        journal.append(DAY[0])
        before = journal.load()
        (pages,) = journal._db.execute("PRAGMA page_count").fetchone()
        journal._db.execute(f"PRAGMA max_page_count = {pages}")
        with pytest.raises(JournalError) as caught:
            journal.append([ev.LotNamed(1.0, "4" * 20_000)])
        assert str(caught.value) == (
            f"{path}: the disk is full, nothing of this was kept; make room, then say it again"
        )
        assert journal.load() == before
        journal._db.execute("PRAGMA max_page_count = 100000")
        journal.append(DAY[1])
        assert [event for _, event in journal.read()] == [*DAY[0], *DAY[1]]


def test_a_file_that_can_not_be_written_is_told(path: Path, clock: ScriptedClock) -> None:
    with closing(SqliteJournal.open(path, clock)) as journal:
        journal._db.execute("PRAGMA query_only = 1")
        with pytest.raises(JournalError) as caught:
            journal.append(DAY[0])
        assert str(caught.value) == f"{path}: it can't be written; give a folder that crumbcall may write in"


def test_a_folder_that_can_not_be_made_is_told(tmp_path: Path, clock: ScriptedClock) -> None:
    (tmp_path / "file").write_text("no folder")
    path = tmp_path / "file" / "journal.sqlite"
    assert (
        refused(path, clock)
        == f"{path}: it can't be opened (File exists); give a folder that crumbcall may write in"
    )


@pytest.mark.skipif(os.geteuid() == 0, reason="root may write anywhere")
def test_a_read_only_folder_is_told_and_can_still_be_read(path: Path, clock: ScriptedClock) -> None:
    events = written(path, clock)
    path.parent.chmod(0o555)
    try:
        assert "give a folder that crumbcall may write in" in refused(path, clock)
        with JournalReader.open(path) as reader:
            assert [event for _, event in reader.read()] == events
    finally:
        path.parent.chmod(0o755)


# ---- versions


def test_an_empty_file_becomes_a_journal(path: Path, clock: ScriptedClock) -> None:
    path.touch()
    events = written(path, clock)
    with closing(sqlite3.connect(path)) as db:
        assert version(db) == len(MIGRATIONS)
        assert db.execute("PRAGMA application_id").fetchone() == (APPLICATION_ID,)
    with JournalReader.open(path) as reader:
        assert [event for _, event in reader.read()] == events


def test_an_older_file_becomes_a_newer_one_with_all_its_events(path: Path, clock: ScriptedClock) -> None:
    events = written(path, clock)
    later = (
        *MIGRATIONS,
        ("ALTER TABLE events ADD COLUMN cook TEXT", "CREATE TABLE cooks (name TEXT) STRICT"),
    )
    with closing(sqlite3.connect(path, isolation_level=None)) as db:
        assert migrate(db, later)
        assert version(db) == len(MIGRATIONS) + 1
        assert db.execute("SELECT count(*), count(cook) FROM events").fetchone() == (len(events), 0)
        assert not migrate(db, later), "there is nothing left to do"


def test_a_step_that_fails_leaves_the_older_file(path: Path, clock: ScriptedClock) -> None:
    written(path, clock)
    broken = (*MIGRATIONS, ("CREATE TABLE cooks (name TEXT) STRICT", "ALTER TABLE none ADD COLUMN x TEXT"))
    with closing(sqlite3.connect(path, isolation_level=None)) as db:
        with pytest.raises(sqlite3.OperationalError):
            migrate(db, broken)
        assert version(db) == len(MIGRATIONS)
        assert db.execute("SELECT count(*) FROM sqlite_schema WHERE name = 'cooks'").fetchone() == (0,)


def test_a_file_of_a_newer_version_is_left_alone(path: Path, clock: ScriptedClock) -> None:
    written(path, clock)
    raw(path, "PRAGMA user_version = 9")
    line = f"{path}: it is of version 9, and this crumbcall knows up to 1; use the newer crumbcall"
    assert refused(path, clock) == line
    with pytest.raises(JournalError) as caught:
        JournalReader.open(path)
    assert str(caught.value) == line


def test_a_reader_changes_no_older_file(path: Path, clock: ScriptedClock) -> None:
    written(path, clock)
    raw(path, "PRAGMA user_version = 0")
    with pytest.raises(JournalError) as caught:
        JournalReader.open(path)
    assert str(caught.value) == f"{path}: it is of an older version; start crumbcall listen once"


def test_another_programs_database_is_left_alone(path: Path, clock: ScriptedClock) -> None:
    raw(path, "CREATE TABLE guests (name TEXT)")
    assert refused(path, clock) == f"{path}: it is another program's database; give another file"


# ---- copies


def test_a_backup_is_a_journal_too(path: Path, tmp_path: Path, clock: ScriptedClock) -> None:
    copy = tmp_path / "copies" / "copy.sqlite"
    with closing(SqliteJournal.open(path, clock)) as journal:
        journal.append(DAY[0])
        journal.backup(copy)
        journal.append(DAY[1])
        with pytest.raises(JournalError) as caught:
            journal.backup(copy)
        assert str(caught.value) == f"{copy}: it exists already; name a new file"
    assert [file.name for file in copy.parent.iterdir()] == ["copy.sqlite"]
    with closing(SqliteJournal.open(copy, clock)) as journal:
        assert [event for _, event in journal.read()] == list(DAY[0])
        journal.append(DAY[1])
