"""Both journals keep the same contract."""

from pathlib import Path

from assistant.journal.store import SqliteJournal
from assistant.ports import Clock
from assistant.testing.journal import MemoryJournal, check_journal


def test_the_journal_in_memory_keeps_the_contract() -> None:
    check_journal(MemoryJournal)


def test_the_journal_on_disk_keeps_the_contract(tmp_path: Path) -> None:
    numbers = iter(range(100))

    def make(clock: Clock) -> SqliteJournal:
        return SqliteJournal.open(tmp_path / f"{next(numbers)}.sqlite", clock)

    check_journal(make)
