"""A broken journal: found at the start, and moved aside whole."""

import sqlite3
from dataclasses import dataclass, field
from pathlib import Path

from assistant.batch.record.events import Event
from assistant.journal.failures import is_damage
from assistant.journal.guard.same_file import free_name


class Damage(Exception):  # noqa: N818 - caught in this package alone, never shown
    """The file is broken: what was found."""


@dataclass(slots=True, kw_only=True)
class KeptDecision:
    """A decision as it was written."""

    wall: float
    """Wall time (s since 1970, UTC)."""
    monotonic: float
    """Station time (s)."""
    boot: str
    """Which boot of the machine that station time belongs to."""
    wall_trusted: bool
    """Whether the wall clock was known to be right."""
    station: str
    """Name of the station that wrote it."""
    events: list[Event] = field(default_factory=list)


def find_damage(db: sqlite3.Connection) -> str | None:
    """What SQLite's own check of the file finds; None where it is sound."""
    try:
        found = [str(row[0]) for row in db.execute("PRAGMA quick_check(1)")]
    except (sqlite3.DatabaseError, UnicodeDecodeError) as error:
        if not is_damage(error):
            raise
        return str(error)
    return None if found == ["ok"] else found[0]


def move_aside(path: Path, wall: float, what: str = "damaged") -> Path:
    """Rename a journal with all that belongs to it, by the wall time (s, UTC); returns its new name."""
    aside = free_name(path, what, wall)
    for tail in ("-wal", "-shm"):
        belonging = path.with_name(path.name + tail)
        if belonging.exists():
            belonging.rename(aside.with_name(aside.name + tail))
    return path.rename(aside)
