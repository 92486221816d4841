"""A day of a kitchen, and how a test writes, spoils and opens its journal."""

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from assistant.batch.record import commands as cmd
from assistant.batch.record import events as ev
from assistant.clock import ScriptedClock
from assistant.dough.amounts import Amount
from assistant.errors import JournalError
from assistant.journal.schema import ONLY_GROW
from assistant.journal.store import SqliteJournal
from assistant.testing.journal import decisions

DAY = decisions(
    (0.0, cmd.NewBatch(Amount(1500))),
    (60.0, cmd.AddWater(Amount(335, exact=True))),
    (61.0, cmd.Mix()),
    (181.0, cmd.JudgeCrumb("dry")),
    (200.0, cmd.PourRest()),
    (300.0, cmd.JudgeCrumb("ready")),
    (320.0, cmd.CloseBatch()),
)


def written(path: Path, clock: ScriptedClock) -> list[ev.Event]:
    """Write a day to a journal; returns its events."""
    with closing(SqliteJournal.open(path, clock)) as journal:
        for events in DAY:
            clock.move(1.0)
            journal.append(events)
    return [event for events in DAY for event in events]


def raw(path: Path, *statements: str) -> None:
    with closing(sqlite3.connect(path)) as db:
        for statement in statements:
            db.execute(statement)
        db.commit()


def spoiled(path: Path, *statements: str) -> None:
    """Change rows as a flipped bit would: past the triggers, which are as they were afterwards."""
    tables, whats = ("decisions", "events"), ("UPDATE", "DELETE")
    dropped = [f"DROP TRIGGER {table}_no_{what}" for table in tables for what in whats]
    raw(path, *dropped, *statements, *ONLY_GROW.values())


def refused(path: Path, clock: ScriptedClock) -> str:
    with pytest.raises(JournalError) as caught:
        SqliteJournal.open(path, clock)
    return str(caught.value)
