"""Decisions as they lie in the file, one after the other, each held against the checksum chain."""

import sqlite3
from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import groupby
from operator import eq, itemgetter
from typing import Any

from assistant.errors import JournalError
from assistant.journal.chain import FIRST, DecisionRow, EventRow, chained
from assistant.ports import Stamp

AT_ONCE = 1000
"""Rows that are read at once: between two readings the writer may write."""
_BEFORE = 2
"""Decisions before the first wanted one that are read too: they vouch for the chain that it goes on from."""
_ALIKE = 48
"""Characters of 64 that are those of the chain as computed: then the content is right, the chain is damaged.

Of chains of different contents 4 are alike by chance.
"""


@dataclass(frozen=True, slots=True)
class SetAside:
    """Decisions that are not read any more: a row of `quarantine`."""

    decision: int
    """The first of them."""
    last_decision: int
    sequence: int
    """Of their first event."""
    last_sequence: int
    chain: str
    """Chain of the last of them, which the next decision goes on from."""
    why: str
    found: str
    """What was found in their place, as text; "" where there was nothing."""
    verified: int
    """1 where it is what was written, and yet can't be read or does not follow: a newer program may."""
    wall: float
    """When they were set aside (s since 1970, UTC)."""

    @property
    def entries(self) -> int:
        """How many events; at least one a decision where that is not known."""
        return max(self.last_sequence - self.sequence + 1, self.last_decision - self.decision + 1)


@dataclass(slots=True)
class Link:
    """One decision that is what was written; or some in a row that can't be trusted, with a `problem`."""

    number: int
    """The first decision of it."""
    last: int
    """The last; another than `number` only where they can't be trusted."""
    sequence: int
    """Of the first event."""
    last_sequence: int
    previous: str
    """Chain of the decision before it."""
    chain: str
    """Chain that the next one goes on from."""
    rows: list[tuple[Any, ...]] = field(default_factory=list)
    """Its events as they lie in the file, each with its decision: columns of `_ROWS`."""
    problem: str = ""

    @property
    def decision(self) -> DecisionRow:
        """Its row in `decisions`, texts as bytes."""
        return DecisionRow(*self.rows[0][:6])

    @property
    def events(self) -> list[EventRow]:
        """Its rows in `events`, texts as bytes."""
        return [EventRow(*row[7:]) for row in self.rows]

    @property
    def chain_damaged(self) -> bool:
        """Whether the chain in the file is damaged, and nothing else of it."""
        return not self.problem and self.rows[0][6] != self.chain.encode()

    def stamp(self, sequence: int) -> Stamp:
        """When an event of it was written."""
        _, wall, monotonic, boot, trusted, *_ = self.rows[0]
        return Stamp(sequence, wall, monotonic, boot.decode(), bool(trusted))

    @property
    def entries(self) -> str:
        """Its events, for a message."""
        if self.last_sequence > self.sequence:
            return f"entries {self.sequence} to {self.last_sequence}"
        return f"entry {self.sequence}"


class DamagedDecision(JournalError):  # noqa: N818 - what it is
    """A decision is not what was written: which, and why."""

    def __init__(self, link: Link) -> None:
        super().__init__(
            f"{link.entries}: {link.problem}; crumbcall ledger repair sets that aside, and keeps the rest"
        )
        self.link = link


_ROWS = f"""SELECT e.decision, d.wall, d.monotonic, d.boot, d.wall_trusted, d.station, d.chain,
    e.sequence, e.batch, e.name, e.body
    FROM events e NOT INDEXED LEFT JOIN decisions d ON d.decision = e.decision
    WHERE e.sequence > ? AND e.sequence <= ? ORDER BY e.sequence LIMIT {AT_ONCE}"""
_CHAIN_OF = "SELECT CAST(chain AS BLOB) FROM decisions WHERE decision = ?"
_LAST_OF = """SELECT decision, sequence FROM events WHERE sequence <= ? AND decision <= ?
    ORDER BY sequence DESC LIMIT 1"""


def set_aside_in(db: sqlite3.Connection) -> list[SetAside]:
    """What is set aside, oldest first."""
    rows = db.execute(
        """SELECT decision, last_decision, sequence, last_sequence, chain, why, found, verified, wall
        FROM quarantine ORDER BY decision"""
    )
    return [SetAside(*row) for row in rows]


def links(
    db: sqlite3.Connection, after: int = 0, until: int | None = None, known: tuple[int, str] | None = None
) -> Iterator[Link]:
    """Decisions with events above the sequence `after`, oldest first; without those that are set aside.

    `until`: sequence of the last event of the last one; None: all. `known`: number and chain of the decision
    that `after` ends, where something else vouches for them. What can't be trusted comes too, as one link
    with its `problem`. Raises sqlite3.Error.
    """
    if known is not None:
        yield from _walk(db, *known, after, until)
        return
    for link in _walk(db, *_start(db, after), until):
        if link.last_sequence > after:
            yield link


