"""Is every decision what was written? All of them are held against the chain; nothing is changed."""

import json
import sqlite3
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from assistant.journal.batch_table import batches_are_sound
from assistant.journal.failures import as_journal_error, is_damage
from assistant.journal.guard.links import SetAside, links, set_aside_in
from assistant.journal.guard.quarantine import text_of

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
            _look(db, found)
            found.batches = batches_are_sound(db)
            checked = [str(row[0]) for row in db.execute("PRAGMA quick_check(3)")]
        except (sqlite3.DatabaseError, UnicodeDecodeError) as error:
            if not is_damage(error):
                raise
            checked = [str(error)]
    if checked != ["ok"]:
        found.file = "; ".join(checked)
    return found


def _look(db: sqlite3.Connection, found: Verified) -> None:
    for link in links(db):
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
