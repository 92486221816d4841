"""Who cooks is said by name: journaled, said back, and it counts from then on, over a restart too."""

from collections.abc import Sequence
from pathlib import Path

import pytest

from assistant.app.application import open_application
from assistant.asr.network import digest
from assistant.batch.record.events import Event
from assistant.cli.check.command import cooks_of
from assistant.config.hearing_file import cook_file, write_cook
from assistant.config.home import Home
from assistant.journal.reader import JournalReader
from assistant.station.forecasts import FlourBook
from tests.cli.conftest import Run

VOICE = {digest("kitchen"): {"θ": {"s": 0.12}}, digest("packaged"): {}}


@pytest.fixture
def home(tmp_path: Path) -> Home:
    folder = tmp_path / "home"
    folder.mkdir()
    (folder / "settings.toml").write_text(
        '[station]\ncook = "Cy"\ncooks = "Anna, Mary Jane"\n', encoding="utf-8"
    )
    home = Home(folder, folder)
    write_cook(cook_file(home.settings_file, "Ada"), VOICE, "remark")
    return home


def said(run: Run, *lines: str) -> list[str]:
    turns = run("type", "--clock", "scripted", "--json", lines=list(lines)).objects
    return [turn["replies"][0]["text"] for turn in turns if turn["said"]]


@pytest.mark.usefixtures("home")
def test_who_cooks_is_said_back_and_stays_over_a_restart(run: Run) -> None:
    assert said(run, "who is cooking", "anna is cooking", "who's cooking", "cook mary jane") == [
        "Cy cooks.",
        "Anna cooks now.",
        "Anna cooks.",
        "Mary Jane cooks now.",
    ]
    assert said(run, "who is cooking", "cook rigatoni") == ["Mary Jane cooks.", "Rigatoni, six minutes."]


def test_whose_judgement_a_crumb_is_follows(run: Run, home: Home) -> None:
    batch = ["new batch 1500", "water 465", "crumb dry"]
    said(run, *batch, "the cook is anna", "crumb ready")
    with JournalReader.open(home.journal_file) as journal:
        cooks = [getattr(event, "cook", "") for _, event in journal.batch(1)]
    assert [one for one in cooks if one] == ["Cy", "Anna", "Anna"]
    assert "cook: Anna" in run("sheet").out


def test_a_voice_that_is_kept_is_taken_at_the_next_start(run: Run, home: Home) -> None:
    assert said(run, "ada is cooking") == ["Ada cooks now. Heard as Ada from the next start."]
    app = open_application(home)
    assert app.cook.name == "Cy"
    with JournalReader.open(home.journal_file) as journal:
        state, _ = journal.load()
    assert app.listening_for(state.cook).cook.cook == VOICE
    assert app.listening_for(None) is app
    assert {one.part: one.found for one in cooks_of(app, state.cook)}["voice of Ada"] == "listened for"


def test_the_flour_memory_goes_by_who_cooks_now(
    run: Run, home: Home, monkeypatch: pytest.MonkeyPatch
) -> None:
    books: list[FlourBook] = []
    follow = FlourBook.follow

    def followed(book: FlourBook, events: Sequence[Event]) -> None:
        books.append(book)
        follow(book, events)

    monkeypatch.setattr(FlourBook, "follow", followed)
    said(run, "lot twelve")
    assert books[-1].cook == "Cy"
    said(run, "anna is cooking")
    assert books[-1].cook == "Anna"
    said(run, "lot twelve")
    assert books[-1].cook == "Anna"
    assert home.journal_file.exists()


@pytest.mark.usefixtures("home")
def test_a_name_that_nobody_has_names_nobody(run: Run) -> None:
    assert said(run, "zoe is cooking", "who is cooking")[1] == "Cy cooks."
