"""Decisions of a journal as they were written, row by row: what goes to the group's server and comes back."""

import sqlite3
from collections.abc import Iterable, Sequence
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

from assistant.journal.chain import FIRST, DecisionRow, EventRow
from assistant.journal.failures import as_journal_error
from assistant.journal.guard.links import set_aside_in
from assistant.journal.reader import JournalReader
from assistant.journal.schema import migrate
from assistant.journal.summaries import OF_A_LOT, LotBatch, lot_batch


@dataclass(frozen=True, slots=True)
class Decided:
    """A decision with its events, as their rows say it."""

    row: DecisionRow
    events: tuple[EventRow, ...]
    chain: str
    """Its chain, as `chain.chained` makes it."""


@dataclass(frozen=True, slots=True)
class Touched:
    """A batch that was closed or opened again."""

    number: int
    evidence: LotBatch | None
    """What it says of its lot; None: nothing, or nothing any more."""


class DecisionReader(JournalReader):
    """A journal that is read decision by decision; the station may be writing it."""

    def last_decision(self) -> int:
        """Number of the last decision; 0 in an empty journal."""
        with as_journal_error(self.path):
            return int(self._db.execute("SELECT coalesce(max(decision), 0) FROM decisions").fetchone()[0])

    def chain(self, decision: int) -> str:
        """Chain of a decision; that before the first for 0, "" for one that nothing is known of.

        Also of one that was lost or set aside, where the next goes on from it: others may have it whole.
        """
        with as_journal_error(self.path):
            row = self._db.execute("SELECT chain FROM decisions WHERE decision = ?", (decision,)).fetchone()
            aside = {one.last_decision: one.chain for one in set_aside_in(self._db)}
        return str(row[0]) if row else aside.get(decision, FIRST)

    def decisions(self, after: int, most: int) -> list[Decided]:
        """At most so many decisions above a number, oldest first. Raises JournalError."""
        with as_journal_error(self.path):
            heads = self._db.execute(
                """SELECT decision, wall, monotonic, boot, wall_trusted, station, chain FROM decisions
                WHERE decision > ? ORDER BY decision LIMIT ?""",
                (after, most),
            ).fetchall()
            if not heads:
                return []
            # By their sequence: events have no index by decision.
            first, last = self._bounds(heads[0][0], heads[-1][0])
            events = self._db.execute(
                """SELECT decision, sequence, batch, name, body FROM events
                WHERE sequence BETWEEN ? AND ? ORDER BY sequence""",
                (first, last),
            ).fetchall()
        found: dict[int, list[EventRow]] = {head[0]: [] for head in heads}
        for decision, *event in events:
            found[decision].append(EventRow(*event))
        return [Decided(DecisionRow(*head), tuple(found[head[0]]), chain) for *head, chain in heads]

    def _bounds(self, first: int, last: int) -> tuple[int, int]:
        """Sequences of the first and the last event of a run of decisions, by halving: both only grow."""
        end = self._db.execute("SELECT coalesce(max(sequence), 0) FROM events").fetchone()[0]
        return self._first_of(first, end), self._first_of(last + 1, end) - 1

    def _first_of(self, decision: int, end: int) -> int:
        low, high = 1, end + 1
        while low < high:
            middle = (low + high) // 2
            # The next one that is there: what was lost left a gap.
            row = self._db.execute(
                "SELECT decision FROM events WHERE sequence >= ? ORDER BY sequence LIMIT 1", (middle,)
            ).fetchone()
            low, high = (low, middle) if row is None or row[0] >= decision else (middle + 1, high)
        return low

    def touched(self, decided: Iterable[Decided]) -> list[Touched]:
        """The batches that these decisions closed or opened again, as they are now."""
        numbers = {
            event.batch: None
            for one in decided
            for event in one.events
            if event.batch is not None and event.name in ("BatchClosed", "Withdrawn")
        }
        return [Touched(number, self._evidence(number)) for number in numbers]

    def _evidence(self, number: int) -> LotBatch | None:
        with as_journal_error(self.path):
            found = self._db.execute(
                """SELECT lot, recipe, ended_wall, hydration_pct FROM batches
                WHERE number = ? AND lot IS NOT NULL AND outcome = 'closed' AND water_g > 0""",
                (number,),
            ).fetchone()
        if found is None:
            return None
        lot, recipe, wall, pct = found
        told = [event for _, event in self.batch(number) if isinstance(event, OF_A_LOT)]
        return lot_batch(told, number=number, lot=lot, recipe=recipe, ended_wall=wall, hydration_pct=pct)


def write_journal(path: Path, decided: Iterable[Sequence[Decided]]) -> tuple[int, int]:
    """A new journal of these decisions; how many decisions and events it has.

    What is derived from them is made when it is opened to write. Raises JournalError; then there is no file.
    """
    decisions = events = 0
    with as_journal_error(path):
        path.parent.mkdir(parents=True, exist_ok=True)
        path.unlink(missing_ok=True)
        try:
            with closing(sqlite3.connect(path, isolation_level=None)) as db:
                migrate(db)
                for some in decided:
                    db.execute("BEGIN")
                    db.executemany(_DECISION, [(*one.row, one.chain) for one in some])
                    rows = [(one.row.number, *event) for one in some for event in one.events]
                    db.executemany(_EVENT, rows)
                    db.execute("COMMIT")
                    decisions, events = decisions + len(some), events + len(rows)
        except BaseException:
            for tail in ("", "-wal", "-shm", "-journal"):
                path.with_name(path.name + tail).unlink(missing_ok=True)
            raise
    return decisions, events


_DECISION = """INSERT INTO decisions (decision, wall, monotonic, boot, wall_trusted, station, chain)
    VALUES (?, ?, ?, ?, ?, ?, ?)"""
_EVENT = "INSERT INTO events (decision, sequence, batch, name, body) VALUES (?, ?, ?, ?, ?)"
