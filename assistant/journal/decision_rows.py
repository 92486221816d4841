"""Decisions of a journal as they were written, row by row: what goes to the group's server and comes back.

Each has a text that follows from its rows alone, and a link: the SHA-256 of the link before and that text.
So whoever has the texts and the last link can prove that nothing was changed, left out or put in between.
"""

import hashlib
import sqlite3
from collections.abc import Iterable, Sequence
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

import msgspec

from assistant.errors import JournalError
from assistant.journal.failures import as_journal_error
from assistant.journal.reader import JournalReader
from assistant.journal.schema import migrate
from assistant.journal.summaries import OF_A_LOT, LotBatch, lot_batch

FIRST_LINK = b""
"""The link before the first decision."""


class EventRow(msgspec.Struct, frozen=True, array_like=True):
    """An event as its row says it."""

    sequence: int
    batch: int | None
    name: str
    body: str


class DecisionRow(msgspec.Struct, frozen=True, array_like=True):
    """A decision with its events, as their rows say it."""

    decision: int
    wall: float
    """Wall time (s since 1970)."""
    monotonic: float
    """Station time (s)."""
    boot: str
    wall_trusted: bool
    station: str
    events: tuple[EventRow, ...]

    @property
    def text(self) -> str:
        """All of it in one line of JSON: the same rows make the same bytes."""
        return msgspec.json.encode(self).decode()


def row_of(text: str) -> DecisionRow:
    """The decision of such a text. Raises JournalError where it is none."""
    try:
        return msgspec.json.decode(text, type=DecisionRow)
    except msgspec.MsgspecError as error:
        raise JournalError(f"a decision can't be read ({error}); nothing of it is used") from error


def link_after(link: bytes, text: str) -> bytes:
    """The link of a decision with this text, after the one with that link."""
    return hashlib.sha256(link + text.encode()).digest()


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

    def decisions(self, after: int, most: int) -> list[DecisionRow]:
        """At most so many decisions above a number, oldest first. Raises JournalError."""
        with as_journal_error(self.path):
            heads = self._db.execute(
                """SELECT decision, wall, monotonic, boot, wall_trusted, station FROM decisions
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
        return [
            DecisionRow(number, wall, monotonic, boot, bool(trusted), station, tuple(found[number]))
            for number, wall, monotonic, boot, trusted, station in heads
        ]

    def _bounds(self, first: int, last: int) -> tuple[int, int]:
        """Sequences of the first and the last event of a run of decisions, by halving: both only grow."""
        end = self._db.execute("SELECT coalesce(max(sequence), 0) FROM events").fetchone()[0]
        return self._first_of(first, end), self._first_of(last + 1, end) - 1

    def _first_of(self, decision: int, end: int) -> int:
        low, high = 1, end + 1
        while low < high:
            middle = (low + high) // 2
            row = self._db.execute("SELECT decision FROM events WHERE sequence = ?", (middle,)).fetchone()
            low, high = (low, middle) if row is None or row[0] >= decision else (middle + 1, high)
        return low

    def link(self, decision: int, start: int = 0, link: bytes = FIRST_LINK) -> bytes:
        """The link of a decision, from that of an earlier one, `start`. Raises JournalError."""
        while start < decision:
            rows = self.decisions(start, min(1000, decision - start))
            if not rows:
                raise JournalError(f"{self.path}: it has no decision {start + 1}")
            for row in rows:
                link = link_after(link, row.text)
            start = rows[-1].decision
        return link

    def touched(self, rows: Iterable[DecisionRow]) -> list[Touched]:
        """The batches that these decisions closed or opened again, as they are now."""
        numbers = {
            event.batch: None
            for row in rows
            for event in row.events
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


def write_journal(path: Path, rows: Iterable[Sequence[DecisionRow]]) -> tuple[int, int]:
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
                for some in rows:
                    db.execute("BEGIN")
                    db.executemany(
                        "INSERT INTO decisions (decision, wall, monotonic, boot, wall_trusted, station) "
                        "VALUES (?, ?, ?, ?, ?, ?)",
                        [(r.decision, r.wall, r.monotonic, r.boot, r.wall_trusted, r.station) for r in some],
                    )
                    written = [
                        (one.sequence, r.decision, one.batch, one.name, one.body)
                        for r in some
                        for one in r.events
                    ]
                    db.executemany(
                        "INSERT INTO events (sequence, decision, batch, name, body) VALUES (?, ?, ?, ?, ?)",
                        written,
                    )
                    db.execute("COMMIT")
                    decisions, events = decisions + len(some), events + len(written)
        except BaseException:
            for tail in ("", "-wal", "-shm", "-journal"):
                path.with_name(path.name + tail).unlink(missing_ok=True)
            raise
    return decisions, events
