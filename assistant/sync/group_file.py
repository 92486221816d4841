"""The station's own copy of what its group knows, in an SQLite file: so that it is there without a network.

A copy alone: whoever deletes it gets it again with the next look at the server.
"""

import sqlite3
from collections.abc import Iterator, Mapping, Sequence
from contextlib import closing, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Self

import msgspec

from assistant.errors import SyncError
from assistant.journal.shapes import ShapeError, decoder
from assistant.journal.summaries import LotBatch

MOST_LOTS, MOST_BATCHES = 200, 40
"""Lots that are kept here, those last used, and batches of each, the newest: more than is learned from."""
_VERSION = 1
_TABLES = """
CREATE TABLE flour (
    station TEXT NOT NULL, batch INTEGER NOT NULL, lot TEXT NOT NULL, ended_wall REAL NOT NULL,
    body TEXT NOT NULL,
    PRIMARY KEY (station, batch)
) STRICT;
CREATE INDEX flour_of_lot ON flour (lot, ended_wall);
CREATE TABLE cursors (station TEXT PRIMARY KEY, decision INTEGER NOT NULL) STRICT;
CREATE TABLE documents (name TEXT PRIMARY KEY, version INTEGER NOT NULL, digest TEXT NOT NULL) STRICT;
CREATE TABLE kept (key TEXT PRIMARY KEY, value TEXT NOT NULL) STRICT;
"""
_TOO_OLD = """DELETE FROM flour WHERE (station, batch) IN (
    SELECT station, batch FROM (
        SELECT station, batch, row_number() OVER (PARTITION BY lot ORDER BY ended_wall DESC) AS place
        FROM flour
    ) WHERE place > ?
) OR lot NOT IN (SELECT lot FROM flour GROUP BY lot ORDER BY max(ended_wall) DESC LIMIT ?)"""


@dataclass(frozen=True, slots=True)
class FlourRow:
    """What a batch of another station says of its flour, as the server has it."""

    station: str
    decision: int
    batch: int
    body: str | None
    """JSON of a `LotBatch`; None: it is evidence no more."""


class Kept(msgspec.Struct, frozen=True):
    """How the last look at the server went."""

    at: float = 0.0
    """Wall time of the last look that succeeded (s since 1970); 0: none did."""
    sent: int = 0
    """The last decision that the server has."""
    problem: str = ""
    """What was told since; empty: nothing."""
    newer: tuple[str, ...] = ()
    """Files of the group that are newer there."""


class GroupFile:
    """The file, open to read and write. Raises SyncError, one line, where it can't be."""

    def __init__(self, path: Path) -> None:
        self.path = path
        with self._told():
            path.parent.mkdir(parents=True, exist_ok=True)
            self._db = self._open()

    def _open(self) -> sqlite3.Connection:
        db = sqlite3.connect(self.path, isolation_level=None, timeout=5.0, check_same_thread=False)
        try:
            if db.execute("PRAGMA user_version").fetchone()[0] not in (0, _VERSION):
                raise sqlite3.DatabaseError("another version")
            db.execute("PRAGMA journal_mode = WAL")
            if not db.execute("SELECT count(*) FROM sqlite_schema").fetchone()[0]:
                db.executescript(f"BEGIN; {_TABLES} PRAGMA user_version = {_VERSION}; COMMIT;")
        except sqlite3.OperationalError:
            db.close()
            raise
        except sqlite3.DatabaseError:
            # Damaged, or of another version: it is a copy, so it begins anew.
            db.close()
            for tail in ("", "-wal", "-shm"):
                self.path.with_name(self.path.name + tail).unlink(missing_ok=True)
            return self._open()
        return db

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self._db.close()

    def cursors(self) -> dict[str, int]:
        """Of each other station the decision up to which its flour is here."""
        with self._told():
            return dict(self._db.execute("SELECT station, decision FROM cursors"))

    def take(self, rows: Sequence[FlourRow], cursors: Mapping[str, int]) -> None:
        """Take what others' batches say, whole or not at all, and remember how far it goes."""
        with self._told(), self._transaction():
            for row in rows:
                batch = None if row.body is None else read_batch(row.body)
                if batch is None or row.body is None:
                    self._db.execute(
                        "DELETE FROM flour WHERE station = ? AND batch = ?", (row.station, row.batch)
                    )
                else:
                    self._db.execute(
                        "INSERT OR REPLACE INTO flour VALUES (?, ?, ?, ?, ?)",
                        (row.station, row.batch, batch.lot, batch.ended_wall, row.body),
                    )
            self._db.executemany("INSERT OR REPLACE INTO cursors VALUES (?, ?)", cursors.items())
            if rows:
                self._db.execute(_TOO_OLD, (MOST_BATCHES, MOST_LOTS))

    def documents(self) -> dict[str, tuple[int, str]]:
        """Of each file of the group the version that is here, and its digest."""
        with self._told():
            return {name: (v, d) for name, v, d in self._db.execute("SELECT * FROM documents")}

    def took(self, name: str, version: int, digest: str) -> None:
        """Remember the version of a file that is here."""
        with self._told():
            self._db.execute("INSERT OR REPLACE INTO documents VALUES (?, ?, ?)", (name, version, digest))

    def status(self) -> Kept:
        """How the last look went."""
        with self._told():
            row = self._db.execute("SELECT value FROM kept WHERE key = 'status'").fetchone()
        try:
            return msgspec.json.decode(row[0], type=Kept) if row else Kept()
        except msgspec.MsgspecError:
            return Kept()

    def keep(self, status: Kept) -> None:
        """Remember it."""
        text = msgspec.json.encode(status).decode()
        with self._told():
            self._db.execute("INSERT OR REPLACE INTO kept VALUES ('status', ?)", (text,))

    @contextmanager
    def _transaction(self) -> Iterator[None]:
        self._db.execute("BEGIN IMMEDIATE")
        try:
            yield
        except BaseException:
            self._db.execute("ROLLBACK")
            raise
        self._db.execute("COMMIT")

    @contextmanager
    def _told(self) -> Iterator[None]:
        try:
            yield
        except (sqlite3.Error, OSError) as error:
            raise SyncError(
                f"{self.path}: the copy of what the group knows can't be used ({error}); "
                "where its folder can be written, delete it and it is made anew."
            ) from error


def read_batch(body: str) -> LotBatch | None:
    """The batch of a row; None where a newer program wrote what this one doesn't know."""
    try:
        found: LotBatch = decoder(LotBatch)(msgspec.json.decode(body))
    except (ShapeError, msgspec.DecodeError):
        return None
    return found


def read_flour(path: Path, lots: int, batches: int, also: str | None) -> list[tuple[str, LotBatch]]:
    """What others' batches say, with the station of each: of the lots last used anywhere and of `also`.

    At most `batches` of a lot, the newest, oldest first. Nothing where there is no such file or it can't be
    read: the station's own journal is enough.
    """
    if not path.is_file():
        return []
    try:
        with closing(sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro", uri=True, timeout=1.0)) as db:
            names = [
                row[0]
                for row in db.execute(
                    "SELECT lot FROM flour GROUP BY lot ORDER BY max(ended_wall) DESC, lot LIMIT ?", (lots,)
                )
            ]
            if also is not None and also not in names:
                names.append(also)
            rows = [
                row
                for name in names
                for row in db.execute(
                    "SELECT station, body FROM flour WHERE lot = ? "
                    "ORDER BY ended_wall DESC, station, batch LIMIT ?",
                    (name, batches),
                ).fetchall()[::-1]
            ]
    except sqlite3.Error:
        return []
    return [(station, batch) for station, body in rows if (batch := read_batch(body)) is not None]
