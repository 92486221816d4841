"""The journal of a station whose storage may fail: what can't be written is held in memory till it can be.

While the storage is full, read-only or failing, `append` keeps decisions in memory with the stamps that they
were made with. `try_again` writes them in order as soon as that is possible, none of them twice. What is held
is lost with the process: whoever speaks has to say so. A storage that does not answer counts as one that
fails: the write that hangs is left to its thread, and looked for later.
"""

import os
from collections.abc import Iterator, Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import Self, TypeVar

from assistant.batch.record.events import Event
from assistant.batch.record.state import State
from assistant.errors import JournalError, StorageError
from assistant.journal.codec import event_text
from assistant.journal.damage import KeptDecision
from assistant.journal.failures import IN_WORDS, Trouble, file_system, trouble_of
from assistant.journal.guard.links import SetAside
from assistant.journal.holding.in_memory import in_memory, lock_as_it_is
from assistant.journal.holding.in_time import CLOSE_S, HangsError, InTime
from assistant.journal.store import SqliteJournal
from assistant.journal.summaries import BatchSummary, LotBatch
from assistant.ports import Clock, Stamp

MOST_HELD = 10_000
"""Decisions that are held at most, some 30 MB; what comes then is refused, as nothing else is left."""
AT_ONCE = 200
"""Held decisions that are written in one transaction: a full disk takes some of a long night at least."""
FIRST_TRY_S, LAST_TRY_S = 5.0, 60.0
"""Pause before the first and between all later tries (s); it doubles from one to the next."""
REST_OF_A_TRY = 10.0
"""A try that takes long is followed by a pause of so many times as long: a slow disk delays few replies."""
REOPEN_AFTER = 3
"""Tries that failed in a row after which the file is opened anew, unless the storage takes nothing at all:
what it was opened on may be gone."""
T = TypeVar("T")


