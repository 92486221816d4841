"""`crumbcall ledger`: verify, repair, backup, restore."""

import json
from pathlib import Path

import pytest

from assistant.app.keeping.journal_keeping import CopyKeeper
from assistant.clock import ScriptedClock
from assistant.config.home import Home
from assistant.journal.guard.copies import copies_in
from assistant.journal.store import SqliteJournal
from tests.cli.conftest import Run
from tests.journal.day import spoiled

LINES = ["lot 12", "new batch 1500", "water 300", "+60s", "water 50"]


@pytest.fixture
def journal(run: Run, tmp_path: Path) -> Path:
    """A journal with a batch in it."""
    run("type", "--clock", "scripted", lines=LINES)
    return tmp_path / "home" / "journal.sqlite"


def spoil(journal: Path) -> None:
    spoiled(journal, "UPDATE events SET body = replace(body, '300.0', '444.0') WHERE sequence = 3")


@pytest.mark.usefixtures("journal")
def test_a_sound_journal_is_verified(run: Run) -> None:
    assert run("ledger", "verify").out == "4 events in 4 decisions: all are what was written.\n"
    found = json.loads(run("ledger", "verify", "--json").out)
    assert (found["sound"], found["decisions"], found["problems"]) == (True, 4, [])


def test_the_first_decision_that_does_not_verify_is_named_with_what_it_says(run: Run, journal: Path) -> None:
    spoil(journal)
    for command in ("verify", "check"):
        ran = run("ledger", command)
        assert ran.status == 2
        assert "decision 3 (from entry 3 on): it is not what was written; it says" in ran.err
        assert '"grams":444.0' in ran.err
        assert ran.err.endswith("crumbcall ledger repair sets that aside, and keeps the rest.\n")
    ran = run("ledger", "verify", "--json")
    assert json.loads(ran.out)["problems"][0]["decision"] == 3


def test_repair_sets_aside_and_says_what_it_said(run: Run, journal: Path) -> None:
    spoil(journal)
    ran = run("ledger", "repair")
    assert ran.out.splitlines()[0] == "3 events are read. 0 mended, 1 set aside."
    assert "444.0" in ran.out
    assert run("ledger", "verify").out.startswith(
        "3 events in 3 decisions: all are what was written. 1 entries were set aside before."
    )
    assert "water:     50 g" in run("sheet").out


def test_repair_finds_in_a_copy_what_the_journal_has_not_any_more(run: Run, journal: Path) -> None:
    assert run("ledger", "backup").out.endswith("written.\n")
    assert run("ledger", "backup").out.endswith("is there already; name a file for another.\n")
    spoil(journal)
    assert run("ledger", "repair").out.startswith("4 events are read.")
    assert "water:     350 g" in run("sheet").out


def test_a_copy_is_put_back_and_what_was_there_is_kept(run: Run, journal: Path, tmp_path: Path) -> None:
    copy = tmp_path / "copy.sqlite"
    run("ledger", "backup", str(copy))
    run("type", "--clock", "scripted", lines=["water 20"])
    ran = run("ledger", "restore", str(copy))
    assert ran.out.startswith("4 events are back. What was there is in ")
    assert len(list(journal.parent.glob("journal.before-restore-*.sqlite"))) == 1
    assert "water:     350 g" in run("sheet").out


def test_what_can_not_be_restored_changes_nothing(run: Run, journal: Path, tmp_path: Path) -> None:
    before = journal.read_bytes()
    copy = tmp_path / "copy.sqlite"
    assert "there is no such copy" in run("ledger", "restore", str(copy)).err
    run("ledger", "backup", str(copy))
    spoil(copy)
    ran = run("ledger", "restore", str(copy))
    assert ran.status == 2
    assert "it is not what was written" in ran.err
    assert journal.read_bytes() == before


@pytest.mark.parametrize("command", [["repair"], ["restore", "copy"]])
def test_nothing_is_changed_under_a_station_that_runs(
    run: Run, journal: Path, tmp_path: Path, command: list[str]
) -> None:
    copy = tmp_path / "copy"
    run("ledger", "backup", str(copy))
    station = SqliteJournal.open(journal, ScriptedClock())
    ran = run("ledger", *[str(copy) if word == "copy" else word for word in command])
    station.close()
    assert ran.status == 2
    assert "another crumbcall is writing it; stop that one first" in ran.err


def test_an_end_that_is_lost_is_told_by_voice_and_on_the_terminal(run: Run, journal: Path) -> None:
    spoiled(
        journal,
        "DELETE FROM events WHERE sequence = 4",
        "DELETE FROM decisions WHERE decision = 4",
    )
    for command in (["sheet"], ["batches"], ["lots"], ["ledger", "show"]):
        ran = run(*command)
        assert "1 decisions are missing at its end" in ran.err
        assert (ran.status, bool(ran.out)) == (0, True), "what is there is shown"
    ran = run("ledger", "check")
    assert ran.status == 2
    assert "1 decisions are missing at its end" in ran.err
    ran = run("type", "--clock", "scripted", "--json", lines=[])
    assert ran.objects[0]["replies"][0]["key"] == "journal_lost"
    assert "The journal was damaged: 1 entries are lost" in ran.err


def test_the_worker_keeps_a_copy_and_tells_what_fails_once(journal: Path) -> None:
    told: list[str] = []
    said: list[str] = []
    home = Home.find(journal.parent)
    keeper = CopyKeeper(home, None, told.append, said.append)
    keeper.look()
    keeper.look()
    assert (len(copies_in(journal.parent / "copies")), told) == (1, [])
    for one in copies_in(journal.parent / "copies"):
        one.unlink()
    spoil(journal)
    keeper.look()
    keeper.look()
    (line,) = told
    assert line.startswith("No copy of the journal: ")
    assert said == ["journal_damaged"]
