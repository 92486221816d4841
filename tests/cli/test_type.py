"""`crumbcall type` keeps its contract: lines in, JSON out, a clock that lines move, the state at the end."""

from pathlib import Path

import pytest

from tests.cli.conftest import Run
from tests.journal.full_disk import no_room

TYPE = ("type", "--clock", "scripted", "--json")


def test_a_batch_from_a_pipe(run: Run) -> None:
    ran = run(
        *TYPE,
        "--state",
        lines=[
            "lot 471",
            "new batch fifteen hundred",
            "water one fifty",
            "did you see the match",
            "water one eighty",
            "mix",
            "+1h",
            "got it",
        ],
    )
    assert (ran.status, ran.err) == (0, "")
    *turns, state = ran.objects
    assert turns[2] == {
        "at": 0.0,
        "said": "water one fifty",
        "command": {"name": "water", "value": 150, "unit": "g", "grams": 150},
        "replies": [
            {"key": "water_in", "text": "One fifty in."},
            {"key": "left", "text": "Three fifteen left."},
        ],
    }
    keys = [reply["key"] for reply in turns[3].pop("replies")]
    assert turns[3] == {"at": 0.0, "said": "did you see the match", "command": None}
    assert keys == ["not_understood"]
    by_itself = [turn for turn in turns if turn["said"] is None]
    assert [turn["at"] for turn in by_itself[:3]] == [90.0, 120.0, 135.0]
    assert by_itself[0]["replies"][0]["key"] == "mix_warning"
    assert by_itself[1]["replies"][0]["key"] == "mix_rings"
    assert turns[-1]["at"] == 3600.0
    assert state == {
        "phase": "squeezing",
        "flour_g": 1500.0,
        "water_g": 330.0,
        "hydration_pct": 22.0,
        "target_pct": 31.0,
        "low_pct": 30.0,
        "high_pct": 33.0,
        "to_target_g": 135.0,
        "to_low_g": 120.0,
        "to_high_g": 165.0,
        "crumb": None,
        "timers": [],
        "lot": "471",
        "batch": 1,
    }


def test_a_batch_goes_on_in_the_next_run(run: Run) -> None:
    run(*TYPE, lines=["new batch fifteen hundred", "water four thirty", "timer two ten minutes"])
    first, second = run(*TYPE, lines=["undo"]).objects
    assert [reply["key"] for reply in first["replies"]] == ["batch_resumed", "times_unsure"]
    assert first["said"] is None
    assert [reply["key"] for reply in second["replies"]] == ["undone_timer"]


@pytest.mark.parametrize(
    ("line", "seconds"), [("+90s", 90.0), ("+2m", 120.0), ("+1h30m", 5400.0), ("+0.5s", 0.5)]
)
def test_time_moves_as_it_is_told(run: Run, line: str, seconds: float) -> None:
    assert run(*TYPE, lines=[line, "time left"]).objects[0]["at"] == seconds


@pytest.mark.parametrize("line", ["+", "+x", "+90", "+1s1m", "+-5s"])
def test_a_time_that_is_none_is_one_clear_line(run: Run, line: str) -> None:
    ran = run(*TYPE, lines=["new batch 1500", line])
    assert ran.status == 2
    assert ran.err == f"crumbcall: {line!r} is not a time to move by; write +90s, +2m or +1h30m.\n"
    assert run(*TYPE, lines=[]).objects[0]["replies"][0]["key"] == "batch_resumed"


@pytest.mark.parametrize("line", ["+745h", f"+{'9' * 400}h"])
def test_a_jump_that_is_too_far_is_one_clear_line(run: Run, line: str) -> None:
    ran = run(*TYPE, lines=["new batch 1500", line])
    assert ran.status == 2
    assert ran.err == f"crumbcall: {line!r} is too far, allowed are 31 days (+744h); move in smaller steps.\n"


def test_dialogue_for_people(run: Run) -> None:
    ran = run("type", "--clock", "scripted", lines=["new batch 2000", "+61m", "how much left"])
    assert ran.out.splitlines()[-2:] == [
        "1:01:00  cook       how much left",
        "1:01:00  crumbcall  Six twenty to target, six sixty to high.",
    ]


def test_real_time_ends_with_the_lines(run: Run) -> None:
    ran = run("type", "--json", lines=["new batch 1500", "water 150"])
    assert [turn["command"]["name"] for turn in ran.objects] == ["new_batch", "water"]
    assert ran.status == 0


def test_a_line_of_nonsense_and_an_empty_one_do_no_harm(run: Run) -> None:
    ran = run(
        *TYPE,
        "--state",
        lines=["", "   ", "\x00\x07", "é" * 5000, "water", "water -5", "water 1e9", "water nan"],
    )
    assert ran.status == 0
    assert ran.objects[-1]["batch"] is None


def test_two_stations_on_one_journal_are_told_apart(run: Run, tmp_path: Path) -> None:
    from assistant.clock import ScriptedClock
    from assistant.config.home import Home
    from assistant.journal.store import SqliteJournal

    home = Home.find(tmp_path / "home")
    home.make()
    other = SqliteJournal.open(home.journal_file, ScriptedClock())
    ran = run(*TYPE, lines=["new batch 1500"])
    other.close()
    assert ran.status == 2
    assert len(ran.err.splitlines()) == 1
    assert str(home.journal_file) in ran.err


def test_without_room_on_the_disk_it_runs_a_batch_and_says_what_is_lost_at_the_end(
    run: Run, tmp_path: Path
) -> None:
    run(*TYPE, lines=["new batch 1500", "water 150"])
    with no_room():
        ran = run(*TYPE, "--state", lines=["water 100", "timer two one minute", "+1m", "got it"])
    keys = [[reply["key"] for reply in one["replies"]] for one in ran.objects[:-1]]
    assert keys == [
        ["not_written", "batch_resumed", "times_unsure"],
        ["water_in", "left"],
        ["timer_set"],
        ["timer_rings"],
        ["got_it"],
    ]
    assert ran.objects[-1]["water_g"] == 250
    assert ran.status == 2
    begun, lost = ran.err.splitlines()
    file = tmp_path / "home" / "journal.sqlite"
    assert begun == (
        f"{file}: the disk fails; check it. The station goes on in memory and writes as soon as it can; "
        "until then a power cut loses what is said."
    )
    assert lost == (
        f"crumbcall: {file}: the disk fails; check it. 5 decisions could not be written and are lost; "
        "copy the account from the terminal"
    )
    assert run(*TYPE, "--state", lines=["how much in"]).objects[-1]["water_g"] == 150
