"""Tables of the journal, and how an older file becomes a newer one.

`decisions` and `events` are the record: triggers forbid to change or remove a row, or to leave a gap.
`batches` and `snapshots` are derived from them and may be made again at any time.
"""

import sqlite3

APPLICATION_ID = 0x43727562
"""Marks the file as ours (SQLite's application_id)."""

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
    *(
        f"""CREATE TRIGGER {table}_no_{what} BEFORE {what} ON {table}
        BEGIN SELECT RAISE(ABORT, 'the journal is append-only'); END"""
        for table in ("decisions", "events")
        for what in ("UPDATE", "DELETE")
    ),
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

MIGRATIONS: tuple[tuple[str, ...], ...] = (_FIRST, _LOTS)
"""Statements from version i (SQLite's user_version) to i + 1. Those that were released never change."""


def version(db: sqlite3.Connection) -> int:
    """Version of the tables in a file; 0 in an empty one."""
    return int(db.execute("PRAGMA user_version").fetchone()[0])


def is_foreign(db: sqlite3.Connection) -> bool:
    """Whether the file holds tables that are another program's."""
    ours = db.execute("PRAGMA application_id").fetchone()[0] == APPLICATION_ID
    return not ours and db.execute("SELECT count(*) FROM sqlite_schema").fetchone()[0] > 0


def migrate(db: sqlite3.Connection, migrations: tuple[tuple[str, ...], ...] = MIGRATIONS) -> bool:
    """Bring a file to the newest version, each step whole or not at all; whether there was anything to do."""
    start = version(db)
    for step, statements in enumerate(migrations[start:], start):
        db.execute("BEGIN IMMEDIATE")
        try:
            for statement in statements:
                db.execute(statement)
            db.execute(f"PRAGMA user_version = {step + 1}")
            db.execute("COMMIT")
        except sqlite3.Error:
            if db.in_transaction:  # a full disk has ended it already
                db.execute("ROLLBACK")
            raise
    return start < len(migrations)
