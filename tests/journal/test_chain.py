"""The checksum chain: what it covers, how it is written, that older journals get it, that it is verified."""

import os
import sqlite3
import struct
from contextlib import closing
from hashlib import sha256
from pathlib import Path
from typing import Any

import pytest

from assistant.batch.record import events as ev
from assistant.clock import ScriptedClock
from assistant.journal.chain import FIRST, DecisionRow, EventRow, chained
from assistant.journal.guard import verifying
from assistant.journal.reader import JournalReader
from assistant.journal.schema import MIGRATIONS, migrate
from assistant.journal.store import SqliteJournal
from tests.journal.day import DAY, spoiled

DECISION = DecisionRow(3, 1.7e9, 12.5, "boot", 1, "küche")
EVENTS = [EventRow(7, None, "LotNamed", '{"at":1.0}'), EventRow(8, 2, "BatchClosed", "{}")]


def chains_of(path: Path) -> list[str]:
    with closing(sqlite3.connect(path)) as db:
        return [row[0] for row in db.execute("SELECT chain FROM decisions ORDER BY decision")]


def test_the_form_is_the_one_that_is_written_down() -> None:
    def text(value: str) -> bytes:
        return struct.pack(">q", len(value.encode())) + value.encode()

    content = b"".join(
        [
            text("ab"),
            struct.pack(">qdd", 3, 1.7e9, 12.5),
            text("boot"),
            struct.pack(">q", 1),
            text("küche"),
            struct.pack(">qq", 7, 0),
            text("LotNamed"),
            text('{"at":1.0}'),
            struct.pack(">qq", 8, 2),
            text("BatchClosed"),
            text("{}"),
        ]
    )
    assert chained("ab", DECISION, EVENTS) == sha256(content).hexdigest()


def test_texts_as_they_lie_in_the_file_give_the_same() -> None:
    raw = DECISION._replace(boot=b"boot", station="küche".encode())
    assert chained(FIRST, raw, EVENTS) == chained(FIRST, DECISION, EVENTS)


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("number", 4),
        ("wall", 1.7e9 + 1),
        ("monotonic", 12.0),
        ("boot", "b"),
        ("wall_trusted", 0),
        ("station", "kuche"),
    ],
)
def test_each_field_of_a_decision_counts(field: str, value: Any) -> None:
    assert chained(FIRST, DECISION._replace(**{field: value}), EVENTS) != chained(FIRST, DECISION, EVENTS)


@pytest.mark.parametrize(
    ("field", "value"), [("sequence", 9), ("batch", 3), ("name", "LotNames"), ("body", '{"at":1.1}')]
)
def test_each_field_of_an_event_counts(field: str, value: Any) -> None:
    changed = [EVENTS[0], EVENTS[1]._replace(**{field: value})]
    assert chained(FIRST, DECISION, changed) != chained(FIRST, DECISION, EVENTS)


def test_the_chain_before_it_and_the_order_of_its_events_count() -> None:
    known = {chained(FIRST, DECISION, EVENTS), chained("a", DECISION, EVENTS)}
    assert len({*known, chained(FIRST, DECISION, EVENTS[::-1]), chained(FIRST, DECISION, EVENTS[:1])}) == 4


def test_a_value_of_another_type_is_told() -> None:
    with pytest.raises(ValueError, match="another type"):
        chained(FIRST, DECISION._replace(wall=b"flour"), EVENTS)  # type: ignore[arg-type]


def test_an_older_journal_gets_the_chain_that_it_would_have(path: Path, clock: ScriptedClock) -> None:
    with closing(SqliteJournal.open(path, clock)) as journal:
        for events in DAY:
            clock.move(1.0)
            journal.append(events)
    chains = chains_of(path)
    assert len(set(chains)) == len(DAY)
    older = path.with_name("older.sqlite")
    with closing(sqlite3.connect(older, isolation_level=None)) as db:
        migrate(db, MIGRATIONS[:2])
        db.execute("ATTACH ? AS new", (str(path),))
        columns = "decision, wall, monotonic, boot, wall_trusted, station"
        db.execute(f"INSERT INTO decisions ({columns}) SELECT {columns} FROM new.decisions ORDER BY decision")
        db.execute("INSERT INTO events SELECT * FROM new.events ORDER BY sequence")
        db.execute("DETACH new")
        migrate(db)
        with pytest.raises(sqlite3.IntegrityError, match="append-only"):
            db.execute("UPDATE decisions SET chain = ''")
    assert chains_of(older) == chains


def test_the_pieces_of_a_long_journal_add_up(
    path: Path, clock: ScriptedClock, monkeypatch: pytest.MonkeyPatch
) -> None:
    with closing(SqliteJournal.open(path, clock)) as journal:
        for number in range(50):
            journal.append([ev.LotNamed(at=float(number), lot=f"{part}") for part in range(3)])
    monkeypatch.setattr(verifying, "A_PIECE", 40)
    monkeypatch.setattr(os, "cpu_count", lambda: 3)
    with JournalReader.open(path) as reader:
        pieces = verifying.pieces_of(reader.connection)
        assert len(pieces) == 3
        assert all(after % 3 == 0 for after, _ in pieces), "each ends with a decision"
        assert verifying.verified(reader.connection, path).events == 150
    spoiled(path, "UPDATE events SET body = '{}' WHERE sequence IN (10, 70, 140)")
    with JournalReader.open(path) as reader:
        found = verifying.verified(reader.connection, path)
    assert [one.decision for one in found.problems] == [4, 24, 47]
    assert (found.decisions, found.events) == (47, 141)
