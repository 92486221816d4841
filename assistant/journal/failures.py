"""What SQLite's errors mean for the cook: one line each."""

import os
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Literal

from assistant.errors import FULL, JournalError, StorageError, is_storage_failure

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

_OF_STORAGE = ("SQLITE_FULL", "SQLITE_IOERR")
_MAYBE_OF_STORAGE = ("SQLITE_READONLY", "SQLITE_CANTOPEN", "SQLITE_PERM")
"""What a wrong folder is answered with too."""

Trouble = Literal["full", "read_only", "fails"]
"""What is wrong with the storage."""
IN_WORDS: dict[Trouble, str] = {
    "full": "the disk is full; make room",
    "read_only": "the disk is read-only; make it writable",
    "fails": "the disk fails; check it",
}
_TROUBLE: dict[str, Trouble] = {"SQLITE_FULL": "full", "SQLITE_READONLY": "read_only"}


def damaged_line(path: Path) -> str:
    """What a broken file means for the cook."""
    return f"{path}: {_MEANS['SQLITE_CORRUPT']}"


def is_damage(error: Exception) -> bool:
    """Whether the file itself is broken."""
    if isinstance(error, UnicodeDecodeError):
        return True
    if "decode to UTF-8" in str(error):  # Python's, of a text that is none
        return True
    return isinstance(error, sqlite3.Error) and _primary(error) in ("SQLITE_CORRUPT", "SQLITE_NOTADB")


def _primary(error: sqlite3.Error) -> str:
    """Name of the primary result code: of SQLITE_IOERR_WRITE it is SQLITE_IOERR."""
    return "_".join(getattr(error, "sqlite_errorname", "").split("_")[:2])


@contextmanager
def as_journal_error(path: Path) -> Iterator[None]:
    """Turn what fails inside into a JournalError about this file."""
    try:
        yield
    except sqlite3.Error as error:
        code = _primary(error)
        of_storage = code in _OF_STORAGE or (code in _MAYBE_OF_STORAGE and file_system(path) is not None)
        kind = StorageError if of_storage else JournalError
        raise kind(f"{path}: {_MEANS.get(code, str(error))}") from error
    except UnicodeDecodeError as error:
        # SQLite's own message quotes what it can't read.
        raise JournalError(damaged_line(path)) from error
    except OSError as error:
        if isinstance(error, JournalError):
            raise
        kind = StorageError if is_storage_failure(error) else JournalError
        raise kind(f"{path}: it can't be opened ({error.strerror}); {_GIVE_A_FOLDER}") from error


def file_system(path: Path) -> Trouble | None:
    """What is wrong with the whole file system of a file; None where it takes more."""
    folder = next((one for one in path.absolute().parents if one.exists()), path.parent)
    try:
        found = os.statvfs(folder)
    except OSError as error:
        return "fails" if is_storage_failure(error) else None
    if found.f_flag & os.ST_RDONLY:
        return "read_only"
    # A file system without a count of its files says 0 for all of them.
    full = found.f_bavail == 0 or (found.f_files > 0 and found.f_favail == 0)
    return "full" if full else None


def trouble_of(error: JournalError, path: Path) -> Trouble:
    """What is wrong with the storage after this error, as far as the cook can do something about it."""
    found, cause = file_system(path), error.__cause__
    if found is not None:
        return found
    if isinstance(cause, sqlite3.Error):
        return _TROUBLE.get(_primary(cause), "fails")
    full = isinstance(cause, OSError) and cause.errno in FULL
    return "full" if full else "fails"
