"""The journal that a station writes: one writer, one decision a transaction, on disk before it returns."""

import fcntl
import sqlite3
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import astuple, dataclass, field, fields
from pathlib import Path
from typing import IO, Self

from assistant.batch.record.events import Event
from assistant.batch.record.evolving.evolve import evolve
from assistant.batch.record.state import State
from assistant.errors import ImpossibleEvent, JournalError
from assistant.journal.chain import FIRST, DecisionRow, EventRow, chained
from assistant.journal.codec import DamagedEvent, code_that_made_it, event_text, state_text
from assistant.journal.damage import Damage, KeptDecision, find_damage, move_aside, readable_decisions
from assistant.journal.failures import as_journal_error
from assistant.journal.reader import OpenJournal, check_version
from assistant.journal.schema import migrate
from assistant.journal.summaries import BatchSummary, batch_of, keep_opening, summaries_after
from assistant.ports import Clock, Stamp

SNAPSHOT_EVERY = 2000
"""Events between two snapshots: what a start has to replay at most."""


@dataclass(frozen=True, slots=True)
class _Head:
    """The end of the journal."""

    sequence: int = 0
    """Of the last event; 0 in an empty journal."""
    decision: int = 0
    """Of the last decision; 0 in an empty journal."""
    state: State = field(default_factory=State)
    """State after all events."""
    stamp: Stamp | None = None
    """Stamp of the last event; None in an empty journal."""
    chain: str = FIRST
    """Chain of the last decision."""


