"""Tables of the journal, and how an older file becomes a newer one.

`decisions` and `events` are the record: triggers forbid to change or remove a row, or to leave a gap.
`quarantine` names decisions that are not read any more, and says what was found in their place.
`batches` and `snapshots` are derived and may be made again at any time; each row has a seal.
"""

import sqlite3
from collections.abc import Callable, Iterator
from itertools import groupby
from operator import itemgetter

from assistant.journal.chain import FIRST, DecisionRow, EventRow, chained

APPLICATION_ID = 0x43727562
"""Marks the file as ours (SQLite's application_id)."""

ONLY_GROW = {
    (table, what): f"""CREATE TRIGGER {table}_no_{what} BEFORE {what} ON {table}
        BEGIN SELECT RAISE(ABORT, 'the journal is append-only'); END"""
    for table in ("decisions", "events")
    for what in ("UPDATE", "DELETE")
}
"""Triggers that forbid to change or remove what is recorded, by table and what is forbidden."""

_FIRST = (
    """CREATE TABLE decisions (
        decision INTEGER PRIMARY KEY,
        wall REAL NOT NULL,
        monotonic REAL NOT NULL,
        boot TEXT NOT NULL,
        wall_trusted INTEGER NOT NULL,
        station TEXT NOT NULL
    ) STRICT""",
    """CREATE TABLE events (
        sequence INTEGER PRIMARY KEY,
        decision INTEGER NOT NULL REFERENCES decisions,
        batch INTEGER,
        name TEXT NOT NULL,
        body TEXT NOT NULL
    ) STRICT""",
    "CREATE INDEX events_of_batch ON events (batch) WHERE batch IS NOT NULL",
    """CREATE TABLE batches (
        number INTEGER PRIMARY KEY,
        opened_wall REAL NOT NULL,
        opened_trusted INTEGER NOT NULL,
        ended_wall REAL,
        ended_trusted INTEGER NOT NULL,
        lot TEXT,
        flour_g REAL NOT NULL,
        water_g REAL NOT NULL,
        hydration_pct REAL NOT NULL,
        crumb TEXT,
        outcome TEXT NOT NULL
    ) STRICT""",
    "CREATE TABLE snapshots (sequence INTEGER PRIMARY KEY, code TEXT NOT NULL, state TEXT NOT NULL) STRICT",
    *ONLY_GROW.values(),
    *(
        f"""CREATE TRIGGER {table}_in_order BEFORE INSERT ON {table}
        WHEN NEW.{key} <> (SELECT coalesce(max({key}), 0) + 1 FROM {table})
        BEGIN SELECT RAISE(ABORT, 'the journal leaves no gap'); END"""
        for table, key in (("decisions", "decision"), ("events", "sequence"))
    ),
    f"PRAGMA application_id = {APPLICATION_ID}",
)

_LOTS = (
    "ALTER TABLE batches ADD COLUMN recipe TEXT",
    "CREATE INDEX batches_of_lot ON batches (lot, number) WHERE lot IS NOT NULL",
)


def _chain_all(db: sqlite3.Connection) -> None:
    """Give decisions that were written before there was a chain the one that they would have."""
    db.executemany("UPDATE decisions SET chain = ? WHERE decision = ?", _chains(db))


def _chains(db: sqlite3.Connection) -> Iterator[tuple[str, int]]:
    chain = FIRST
    rows = db.cursor().execute(
        """SELECT d.decision, wall, monotonic, CAST(boot AS BLOB), wall_trusted, CAST(station AS BLOB),
        sequence, batch, CAST(name AS BLOB), CAST(body AS BLOB)
        FROM events e JOIN decisions d USING (decision) ORDER BY sequence"""
    )
    for decision, events in groupby(rows, itemgetter(slice(6))):
        row = DecisionRow(*decision)
        chain = chained(chain, row, [EventRow(*event[6:]) for event in events])
        yield chain, row.number


_CHAIN: "Step" = (
    "ALTER TABLE decisions ADD COLUMN chain TEXT NOT NULL DEFAULT ''",
    "DROP TRIGGER decisions_no_UPDATE",
    _chain_all,
    ONLY_GROW["decisions", "UPDATE"],
)

