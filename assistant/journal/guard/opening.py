"""Open a journal's file for the one who writes it: sound, with the newest tables, locked."""

import fcntl
import os
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import IO

from assistant.errors import JournalInUseError
from assistant.journal.damage import Damage, find_damage
from assistant.journal.guard.needed_tables import damage_of_tables
from assistant.journal.guard.saving import saved_name
from assistant.journal.reader import check_version
from assistant.journal.schema import migrate


def sound(path: Path) -> sqlite3.Connection:
    """Open a file with the newest tables; raises Damage where SQLite's check finds some."""
    if not path.exists() and saved_name(path).exists():
        saved_name(path).rename(path)  # the power went between the two steps of saving it
    os.close(os.open(path, os.O_RDWR | os.O_CREAT, 0o600))
    for tail in ("", "-wal", "-shm"):
        with suppress(OSError):
            path.with_name(path.name + tail).chmod(0o600)
    db = sqlite3.connect(path, isolation_level=None, check_same_thread=False)
    try:
        damage = find_damage(db) or damage_of_tables(db)
        if damage is not None:
            raise Damage(damage)
        check_version(path, db)
        db.execute("PRAGMA journal_mode = WAL")
        db.execute("PRAGMA synchronous = FULL")
        migrate(db)
        # A file that may only be read opens all the same: find out now, not at the first pour.
        db.execute("DELETE FROM snapshots WHERE sequence < 0")
    except BaseException:
        db.close()
        raise
    return db


@contextmanager
def held_by_nobody(path: Path) -> Iterator[None]:
    """Within, no station may write this journal. Raises JournalInUseError where one does."""
    lock = lock_of(path)
    try:
        yield
    finally:
        lock.close()


def lock_of(path: Path) -> IO[bytes]:
    """Hold the journal for this process; let go when the file is closed, or the process ends however it may.

    SQLite's own lock would keep readers out too.
    """
    lock = open(os.open(path.with_name(path.name + ".lock"), os.O_RDWR | os.O_CREAT, 0o600), "ab")  # noqa: SIM115
    try:
        fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        lock.close()
        raise JournalInUseError(f"{path}: another crumbcall is writing it; stop that one first") from None
    return lock
