"""Every command has help with an example; wrong input is one clear line and exit status 2."""

import json
from pathlib import Path

import click
import pytest
import soundfile

from assistant import __version__
from assistant.cli import crumbcall
from assistant.ports import SPEECH_RATE
from tests.asr.speech import espeak
from tests.cli.conftest import Run

NAMES = crumbcall.list_commands(click.Context(crumbcall))


def speed_line(found: str) -> str:
    """What is said of a wrong --speed."""
    return (
        f"Invalid value for '--speed': found '{found}', allowed is 0, or a number from 0.1 to 1000; "
        "give one of these. See `crumbcall rehearse --help`."
    )


@pytest.mark.parametrize("name", NAMES)
def test_help_has_an_example(run: Run, name: str) -> None:
    ran = run(name, "--help")
    assert ran.status == 0
    assert "Example: " in ran.out


def test_version(run: Run) -> None:
    assert run("--version").out == f"crumbcall {__version__}\n"


@pytest.mark.parametrize(
    ("arguments", "line"),
    [
        (["bake"], "No such command 'bake'. See `crumbcall --help`."),
        (["type", "--jso"], "No such option '--jso'. Did you mean '--json'? See `crumbcall type --help`."),
        (["hear"], "Missing argument 'WAV...'. See `crumbcall hear --help`."),
        (["hear", "none.wav"], "There is no file none.wav; give a WAV or FLAC file."),
        (["hear", "."], ". is a folder; give a WAV or FLAC file."),
        (["listen", "--from", "none.wav"], "There is no file none.wav; give a WAV or FLAC file."),
        (
            ["listen", "--board", "--from", "none.wav"],
            "A recording is heard at full speed and has no page; leave out --board or --from.",
        ),
        (["hear", "--grammar", "none.jsgf", "none.wav"], None),
        (["sheet", "0"], None),
        (["sheet", "four"], None),
        (["batches"], None),
        (["board", "--host", "no such"], None),
        *(
            (["rehearse", "--speed", speed], speed_line(speed))
            for speed in ("nan", "inf", "-1", "1e-308", "fast")
        ),
        (
            ["scale", "record", "x.csv", "--seconds", "nan"],
            "Invalid value for '--seconds': found 'nan', allowed is a number from 1 to 3600; "
            "give one of these. See `crumbcall scale record --help`.",
        ),
    ],
)
def test_wrong_input_is_one_clear_line(run: Run, arguments: list[str], line: str | None) -> None:
    ran = run(*arguments)
    assert ran.status == 2
    assert ran.out == ""
    assert len(ran.err.splitlines()) == 1
    if line is not None:
        assert ran.err == f"crumbcall: {line}\n"


def test_wrong_settings_are_one_clear_line_and_the_journal_is_not_touched(run: Run, tmp_path: Path) -> None:
    home = tmp_path / "home"
    home.mkdir()
    (home / "settings.toml").write_text("[batch]\ntarget_pct = 310\n", encoding="utf-8")
    ran = run("type", lines=["new batch 1500"])
    assert ran.status == 2
    assert len(ran.err.splitlines()) == 1
    assert "target_pct" in ran.err
    assert [path.name for path in home.iterdir()] == ["settings.toml"]


