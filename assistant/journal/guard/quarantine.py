"""What can't be trusted is set aside with what it said, or mended where the chain proves what was written."""

import json
import sqlite3
import struct
from collections.abc import Iterable, Iterator
from typing import Any

from assistant.journal.chain import DecisionRow, EventRow, chained
from assistant.journal.guard.links import Link, SetAside
from assistant.journal.schema import ONLY_GROW

_MOST_BYTES = 4000
"""A longer decision is not searched for a flipped bit."""


def set_aside(link: Link, wall: float) -> SetAside:
    """What becomes of a link with a problem; `wall`: now (s since 1970, UTC)."""
    return SetAside(
        link.number,
        link.last,
        link.sequence,
        max(link.sequence - 1, link.last_sequence),
        link.chain,
        link.problem,
        text_of(link.rows),
        0,
        wall,
    )


def text_of(rows: Iterable[tuple[Any, ...]]) -> str:
    """Rows as they were found, as JSON; "" where there are none."""
    found = [[_plain(value) for value in row] for row in rows]
    return json.dumps(found, ensure_ascii=False) if found else ""


def keep_aside(db: sqlite3.Connection, found: Iterable[SetAside]) -> None:
    """Note in an open transaction that these are not read any more."""
    db.executemany(
        "INSERT OR REPLACE INTO quarantine VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)",
        [
            (
                one.decision,
                one.last_decision,
                one.sequence,
                one.last_sequence,
                one.chain,
                one.why,
                one.found,
                one.verified,
                one.wall,
            )
            for one in found
        ],
    )


def mend(db: sqlite3.Connection, link: Link) -> None:
    """Write a decision in an open transaction as the chain proves that it was written."""
    for table in ("decisions", "events"):
        db.execute(f"DROP TRIGGER {table}_no_UPDATE")
    number, wall, monotonic, boot, trusted, station = link.decision
    db.execute(
        """UPDATE decisions SET wall = ?, monotonic = ?, boot = CAST(? AS TEXT), wall_trusted = ?,
        station = CAST(? AS TEXT), chain = ? WHERE decision = ?""",
        (wall, monotonic, boot, trusted, station, link.chain, number),
    )
    db.executemany(
        """UPDATE events SET decision = ?, batch = ?, name = CAST(? AS TEXT), body = CAST(? AS TEXT)
        WHERE sequence = ?""",
        [(number, row.batch, row.name, row.body, row.sequence) for row in link.events],
    )
    for table in ("decisions", "events"):
        db.execute(ONLY_GROW[table, "UPDATE"])


def corrected(link: Link) -> Link | None:
    """The decision as it was written, where a single flipped bit explains what was found; else None.

    That is no guess: the chain is a SHA-256 over it, and no other content has it.
    """
    numbers = {row[0] for row in link.rows}
    if link.number != link.last or numbers != {link.number} or not isinstance(link.rows[0][6], bytes):
        return None
    stored = link.rows[0][6].decode(errors="replace")
    if sum(len(value) for row in link.rows for value in row if isinstance(value, bytes)) > _MOST_BYTES:
        return None
    for decision, events in _candidates(link.decision, link.events):
        try:
            made = chained(link.previous, decision, events)
        except ValueError:
            continue
        if made == stored:
            rows = [(*decision, stored.encode(), *event) for event in events]
            return Link(link.number, link.last, link.sequence, link.last_sequence, link.previous, made, rows)
    return None


def _candidates(
    decision: DecisionRow, events: list[EventRow]
) -> Iterator[tuple[DecisionRow, list[EventRow]]]:
    """All contents that differ in one bit."""
    for name in DecisionRow._fields[1:]:
        for other in _flipped(getattr(decision, name)):
            yield decision._replace(**{name: other}), events
    for place, event in enumerate(events):
        for name in EventRow._fields[1:]:
            for other in _flipped(getattr(event, name)):
                changed = event._replace(**{name: other})
                yield decision, [*events[:place], changed, *events[place + 1 :]]


def _flipped(value: Any) -> Iterator[Any]:
    """All values that differ in one bit of how SQLite stores it."""
    if isinstance(value, bytes):
        content = bytearray(value)
        for at in range(len(content)):
            for bit in range(8):
                content[at] ^= 1 << bit
                yield bytes(content)
                content[at] ^= 1 << bit
    elif isinstance(value, int):
        for bit in range(48):
            yield value ^ (1 << bit)
    elif isinstance(value, float):
        (bits,) = struct.unpack(">q", struct.pack(">d", value))
        for bit in range(63):
            yield struct.unpack(">d", struct.pack(">q", bits ^ (1 << bit)))[0]
        if value.is_integer():  # SQLite stores it as a whole number
            for bit in range(48):
                yield float(int(value) ^ (1 << bit))


def _plain(value: Any) -> Any:
    return value.decode(errors="replace") if isinstance(value, bytes) else value
