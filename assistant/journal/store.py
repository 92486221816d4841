"""The journal that a station writes: one writer, one decision a transaction, on disk before it returns."""

import sqlite3
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import IO, Self

from assistant.batch.record.events import Event
from assistant.batch.record.evolving.evolve import evolve
from assistant.batch.record.state import State
from assistant.errors import JournalError, StorageError
from assistant.journal.batch_table import ALL_ROWS, INSERT_ROW, batches_are_sound, table_of
from assistant.journal.chain import FIRST, DecisionRow, EventRow, chained
from assistant.journal.codec import event_text
from assistant.journal.damage import Damage, KeptDecision
from assistant.journal.failures import as_journal_error, is_damage
from assistant.journal.guard.copies import COPIES, copies_in
from assistant.journal.guard.end_note import End, EndNote
from assistant.journal.guard.following import BatchRow, Passage, batch_rows
from assistant.journal.guard.links import SetAside, set_aside_in
from assistant.journal.guard.opening import lock_of, sound
from assistant.journal.guard.pages import log_of
from assistant.journal.guard.quarantine import keep_aside, mend
from assistant.journal.guard.resuming import Resumed, from_the_first, from_the_snapshot
from assistant.journal.guard.same_file import OwnFile, put_back
from assistant.journal.guard.saving import Saved, put_on, save
from assistant.journal.guard.seals import row_of, seal_of, values_of
from assistant.journal.guard.snapshots import INSERT_SNAPSHOT, Snapshot
from assistant.journal.reader import OpenJournal
from assistant.journal.summaries import batch_of
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
    """Stamp of the last event that can be trusted; None in an empty journal."""
    chain: str = FIRST
    """Chain of the last decision."""
    sound: Snapshot = field(default_factory=Snapshot)
    """After the last decision that can be trusted."""

    @property
    def end(self) -> End:
        """What is noted of it beside the journal."""
        return End(self.decision, self.sequence, self.chain, self.stamp.wall if self.stamp else 0.0)


