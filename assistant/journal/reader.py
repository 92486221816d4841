"""OpenJournal a journal: its events, its batches, and the state that they lead to."""

import math
import os
import sqlite3
from collections.abc import Iterator, Sequence
from dataclasses import fields
from pathlib import Path
from typing import Any, Self

from assistant.batch.record.events import Event
from assistant.batch.record.evolving.evolve import evolve
from assistant.batch.record.state import State
from assistant.errors import ImpossibleEvent, JournalError
from assistant.journal.codec import code_that_made_it, read_event, read_state
from assistant.journal.failures import as_journal_error
from assistant.journal.schema import MIGRATIONS, is_foreign, version
from assistant.journal.summaries import (
    OF_A_LOT,
    BatchSummary,
    LotBatch,
    keep_opening,
    lot_batch,
    summaries_after,
)
from assistant.journal.tallies import OF_A_TALLY, Tally, tallies
from assistant.ports import Stamp

_AT_ONCE = 1000
_SELECT = """SELECT e.sequence, d.wall, d.monotonic, d.boot, d.wall_trusted, e.name, e.body
    FROM events e JOIN decisions d USING (decision)"""
_CLOSED = "lot IS NOT NULL AND outcome = 'closed' AND water_g > 0"
_LAST_LOTS = f"SELECT lot FROM batches WHERE {_CLOSED} GROUP BY lot ORDER BY max(number) DESC LIMIT ?"
_OF_LOT = f"""SELECT number, recipe, ended_wall, hydration_pct FROM batches
    WHERE lot = ? AND {_CLOSED} ORDER BY number DESC LIMIT ?"""
_NAMES_OF_A_LOT = ", ".join(f"'{kind.__name__}'" for kind in OF_A_LOT)
_NAMES_OF_A_TALLY = ", ".join(f"'{kind.__name__}'" for kind in OF_A_TALLY)
_Row = tuple[int, float, float, str, int, str, str]
Passage = tuple[Stamp, State, Event, State]
"""An event with its stamp, between the states before and after it."""


