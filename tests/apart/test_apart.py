"""A process of our own: values there and back, and an end whatever it does."""

import os
import signal
import sys
from pathlib import Path

import pytest

from assistant.apart import MOST_LINES, Apart, Once
from assistant.errors import ApartError

ECHO = """
import sys
from assistant.apart import inside
channel = inside(sys.argv[1])
while True:
    if channel.ready(60):
        channel.send(channel.receive(0))
"""
HANGS = """
import signal, sys
from assistant.apart import inside
channel = inside(sys.argv[1])
for one in (signal.SIGTERM, signal.SIGINT, signal.SIGHUP):
    signal.signal(one, signal.SIG_IGN)
channel.send("hangs")
while True:
    signal.pause()
"""
LOUD = """
import sys
from assistant.apart import inside
channel = inside(sys.argv[1])
for line in range(100_000):
    sys.stderr.write(f"line {line}\\n")
channel.send("done")
channel.ready(60)
"""


@pytest.fixture
def module(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """File of a module that a process can run."""
    monkeypatch.setenv("PYTHONPATH", os.pathsep.join([str(tmp_path), *sys.path]))
    return tmp_path / "tried_apart.py"


def test_values_go_there_and_back(module: Path) -> None:
    module.write_text(ECHO)
    apart = Apart("tried_apart", name="echo")
    try:
        for value in (b"\0" * 400_000, {"a": 1.5}, None):
            apart.send(value)
            assert apart.receive(30) == value
    finally:
        apart.kill()


def test_one_that_heeds_no_signal_is_ended_and_waited_for(module: Path) -> None:
    module.write_text(HANGS)
    apart = Apart("tried_apart", name="driver")
    assert apart.receive(30) == "hangs"
    with pytest.raises(ApartError) as silence:
        apart.receive(0.0)
    assert str(silence.value) == "the driver does not answer for 0 s"
    apart.kill()
    assert apart._process.returncode == -signal.SIGKILL
    with pytest.raises(ApartError, match=r"^the driver is gone \("):
        apart.send("more")


def test_one_that_ends_is_gone(module: Path) -> None:
    module.write_text("")
    apart = Apart("tried_apart", name="driver")
    with pytest.raises(ApartError) as gone:
        apart.receive(30)
    assert str(gone.value) == "the driver is gone (it ended)"
    apart.kill()


def test_a_flood_of_its_messages_is_read_and_not_shown(module: Path) -> None:
    module.write_text(LOUD)
    shown: list[str] = []
    apart = Apart("tried_apart", name="driver", show=shown.append)
    assert apart.receive(30) == "done"
    apart.kill()
    told = [f"line {line}" for line in range(MOST_LINES)]
    assert shown == [*told, "... what else the driver writes is not shown"]


def test_what_every_process_of_a_kind_says_is_shown_once() -> None:
    shown: list[str] = []
    show = Once(shown.append, most=3)
    for line in ("no card", "underrun", "no card", "underrun", "third", "fourth"):
        show(line)
    assert shown == ["no card\n", "underrun\n", "third\n"]
