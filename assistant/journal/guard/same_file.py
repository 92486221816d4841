"""Whether the journal's file is still the one that was opened; where it is not, it is written there again."""

import os
import sqlite3
from contextlib import suppress
from datetime import UTC, datetime
from pathlib import Path


class OwnFile:
    """The file that a connection writes, by what the system knows it by."""

    def __init__(self, path: Path) -> None:
        self._path = path
        found = path.stat()
        self._known = found.st_dev, found.st_ino
        self._size = found.st_size

    def is_there(self) -> bool:
        """Whether the name still leads to the file. It may have been unlinked, renamed or replaced."""
        try:
            found = os.stat(self._path)
        except FileNotFoundError:
            return False
        return (found.st_dev, found.st_ino) == self._known

    def is_whole(self) -> bool:
        """Whether nobody cut it: it only grows. For a file that is there."""
        size = os.stat(self._path).st_size
        whole, self._size = size >= self._size, max(size, self._size)
        return whole


def put_back(db: sqlite3.Connection, path: Path, wall: float) -> Path | None:
    """Write all that a connection knows to its name again; what else lies there gets another.

    Page for page, so that a log that is left beside it fits. Afterwards the connection has to be closed, and
    the file opened. Returns where something else was moved to. `wall`: now (s since 1970, UTC).
    """
    part = path.with_name(path.name + ".part")
    part.unlink(missing_ok=True)
    copy = sqlite3.connect(part, isolation_level=None)
    try:
        db.backup(copy)
    finally:
        copy.close()
    part.chmod(0o600)
    with part.open("rb+") as file:
        os.fsync(file.fileno())
    moved = None
    if path.exists():
        moved = free_name(path, "replaced", wall)
        path.rename(moved)
    part.rename(path)
    sync_folder(path.parent)
    return moved


def free_name(path: Path, what: str, wall: float) -> Path:
    """A name beside a file that is not taken: what it is, and when (s since 1970, UTC)."""
    when = datetime.fromtimestamp(wall, UTC).strftime("%Y%m%dT%H%M%SZ")
    name, count = path.with_name(f"{path.stem}.{what}-{when}{path.suffix}"), 1
    while name.exists():
        count += 1
        name = path.with_name(f"{path.stem}.{what}-{when}-{count}{path.suffix}")
    return name


def sync_folder(folder: Path) -> None:
    """Have the names of a folder on disk."""
    with suppress(OSError):
        file = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(file)
        finally:
            os.close(file)
