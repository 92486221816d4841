"""A broken file: all decisions that the chain vouches for are read out of its pages, into a new one."""

import os
import sqlite3
from collections.abc import Iterable, Iterator
from contextlib import suppress
from dataclasses import dataclass, replace
from itertools import islice, product
from pathlib import Path
from typing import Any

from assistant.journal.chain import FIRST, DecisionRow, EventRow, chained
from assistant.journal.damage import move_aside
from assistant.journal.guard.end_note import End, EndNote
from assistant.journal.guard.links import Link, SetAside, is_alike
from assistant.journal.guard.pages import Pages
from assistant.journal.guard.quarantine import corrected, keep_aside, set_aside
from assistant.journal.guard.same_file import sync_folder
from assistant.journal.schema import migrate

_MOST_WAYS = 64
"""Combinations of rows that are tried for a decision of which several versions were found."""


@dataclass(frozen=True, slots=True)
class Saved:
    """What became of a broken file."""

    moved_aside: Path
    decisions: int
    """How many of it are in the new one."""
    aside: tuple[SetAside, ...]
    """What could not be trusted."""


def save(path: Path, wall: float, copies: Iterable[Path] = ()) -> Saved:
    """Make a new file of all that can be trusted of a broken one, which is moved aside.

    `copies`: of the journal, from before; what they hold counts too. `wall`: now (s since 1970, UTC). Raises
    OSError and sqlite3.Error; then the broken file is where it was.
    """
    part = saved_name(path)
    part.unlink(missing_ok=True)
    note = EndNote.to_read(path)
    noted = note.read()
    note.close()
    rows = Found()
    for source in (path, *copies):
        with suppress(OSError):
            rows.take(Pages.of(source))
    db = sqlite3.connect(part, isolation_level=None)
    try:
        db.execute("PRAGMA synchronous = OFF")
        migrate(db)
        db.execute("BEGIN")
        count, aside = 0, list[SetAside]()
        for link in rows.links(noted):
            if link.problem:
                aside.append(set_aside(link, wall))
                keep_aside(db, aside[-1:])
                continue
            count += 1
            _write(db, link)
        db.execute("COMMIT")
    finally:
        db.close()
    part.chmod(0o600)
    with part.open("rb+") as file:
        os.fsync(file.fileno())
    moved = move_aside(path, wall)
    part.rename(path)
    sync_folder(path.parent)
    return Saved(moved, count, tuple(aside))


def put_on(db: sqlite3.Connection, path: Path, log: bytes, end: End) -> int:
    """Write behind the end of a journal what its log still has of what followed; how many decisions.

    SQLite reads a log up to the first frame that is damaged; what lies behind it is there all the same.
    `log`: as it lay there before the journal was opened; `end`: how far the journal went.
    """
    last, chain, sequence = db.execute(_LAST).fetchone() or (0, FIRST, 0)
    if end.decision <= last or not log:
        return 0
    rows = Found()
    rows.take(Pages(path.read_bytes(), log))
    count = 0
    for link in rows.links():
        if link.problem or link.number <= last:
            continue
        if (link.number, link.sequence, link.previous) != (last + 1, sequence + 1, chain):
            break
        _write(db, link)
        last, chain, sequence = link.number, link.chain, link.last_sequence
        count += 1
    return count


_LAST = """SELECT decision, chain, (SELECT max(sequence) FROM events) FROM decisions
    ORDER BY decision DESC LIMIT 1"""


def saved_name(path: Path) -> Path:
    """Where the new file lies till it is complete; where that is all there is, it is the journal."""
    return path.with_name(path.name + ".saved")


