"""The table of batches as it is asked: lists, lots, flour; made anew where it is not what was written."""

import math
import sqlite3
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path
from typing import Any

from assistant.batch.record.events import Event
from assistant.batch.record.state import State
from assistant.errors import JournalError
from assistant.journal.codec import read_event
from assistant.journal.failures import as_journal_error, is_damage
from assistant.journal.guard.following import BatchRow, CannotFollow, Follower, Passage, batch_rows
from assistant.journal.guard.links import DamagedDecision, Link, links, set_aside_in
from assistant.journal.guard.seals import COLUMNS, SUMMARY, rows_are_sealed, summary_of, values_of
from assistant.journal.schema import BATCHES
from assistant.journal.summaries import OF_A_LOT, BatchSummary, LotBatch, lot_batch
from assistant.journal.tallies import OF_A_TALLY, Tally, tallies
from assistant.ports import Stamp

INSERT_ROW = f"INSERT OR REPLACE INTO batches ({', '.join(COLUMNS)}) VALUES ({', '.join('?' * len(COLUMNS))})"
ALL_ROWS = f"SELECT {', '.join(COLUMNS)} FROM batches NOT INDEXED ORDER BY number"
_SUMMARY = ", ".join(SUMMARY)
_CLOSED = "lot IS NOT NULL AND outcome = 'closed' AND water_g > 0"
_LAST_LOTS = f"SELECT lot FROM batches WHERE {_CLOSED} GROUP BY lot ORDER BY max(number) DESC LIMIT ?"
_OF_LOT = f"""SELECT number, recipe, ended_wall, hydration_pct, first, last FROM batches
    WHERE lot = ? AND {_CLOSED} ORDER BY number DESC LIMIT ?"""
_CLOSE = 300
"""Events between two batches that are read with them rather than looked for twice."""
_AT_THE_END = 1000
"""Events at the end of the journal that tell which batch was the last."""


class BatchTable:
    """What an open journal knows of its batches."""

    def __init__(self, path: Path, db: sqlite3.Connection) -> None:
        self.path = path
        self._db = db
        self._batches_checked = False

    def batches(self, since: float = -math.inf, until: float = math.inf) -> list[BatchSummary]:
        """A summary a batch, oldest first, of those that ended from `since` on and before `until`.

        Wall times (s since 1970); an open batch is among them, for it has not ended.
        """
        if (since, until) == (-math.inf, math.inf) and not self._batches_checked:
            with as_journal_error(self.path):
                rows = _sound_rows(self._db)
            if rows is not None:  # what was read to check it is what was asked for
                self._batches_checked = True
                return [_summary(row) for row in rows]
        return [_summary(row) for row in self._batch_rows(_ENDED, since, until)]

    def last_batches(self, most: int, before: int | None = None) -> list[BatchSummary]:
        """A summary a batch, newest first: at most so many, of those under the number `before`."""
        under = math.inf if before is None else before
        query = f"SELECT {_SUMMARY} FROM batches WHERE number < ? ORDER BY number DESC LIMIT ?"
        return [_summary(row) for row in self._batch_rows(query, under, most)]

    def tallies(self, since: float, until: float) -> list[Tally]:
        """A line for each batch that ended in this span of wall time (s since 1970), oldest first."""
        rows = self._batch_rows(f"SELECT {_SUMMARY}, first, last{_ENDED_FROM}", since, until)
        ended = [row for row in rows if row[10] != "open"]
        found = self._events_of({row[0]: (row[-2], row[-1]) for row in ended}, OF_A_TALLY)
        return tallies([_summary(row[:-2]) for row in ended], found)

    def flour_by_lot(self) -> dict[str | None, float]:
        """Flour (g) that all batches took of each lot (None: not named), but those that were taken back."""
        query = "SELECT lot, sum(flour_g) FROM batches WHERE outcome <> 'taken back' GROUP BY lot"
        return dict(self._batch_rows(query))

    def closed(self, most: int) -> list[int]:
        """Numbers of the batches last closed, oldest first."""
        query = "SELECT number FROM batches WHERE outcome = 'closed' ORDER BY number DESC LIMIT ?"
        return [row[0] for row in self._batch_rows(query, most)][::-1]

    def lot_batches(self, lots: int = 12, batches: int = 40, also: str | None = None) -> list[LotBatch]:
        """Closed batches of the lots last used and of the lot `also`: at most `lots`, and `batches` of each.

        Oldest first within a lot. Reads these batches alone, however long the journal is.
        """
        names = [row[0] for row in self._batch_rows(_LAST_LOTS, lots)]
        if also is not None and also not in names:
            names.append(also)
        rows = {name: self._batch_rows(_OF_LOT, name, batches)[::-1] for name in names}
        spans = {row[0]: (row[-2], row[-1]) for of_lot in rows.values() for row in of_lot}
        found = self._events_of(spans, OF_A_LOT)
        return [
            lot_batch(
                found[number], number=number, lot=lot, recipe=recipe, ended_wall=wall, hydration_pct=pct
            )
            for lot, of_lot in rows.items()
            for number, recipe, wall, pct, *_ in of_lot
        ]

    def batch(self, number: int) -> list[tuple[Stamp, Event]]:
        """Events of one batch, oldest first; JournalError where there is none of that number."""
        rows = self._batch_rows("SELECT first, last FROM batches WHERE number = ?", number)
        if not rows:
            raise JournalError(
                f"{self.path}: it holds no batch {number}; crumbcall batches lists those it holds"
            )
        ((first, last),) = rows
        return [
            (link.stamp(row.sequence), self._event(row.sequence, row.name, row.body))
            for link in self._links(first - 1, min(last, self._end()))
            for row in link.events
            if row.batch == number and row.sequence <= last
        ]

    def _end(self) -> int:
        """Sequence of the last event that is there: what is lost behind it was told at opening."""
        with as_journal_error(self.path):
            return int(self._db.execute("SELECT coalesce(max(sequence), 0) FROM events").fetchone()[0])

    def _links(self, after: int, until: int | None = None) -> Iterator[Link]:
        """Decisions that can be trusted; DamagedDecision at one that can't."""
        with as_journal_error(self.path):
            for link in links(self._db, after, until):
                if link.problem:
                    raise _with_path(self.path, DamagedDecision(link))
                yield link

    def _events_of(
        self, spans: dict[int, tuple[int, int]], kinds: Iterable[type[Event]]
    ) -> dict[int, list[Event]]:
        """Events of some kinds of each batch, oldest first; `spans`: its first and last sequence."""
        found: dict[int, list[Event]] = {number: [] for number in spans}
        names = {kind.__name__.encode() for kind in kinds}
        end = self._end()
        for first, last in _runs(sorted(spans.values())):
            for link in self._links(first - 1, min(last, end)):
                for row in link.events:
                    if row.name in names and row.batch in found and row.sequence <= spans[row.batch][1]:
                        found[row.batch].append(self._event(row.sequence, row.name, row.body))
        return found

    def _event(self, sequence: int, name: Any, body: Any) -> Event:
        try:
            return read_event(sequence, name.decode(), body)
        except JournalError as error:
            raise _with_path(self.path, error) from error

    def _batch_rows(self, query: str, *values: Any) -> list[tuple[Any, ...]]:
        with as_journal_error(self.path):
            if not self._batches_checked:
                if not batches_are_sound(self._db):
                    self._remake_batches()
                self._batches_checked = True
            return self._db.execute(query, values).fetchall()

    def _remake_batches(self) -> None:
        """Have the table of batches right for this connection, from all events; the file stays as it is."""
        rows = dict[int, BatchRow]()
        for passages in self._decisions():
            rows |= batch_rows(passages, rows)
        self._db.execute(BATCHES.replace("CREATE TABLE", "CREATE TEMP TABLE"))
        self._db.executemany(INSERT_ROW, table_of(rows))

    def _follower(self, state: State) -> Follower:
        """Goes on from a state."""
        with as_journal_error(self.path):
            return Follower(state, broken=bool(set_aside_in(self._db)))

    def _decisions(self) -> Iterator[list[Passage]]:
        """Every decision from the first on, each event between two states. Raises JournalError."""
        follower = self._follower(State())
        for link in self._links(0):
            try:
                yield follower.take(link)
            except CannotFollow as error:
                raise _with_path(self.path, error) from error