def test_a_home_that_is_a_file_is_one_clear_line(run: Run, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("", encoding="utf-8")
    ran = run("--home", str(tmp_path / "file"), "batches")
    assert ran.status == 2
    assert len(ran.err.splitlines()) == 1


def test_parse(run: Run) -> None:
    ran = run("parse", "--json", "water one fifty", "nice weather")
    assert ran.objects == [
        {"said": "water one fifty", "command": {"name": "water", "value": 150, "unit": "g", "grams": 150}},
        {"said": "nice weather", "command": None},
    ]
    assert run("parse", "watr one fifty").out.startswith(
        "watr one fifty: no command; did you mean: water one fifty"
    )


def test_parse_reads_a_bare_value_where_it_is_asked_for(run: Run) -> None:
    [alone] = run("parse", "--json", "two kilos").objects
    [asked] = run("parse", "--json", "--asking", "amount", "two kilos").objects
    assert alone["command"] is None
    assert asked["command"] == {"name": "given_amount", "value": 2, "unit": "kg", "grams": 2000}
    refused = run("parse", "--asking", "weight", "two kilos")
    assert (refused.status, len(refused.err.splitlines())) == (2, 1)


def test_hear_hears_a_bare_value_where_it_is_asked_for(run: Run, tmp_path: Path) -> None:
    path = tmp_path / "value.wav"
    soundfile.write(path, espeak("two kilos please").pcm, SPEECH_RATE)
    [alone] = run("hear", "--json", str(path)).objects
    [asked] = run("hear", "--json", "--asking", "amount", str(path)).objects
    assert [one["command"] for one in alone["utterances"]] == [None]
    assert [one["command"]["grams"] for one in asked["utterances"]] == [2000]


def test_what_was_written_down_can_be_looked_at(run: Run, tmp_path: Path) -> None:
    lines = ["lot 471", "new batch 1500", "water 465", "crumb ready", "extruding", "close batch"]
    run("type", "--clock", "scripted", lines=lines)
    assert "471" in run("batches").out
    [batch] = run("batches", "--json").objects
    assert (batch["number"], batch["water_g"], batch["outcome"]) == (1, 465.0, "closed")
    assert "hydration: 31.0 %" in run("sheet").out
    assert run("sheet", "1", "--markdown").out.startswith("# Batch 1\n")
    assert run("sheet", "--out", str(tmp_path / "sheet.txt")).out == ""
    assert (tmp_path / "sheet.txt").read_text(encoding="utf-8") == run("sheet").out
    assert run("sheet", "7").status == 2
    assert run("ledger", "check").out == "6 events, 1 batches; replayed: the same state.\n"
    shown = run("ledger", "show", "--last", "1", "--json").objects
    assert [event["event"] for event in shown] == ["BatchClosed"]
    assert run("ledger", "backup", str(tmp_path / "copy.sqlite")).status == 0
    assert run("ledger", "backup", str(tmp_path / "copy.sqlite")).status == 2


def test_the_ledger_answers_to_its_old_name_and_lists_only_the_new_one(run: Run) -> None:
    run("type", "--clock", "scripted", lines=["new batch 1500"])
    assert run("journal", "check").out == run("ledger", "check").out != ""
    listed = [line.split()[0] for line in run("--help").out.partition("Commands:")[2].splitlines()[1:]]
    assert "ledger" in listed
    assert "journal" not in listed


def test_a_damaged_journal_is_told_and_kept(run: Run, tmp_path: Path) -> None:
    run("type", "--clock", "scripted", lines=["new batch 1500"])
    file = tmp_path / "home" / "journal.sqlite"
    file.write_bytes(b"no journal" * 1000)
    ran = run("type", "--clock", "scripted", "--json", lines=[])
    assert ran.status == 0
    assert [reply["key"] for reply in ran.objects[0]["replies"]] == ["journal_lost", "journal_moved", "ready"]
    assert len(ran.err.splitlines()) == 1
    assert any(
        path.read_bytes().startswith(b"no journal") for path in file.parent.glob("journal.damaged-*.sqlite")
    )


def test_check_names_every_part_and_what_to_do(run: Run) -> None:
    ran = run("check", "--json")
    found = json.loads(ran.out)
    parts = {part["part"]: part for part in found["parts"]}
    assert {"journal", "recogniser", "endpointer", "voice", "microphone", "speaker", "wall clock"} <= set(
        parts
    )
    assert found["ready"] is (ran.status == 0)
    assert all(part["works"] or part["do"] for part in parts.values())


def test_what_breaks_inside_is_one_line(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(_file: Path) -> None:
        raise ZeroDivisionError("by nothing")

    monkeypatch.setattr("assistant.app.application.Settings.load", broken)
    ran = run("parse", "undo")
    assert ran.status == 2
    assert ran.err.startswith("crumbcall: Something broke inside Crumbcall (ZeroDivisionError: by nothing).")
    assert len(ran.err.splitlines()) == 1
