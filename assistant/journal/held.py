"""The journal of a station whose storage may fail: what can't be written is held in memory till it can be.

While the storage is full, read-only or failing, `append` keeps decisions in memory with the stamps that they
were made with. `try_again` writes them in order as soon as that is possible, none of them twice. What is held
is lost with the process: whoever speaks has to say so.
"""

import fcntl
import os
import shutil
import sqlite3
import tempfile
from collections.abc import Callable, Iterator, Sequence
from contextlib import closing, suppress
from datetime import UTC, datetime
from io import BytesIO
from pathlib import Path
from typing import Self

from assistant.batch.record.events import Event
from assistant.batch.record.state import State
from assistant.errors import JournalError, JournalInUseError, StorageError
from assistant.journal.codec import event_text
from assistant.journal.damage import KeptDecision
from assistant.journal.failures import IN_WORDS, Trouble, file_system, trouble_of
from assistant.journal.guard.links import SetAside
from assistant.journal.reader import check_version, connect_to_read
from assistant.journal.schema import migrate
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
IN_MEMORY = (Path("/dev/shm"), Path(tempfile.gettempdir()))
"""Where a journal is copied to whose folder takes no file, so that SQLite can read it with its log."""

REOPEN_AFTER = 3
"""Tries that failed in a row after which the file is opened anew, unless the storage takes nothing at all:
what it was opened on may be gone."""


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
    ) -> None:
        self.path = path
        self.unread = unread
        self._clock = clock
        self._station = station
        self._store = store
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
            lock = _lock_as_it_is(path)
            store, unread = _in_memory(path, clock, station)
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

    def append(self, events: Sequence[Event]) -> Sequence[Stamp]:
        """Write all events of one decision durably, or hold them; their stamps.

        Raises JournalError where there is no room to hold more, and as the journal does for what can't be.
        """
        if not events:
            return ()
        decision = self._store.decision(events)
        if self.error is None:
            try:
                return self._store.append_kept([decision])
            except JournalError as error:
                self._fail(error, 0.0)
        return self._hold(decision)

    def try_again(self) -> Sequence[Event]:
        """Write what is held, as much of it as the storage takes; the events that were written."""
        began, written = self._clock.monotonic(), list[Event]()
        try:
            written += self._let_go(self._written())
            while part := self._held[:AT_ONCE]:
                self._store.append_kept(part)
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
        yield from self._store.read(after)
        for stamp, event in self._stamped():
            if stamp.sequence > after:
                yield stamp, event

    def load(self) -> tuple[State, Stamp | None]:
        """State after all events on disk, and the stamp of the last."""
        return self._store.load()

    def batch(self, number: int) -> list[tuple[Stamp, Event]]:
        """Events of one batch that are on disk, oldest first; JournalError where there are none."""
        return self._store.batch(number)

    def batches(self) -> list[BatchSummary]:
        """A summary a batch, oldest first. Raises JournalError while some may be held: it is not all."""
        if self._held:
            raise StorageError(f"{self.path}: not all is written yet ({self.error})")
        return self._store.batches()

    def closed(self, most: int) -> list[int]:
        """Numbers of the batches last closed, oldest first."""
        return self._store.closed(most)

    def lot_batches(self, lots: int = 12, batches: int = 40, also: str | None = None) -> list[LotBatch]:
        """Closed batches of the lots last used, and of the lot `also`."""
        return self._store.lot_batches(lots, batches, also)

    def backup(self, path: Path) -> None:
        """Write a compact copy of what is on disk to a new file."""
        self._store.backup(path)

    def close(self) -> None:
        """Let the file go. Raises StorageError where what is held could not be written: it is lost."""
        if self.error is not None:
            self.try_again()
        self._store.close()
        self._unlock()
        if self._held:
            raise StorageError(
                f"{self.path}: {IN_WORDS[self.trouble]}. {len(self._held)} decisions could not be written "
                "and are lost; copy the account from the terminal"
            )

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
        last = self._store.load()[1]
        sequence = last.sequence if last is not None else 0
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
        last = self._store.load()[1]
        if self._failed >= REOPEN_AFTER and file_system(self.path) is None:
            self._store.close()  # it holds the lock
            self._reopens = True
        if not self._reopens:
            return self._store.written_of(self._held, last)
        opened = self._opened_anew()
        try:
            count = opened.written_of(self._held, last)
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
            self._lock = _lock_as_it_is(self.path)
            raise

    def _unlock(self) -> None:
        if self._lock is not None:
            os.close(self._lock)
            self._lock = None


def _lock_as_it_is(path: Path) -> int | None:
    """Hold the journal by its lock file, where there is one; JournalError where another process does.

    A file system that can't be written still knows locks, but makes no file for one.
    """
    try:
        lock = os.open(path.with_name(path.name + ".lock"), os.O_RDONLY | os.O_CLOEXEC)
    except OSError:
        return None
    try:
        fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        os.close(lock)
        raise JournalInUseError(f"{path}: another crumbcall is writing it; stop that one first") from None
    except OSError:
        os.close(lock)
        return None
    return lock


def _in_memory(path: Path, clock: Clock, station: str) -> tuple[SqliteJournal, bool]:
    """A copy of a journal in memory, and whether there is one that could not be read: then it is empty."""
    readers: tuple[Callable[[Path], sqlite3.Connection], ...] = (_as_it_is, _by_way_of_memory)
    there = _is_there(path)
    for read in readers if there else ():
        with suppress(sqlite3.Error, OSError, JournalError, MemoryError):
            return _copied(read(path), path, clock, station), False
    return _journal_in(_memory(), path, clock, station), there


def _is_there(path: Path) -> bool:
    try:
        return path.stat().st_size > 0
    except FileNotFoundError:
        return False
    except OSError:
        return True


def _copied(source: sqlite3.Connection, path: Path, clock: Clock, station: str) -> SqliteJournal:
    with closing(source):
        check_version(path, source)
        memory = _memory()
        source.backup(memory)
    return _journal_in(memory, path, clock, station)


def _memory() -> sqlite3.Connection:
    return sqlite3.connect(":memory:", isolation_level=None, check_same_thread=False)


def _journal_in(memory: sqlite3.Connection, path: Path, clock: Clock, station: str) -> SqliteJournal:
    migrate(memory)
    return SqliteJournal(path, memory, clock, station, lock=BytesIO())


def _as_it_is(path: Path) -> sqlite3.Connection:
    """The file where it lies."""
    return connect_to_read(path)


def _by_way_of_memory(path: Path) -> sqlite3.Connection:
    """A copy of the file and its log in a folder that is memory: there SQLite can read what it has to write.

    The copy has no name any more once it is open.
    """
    for folder in IN_MEMORY:
        with suppress(OSError, sqlite3.Error), tempfile.TemporaryDirectory(dir=folder) as found:
            copy = Path(found) / path.name
            shutil.copyfile(path, copy)
            with suppress(FileNotFoundError):
                shutil.copyfile(path.with_name(path.name + "-wal"), copy.with_name(copy.name + "-wal"))
            db = _memory()
            with closing(sqlite3.connect(copy, isolation_level=None)) as source:
                source.backup(db)
            return db
    raise StorageError(f"{path}: no folder is memory that it could be read in")
