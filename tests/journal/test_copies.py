"""Daily copies: whole, verified, and no more than are kept."""

import sqlite3
import stat
from contextlib import closing
from datetime import date, timedelta
from pathlib import Path

import pytest

from assistant.clock import ScriptedClock
from assistant.errors import JournalError
from assistant.journal.guard.copies import copies_in, is_mounted, keep_copy, too_old
from assistant.journal.reader import JournalReader
from assistant.journal.store import SqliteJournal
from tests.journal.day import DAY, spoiled, written


def test_a_copy_of_the_day_is_written_once_while_the_station_writes(
    path: Path, tmp_path: Path, clock: ScriptedClock
) -> None:
    folder = tmp_path / "copies"
    with closing(SqliteJournal.open(path, clock)) as journal:
        journal.append(DAY[0])
        made = keep_copy(path, folder, clock.wall())
        assert made == folder / "journal-2026-01-12.sqlite"
        assert stat.S_IMODE(made.stat().st_mode) == 0o600
        journal.append(DAY[1])
        assert keep_copy(path, folder, clock.wall()) is None
        assert keep_copy(path, folder, clock.wall() + 86_400.0) is not None
    assert [one.name for one in copies_in(folder)] == [
        "journal-2026-01-13.sqlite",
        "journal-2026-01-12.sqlite",
    ]
    with JournalReader.open(made) as reader:
        assert [event for _, event in reader.read()] == list(DAY[0])


def test_what_is_not_what_was_written_makes_no_copy(path: Path, tmp_path: Path, clock: ScriptedClock) -> None:
    written(path, clock)
    spoiled(path, "UPDATE events SET body = '{}' WHERE sequence = 3")
    with pytest.raises(JournalError, match="not what was written; crumbcall ledger repair sets that aside"):
        keep_copy(path, tmp_path / "copies", clock.wall())
    assert copies_in(tmp_path / "copies") == []


def test_seven_days_are_kept_and_one_of_each_of_four_weeks() -> None:
    last = date(2026, 3, 29)  # a Sunday
    days = [last - timedelta(days=back) for back in range(60)]
    copies = [Path(f"journal-{day}.sqlite") for day in days]
    gone = too_old(copies)
    kept = [day for day, one in zip(days, copies, strict=True) if one not in gone]
    assert kept == [*days[:7], date(2026, 3, 22), date(2026, 3, 15), date(2026, 3, 8)]


def test_a_stick_counts_only_where_one_is_in(path: Path, tmp_path: Path) -> None:
    assert not is_mounted(tmp_path / "stick", path)
    assert is_mounted(Path("/proc/stick"), path)


def test_a_broken_file_is_saved_from_its_copies_too(path: Path, clock: ScriptedClock) -> None:
    written(path, clock)
    keep_copy(path, path.parent / "copies", clock.wall())
    with JournalReader.open(path) as reader:
        before = list(reader.read())
    path.write_bytes(b"flour " * 2000)
    with closing(SqliteJournal.open(path, clock)) as journal:
        assert journal.set_aside == []
        assert list(journal.read()) == before
    with closing(sqlite3.connect(path)) as db:
        assert db.execute("PRAGMA integrity_check").fetchone() == ("ok",)
