"""Rows of an export while it is made: on disk, so that what is corrected or taken back later finds its row.

An SQLite database of its own without a name: it is in a temporary file that goes with the connection, and of
that a few megabytes are in memory (SQLite, "Temporary Databases").
"""

import sqlite3
from collections.abc import Iterator, Mapping
from functools import cache
from typing import Self

from assistant.errors import JournalError
from assistant.journal.exporting.columns import Table, Value
from assistant.journal.exporting.tables import TABLES

_STORED = {"integer": "INTEGER", "number": "REAL", "boolean": "INTEGER", "datetime": "REAL"}
_CACHE_KIB = 8 * 1024


class Spool:
    """The rows of all tables. Raises JournalError where there is no room for them."""

    def __init__(self) -> None:
        self._db = sqlite3.connect("", isolation_level=None)
        for setting in ("journal_mode = OFF", "synchronous = OFF", f"cache_size = -{_CACHE_KIB}"):
            self._db.execute(f"PRAGMA {setting}")
        for table in TABLES.values():
            columns = ", ".join(f'"{one.name}" {_STORED.get(one.kind, "TEXT")}' for one in table.columns)
            self._db.execute(
                f'CREATE TABLE "{table.name}" ({columns}, PRIMARY KEY ({", ".join(table.key)})) STRICT'
            )
        self._db.execute("BEGIN")

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """Let the temporary file go."""
        self._db.close()

    def put(self, table: Table, values: Mapping[str, Value]) -> None:
        """Add a row; what it has no value for is empty."""
        self._run(_insert(table.name, tuple(values)), tuple(values.values()))

    def change(self, table: Table, key: int | str, values: Mapping[str, Value]) -> None:
        """Change values of a row."""
        self._run(_update(table.name, table.key[0], tuple(values)), (*values.values(), key))

    def rows(self, table: Table) -> Iterator[tuple[Value, ...]]:
        """All rows of a table, in the order of its key."""
        names = ", ".join(f'"{name}"' for name in table.names)
        query = f'SELECT {names} FROM "{table.name}" ORDER BY {", ".join(table.key)}'
        truths = [at for at, one in enumerate(table.columns) if one.kind == "boolean"]
        for row in self._run(query):
            values = list(row)
            for at in truths:
                values[at] = None if row[at] is None else bool(row[at])
            yield tuple(values)

    def lots(self) -> Iterator[tuple[str, int, float, float, float, int]]:
        """Of each lot that batches name: batches, flour (g), first and last wall time, whether certain."""
        yield from self._run(
            "SELECT lot, count(*), sum(flour_g), min(opened_at), max(opened_at), min(opened_certain) "
            "FROM batches WHERE lot IS NOT NULL AND outcome <> 'taken back' GROUP BY lot"
        ).fetchall()

    def _run(self, query: str, values: tuple[Value, ...] = ()) -> sqlite3.Cursor:
        try:
            return self._db.execute(query, values)
        except sqlite3.Error as error:
            raise JournalError(
                f"the export needs room for a temporary file ({error}); make room, or name another folder "
                "for it in TMPDIR"
            ) from error


@cache
def _insert(table: str, names: tuple[str, ...]) -> str:
    columns = ", ".join(f'"{name}"' for name in names)
    return f'INSERT INTO "{table}" ({columns}) VALUES ({", ".join("?" * len(names))})'


@cache
def _update(table: str, key: str, names: tuple[str, ...]) -> str:
    settings = ", ".join(f'"{name}" = ?' for name in names)
    return f'UPDATE "{table}" SET {settings} WHERE "{key}" = ?'