class SqliteJournal(OpenJournal):
    """Append-only journal in an SQLite file.

    `moved_aside`: where a damaged file was moved to at opening, or None; `carried_over`: how many of its
    decisions could be read and are in the new one.
    """

    def __init__(
        self,
        path: Path,
        db: sqlite3.Connection,
        clock: Clock,
        station: str,
        *,
        lock: IO[bytes],
        moved_aside: Path | None = None,
    ) -> None:
        super().__init__(path, db)
        self.moved_aside = moved_aside
        self.carried_over = 0
        self._clock = clock
        self._station = station
        self._lock = lock
        self._head = _Head()
        self._snapshot_at = 0
        try:
            self._resume()
            if moved_aside is not None:
                self._carry_over(readable_decisions(moved_aside))
        except BaseException:
            db.close()
            raise

    @classmethod
    def open(cls, path: Path, clock: Clock, station: str = "kitchen") -> Self:
        """Open for writing, beginning a file where there is none; a damaged one is moved aside.

        Raises JournalError (one line) where it can't be read or written, or another process writes it.
        """
        with as_journal_error(path):
            path.parent.mkdir(parents=True, exist_ok=True)
            lock = _lock(path)
            try:
                try:
                    return cls(path, _sound(path), clock, station, lock=lock)
                except (Damage, DamagedEvent):
                    aside = move_aside(path, clock.wall())
                    return cls(path, _sound(path), clock, station, lock=lock, moved_aside=aside)
            except BaseException:
                lock.close()
                raise

    def append(self, events: Sequence[Event]) -> Sequence[Stamp]:
        """Write all events of one decision durably, or none; their stamps.

        Raises JournalError where the disk fails, ImpossibleEvent or ValueError where an event can't be:
        then nothing is written.
        """
        return self.append_kept([self.decision(events)]) if events else ()

    def decision(self, events: Sequence[Event]) -> KeptDecision:
        """Events of one decision, stamped with this moment; nothing is written."""
        clock = self._clock
        return KeptDecision(
            wall=clock.wall(),
            monotonic=clock.monotonic(),
            boot=clock.boot_id(),
            wall_trusted=clock.wall_trusted(),
            station=self._station,
            events=list(events),
        )

    def append_kept(self, decisions: Iterable[KeptDecision]) -> Sequence[Stamp]:
        """Write decisions durably with the stamps that they were made with, or none; raises as `append`."""
        stamps, head = list[Stamp](), self._head
        with as_journal_error(self.path), self._transaction():
            for decision in decisions:
                made, head = self._insert(decision, head)
                stamps += made
            snapshot_due = head.sequence - self._snapshot_at >= SNAPSHOT_EVERY
            if snapshot_due:
                self._write_snapshot(head)
        self._head = head
        if snapshot_due:
            self._snapshot_at = head.sequence
        return stamps

    def written_of(self, decisions: Sequence[KeptDecision], last: Stamp | None) -> int:
        """How many of these, the first of them, are on disk behind `last`; the journal goes on behind them.

        A commit that was reported as failed may have reached the disk. Raises JournalError where the file
        does not have `last` (None: nothing before them), or goes on with something else.
        """
        stored = list(self.read(last.sequence - 1 if last is not None else 0))
        foreign = last is not None and (not stored or stored.pop(0)[0] != last)
        count, found = 0, 0
        while found < len(stored) and count < len(decisions):
            wanted, part = decisions[count], stored[found : found + len(decisions[count].events)]
            moment = (wanted.wall, wanted.monotonic, wanted.boot)
            same = [event for _, event in part] == wanted.events
            if not same or any((at.wall, at.monotonic, at.boot) != moment for at, _ in part):
                break
            count, found = count + 1, found + len(part)
        if foreign or found < len(stored):
            raise JournalError(f"{self.path}: it was written by something else meanwhile; keep the file")
        if stored and self._head.sequence < stored[-1][0].sequence:
            self._resume()
        return count

    def load(self) -> tuple[State, Stamp | None]:
        """State after all events, and the stamp of the last."""
        return self._head.state, self._head.stamp

    def close(self) -> None:
        """Let the file go, with a snapshot so that the next start is quick."""
        if self._head.sequence > self._snapshot_at:
            with suppress(sqlite3.Error), self._transaction():
                self._write_snapshot(self._head)
            self._snapshot_at = self._head.sequence
        self._db.close()
        if self._lock is not None:
            self._lock.close()

    def _resume(self) -> None:
        """Come to the state after the last event: from a snapshot, or from all events, with all summaries."""
        sequence, state = self._snapshot()
        if sequence:
            for stamp, event in self.read(sequence):
                state = self._follow(state, stamp, event)
        else:
            _, state, lines = self._replay()
            with self._transaction():
                self._db.execute("DELETE FROM batches")
                self._write_lines(lines.values())
        last = self._last_stamp()
        decision, chain = self._db.execute(
            "SELECT decision, chain FROM decisions ORDER BY decision DESC LIMIT 1"
        ).fetchone() or (0, FIRST)
        self._head = _Head(last.sequence if last else 0, decision, state, last, chain)
        self._snapshot_at = sequence

    def _carry_over(self, decisions: Iterable[KeptDecision]) -> None:
        """Write decisions of a damaged journal as they were, up to one that can't follow those before it."""
        head = self._head
        with self._transaction():
            for decision in decisions:
                try:
                    _, head = self._insert(decision, head)
                except ImpossibleEvent:
                    break
        self.carried_over = head.decision
        self._head = head

    def _insert(self, decision: KeptDecision, head: _Head) -> tuple[list[Stamp], _Head]:
        """Insert a decision's rows within an open transaction; their stamps, and the head after them."""
        number, state, stamps = head.decision + 1, head.state, list[Stamp]()
        rows, lines = list[EventRow](), dict[int, BatchSummary]()
        for sequence, event in enumerate(decision.events, head.sequence + 1):
            stamp = Stamp(sequence, decision.wall, decision.monotonic, decision.boot, decision.wall_trusted)
            before, state = state, evolve(state, event)
            rows.append(EventRow(sequence, batch_of(before, state), *event_text(event)))
            for line in summaries_after(before, event, state, stamp):
                # The summary of the opening comes first: it says when that was.
                lines[line.number] = keep_opening(lines.get(line.number), line)
            stamps.append(stamp)
        row = DecisionRow(
            number,
            decision.wall,
            decision.monotonic,
            decision.boot,
            int(decision.wall_trusted),
            decision.station,
        )
        chain = chained(head.chain, row, rows)
        self._db.execute("INSERT INTO decisions VALUES (?, ?, ?, ?, ?, ?, ?)", (*row, chain))
        self._db.executemany(f"INSERT INTO events VALUES (?, {number}, ?, ?, ?)", rows)
        self._write_lines(lines.values())
        return stamps, _Head(stamps[-1].sequence, number, state, stamps[-1], chain)

    def _write_lines(self, lines: Iterable[BatchSummary]) -> None:
        self._db.executemany(_LINE, map(astuple, lines))

    def _write_snapshot(self, head: _Head) -> None:
        """Keep the state, and the snapshot before it in case this one can't be read."""
        self._db.execute(
            "INSERT OR REPLACE INTO snapshots VALUES (?, ?, ?)",
            (head.sequence, code_that_made_it(), state_text(head.state)),
        )
        self._db.execute("DELETE FROM snapshots WHERE sequence < ?", (self._snapshot_at,))

    @contextmanager
    def _transaction(self) -> Iterator[None]:
        self._db.execute("BEGIN IMMEDIATE")
        try:
            yield
            self._db.execute("COMMIT")
        except BaseException:
            if self._db.in_transaction:
                with suppress(sqlite3.Error):
                    self._db.execute("ROLLBACK")
            raise


_COLUMNS = [column.name for column in fields(BatchSummary)]
_LINE = f"""INSERT INTO batches ({", ".join(_COLUMNS)}) VALUES ({", ".join("?" * len(_COLUMNS))})
    ON CONFLICT (number) DO UPDATE SET
    {", ".join(f"{name} = excluded.{name}" for name in _COLUMNS[3:])}"""


def _sound(path: Path) -> sqlite3.Connection:
    """Open a file with the newest tables; raises Damage where SQLite's check finds some."""
    db = sqlite3.connect(path, isolation_level=None, check_same_thread=False)
    try:
        damage = find_damage(db)
        if damage is not None:
            raise Damage(damage)
        check_version(path, db)
        db.execute("PRAGMA journal_mode = WAL")
        db.execute("PRAGMA synchronous = FULL")
        migrate(db)
        # A file that may only be read opens all the same: find out now, not at the first pour.
        db.execute("DELETE FROM snapshots WHERE sequence < 0")
    except BaseException:
        db.close()
        raise
    return db


def _lock(path: Path) -> IO[bytes]:
    """Hold the journal for this process; let go when the file is closed, or the process ends however it may.

    SQLite's own lock would keep readers out too.
    """
    lock = path.with_name(path.name + ".lock").open("ab")
    try:
        fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        lock.close()
        raise JournalError(f"{path}: another crumbcall is writing it; stop that one first") from None
    return lock