BATCHES = """CREATE TABLE batches (
    number INTEGER PRIMARY KEY,
    opened_wall REAL NOT NULL,
    opened_trusted INTEGER NOT NULL,
    ended_wall REAL,
    ended_trusted INTEGER NOT NULL,
    lot TEXT,
    flour_g REAL NOT NULL,
    water_g REAL NOT NULL,
    hydration_pct REAL NOT NULL,
    crumb TEXT,
    outcome TEXT NOT NULL,
    recipe TEXT,
    first INTEGER NOT NULL,
    last INTEGER NOT NULL,
    before INTEGER NOT NULL,
    seal INTEGER NOT NULL
) STRICT"""
"""The table of batches, of which a reader makes one of its own where that in the file is damaged."""
_IN_ORDER = tuple(
    statement
    for table, key, last in (
        ("decisions", "decision", "last_decision"),
        ("events", "sequence", "last_sequence"),
    )
    for statement in (
        f"DROP TRIGGER {table}_in_order",
        f"""CREATE TRIGGER {table}_in_order BEFORE INSERT ON {table}
        WHEN NEW.{key} <> 1 + max((SELECT coalesce(max({key}), 0) FROM {table}),
            (SELECT coalesce(max({last}), 0) FROM quarantine))
        BEGIN SELECT RAISE(ABORT, 'the journal leaves no gap'); END""",
    )
)
_GUARD: "Step" = (
    """CREATE TABLE quarantine (
        decision INTEGER PRIMARY KEY,
        last_decision INTEGER NOT NULL,
        sequence INTEGER NOT NULL,
        last_sequence INTEGER NOT NULL,
        chain TEXT NOT NULL,
        why TEXT NOT NULL,
        found TEXT NOT NULL,
        verified INTEGER NOT NULL,
        wall REAL NOT NULL
    ) STRICT""",
    *_IN_ORDER,
    "DROP INDEX events_of_batch",
    "DROP TABLE batches",
    BATCHES,
    "CREATE INDEX batches_of_lot ON batches (lot, number) WHERE lot IS NOT NULL",
    "DROP TABLE snapshots",
    """CREATE TABLE snapshots (
        sequence INTEGER PRIMARY KEY,
        decision INTEGER NOT NULL,
        chain TEXT NOT NULL,
        code TEXT NOT NULL,
        state TEXT NOT NULL,
        seal TEXT NOT NULL
    ) STRICT""",
)

Step = tuple[str | Callable[[sqlite3.Connection], None], ...]
"""What leads from one version to the next: statements, and functions that take the open file."""
MIGRATIONS: tuple[Step, ...] = (_FIRST, _LOTS, _CHAIN, _GUARD)
"""Steps from version i (SQLite's user_version) to i + 1. Those that were released never change."""


def version(db: sqlite3.Connection) -> int:
    """Version of the tables in a file; 0 in an empty one."""
    return int(db.execute("PRAGMA user_version").fetchone()[0])


def is_foreign(db: sqlite3.Connection) -> bool:
    """Whether the file holds tables that are another program's."""
    ours = db.execute("PRAGMA application_id").fetchone()[0] == APPLICATION_ID
    return not ours and db.execute("SELECT count(*) FROM sqlite_schema").fetchone()[0] > 0


def migrate(db: sqlite3.Connection, migrations: tuple[Step, ...] = MIGRATIONS) -> bool:
    """Bring a file to the newest version, each step whole or not at all; whether there was anything to do."""
    start = version(db)
    for step, statements in enumerate(migrations[start:], start):
        db.execute("BEGIN IMMEDIATE")
        try:
            for statement in statements:
                if isinstance(statement, str):
                    db.execute(statement)
                else:
                    statement(db)
            db.execute(f"PRAGMA user_version = {step + 1}")
            db.execute("COMMIT")
        except BaseException:
            if db.in_transaction:  # a full disk has ended it already
                db.execute("ROLLBACK")
            raise
    return start < len(migrations)
