"""Disks, folders, versions and copies of the journal's file."""

import os
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from assistant.batch.record import events as ev
from assistant.clock import ScriptedClock
from assistant.errors import JournalError
from assistant.journal.reader import JournalReader
from assistant.journal.schema import APPLICATION_ID, MIGRATIONS, migrate, version
from assistant.journal.store import SqliteJournal
from tests.journal.day import DAY, raw, refused, written

# ---- disks and folders


def test_a_full_disk_keeps_nothing_and_is_reported(path: Path, clock: ScriptedClock) -> None:
    with closing(SqliteJournal.open(path, clock)) as journal:
        journal.append(DAY[0])
        before = journal.load()
        (pages,) = journal._db.execute("PRAGMA page_count").fetchone()
        journal._db.execute(f"PRAGMA max_page_count = {pages}")
        with pytest.raises(JournalError) as caught:
            journal.append([ev.LotNamed(at=1.0, lot="4" * 20_000)])
        assert str(caught.value) == (
            f"{path}: the disk is full, nothing of this was kept; make room, then say it again"
        )
        assert journal.load() == before
        journal._db.execute("PRAGMA max_page_count = 100000")
        journal.append(DAY[1])
        assert [event for _, event in journal.read()] == [*DAY[0], *DAY[1]]


def test_a_file_that_can_not_be_written_is_reported(path: Path, clock: ScriptedClock) -> None:
    with closing(SqliteJournal.open(path, clock)) as journal:
        journal._db.execute("PRAGMA query_only = 1")
        with pytest.raises(JournalError) as caught:
            journal.append(DAY[0])
        assert str(caught.value) == f"{path}: it can't be written; give a folder that crumbcall may write in"


def test_a_folder_that_can_not_be_made_is_reported(tmp_path: Path, clock: ScriptedClock) -> None:
    (tmp_path / "file").write_text("no folder")
    path = tmp_path / "file" / "journal.sqlite"
    assert (
        refused(path, clock)
        == f"{path}: it can't be opened (File exists); give a folder that crumbcall may write in"
    )


@pytest.mark.skipif(os.geteuid() == 0, reason="root may write anywhere")
def test_a_read_only_folder_is_reported_and_can_still_be_read(path: Path, clock: ScriptedClock) -> None:
    events = written(path, clock)
    path.parent.chmod(0o555)
    try:
        assert "give a folder that crumbcall may write in" in refused(path, clock)
        with JournalReader.open(path) as reader:
            assert [event for _, event in reader.read()] == events
    finally:
        path.parent.chmod(0o755)


@pytest.mark.skipif(os.geteuid() == 0, reason="root may write anywhere")
def test_a_read_only_file_is_reported_at_the_start(path: Path, clock: ScriptedClock) -> None:
    written(path, clock)
    path.chmod(0o444)
    assert refused(path, clock) == f"{path}: it can't be written; give a folder that crumbcall may write in"


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


def test_a_disk_that_fills_during_a_step_is_told_as_that(path: Path) -> None:
    with closing(sqlite3.connect(path, isolation_level=None)) as db:
        db.execute("PRAGMA max_page_count = 2")
        with pytest.raises(sqlite3.OperationalError, match="full"):
            migrate(db)
        assert version(db) == 0


def test_a_file_of_a_newer_version_is_left_alone(path: Path, clock: ScriptedClock) -> None:
    written(path, clock)
    raw(path, "PRAGMA user_version = 9")
    line = (
        f"{path}: it is of version 9, and this crumbcall knows up to {len(MIGRATIONS)}; "
        "use the newer crumbcall"
    )
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