class HeldJournal:
    """`ports.Journal` over an SQLite journal, or over a copy in memory where that can't be opened.

    `unread`: the record could not even be read, and the station began with an empty state.
    """

    def __init__(
        self,
        path: Path,
        clock: Clock,
        station: str,
        store: SqliteJournal,
        *,
        error: JournalError | None = None,
        unread: bool = False,
        lock: int | None = None,
        in_time: InTime | None = None,
    ) -> None:
        self.path = path
        self.unread = unread
        self._clock = clock
        self._station = station
        self._store = store
        self._in_time = in_time or InTime()
        self._base = store.load()[1]
        self._lock = lock
        self._reopens = error is not None
        self._failed = 0
        self._held: list[KeptDecision] = []
        self._pause_s = FIRST_TRY_S
        self._next_try: float | None = None
        self.error = error
        """Why it can't be written; None: all is on disk."""
        if error is not None:
            self._wait(0.0)

    @classmethod
    def open(cls, path: Path, clock: Clock, station: str = "kitchen") -> Self:
        """The journal of this path; where its storage fails, what can be read of it, held in memory.

        Raises JournalError (one line) where it can't be used for another reason.
        """
        try:
            return cls(path, clock, station, SqliteJournal.open(path, clock, station))
        except StorageError as error:
            lock = lock_as_it_is(path)
            store, unread = in_memory(path, clock, station)
            return cls(path, clock, station, store, error=error, unread=unread, lock=lock)

    @property
    def failing(self) -> bool:
        """Whether the storage takes nothing at the moment."""
        return self.error is not None

    @property
    def held(self) -> int:
        """Decisions that are in memory alone."""
        return len(self._held)

    @property
    def next_try(self) -> float | None:
        """Station time (s) at which `try_again` is worth it; None while all is on disk."""
        return self._next_try

    @property
    def trouble(self) -> Trouble:
        """What is wrong with the storage; only while it is failing."""
        return "fails" if self.error is None else trouble_of(self.error, self.path)

    @property
    def moved_aside(self) -> Path | None:
        """Where a damaged file was moved to at opening."""
        return self._store.moved_aside

    @property
    def kept_aside(self) -> int:
        """Entries that were found at opening not to be what was written, or can't be read."""
        return sum(one.entries for one in self._store.set_aside if one.found)

    @property
    def lost(self) -> int:
        """Entries that were found at opening to be gone."""
        return sum(one.entries for one in self._store.set_aside if not one.found)

    @property
    def set_aside(self) -> list[SetAside]:
        """What both of them were."""
        return self._store.set_aside

    @property
    def carried_over(self) -> int:
        """How many decisions of a damaged file are in the new one."""
        return self._store.carried_over

    @property
    def put_back(self) -> int:
        """How often the file was gone from its name, or another lay there, and it was written there again."""
        return len(self._store.replaced)

    def append(self, events: Sequence[Event]) -> Sequence[Stamp]:
        """Write all events of one decision durably, or hold them; their stamps.

        Raises JournalError where there is no room to hold more, and as the journal does for what can't be.
        """
        if not events:
            return ()
        decision = self._store.decision(events)
        if self.error is None:
            try:
                return self._write([decision])
            except JournalError as error:
                self._fail(error, 0.0)
        return self._hold(decision)

    def _write(self, decisions: Sequence[KeptDecision]) -> Sequence[Stamp]:
        stamps = self._in_time.do(lambda: self._store.append_kept(decisions))
        self._base = stamps[-1]
        return stamps

    def try_again(self) -> Sequence[Event]:
        """Write what is held, as much of it as the storage takes; the events that were written."""
        began, written = self._clock.monotonic(), list[Event]()
        try:
            written += self._let_go(self._written())
            while part := self._held[:AT_ONCE]:
                self._write(part)
                written += self._let_go(len(part))
        except JournalError as error:
            self._failed += 1
            self._fail(error, self._clock.monotonic() - began)
        else:
            self.error, self._next_try = None, None
            self._pause_s, self._failed = FIRST_TRY_S, 0
        return written

    def read(self, after: int = 0) -> Iterator[tuple[Stamp, Event]]:
        """Events with a sequence above `after`, oldest first, those that are held with them."""
        self._answers()
        yield from self._store.read(after)
        for stamp, event in self._stamped():
            if stamp.sequence > after:
                yield stamp, event

    def load(self) -> tuple[State, Stamp | None]:
        """State after all events on disk, and the stamp of the last."""
        return self._store.load()

    def batch(self, number: int) -> list[tuple[Stamp, Event]]:
        """Events of one batch that are on disk, oldest first; JournalError where there are none."""
        return self._answers().batch(number)

    def batches(self) -> list[BatchSummary]:
        """A summary a batch, oldest first. Raises JournalError while some may be held: it is not all."""
        if self._held:
            raise StorageError(f"{self.path}: not all is written yet ({self.error})")
        return self._answers().batches()

    def closed(self, most: int) -> list[int]:
        """Numbers of the batches last closed, oldest first."""
        return self._answers().closed(most)

    def lot_batches(self, lots: int = 12, batches: int = 40, also: str | None = None) -> list[LotBatch]:
        """Closed batches of the lots last used, and of the lot `also`."""
        return self._answers().lot_batches(lots, batches, also)

    def backup(self, path: Path) -> None:
        """Write a compact copy of what is on disk to a new file."""
        self._answers().backup(path)

    def close(self) -> None:
        """Let the file go. Raises StorageError where what is held could not be written: it is lost."""
        if self.error is not None:
            self._in_time.settle()
            self.try_again()
        try:
            self._in_time.do(self._store.close, CLOSE_S)
        except HangsError as error:
            self.error = error
        self._unlock()
        if self._held:
            raise StorageError(
                f"{self.path}: {IN_WORDS[self.trouble]}. {len(self._held)} decisions could not be written "
                "and are lost; copy the account from the terminal"
            )

    def _answers(self) -> SqliteJournal:
        """The journal to read from: one that waits for its disk would keep the reader waiting too."""
        if self._in_time.hangs:
            raise StorageError(f"{self.path}: the disk does not answer; check it")
        return self._store

    def _hold(self, decision: KeptDecision) -> Sequence[Stamp]:
        if len(self._held) >= MOST_HELD:
            raise StorageError(f"{self.path}: {MOST_HELD} decisions are not written, no more can be held")
        for event in decision.events:
            event_text(event)  # what can't be written must be refused now, as ever
        self._held.append(decision)
        return [stamp for stamp, _ in self._stamped()][-len(decision.events) :]

    def _let_go(self, count: int) -> list[Event]:
        """The first of what is held are on disk; their events."""
        events = [event for decision in self._held[:count] for event in decision.events]
        del self._held[:count]
        return events

    def _stamped(self) -> Iterator[tuple[Stamp, Event]]:
        """What is held, with the sequences that it will have."""
        sequence = self._base.sequence if self._base is not None else 0
        for one in self._held:
            for event in one.events:
                sequence += 1
                yield Stamp(sequence, one.wall, one.monotonic, one.boot, one.wall_trusted), event

    def _fail(self, error: JournalError, took_s: float) -> None:
        self.error = error
        self._wait(took_s)

    def _wait(self, took_s: float) -> None:
        self._next_try = self._clock.monotonic() + max(self._pause_s, REST_OF_A_TRY * took_s)
        self._pause_s = min(LAST_TRY_S, 2 * self._pause_s)

    def _written(self) -> int:
        """How many of the held are on disk after all; the file is opened anew where that is wanted."""
        count = self._in_time.do(self._found_there)
        if count:
            written = self._held[:count]
            sequence = self._base.sequence if self._base else 0
            sequence += sum(len(one.events) for one in written)
            last = written[-1]
            self._base = Stamp(sequence, last.wall, last.monotonic, last.boot, last.wall_trusted)
        return count

    def _found_there(self) -> int:
        if self._failed >= REOPEN_AFTER and file_system(self.path) is None:
            self._store.close()  # it holds the lock
            self._reopens = True
        if not self._reopens:
            return self._store.written_of(self._held, self._base)
        opened = self._opened_anew()
        try:
            count = opened.written_of(self._held, self._base)
        except JournalError:
            opened.close()
            raise
        self._store.close()
        self._store, self.path, self._reopens, self.unread = opened, opened.path, False, False
        return count

    def _opened_anew(self) -> SqliteJournal:
        path = self.path
        if self.unread:
            # What is held began with an empty state, and can't follow a record that nobody could read.
            when = datetime.fromtimestamp(self._clock.wall(), UTC).strftime("%Y%m%dT%H%M%SZ")
            path = path.with_name(f"{path.stem}.apart-{when}{path.suffix}")
        self._unlock()
        try:
            return SqliteJournal.open(path, self._clock, self._station)
        except JournalError:
            self._lock = lock_as_it_is(self.path)
            raise

    def _unlock(self) -> None:
        if self._lock is not None:
            os.close(self._lock)
            self._lock = None
