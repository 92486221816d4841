"""A log on a full disk, a reader that went away, closed streams, silly files: the station goes on."""

import os
import subprocess
import sys
import threading
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import pytest

from assistant.app.application import open_application
from assistant.cli.hear import utterances
from assistant.config.home import Home
from assistant.ports import SPEECH_RATE, Asking, Pcm
from tests.asr.speech import espeak
from tests.cli.conftest import Run

LINES = "new batch two kilos\nwater one fifty\nwater ninety\n"


def crumbcall(home: Path, command: str, **streams: object) -> "subprocess.CompletedProcess[str]":
    """The program in a process of its own."""
    return subprocess.run(  # type: ignore[call-overload,no-any-return]
        [sys.executable, "-m", "assistant", "--home", str(home), *command.split()],
        text=True,
        check=False,
        **{"input": LINES, "stderr": subprocess.PIPE, **streams},
    )


def poured(home: Path) -> str:
    """What the journal has of the batch."""
    return crumbcall(home, "batches", stdout=subprocess.PIPE).stdout


def test_a_full_disk_under_the_output_loses_no_water(tmp_path: Path) -> None:
    with Path("/dev/full").open("w") as full:
        ran = crumbcall(tmp_path, "type", stdout=full)
    assert ran.returncode == 0
    assert ran.stderr == (
        "The output can't be written (No space left on device); the station goes on without it.\n"
    )
    assert " 240 g " in poured(tmp_path)


def test_a_reader_that_goes_away_loses_no_water(tmp_path: Path) -> None:
    reading, writing = os.pipe()
    os.close(reading)
    ran = crumbcall(tmp_path, "type", stdout=writing)
    os.close(writing)
    assert ran.returncode == 0
    assert " 240 g " in poured(tmp_path)


def test_a_command_that_can_print_nothing_says_so_in_one_line(tmp_path: Path) -> None:
    with Path("/dev/full").open("w") as full:
        ran = crumbcall(tmp_path, "check", stdout=full)
    assert ran.returncode == 2
    assert ran.stderr == (
        "crumbcall: The output can't be written (No space left on device); "
        "send it elsewhere and run it again.\n"
    )


@pytest.mark.parametrize("closed", [(0,), (1,), (2,), (0, 1, 2)])
def test_without_standard_streams_nothing_is_printed_into_the_journal(
    tmp_path: Path, closed: tuple[int, ...]
) -> None:
    def close() -> None:
        for number in closed:
            os.close(number)

    ran = crumbcall(tmp_path, "type", stdout=subprocess.DEVNULL, preexec_fn=close)
    assert ran.returncode == 0
    assert "Something broke" not in ran.stderr
    checked = crumbcall(tmp_path, "ledger check", stdout=subprocess.PIPE)
    assert checked.returncode == 0
    assert (" 240 g " in poured(tmp_path)) == (0 not in closed)


def test_a_pipe_is_not_waited_for(run: Run, tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    ran = run("hear", str(tmp_path / "pipe"))
    assert (ran.status, ran.err) == (
        2,
        f"crumbcall: {tmp_path / 'pipe'} is a pipe or a device; give a WAV or FLAC file.\n",
    )


def test_a_recording_is_heard_as_it_is_read(tmp_path: Path) -> None:
    """What was said at the beginning of ten hours is known before the rest was read."""
    app = open_application(Home.find(tmp_path))
    quiet = np.zeros(2 * SPEECH_RATE, np.int16)

    def endless() -> Iterator[Pcm]:
        yield np.concatenate([quiet, espeak("new batch two kilos").pcm, quiet])
        pytest.fail("read on before what was said is known")

    first = next(utterances(app, app.recogniser(), endless(), Asking.NOTHING))
    assert first["text"] == "new batch two kilos"


@pytest.mark.parametrize("name", ["batches", "ledger check", "type"])
def test_a_folder_that_may_not_be_entered(tmp_path: Path, name: str, as_a_user: Callable[[], None]) -> None:
    locked = tmp_path / "locked"
    locked.mkdir(mode=0)
    ran = crumbcall(locked / "home", name, stdout=subprocess.PIPE, preexec_fn=as_a_user)
    assert ran.returncode == 2
    assert ran.stderr.count("\n") == 1
    assert "Permission denied" in ran.stderr
    assert "Something broke" not in ran.stderr


@pytest.fixture
def as_a_user() -> Callable[[], None]:
    """Take root's right to enter any folder from a process that is to begin."""
    import ctypes

    def drop() -> None:
        if os.geteuid() == 0:
            dac_override, dac_read_search, pr_capbset_drop = 1, 2, 24
            for capability in (dac_override, dac_read_search):
                ctypes.CDLL(None).prctl(pr_capbset_drop, capability, 0, 0, 0)

    return drop


def test_a_machine_without_memory_is_told_in_one_line(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    def no_thread(_self: threading.Thread) -> None:
        raise RuntimeError("can't start new thread")

    monkeypatch.setattr(threading.Thread, "start", no_thread)
    ran = run("type", lines=["new batch two kilos"])
    assert ran.status == 2
    assert ran.err == (
        "crumbcall: This machine has no memory left for crumbcall; "
        "stop other programs, then start it again.\n"
    )
