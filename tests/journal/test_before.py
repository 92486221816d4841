"""Journals that earlier versions wrote: they open, lead to the same state, print the same sheets, and go on.

`before/` keeps one journal a version, written by that version's own code and copied by
its `journal backup`:

- `journal-0.1.0.db`: every class of event with every optional field set and left out, every kind of event
  that can be taken back taken back, a question of every reason with every command inside, a recipe,
  walk-throughs, trays, two restarts, seven batches of which the last is open, and a snapshot;
- `expected-0.1.0.json`: how many events it holds, the account at a dozen places, and the state at its end;
- `sheets-0.1.0.txt`: the sheets as they were printed then, in UTC, without the cautions below them.
"""

import json
import re
import shutil
import sqlite3
import time
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from assistant.batch.record.events import LotNamed
from assistant.batch.record.evolving.evolve import evolve, replay
from assistant.batch.record.state import State
from assistant.cli import crumbcall
from assistant.clock import ScriptedClock
from assistant.journal.codec import state_text
from assistant.journal.reader import JournalReader
from assistant.journal.schema import MIGRATIONS, migrate, version
from assistant.journal.store import SqliteJournal

BEFORE = Path(__file__).parent / "before"
VERSIONS = sorted(file.stem.removeprefix("expected-") for file in BEFORE.glob("expected-*.json"))


def started_once(version: str, path: Path) -> Path:
    """A copy of that version's journal with today's tables."""
    shutil.copyfile(BEFORE / f"journal-{version}.db", path)
    SqliteJournal.open(path, ScriptedClock()).close()
    return path


@pytest.fixture(params=VERSIONS)
def expected(request: pytest.FixtureRequest) -> Any:
    """What the journal of a version led to."""
    return json.loads((BEFORE / f"expected-{request.param}.json").read_text(encoding="utf-8"))


@pytest.fixture
def home(expected: Any, tmp_path: Path) -> Path:
    """A home folder with a copy of that journal, which the station was started on once."""
    return started_once(expected["version"], tmp_path / "journal.sqlite").parent