class Found:
    """Rows of decisions and events, each perhaps in several versions."""

    def __init__(self) -> None:
        self._decisions: dict[int, list[tuple[Any, ...]]] = {}
        self._events: dict[int, dict[int, list[EventRow]]] = {}

    def take(self, pages: Pages) -> None:
        """Sort out all rows of a file."""
        for number, values in pages.rows():
            if _is_decision(values):
                known = self._decisions.setdefault(number, [])
                row = (*values[1:], *([None] if len(values) == 6 else []))
                if row not in known:
                    known.append(row)
            elif _is_event(values):
                events = self._events.setdefault(values[1], {}).setdefault(number, [])
                event = EventRow(number, *values[2:])
                if event not in events:
                    events.append(event)

    def links(self, noted: End | None = None) -> Iterator[Link]:
        """Decisions that the chain vouches for, oldest first; what is between them, with a problem.

        `noted`: how far the journal went, where that is known.
        """
        number, sequence, chain = 0, 0, FIRST
        for found in sorted(self._decisions):
            link = self._link(found, chain if found == number + 1 else None, sequence)
            if link is None:
                continue
            if found > number + 1 or link.sequence > sequence + 1:
                yield self._gap((number + 1, found - 1), (sequence + 1, link.sequence - 1), link.previous)
            yield link
            number, sequence, chain = found, link.last_sequence, link.chain
        if noted is not None and noted.decision > number:
            yield self._gap((number + 1, noted.decision), (sequence + 1, noted.sequence), noted.chain)
        elif number + 1 in self._decisions:
            last = number + 1
            while last + 1 in self._decisions:
                last += 1
            stored = self._decisions[last][0][5]
            seen = [one for at in range(number + 1, last + 1) for one in self._events.get(at, ())]
            end = max([sequence, *seen])
            yield self._gap((number + 1, last), (sequence + 1, end), _text(stored))

    def _link(self, number: int, chain: str | None, after: int) -> Link | None:
        """The decision as it was written; None where nothing that was found is.

        `chain`: of the one before it, where that could be trusted; `after`: last sequence before it.
        """
        events = self._events.get(number, {})
        before = (
            [chain] if chain is not None else [_text(row[5]) for row in self._decisions.get(number - 1, ())]
        )
        if not events or not before:
            return None
        sequences = sorted(one for one in events if one > after)
        versions = [events[one] for one in sequences]
        for row, previous, *ways in islice(product(self._decisions[number], before, *versions), _MOST_WAYS):
            if not sequences:
                break
            link = _verified(number, row, previous, ways)
            if link is not None:
                return link
        return None

    def _gap(self, decisions: tuple[int, int], sequences: tuple[int, int], chain: str) -> Link:
        rows = [
            (number, *(self._decisions.get(number, [(None,) * 6])[0]), *event)
            for number in range(decisions[0], min(decisions[1], decisions[0] + 1000) + 1)
            for versions in self._events.get(number, {}).values()
            for event in versions
        ]
        why = "it is not what was written" if rows else "it is missing"
        return Link(*decisions, *sequences, "", chain, rows, why)


def _verified(number: int, row: tuple[Any, ...], previous: str, events: list[EventRow]) -> Link | None:
    decision, stored = DecisionRow(number, *row[:5]), row[5]
    try:
        made = chained(previous, decision, events)
    except ValueError:
        made = ""
    rows = [(*decision, stored, *event) for event in events]
    link = Link(number, number, events[0].sequence, events[-1].sequence, previous, made, rows)
    # Of a journal from before the chain nothing vouches but that all of it is there, once.
    if made and (stored is None or is_alike(stored, made)):
        return link
    return corrected(replace(link, problem="it is not what was written"))


def _write(db: sqlite3.Connection, link: Link) -> None:
    number, wall, monotonic, boot, trusted, station = link.decision
    db.execute(
        "INSERT INTO decisions VALUES (?, ?, ?, CAST(? AS TEXT), ?, CAST(? AS TEXT), ?)",
        (number, wall, monotonic, boot, trusted, station, link.chain),
    )
    db.executemany(
        f"INSERT INTO events VALUES (?, {number}, ?, CAST(? AS TEXT), CAST(? AS TEXT))", link.events
    )


def _is_decision(values: tuple[Any, ...]) -> bool:
    if len(values) not in (6, 7) or values[0] is not None:
        return False
    _, wall, monotonic, boot, trusted, station, *chain = values
    numbers = (
        isinstance(wall, int | float) and isinstance(monotonic, int | float) and isinstance(trusted, int)
    )
    return numbers and all(isinstance(text, bytes) for text in (boot, station, *chain))


def _is_event(values: tuple[Any, ...]) -> bool:
    if len(values) != 5 or values[0] is not None or not isinstance(values[1], int):
        return False
    _, _, batch, name, body = values
    return isinstance(batch, int | None) and isinstance(name, bytes) and isinstance(body, bytes)


def _text(value: Any) -> str:
    return value.decode(errors="replace") if isinstance(value, bytes) else FIRST
