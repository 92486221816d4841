"""Copies of the journal by the day: seven days, and of four weeks one each; on the disk and on a stick."""

import os
import re
import sqlite3
from collections.abc import Sequence
from contextlib import closing, suppress
from datetime import date, datetime
from pathlib import Path

from assistant.errors import JournalError
from assistant.journal.failures import as_journal_error
from assistant.journal.guard.links import links
from assistant.journal.guard.same_file import sync_folder
from assistant.journal.reader import connect_to_read

COPIES = "copies"
"""Folder of the daily copies, beside the journal."""
DAYS, WEEKS = 7, 4
_NAME = re.compile(r"journal-(\d{4}-\d{2}-\d{2})\.sqlite")
_PAGES = 500
"""Pages that are copied at once: between them the station may write."""


class DamagedJournalError(JournalError):
    """The journal that was to be copied is damaged: its copies from before are worth more than another."""


def copy_name(folder: Path, wall: float) -> Path:
    """Where the copy of a day lies; `wall`: a moment of it (s since 1970)."""
    return folder / f"journal-{datetime.fromtimestamp(wall):%Y-%m-%d}.sqlite"


def copies_in(folder: Path) -> list[Path]:
    """All copies in a folder, the newest first; none where there is no folder."""
    with suppress(OSError):
        return sorted((one for one in folder.iterdir() if _NAME.fullmatch(one.name)), reverse=True)
    return []


def keep_copy(journal: Path, folder: Path, wall: float) -> Path | None:
    """Have a copy of today in a folder, and no more than are kept; the copy, or None where there was one.

    The station may be writing. Raises JournalError.
    """
    path = copy_name(folder, wall)
    with as_journal_error(path):
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        made = None if path.exists() else write_copy(journal, path)
        for old in too_old(copies_in(folder)):
            old.unlink(missing_ok=True)
    return made


def write_copy(journal: Path, path: Path) -> Path:
    """Write a journal to a new file, whole and on disk before it has its name, and verified.

    Raises JournalError, OSError or sqlite3.Error; then there is no such file.
    """
    part = path.with_name(path.name + ".part")
    part.unlink(missing_ok=True)
    os.close(os.open(part, os.O_WRONLY | os.O_CREAT, 0o600))
    try:
        with closing(connect_to_read(journal)) as source, closing(sqlite3.connect(part)) as copy:
            source.backup(copy, pages=_PAGES, sleep=0.0)
            copy.execute("PRAGMA journal_mode = DELETE")
            broken = next((link for link in links(copy) if link.problem), None)
            if broken is not None:
                raise DamagedJournalError(
                    f"{journal}: {broken.entries}: {broken.problem}; "
                    "crumbcall ledger repair sets that aside, then copy it"
                )
        with part.open("rb+") as file:
            os.fsync(file.fileno())
        part.rename(path)
    finally:
        part.unlink(missing_ok=True)
    sync_folder(path.parent)
    return path


def too_old(copies: Sequence[Path]) -> list[Path]:
    """Which of the copies, the newest first, are kept no longer."""
    kept, weeks = set(copies[:DAYS]), set[tuple[int, int]]()
    for one in copies:
        year, week, _ = date.fromisoformat(one.name[len("journal-") : -len(".sqlite")]).isocalendar()
        if (year, week) not in weeks and len(weeks) < WEEKS:
            weeks.add((year, week))
            kept.add(one)
    return [one for one in copies if one not in kept]


def is_mounted(folder: Path, journal: Path) -> bool:
    """Whether a folder is on another device than the journal: a stick that is in."""
    with suppress(OSError):
        there = next((one for one in (folder, *folder.parents) if one.exists()), None)
        return there is not None and there.stat().st_dev != journal.parent.stat().st_dev
    return False