@pytest.fixture
def _utc(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """The zone that the sheets were printed in."""
    monkeypatch.setenv("TZ", "UTC")
    time.tzset()
    yield
    monkeypatch.undo()
    time.tzset()


RENAMED = {"told": "conditions"}
"""Fields of a state that have another name now: of an older version only the events are read."""


def of_then(found: Any, then: Any) -> Any:
    """What a value of today has of the keys that it had then: fields that came later are left out."""
    if isinstance(then, dict) and isinstance(found, dict):
        names = {key: key if key in found else RENAMED.get(key) for key in then}
        return {key: of_then(found[name], then[key]) for key, name in names.items() if name in found}
    if isinstance(then, list) and isinstance(found, list) and len(then) == len(found):
        return [of_then(one, value) for one, value in zip(found, then, strict=True)]
    return found


def crumbcall_prints(home: Path, *arguments: str) -> str:
    result = CliRunner().invoke(crumbcall, ["--home", str(home), *arguments])
    assert result.exit_code == 0, result.output or repr(result.exception)
    return result.output


def sheets_of_then(expected: Any) -> dict[int, str]:
    text = (BEFORE / f"sheets-{expected['version']}.txt").read_text(encoding="utf-8")
    return {int(one.split(maxsplit=2)[1]): one.rstrip("\n") for one in re.split(r"\n(?=Batch \d+\n)", text)}


def test_every_event_of_then_is_in_it_and_can_be_read(home: Path, expected: Any) -> None:
    with JournalReader.open(home / "journal.sqlite") as journal:
        names = [type(event).__name__ for _, event in journal.read()]
    assert len(names) == expected["events"]
    with closing(sqlite3.connect(home / "journal.sqlite")) as db:
        assert names == [row[0] for row in db.execute("SELECT name FROM events ORDER BY sequence")]
    assert len(set(names)) == expected["classes"], "every class that there was then"


def test_it_leads_to_the_state_of_then(home: Path, expected: Any) -> None:
    with closing(SqliteJournal.open(home / "journal.sqlite", ScriptedClock())) as journal:
        assert journal.moved_aside is None
        state, stamp = journal.load()
        assert stamp is not None
        assert stamp.sequence == expected["events"]
        assert state == replay(event for _, event in journal.read())
    then = expected["state"]
    assert of_then(json.loads(state_text(state)), then) == then


def test_the_account_is_that_of_then_at_every_place_that_was_noted(home: Path, expected: Any) -> None:
    then = {place["sequence"]: place for place in expected["accounts"]}
    found, state = dict[int, Any](), State()
    with JournalReader.open(home / "journal.sqlite") as journal:
        for stamp, event in journal.read():
            state = evolve(state, event)
            if stamp.sequence in then:
                found[stamp.sequence] = state.account(then[stamp.sequence]["at"])
    assert len(then) >= 7
    for sequence, place in then.items():
        assert of_then(found[sequence], place["account"]) == place["account"]


def read_lines(sheet: str) -> list[tuple[bool, str]]:
    """Each line of a sheet without its spacing, and whether it is marked as void.

    Version 0.1.0 put what was void between ~ signs; since then it has an x in the column "void".
    """
    found, column = list[tuple[bool, str]](), None
    for line in sheet.splitlines():
        if line.startswith("time ") and "void" in line:
            column = line.index("void")
        void = "~" in line
        if column is not None:
            void = void or line[column] == "x"
            line = line[:column] + line[column + len("void") :]  # noqa: PLW2901
        found.append((void, " ".join(line.replace("~", "").split())))
    return found


@pytest.mark.usefixtures("_utc")
def test_every_sheet_says_what_it_said_then(home: Path, expected: Any) -> None:
    then = sheets_of_then(expected)
    assert len(then) >= 6
    for number, sheet in then.items():
        found = crumbcall_prints(home, "sheet", str(number)).partition("\n\n- ")[0]
        assert read_lines(found) == read_lines(sheet)
        assert any(void for void, _ in read_lines(found)) is ("~" in sheet)


def test_sheets_print_that_could_not_be_printed_then(home: Path, expected: Any) -> None:
    for number in {number for number, *_ in expected["batches"]} - sheets_of_then(expected).keys():
        assert crumbcall_prints(home, "sheet", str(number)).startswith(f"Batch {number}\n")


def test_the_replay_is_verified(home: Path, expected: Any) -> None:
    assert crumbcall_prints(home, "ledger", "check") == (
        f"{expected['events']} events, {len(expected['batches'])} batches; replayed: the same state.\n"
    )


def test_the_batches_are_listed(home: Path, expected: Any) -> None:
    with JournalReader.open(home / "journal.sqlite") as journal:
        assert [[line.number, line.outcome, line.lot] for line in journal.batches()] == expected["batches"]


def test_it_goes_on(home: Path, expected: Any) -> None:
    path = home / "journal.sqlite"
    with closing(SqliteJournal.open(path, ScriptedClock())) as journal:
        (stamp,) = journal.append([LotNamed(at=9_999.0, lot="44")])
        before = journal.load()
    assert stamp.sequence == expected["events"] + 1
    with closing(SqliteJournal.open(path, ScriptedClock())) as journal:
        assert journal.load() == before


@pytest.mark.parametrize("older", range(1, len(MIGRATIONS)))
def test_a_file_with_the_tables_of_an_older_version_is_opened_whole(
    home: Path, tmp_path: Path, expected: Any, older: int
) -> None:
    """The same rows in the tables as they were at each step of the migrations."""
    path = tmp_path / "older.sqlite"
    with closing(sqlite3.connect(path, isolation_level=None)) as db:
        migrate(db, MIGRATIONS[:older])
        db.execute("ATTACH ? AS kept", (str(home / "journal.sqlite"),))
        for table in ("decisions", "events"):
            names = ", ".join(row[1] for row in db.execute(f"PRAGMA main.table_info({table})"))
            db.execute(f"INSERT INTO {table} ({names}) SELECT {names} FROM kept.{table}")
    with JournalReader.open(home / "journal.sqlite") as journal:
        lines = journal.batches()
    with closing(SqliteJournal.open(path, ScriptedClock())) as journal:
        state, _ = journal.load()
        assert journal.batches() == lines
    with closing(sqlite3.connect(path)) as db:
        assert version(db) == len(MIGRATIONS)
    then = expected["state"]
    assert of_then(json.loads(state_text(state)), then) == then