class OpenJournal:
    """What can be read from every open journal, whether it is also written or not."""

    def __init__(self, path: Path, db: sqlite3.Connection) -> None:
        self.path = path
        self._db = db

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """Let the file go."""
        self._db.close()

    def read(self, after: int = 0) -> Iterator[tuple[Stamp, Event]]:
        """Events with a sequence above `after`, oldest first. Raises JournalError at one it can't read."""
        while True:
            rows = self._rows(f"{_SELECT} WHERE e.sequence > ? ORDER BY e.sequence LIMIT {_AT_ONCE}", after)
            for row in rows:
                yield self._event(row)
            if len(rows) < _AT_ONCE:
                return
            after = rows[-1][0]

    def before(self, wall: float) -> int:
        """Sequence of the last event that was written before the first decision at or after a wall time.

        `wall`: s since 1970. What `read` takes to begin there; where all is older, the last of all.
        """
        query = """SELECT coalesce((SELECT min(e.sequence) - 1 FROM events e WHERE e.decision >=
            (SELECT min(decision) FROM decisions WHERE wall >= ?)), (SELECT max(sequence) FROM events), 0)"""
        with as_journal_error(self.path):
            return int(self._db.execute(query, (wall,)).fetchone()[0])

    def batch(self, number: int) -> list[tuple[Stamp, Event]]:
        """Events of one batch, oldest first; JournalError where there is none of that number."""
        rows = self._rows(f"{_SELECT} WHERE e.batch = ? ORDER BY e.sequence", number)
        if not rows:
            raise JournalError(
                f"{self.path}: it holds no batch {number}; crumbcall batches lists those it holds"
            )
        return [self._event(row) for row in rows]

    def batches(self, since: float = -math.inf, until: float = math.inf) -> list[BatchSummary]:
        """A summary a batch, oldest first, of those that ended from `since` on and before `until`.

        Wall times (s since 1970); an open batch is among them, for it has not ended.
        """
        columns = ", ".join(field.name for field in fields(BatchSummary))
        ended = "ended_wall IS NULL OR (ended_wall >= ? AND ended_wall < ?)"
        query = f"SELECT {columns} FROM batches WHERE {ended} ORDER BY number"
        with as_journal_error(self.path):
            rows = self._db.execute(query, (since, until)).fetchall()
        return list(map(_summary, rows))

    def last_batches(self, most: int, before: int | None = None) -> list[BatchSummary]:
        """A summary a batch, newest first: at most so many, of those under the number `before`."""
        columns = ", ".join(field.name for field in fields(BatchSummary))
        under = math.inf if before is None else before
        query = f"SELECT {columns} FROM batches WHERE number < ? ORDER BY number DESC LIMIT ?"
        with as_journal_error(self.path):
            return list(map(_summary, self._db.execute(query, (under, most)).fetchall()))

    def tallies(self, since: float, until: float) -> list[Tally]:
        """A line for each batch that ended in this span of wall time (s since 1970), oldest first."""
        ended = [one for one in self.batches(since, until) if one.outcome != "open"]
        found: dict[int, list[Event]] = {one.number: [] for one in ended}
        if found:
            query = f"""SELECT sequence, batch, name, body FROM events
                WHERE batch BETWEEN ? AND ? AND name IN ({_NAMES_OF_A_TALLY}) ORDER BY batch, sequence"""
            with as_journal_error(self.path):
                events = self._db.execute(query, (min(found), max(found))).fetchall()
            for sequence, number, name, body in events:
                if number in found:
                    found[number].append(read_event(sequence, name, body))
        return tallies(ended, found)

    def flour_by_lot(self) -> dict[str | None, float]:
        """Flour (g) that all batches took of each lot (None: not named), but those that were taken back."""
        query = "SELECT lot, sum(flour_g) FROM batches WHERE outcome <> 'taken back' GROUP BY lot"
        with as_journal_error(self.path):
            return dict(self._db.execute(query).fetchall())

    def closed(self, most: int) -> list[int]:
        """Numbers of the batches last closed, oldest first."""
        query = "SELECT number FROM batches WHERE outcome = 'closed' ORDER BY number DESC LIMIT ?"
        with as_journal_error(self.path):
            return [row[0] for row in self._db.execute(query, (most,))][::-1]

    def lot_batches(self, lots: int = 12, batches: int = 40, also: str | None = None) -> list[LotBatch]:
        """Closed batches of the lots last used and of the lot `also`: at most `lots`, and `batches` of each.

        Oldest first within a lot. Reads these batches alone, however long the journal is.
        """
        with as_journal_error(self.path):
            names = [row[0] for row in self._db.execute(_LAST_LOTS, (lots,))]
        if also is not None and also not in names:
            names.append(also)
        return [batch for name in names for batch in self._batches_of_lot(name, batches)]

    def _batches_of_lot(self, lot: str, most: int) -> list[LotBatch]:
        with as_journal_error(self.path):
            rows = self._db.execute(_OF_LOT, (lot, most)).fetchall()[::-1]
            found: dict[int, list[Event]] = {row[0]: [] for row in rows}
            marks = ", ".join("?" * len(found))
            query = f"""SELECT sequence, batch, name, body FROM events
                WHERE batch IN ({marks}) AND name IN ({_NAMES_OF_A_LOT}) ORDER BY sequence"""
            events = self._db.execute(query, tuple(found)).fetchall()
        for sequence, number, name, body in events:
            found[number].append(read_event(sequence, name, body))
        return [
            lot_batch(
                found[number], number=number, lot=lot, recipe=recipe, ended_wall=wall, hydration_pct=pct
            )
            for number, recipe, wall, pct in rows
        ]

    def load(self) -> tuple[State, Stamp | None]:
        """State after all events, and the stamp of the last; from the newest snapshot that can be trusted."""
        sequence, state = self._snapshot()
        for stamp, event in self.read(sequence):
            state = self._follow(state, stamp, event)
        return state, self._last_stamp()

    def load_after(self, state: State, last: Stamp | None) -> tuple[State, Stamp | None]:
        """The same, from a state that was loaded before and the stamp that came with it.

        Reads what was written since; everything, where this is another journal by now.
        """
        known = self._rows(f"{_SELECT} WHERE e.sequence = ?", last.sequence) if last else []
        if not known or _stamp(known[0]) != last:
            return self.load()
        for stamp, event in self.read(known[0][0]):
            state, last = self._follow(state, stamp, event), stamp
        return state, last

    def backup(self, path: Path) -> None:
        """Write a compact copy to a new file, while the journal is in use.

        Raises JournalError where the file exists or can't be written.
        """
        if path.exists():
            raise JournalError(f"{path}: it exists already; name a new file")
        part = path.with_name(path.name + ".part")
        with as_journal_error(path):
            path.parent.mkdir(parents=True, exist_ok=True)
            part.unlink(missing_ok=True)
            try:
                self._db.execute("VACUUM INTO ?", (str(part),))
                with part.open("rb+") as copy:
                    os.fsync(copy.fileno())
                part.rename(path)
            finally:
                part.unlink(missing_ok=True)

    def _snapshot(self) -> tuple[int, State]:
        with as_journal_error(self.path):
            rows = self._db.execute(
                "SELECT sequence, code, state FROM snapshots ORDER BY sequence DESC"
            ).fetchall()
        for sequence, code, text in rows:
            if code and code == code_that_made_it() and (state := read_state(text)) is not None:
                return sequence, state
        return 0, State()

    def _follow(self, state: State, stamp: Stamp, event: Event) -> State:
        try:
            return evolve(state, event)
        except ImpossibleEvent as error:
            raise JournalError(
                f"{self.path}: entry {stamp.sequence} can't follow those before it ({error}); "
                "keep the file, and begin a new journal elsewhere"
            ) from error

    def history(self) -> Iterator[Passage]:
        """Every event from the first on, each between two states. Raises JournalError."""
        state = State()
        for stamp, event in self.read():
            before, state = state, self._follow(state, stamp, event)
            yield stamp, before, event, state

    def _replay(self) -> tuple[int, State, dict[int, BatchSummary]]:
        """Everything from the first event on: last sequence, state, and a summary a batch."""
        state, sequence, lines = State(), 0, dict[int, BatchSummary]()
        for stamp, before, event, after in self.history():
            state = after
            for line in summaries_after(before, event, state, stamp):
                lines[line.number] = keep_opening(lines.get(line.number), line)
            sequence = stamp.sequence
        return sequence, state, lines

    def _last_stamp(self) -> Stamp | None:
        rows = self._rows(f"{_SELECT} WHERE e.sequence = (SELECT max(sequence) FROM events)")
        return _stamp(rows[0]) if rows else None

    def _rows(self, query: str, *values: int) -> list[_Row]:
        with as_journal_error(self.path):
            return self._db.execute(query, values).fetchall()

    def _event(self, row: _Row) -> tuple[Stamp, Event]:
        try:
            return _stamp(row), read_event(row[0], row[5], row[6])
        except JournalError as error:
            raise type(error)(f"{self.path}: {error}") from error


