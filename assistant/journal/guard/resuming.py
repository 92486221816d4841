"""How a start comes to the state: by a snapshot and what follows it, or by all events.

What can't be trusted is left out, and told.
"""

import sqlite3
from collections.abc import Iterable
from dataclasses import dataclass, field
from dataclasses import replace as changed

from assistant.batch.record.state import State
from assistant.journal.chain import FIRST
from assistant.journal.guard.end_note import End
from assistant.journal.guard.following import BatchRow, CannotFollow, Follower, batch_rows
from assistant.journal.guard.links import Link, SetAside, links, set_aside_in
from assistant.journal.guard.quarantine import corrected, set_aside
from assistant.journal.guard.snapshots import Snapshot
from assistant.ports import Stamp

AT_START = 20_000
"""Events that each start verifies, 0.1 s of two cores of x86; of a longer journal those since the snapshot.

The rest is verified whenever it is read, and all of it by `ledger verify` and before each daily copy.
"""


@dataclass(slots=True)
class Resumed:
    """Where the journal ends, and what was found on the way."""

    sound: Snapshot = field(default_factory=Snapshot)
    """After the last decision that can be trusted."""
    stamp: Stamp | None = None
    """Of its last event."""
    end: tuple[int, int, str] = (0, 0, FIRST)
    """Decision, last sequence and chain that the next decision goes on from."""
    mended: list[Link] = field(default_factory=list)
    """Decisions to be written as they were."""
    aside: list[SetAside] = field(default_factory=list)
    """Decisions that are not read any more."""
    rows: dict[int, BatchRow] | None = None
    """All rows of the table of batches; None: those in the file stand."""

    def know_the_end(self, noted: End) -> None:
        """Of a last decision whose events are gone the note beside the journal knows how many there were."""
        decision, sequence, chain = self.end
        if self.aside and noted.decision == decision == self.aside[-1].last_decision:
            sequence = max(sequence, noted.sequence)
            self.aside[-1] = changed(self.aside[-1], last_sequence=sequence)
            self.end = decision, sequence, chain


def from_the_snapshot(db: sqlite3.Connection, snapshot: Snapshot, wall: float) -> Resumed | None:
    """From a snapshot on; None where all events have to be followed. `wall`: now (s since 1970, UTC).

    What lies before the snapshot is verified too, unless it is long.
    """
    tail = links(db, snapshot.sequence - 1 if snapshot.sequence > AT_START else 0)
    begin, mended = None, list[Link]()
    for given in tail:
        begin = corrected(given) if given.problem else given
        if begin is None:
            return None
        if begin is not given or begin.chain_damaged:
            mended.append(begin)
        if begin.last_sequence >= snapshot.sequence:
            break
    if begin is None or begin.last_sequence != snapshot.sequence or begin.chain != snapshot.chain:
        return None
    found = Resumed(snapshot, begin.stamp(snapshot.sequence), mended=mended)
    _go_on(db, tail, Follower(snapshot.state, broken=bool(set_aside_in(db))), found, wall)
    return None if found.aside else found


def from_the_first(db: sqlite3.Connection, wall: float) -> Resumed:
    """From the first event on, with all rows of the table of batches.

    What was set aside because the program could not read it is looked at again: it may be able to now.
    """
    db.execute("DELETE FROM quarantine WHERE verified = 1")
    found = Resumed(rows={})
    _go_on(db, links(db), Follower(State(), broken=bool(set_aside_in(db))), found, wall)
    return found


def _go_on(
    db: sqlite3.Connection, tail: Iterable[Link], follower: Follower, found: Resumed, wall: float
) -> None:
    found.end = found.sound.decision, found.sound.sequence, found.sound.chain
    for given in tail:
        link, mended = given, None
        if link.problem:
            mended = corrected(link)
            link = mended or link
        elif link.chain_damaged:
            mended = link
        found.end = link.last, max(found.end[1], link.last_sequence), link.chain
        if link.problem:
            found.aside.append(set_aside(link, wall))
            follower.broken = True
            continue
        try:
            passages = follower.take(link)
        except CannotFollow as error:
            one = set_aside(changed(link, problem=str(error)), wall)
            found.aside.append(changed(one, verified=1))
            follower.broken = True
            continue
        finally:
            if mended is not None:
                found.mended.append(mended)
        if found.rows is not None:
            found.rows |= batch_rows(passages, found.rows)
        found.sound = Snapshot(link.last_sequence, link.last, link.chain, follower.state)
        found.stamp = passages[-1][0]
    for one in set_aside_in(db):
        if one.last_decision > found.end[0]:
            found.end = one.last_decision, one.last_sequence, one.chain
