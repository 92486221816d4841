"""Is every decision what was written? All of them are held against the chain; nothing is changed."""

import json
import os
import sqlite3
import subprocess
import sys
from contextlib import closing
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import msgspec

from assistant.errors import JournalError
from assistant.journal.batch_table import batches_are_sound
from assistant.journal.failures import as_journal_error, is_damage
from assistant.journal.guard.links import SetAside, links, set_aside_in
from assistant.journal.guard.quarantine import text_of
from assistant.journal.reader import connect_to_read

A_PIECE = 150_000
"""Events that are worth a process of their own."""
_SAID = 160
"""Characters of what a decision says that are shown."""


@dataclass(frozen=True, slots=True)
class Problem:
    """Decisions that are not what was written."""

    decision: int
    """The first of them."""
    last_decision: int
    sequence: int
    """Of the first event."""
    last_sequence: int
    why: str
    found: str
    """What they say, as JSON; "" where they are missing."""

    @property
    def text(self) -> str:
        """Which, why and what they say, in one line."""
        which = f"decision {self.decision}"
        if self.last_decision > self.decision:
            which = f"decisions {self.decision} to {self.last_decision}"
        said = [str(row[10]) for row in json.loads(self.found)] if self.found else []
        says = f"; it says {' '.join(said)}"[:_SAID] if said else ""
        return f"{which} (from entry {self.sequence} on): {self.why}{says}"


@dataclass(slots=True)
class Verified:
    """What was found."""

    decisions: int = 0
    events: int = 0
    problems: list[Problem] = field(default_factory=list)
    set_aside: list[SetAside] = field(default_factory=list)
    """What was set aside before, oldest first."""
    file: str = ""
    """What SQLite's own check says of the file; "" where it is sound."""
    batches: bool = True
    """Whether the table of batches is what was written; where it is not, it is made anew by itself."""

    @property
    def sound(self) -> bool:
        """Whether all that is read is what was written."""
        return not self.problems and not self.file


def verified(db: sqlite3.Connection, path: Path) -> Verified:
    """Look at everything in an open journal. Raises JournalError where it can't be read at all."""
    found = Verified()
    with as_journal_error(path):
        try:
            found.set_aside = set_aside_in(db)
            _look(db, path, found)
            found.batches = batches_are_sound(db)
            checked = [str(row[0]) for row in db.execute("PRAGMA quick_check(3)")]
        except (sqlite3.DatabaseError, UnicodeDecodeError) as error:
            if not is_damage(error):
                raise
            checked = [str(error)]
    if checked != ["ok"]:
        found.file = "; ".join(checked)
    return found


def _look(db: sqlite3.Connection, path: Path, found: Verified) -> None:
    """Hold all decisions against the chain; of a long journal by all processors."""
    pieces = pieces_of(db)
    others = [
        subprocess.Popen(
            [sys.executable, "-m", __name__, str(path.absolute()), str(after), str(until)],
            stdout=subprocess.PIPE,
            text=True,
        )
        for after, until in pieces[1:]
    ]
    try:
        _look_at(db, 0, pieces[0][1] if others else None, found)
        for other in others:
            told, _ = other.communicate()
            if other.returncode != 0:
                raise JournalError(f"{path}: it could not be verified; try again")
            part = msgspec.json.decode(told, type=Verified)
            found.decisions += part.decisions
            found.events += part.events
            found.problems += part.problems
    finally:
        for other in others:
            other.kill()
            other.wait()


def pieces_of(db: sqlite3.Connection, processors: int | None = None) -> list[tuple[int, int | None]]:
    """Sequences after which, and up to which, a process verifies; each but the last ends with a decision."""
    (last,) = db.execute("SELECT coalesce(max(sequence), 0) FROM events").fetchone()
    count = min(processors or os.cpu_count() or 1, last // A_PIECE)
    ends = list[int]()
    for piece in range(1, count):
        row = db.execute(
            """SELECT max(sequence) FROM events WHERE sequence < (SELECT min(sequence) FROM events
            WHERE sequence > ? AND decision > (SELECT decision FROM events WHERE sequence = ?))""",
            (last * piece // count, last * piece // count),
        ).fetchone()
        if row[0] is not None and row[0] < last and row[0] not in ends:
            ends.append(row[0])
    return list(zip([0, *ends], [*ends, None], strict=True))


def _look_at(db: sqlite3.Connection, after: int, until: int | None, found: Verified) -> None:
    for link in links(db, after, until):
        if link.problem or link.chain_damaged:
            why = link.problem or "its checksum is damaged, what it says is not"
            text = text_of(link.rows)
            found.problems.append(
                Problem(link.number, link.last, link.sequence, link.last_sequence, why, text)
            )
        else:
            found.decisions += 1
            found.events += len(link.rows)


def as_values(found: Verified) -> dict[str, Any]:
    """As values of JSON."""
    return {
        "sound": found.sound,
        "decisions": found.decisions,
        "events": found.events,
        "file": found.file,
        "problems": [
            {
                "decision": one.decision,
                "last_decision": one.last_decision,
                "sequence": one.sequence,
                "last_sequence": one.last_sequence,
                "why": one.why,
                "found": json.loads(one.found) if one.found else [],
            }
            for one in found.problems
        ],
        "set_aside": [
            {
                "decision": one.decision,
                "last_decision": one.last_decision,
                "sequence": one.sequence,
                "last_sequence": one.last_sequence,
                "why": one.why,
                "found": json.loads(one.found) if one.found else [],
                "wall": one.wall,
            }
            for one in found.set_aside
        ],
    }


def main(path: str, after: str, until: str) -> None:
    """Verify one piece for the process that asked, and tell it as JSON."""
    found = Verified()
    with closing(connect_to_read(Path(path))) as db:
        _look_at(db, int(after), None if until == "None" else int(until), found)
    sys.stdout.buffer.write(msgspec.json.encode(found))


if __name__ == "__main__":
    main(*sys.argv[1:])