class JournalReader(OpenJournal):
    """A journal that is only read; another process may be writing it."""

    @classmethod
    def open(cls, path: Path) -> Self:
        """Open for reading. Raises JournalError (one line) where there is no journal or it can't be read."""
        if not path.is_file():
            raise JournalError(f"{path}: there is no journal yet; crumbcall listen begins one")
        with as_journal_error(path):
            db = connect_to_read(path)
            try:
                check_version(path, db)
                if version(db) < len(MIGRATIONS):
                    raise JournalError(f"{path}: it is of an older version; start crumbcall listen once")
            except BaseException:
                db.close()
                raise
        return cls(path, db)


def _summary(row: Sequence[Any]) -> BatchSummary:
    number, wall, trusted, ended, ended_trusted, *rest = row
    return BatchSummary(number, wall, bool(trusted), ended, bool(ended_trusted), *rest)


def _stamp(row: _Row) -> Stamp:
    sequence, wall, monotonic, boot, trusted, _name, _body = row
    return Stamp(sequence, wall, monotonic, boot, bool(trusted))


def connect_to_read(path: Path) -> sqlite3.Connection:
    """A read-only connection; to an unchanging file where its folder is read-only and nobody writes it."""
    name = f"{path.absolute().as_uri()}?mode=ro"
    db = sqlite3.connect(name, uri=True, isolation_level=None)
    try:
        db.execute("SELECT count(*) FROM sqlite_schema")
    except sqlite3.OperationalError:
        db.close()
        log = path.with_name(path.name + "-wal")
        if log.exists() and log.stat().st_size > 0:
            raise
        db = sqlite3.connect(f"{name}&immutable=1", uri=True, isolation_level=None)
    return db


def check_version(path: Path, db: sqlite3.Connection) -> None:
    """JournalError where the file is another program's, or of a newer version than this program."""
    if is_foreign(db):
        raise JournalError(f"{path}: it is another program's database; give another file")
    found = version(db)
    if found > len(MIGRATIONS):
        raise JournalError(
            f"{path}: it is of version {found}, and this crumbcall knows up to {len(MIGRATIONS)}; "
            "use the newer crumbcall"
        )