def _start(db: sqlite3.Connection, after: int) -> tuple[int, str, int]:
    """Number, chain and last sequence of a decision that is some before the one that is wanted first."""
    row = db.execute(_LAST_OF, (after + 1, _MOST)).fetchone()
    before = row[0] - _BEFORE - 1 if row else 0
    row = db.execute(_LAST_OF, (after, before)).fetchone()
    chain = db.execute(_CHAIN_OF, (before,)).fetchone() if row and row[0] == before else None
    return (before, _text(chain[0]), row[1]) if chain else (0, FIRST, 0)


def _walk(
    db: sqlite3.Connection, number: int, chain: str, sequence: int, until: int | None
) -> Iterator[Link]:
    """Everything behind a decision, given its number, chain and last sequence."""
    aside = {one.decision: one for one in set_aside_in(db) if one.last_decision > number}
    for one in aside.values():
        if one.decision <= number:
            number, chain, sequence = one.last_decision, one.chain, one.last_sequence
    ends = {one.last_decision: one.chain for one in aside.values()}
    rows = _Rows(db, sequence, until)
    lost: list[tuple[Any, ...]] | None = None
    """What was read since the last decision that could be trusted, where it can't be; None: all could."""
    for found, group in groupby(rows, itemgetter(0)):
        part = list(group)
        while lost is None and (gone := aside.pop(number + 1, None)):
            number, chain, sequence = gone.last_decision, gone.chain, gone.last_sequence
        first, last = part[0][7], part[-1][7]
        if last <= sequence:
            continue  # of what is set aside
        if lost is None and found == number + 1 and first == sequence + 1:
            made = _made(chain, part)
            if made:
                yield Link(found, found, first, last, chain, made, part)
                number, chain, sequence = found, made, last
            else:
                lost = part
            continue
        before = ends.get(found - 1) or _stored_chain(db, found - 1) if _is_later(found, number) else None
        made = _made(before, part) if before else ""
        if not before or not made:
            lost = [*(lost or []), *part]
            continue
        yield _lost(lost or [], (number + 1, found - 1), (sequence + 1, first - 1), chain, before)
        yield Link(found, found, first, last, before, made, part)
        number, chain, sequence, lost = found, made, last, None
    while lost is None and (gone := aside.pop(number + 1, None)):
        number, chain, sequence = gone.last_decision, gone.chain, gone.last_sequence
    ends_early = rows.highest > number if until is None else sequence < until
    if lost is not None or ends_early:
        end = max([rows.highest if until is None else 0, number + 1])
        upto = max([sequence, until or 0, *(row[7] for row in lost or ())])
        yield _lost(lost or [], (number + 1, end), (sequence + 1, upto), chain, _stored_chain(db, end) or "")


class _Rows:
    """Rows of events above a sequence, read so many at once."""

    def __init__(self, db: sqlite3.Connection, after: int, until: int | None) -> None:
        self._db, self._after = db, after
        self._until = _MOST if until is None else until
        self.highest = 0
        """Number of the last decision, as it was before the last rows were read."""

    def __iter__(self) -> Iterator[tuple[Any, ...]]:
        while True:
            self.highest = self._db.execute("SELECT coalesce(max(decision), 0) FROM decisions").fetchone()[0]
            rows = self._read()
            yield from rows
            if len(rows) < AT_ONCE:
                return
            self._after = rows[-1][7]

    def _read(self) -> list[tuple[Any, ...]]:
        """The next rows, texts as bytes: what is damaged need not be UTF-8. Quicker than a cast in SQL."""
        text, self._db.text_factory = self._db.text_factory, bytes
        try:
            return self._db.execute(_ROWS, (self._after, self._until)).fetchall()
        finally:
            self._db.text_factory = text


def _lost(
    rows: list[tuple[Any, ...]],
    decisions: tuple[int, int],
    sequences: tuple[int, int],
    previous: str,
    chain: str,
) -> Link:
    why = "it is not what was written" if rows else "it is missing"
    return Link(*decisions, *sequences, previous, chain, rows, why)


def _is_later(found: Any, number: int) -> bool:
    return isinstance(found, int) and found > number + 1


def _made(previous: str, rows: list[tuple[Any, ...]]) -> str:
    """Chain of a decision, by its content; "" where that is not what was written."""
    first = rows[0]
    stored = first[6]
    if stored is None:
        return ""
    try:
        made = chained(previous, first[:6], [row[7:] for row in rows])
    except ValueError:
        return ""
    return made if is_alike(stored, made) else ""


def is_alike(stored: Any, made: str) -> bool:
    """Whether a chain as it lies in the file is that of the content, or nearly so."""
    if not isinstance(stored, bytes):
        return False
    expected = made.encode()
    return stored == expected or sum(map(eq, stored, expected)) >= _ALIKE


def _stored_chain(db: sqlite3.Connection, decision: int) -> str | None:
    row = db.execute(_CHAIN_OF, (decision,)).fetchone()
    return _text(row[0]) if row else None


def _text(value: bytes) -> str:
    return value.decode(errors="replace")


_MOST = 2**62
