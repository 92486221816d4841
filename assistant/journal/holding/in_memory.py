"""A journal whose folder takes no file: held as it lies there, and read into memory."""

import fcntl
import os
import shutil
import sqlite3
import tempfile
from collections.abc import Callable
from contextlib import closing, suppress
from io import BytesIO
from pathlib import Path

from assistant.errors import JournalError, JournalInUseError, StorageError
from assistant.journal.reader import check_version, connect_to_read
from assistant.journal.schema import migrate
from assistant.journal.store import SqliteJournal
from assistant.ports import Clock

IN_MEMORY = (Path("/dev/shm"), Path(tempfile.gettempdir()))
"""Where a journal is copied to whose folder takes no file, so that SQLite can read it with its log."""


def lock_as_it_is(path: Path) -> int | None:
    """Hold the journal by its lock file, where there is one; JournalError where another process does.

    A file system that can't be written still knows locks, but makes no file for one.
    """
    try:
        lock = os.open(path.with_name(path.name + ".lock"), os.O_RDONLY | os.O_CLOEXEC)
    except OSError:
        return None
    try:
        fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        os.close(lock)
        raise JournalInUseError(f"{path}: another crumbcall is writing it; stop that one first") from None
    except OSError:
        os.close(lock)
        return None
    return lock


def in_memory(path: Path, clock: Clock, station: str) -> tuple[SqliteJournal, bool]:
    """A copy of a journal in memory, and whether there is one that could not be read: then it is empty."""
    readers: tuple[Callable[[Path], sqlite3.Connection], ...] = (_as_it_is, _by_way_of_memory)
    there = _is_there(path)
    for read in readers if there else ():
        with suppress(sqlite3.Error, OSError, JournalError, MemoryError):
            return _copied(read(path), path, clock, station), False
    return _journal_in(_memory(), path, clock, station), there


def _is_there(path: Path) -> bool:
    try:
        return path.stat().st_size > 0
    except FileNotFoundError:
        return False
    except OSError:
        return True


def _copied(source: sqlite3.Connection, path: Path, clock: Clock, station: str) -> SqliteJournal:
    with closing(source):
        check_version(path, source)
        memory = _memory()
        source.backup(memory)
    return _journal_in(memory, path, clock, station)


def _memory() -> sqlite3.Connection:
    return sqlite3.connect(":memory:", isolation_level=None, check_same_thread=False)


def _journal_in(memory: sqlite3.Connection, path: Path, clock: Clock, station: str) -> SqliteJournal:
    migrate(memory)
    return SqliteJournal(path, memory, clock, station, lock=BytesIO())


def _as_it_is(path: Path) -> sqlite3.Connection:
    """The file where it lies."""
    return connect_to_read(path)


def _by_way_of_memory(path: Path) -> sqlite3.Connection:
    """A copy of the file and its log in a folder that is memory: there SQLite can read what it has to write.

    The copy has no name any more once it is open.
    """
    for folder in IN_MEMORY:
        with suppress(OSError, sqlite3.Error), tempfile.TemporaryDirectory(dir=folder) as found:
            copy = Path(found) / path.name
            shutil.copyfile(path, copy)
            with suppress(FileNotFoundError):
                shutil.copyfile(path.with_name(path.name + "-wal"), copy.with_name(copy.name + "-wal"))
            db = _memory()
            with closing(sqlite3.connect(copy, isolation_level=None)) as source:
                source.backup(db)
            return db
    raise StorageError(f"{path}: no folder is memory that it could be read in")
