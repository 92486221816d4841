"""What is done with the journal as a file: mended, put back from a copy, copied day by day."""

from collections.abc import Callable
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from threading import Event
from typing import Self

from assistant.app.adapters import real_clock
from assistant.config.home import Home
from assistant.errors import JournalError
from assistant.journal.damage import move_aside
from assistant.journal.failures import as_journal_error
from assistant.journal.guard.copies import (
    COPIES,
    DamagedJournalError,
    copies_in,
    is_mounted,
    keep_copy,
    write_copy,
)
from assistant.journal.guard.links import SetAside
from assistant.journal.guard.opening import held_by_nobody
from assistant.journal.guard.same_file import sync_folder
from assistant.journal.guard.saving import save
from assistant.journal.guard.verifying import verified
from assistant.journal.reader import JournalReader
from assistant.journal.store import SqliteJournal

LOOK_EVERY_S = 3600.0
"""How often is looked whether today's copy is there, and whether a stick is in (s)."""


@dataclass(frozen=True, slots=True)
class Repaired:
    """What became of a journal."""

    events: int
    """That are read now."""
    mended: int
    """Decisions whose flipped bit was turned back."""
    set_aside: list[SetAside]
    """What is not read any more, and was till now."""
    moved_aside: Path | None
    """Where the file was moved to, that was too broken to go on in."""


def copies_of(home: Home) -> Path:
    """Folder of the daily copies."""
    return home.journal_file.parent / COPIES


def repair(home: Home, station: str) -> Repaired:
    """Mend what the chain proves, set aside what it does not vouch for. Raises JournalError."""
    if not home.journal_file.is_file():
        raise JournalError(f"{home.journal_file}: there is no journal yet; crumbcall listen begins one")
    _save_with_copies(home)
    with closing(SqliteJournal.open(home.journal_file, real_clock(), station)) as journal:
        journal.repair()
        events = sum(1 for _ in journal.read())
        return Repaired(events, journal.mended, journal.set_aside, journal.moved_aside)


def _save_with_copies(home: Home) -> None:
    """Where a daily copy may have what the journal has not any more: read both, decision by decision."""
    path, copies = home.journal_file, copies_in(copies_of(home))
    if not copies:
        return
    with as_journal_error(path), held_by_nobody(path):
        with JournalReader.open(path) as reader:
            problems = verified(reader.connection, path).problems
        if problems:
            save(path, real_clock().wall(), copies)


def restore(home: Home, copy: Path) -> tuple[int, Path | None]:
    """Put a copy in the journal's place; events in it, and where the journal was moved to.

    Raises JournalError where the copy is not sound, or a station runs: then nothing is changed.
    """
    path = home.journal_file
    with JournalReader.open(copy) as reader:
        found = verified(reader.connection, copy)
    if not found.sound:
        why = found.file or found.problems[0].text
        raise JournalError(f"{copy}: it is not what was written: {why}; give another copy")
    home.make()
    with as_journal_error(path), held_by_nobody(path):
        part = path.with_name(path.name + ".restored")
        part.unlink(missing_ok=True)
        write_copy(copy, part)
        moved = None
        if path.exists():
            moved = move_aside(path, real_clock().wall(), "before-restore")
        path.with_name(path.name + ".end").unlink(missing_ok=True)
        part.rename(path)
        sync_folder(path.parent)
    return found.events, moved


class CopyKeeper:
    """Keeps the daily copies, beside the station: it reads by a connection of its own.

    `warn` gets the line of what fails, `say` the key of the announcement for it.
    """

    def __init__(
        self,
        home: Home,
        stick: Path | None,
        warn: Callable[[str], None],
        say: Callable[[str], None] = lambda _: None,
    ) -> None:
        self._home = home
        self._stick = stick
        self._warn = warn
        self._say = say
        self._told: str | None = None

    @classmethod
    def of(cls, home: Home, stick: str, warn: Callable[[str], None], say: Callable[[str], None]) -> Self:
        """By the setting; `stick`: a folder, "" for none."""
        return cls(home, Path(stick) if stick else None, warn, say)

    def run(self, ending: Event) -> None:
        """Have each day's copies, until the end."""
        while not ending.is_set():
            self.look()
            ending.wait(LOOK_EVERY_S)

    def look(self) -> None:
        """Have today's copies. What fails is told once, and tried again the next time."""
        journal, wall = self._home.journal_file, real_clock().wall()
        folders = [copies_of(self._home)]
        if self._stick is not None and is_mounted(self._stick, journal):
            folders.append(self._stick)
        for folder in folders:
            try:
                keep_copy(journal, folder, wall)
            except JournalError as error:
                if self._told != str(error):
                    self._warn(f"No copy of the journal: {error}")
                    damaged = isinstance(error, DamagedJournalError)
                    self._say("journal_damaged" if damaged else "copy_failed")
                self._told = str(error)