def table_of(rows: dict[int, BatchRow]) -> Iterator[tuple[Any, ...]]:
    """All rows of the table of batches, in order."""
    before = 0
    for number in sorted(rows):
        yield values_of(rows[number], before)
        before = number


def batches_are_sound(db: sqlite3.Connection) -> bool:
    """Whether the table of batches is what was written: its rows by their seals, its index by the rows."""
    return _sound_rows(db) is not None


def _sound_rows(db: sqlite3.Connection) -> list[tuple[Any, ...]] | None:
    """All rows of a table of batches that is what was written; None where it is not."""
    try:
        last = db.execute(
            "SELECT max(batch) FROM (SELECT batch FROM events ORDER BY sequence DESC LIMIT ?)", (_AT_THE_END,)
        ).fetchone()[0]
        rows = db.execute(ALL_ROWS).fetchall()
        checked = db.execute("PRAGMA integrity_check(batches)").fetchall()
    except (sqlite3.DatabaseError, UnicodeDecodeError) as error:
        if is_damage(error):
            return None
        raise
    # A damaged value may be of any type.
    whole = isinstance(last, int | None) and (not last or (rows and rows[-1][0] >= last))
    return rows if whole and checked == [("ok",)] and rows_are_sealed(rows) else None


_ENDED_FROM = """ FROM batches WHERE ended_wall IS NULL OR (ended_wall >= ? AND ended_wall < ?)
    ORDER BY number"""
_ENDED = f"SELECT {_SUMMARY}{_ENDED_FROM}"


def _summary(row: Sequence[Any]) -> BatchSummary:
    return summary_of(row)


def _runs(spans: list[tuple[int, int]]) -> Iterator[tuple[int, int]]:
    """Spans that lie close together as one."""
    first = last = None
    for begin, end in spans:
        if first is None or last is None:
            first, last = begin, end
        elif begin <= last + _CLOSE:
            last = max(last, end)
        else:
            yield first, last
            first, last = begin, end
    if first is not None and last is not None:
        yield first, last


def _with_path(path: Path, error: JournalError) -> JournalError:
    error.args = (f"{path}: {error}",)
    return error
