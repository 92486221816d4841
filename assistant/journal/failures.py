"""What SQLite's errors mean for the cook: one line each."""

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from assistant.errors import JournalError

_GIVE_A_FOLDER = "give a folder that crumbcall may write in"
_MEANS = {
    "SQLITE_FULL": "the disk is full, nothing of this was kept; make room, then say it again",
    "SQLITE_READONLY": f"it can't be written; {_GIVE_A_FOLDER}",
    "SQLITE_CANTOPEN": f"it can't be opened; {_GIVE_A_FOLDER}",
    "SQLITE_PERM": f"it can't be opened; {_GIVE_A_FOLDER}",
    "SQLITE_BUSY": "another program holds it; stop that one first",
    "SQLITE_LOCKED": "another program holds it; stop that one first",
    "SQLITE_IOERR": "the disk fails or is full, nothing of this was kept; check it, then say it again",
    "SQLITE_CORRUPT": (
        "it is damaged; start crumbcall listen, which moves it aside and saves what can be read"
    ),
    "SQLITE_NOTADB": "it is not a journal; give another file",
}


def is_damage(error: sqlite3.Error) -> bool:
    """Whether the file itself is broken."""
    return _primary(error) in ("SQLITE_CORRUPT", "SQLITE_NOTADB")


def _primary(error: sqlite3.Error) -> str:
    """Name of the primary result code: of SQLITE_IOERR_WRITE it is SQLITE_IOERR."""
    return "_".join(getattr(error, "sqlite_errorname", "").split("_")[:2])


@contextmanager
def as_journal_error(path: Path) -> Iterator[None]:
    """Turn what fails inside into a JournalError about this file."""
    try:
        yield
    except sqlite3.Error as error:
        raise JournalError(f"{path}: {_MEANS.get(_primary(error), str(error))}") from error
    except OSError as error:
        if isinstance(error, JournalError):
            raise
        raise JournalError(f"{path}: it can't be opened ({error.strerror}); {_GIVE_A_FOLDER}") from error
