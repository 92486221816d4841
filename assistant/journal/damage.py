"""A broken journal: found at the start, moved aside whole, and read as far as it can be."""

import sqlite3
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path

from assistant.batch.record.events import Event
from assistant.errors import JournalError
from assistant.journal.codec import read_event
from assistant.journal.failures import is_damage


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
    except sqlite3.DatabaseError as error:
        if not is_damage(error):
            raise
        return str(error)
    return None if found == ["ok"] else found[0]


def move_aside(path: Path, wall: float) -> Path:
    """Rename a journal with all that belongs to it, by the wall time (s, UTC); returns its new name."""
    when = datetime.fromtimestamp(wall, UTC).strftime("%Y%m%dT%H%M%SZ")
    aside = path.with_name(f"{path.stem}.damaged-{when}{path.suffix}")
    count = 1
    while aside.exists():
        count += 1
        aside = path.with_name(f"{path.stem}.damaged-{when}-{count}{path.suffix}")
    for tail in ("-wal", "-shm"):
        belonging = path.with_name(path.name + tail)
        if belonging.exists():
            belonging.rename(aside.with_name(aside.name + tail))
    return path.rename(aside)


def readable_decisions(aside: Path) -> Iterator[KeptDecision]:
    """Whole decisions of a damaged journal, oldest first, up to the first place that can't be read."""
    db = sqlite3.connect(f"{aside.absolute().as_uri()}?mode=ro", uri=True, isolation_level=None)
    try:
        kept: KeptDecision | None = None
        number, due = 0, 1
        for sequence, decision, wall, monotonic, boot, trusted, station, name, body in db.execute(_ALL):
            if sequence != due or decision not in (number, number + 1):
                break
            due += 1
            if decision != number:
                if kept is not None:
                    yield kept
                number, kept = (
                    decision,
                    KeptDecision(
                        wall=wall, monotonic=monotonic, boot=boot, wall_trusted=bool(trusted), station=station
                    ),
                )
            if kept is not None:
                kept.events.append(read_event(sequence, name, body))
        else:
            if kept is not None:
                yield kept
    except (sqlite3.Error, JournalError):
        return
    finally:
        db.close()


_ALL = """SELECT e.sequence, e.decision, d.wall, d.monotonic, d.boot, d.wall_trusted, d.station,
    e.name, e.body FROM events e JOIN decisions d USING (decision) ORDER BY e.sequence"""