class SqliteJournal(OpenJournal):
    """Append-only journal in an SQLite file.

    `moved_aside`: where a damaged file was moved to at opening, or None; `carried_over`: how many of its
    decisions are in the new one. `set_aside`: decisions that were found at opening not to be what was
    written; `mended`: how many could be mended. `replaced`: where a file was moved to that took this one's
    place while it was written.
    """

    def __init__(
        self,
        path: Path,
        db: sqlite3.Connection,
        clock: Clock,
        station: str,
        *,
        lock: IO[bytes],
        note: EndNote | None = None,
        saved: Saved | None = None,
        log: bytes = b"",
    ) -> None:
        super().__init__(path, db)
        self.moved_aside = saved.moved_aside if saved else None
        self.carried_over = saved.decisions if saved else 0
        self.set_aside: list[SetAside] = list(saved.aside) if saved else []
        self.mended = 0
        self.replaced: list[Path] = []
        self._clock = clock
        self._station = station
        self._lock = lock
        self._note = note or EndNote(None)
        self._own = OwnFile(path) if note else None
        self._head = _Head()
        self._snapshot_at = 0
        try:
            self._put_on(log)
            self._resume()
        except BaseException:
            db.close()
            self._note.close()
            raise

    @classmethod
    def open(cls, path: Path, clock: Clock, station: str = "kitchen") -> Self:
        """Open for writing, beginning a file where there is none.

        A file that is broken is moved aside, and all that can be trusted of it is in a new one. Raises
        JournalError (one line) where it can't be read or written, or another process writes it.
        """
        with as_journal_error(path):
            path.parent.mkdir(parents=True, exist_ok=True)
            lock = lock_of(path)
            try:
                log = log_of(path)
                try:
                    return cls(path, sound(path), clock, station, lock=lock, note=EndNote.of(path), log=log)
                except (Damage, sqlite3.Error, UnicodeDecodeError) as error:
                    if not (isinstance(error, Damage) or is_damage(error)):
                        raise
                saved = save(path, clock.wall(), copies_in(path.parent / COPIES))
                note = EndNote.of(path)
                return cls(path, sound(path), clock, station, lock=lock, note=note, saved=saved)
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
            snapshot_due = head.sound.sequence - self._snapshot_at >= SNAPSHOT_EVERY
            if snapshot_due:
                self._write_snapshot(head)
        self._acknowledge(head, synced=snapshot_due)
        self._head = head
        if snapshot_due:
            self._snapshot_at = head.sound.sequence
        return stamps

    def _acknowledge(self, head: _Head, *, synced: bool) -> None:
        """What was written may be told once its file is still the one that the next start will open."""
        if self._own is not None and not self._own.is_there():
            self._put_back()
        elif self._own is not None and not self._own.is_whole():
            raise StorageError(
                f"{self.path}: something cut it while it was written; the disk fails, check it"
            )
        self._note.write(head.end)
        if synced:
            self._note.sync()

    def _put_back(self) -> None:
        """Somebody unlinked, renamed or replaced the file: write it to its name again, whole."""
        with as_journal_error(self.path):
            moved = put_back(self._db, self.path, self._clock.wall())
            self._db.close()
            for tail in ("-wal", "-shm"):
                self.path.with_name(self.path.name + tail).unlink(missing_ok=True)
            self._db = sound(self.path)
            self._own = OwnFile(self.path)
        self.replaced.append(moved or self.path)

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
        if self._head.sound.sequence > self._snapshot_at:
            with suppress(sqlite3.Error), self._transaction():
                self._write_snapshot(self._head)
            self._snapshot_at = self._head.sound.sequence
        self._db.close()
        self._note.close()
        if self._lock is not None:
            self._lock.close()

    def _put_on(self, log: bytes) -> None:
        """Go on with what the log still has behind a place where it is damaged."""
        if not log:
            return
        with self._transaction():
            self.mended = put_on(self._db, self.path, log, self._note.read())
            if self.mended:
                self._db.execute("DELETE FROM snapshots")

    def repair(self) -> None:
        """Look at every decision from the first on: mend, set aside, and make anew what is derived."""
        with as_journal_error(self.path), self._transaction():
            self._db.execute("DELETE FROM snapshots")
        self._resume()

    def _resume(self) -> None:
        """Come to the state after the last event; what can't be trusted is kept aside."""
        known = {one.decision for one in set_aside_in(self._db)}
        snapshot, wall, found = self._snapshot(), self._clock.wall(), None
        if snapshot is not None:
            found = from_the_snapshot(self._db, snapshot, wall)
            if found is not None and not self._table_is_sound(found.sound.state):
                found = None
        if found is None:
            snapshot, found = None, from_the_first(self._db, wall)
        missing = self._missing(found, wall)
        found.know_the_end(self._note.read())
        if found.mended or found.rows is not None or missing:
            with self._transaction():
                for link in found.mended:
                    mend(self._db, link)
                keep_aside(self._db, [*found.aside, *missing])
                if found.rows is not None:
                    self._db.execute("DELETE FROM batches")
                    self._db.executemany(INSERT_ROW, table_of(found.rows))
                    self._db.execute("DELETE FROM snapshots")
        self.set_aside += [one for one in (*found.aside, *missing) if one.decision not in known]
        self.mended += len(found.mended)
        decision, sequence, chain = found.end
        for one in missing:
            decision, sequence, chain = one.last_decision, one.last_sequence, one.chain
        self._head = _Head(sequence, decision, found.sound.state, found.stamp, chain, found.sound)
        self._snapshot_at = snapshot.sequence if snapshot else 0
        self._note.write(self._head.end)

    def _missing(self, found: Resumed, wall: float) -> list[SetAside]:
        """What is gone from the end: the note beside the journal goes further than it does."""
        decision, sequence, _ = found.end
        noted = self._note.read()
        if noted.decision <= decision:
            return []
        since = f" at {datetime.fromtimestamp(found.stamp.wall):%Y-%m-%d %H:%M}" if found.stamp else ""
        why = f"it is missing: the journal ended before it{since}"
        return [
            SetAside(
                decision + 1, noted.decision, sequence + 1, noted.sequence, noted.chain, why, "", 0, wall
            )
        ]

    def _table_is_sound(self, state: State) -> bool:
        """Whether the table of batches is what was written, and goes as far as the state."""
        self._batches_checked = True
        if not batches_are_sound(self._db):
            return False
        (last,) = self._db.execute("SELECT coalesce(max(number), 0) FROM batches").fetchone()
        return bool(last >= state.last_batch)

    def _insert(self, decision: KeptDecision, head: _Head) -> tuple[list[Stamp], _Head]:
        """Insert a decision's rows within an open transaction; their stamps, and the head after them."""
        number, state, passages = head.decision + 1, head.state, list[Passage]()
        rows = list[EventRow]()
        for sequence, event in enumerate(decision.events, head.sequence + 1):
            stamp = Stamp(sequence, decision.wall, decision.monotonic, decision.boot, decision.wall_trusted)
            before, state = state, evolve(state, event)
            rows.append(EventRow(sequence, batch_of(before, state), *event_text(event)))
            passages.append((stamp, before, event, state))
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
        self._write_rows(passages, {one.batch for one in rows if one.batch is not None})
        stamps = [stamp for stamp, *_ in passages]
        last = stamps[-1]
        sound = Snapshot(last.sequence, number, chain, state)
        return stamps, _Head(last.sequence, number, state, last, chain, sound)

    def _write_rows(self, passages: list[Passage], numbers: set[int]) -> None:
        """Bring the table of batches up to a decision."""
        known, before = dict[int, BatchRow](), dict[int, int]()
        for number in numbers:
            for values in self._db.execute(_ROW, (number,)):
                if values[-1] != seal_of(values[:-1]):
                    raise JournalError(f"{self.path}: it is damaged (batch {number}); start crumbcall again")
                known[number], before[number] = row_of(values), values[-2]
        for number, row in sorted(batch_rows(passages, known).items()):
            if number not in before:
                (before[number],) = self._db.execute(_BEFORE, (number,)).fetchone()
            self._db.execute(INSERT_ROW, values_of(row, before[number]))

    def _write_snapshot(self, head: _Head) -> None:
        """Keep the state, and the snapshot before it in case this one can't be read."""
        self._db.execute(INSERT_SNAPSHOT, head.sound.row)
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


_ROW = ALL_ROWS.replace("NOT INDEXED ORDER BY number", "WHERE number = ?")
_BEFORE = "SELECT coalesce(max(number), 0) FROM batches WHERE number < ?"
