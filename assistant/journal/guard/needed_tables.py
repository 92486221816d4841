"""Whether a file has the tables that a journal of its version has, and the marks that go with them."""

import sqlite3
from contextlib import closing
from functools import cache

from assistant.journal.schema import APPLICATION_ID, MIGRATIONS, is_foreign, migrate, version

Tables = frozenset[tuple[str, ...]]


def damage_of_tables(db: sqlite3.Connection) -> str | None:
    """What is wrong with the tables of a journal; None where nothing is, or it is no journal of this program.

    A flipped bit in the marks of the file, its version or whose it is, is turned back where its tables tell
    what they were.
    """
    found, marked = _tables(db), version(db)
    known = {made: at for at in range(1, len(MIGRATIONS) + 1) if (made := _expected(at))}
    if found in known:
        right = known[found]
        if marked != right and (marked ^ right).bit_count() == 1:
            db.execute(f"PRAGMA user_version = {right}")
        if is_foreign(db):
            db.execute(f"PRAGMA application_id = {APPLICATION_ID}")
        return None
    if is_foreign(db) or marked > len(MIGRATIONS) or not found:
        return None
    return "its tables are not those of a journal"


def tables_are_sound(db: sqlite3.Connection) -> bool:
    """Whether an open journal of the newest version has its tables; changes nothing."""
    return _tables(db) == _expected(len(MIGRATIONS))


def _tables(db: sqlite3.Connection) -> Tables:
    return frozenset(db.execute("SELECT type, name, tbl_name, coalesce(sql, '') FROM sqlite_schema"))


@cache
def _expected(at: int) -> Tables:
    with closing(sqlite3.connect(":memory:", isolation_level=None)) as db:
        migrate(db, MIGRATIONS[:at])
        return _tables(db)
