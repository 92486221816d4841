"""The sign of life bounds what a power cut leaves unknown."""

import threading
from pathlib import Path

import pytest

from assistant.clock import ScriptedClock
from assistant.ports import Stamp
from assistant.station.alive.heartbeat import Heartbeat
from assistant.station.station import shift_since


def clock(boot: str = "one", now: float = 100.0) -> ScriptedClock:
    made = ScriptedClock(wall=1000.0, boot=boot)
    made.move(now - made.monotonic())
    return made


def stamp(boot: str = "one", monotonic: float = 100.0) -> Stamp:
    return Stamp(7, 1000.0, monotonic, boot, wall_trusted=False)


def test_the_last_sign_of_life_counts_for_the_time_that_ran(tmp_path: Path) -> None:
    before = clock()
    heart = Heartbeat(tmp_path / "heartbeat.json", before)
    last = stamp()
    before.move(1800.0)
    heart.beat()
    found = heart.latest(last)
    assert found is not None
    assert (found.sequence, found.monotonic, found.boot) == (7, 1900.0, "one")
    # Half an hour of rest ran before the cut: the new boot's clock takes it over, and is still not certain.
    assert shift_since(found, clock("two", 5.0)) == (5.0 - 1900.0, False)


def test_of_another_boot_or_older_it_does_not_count(tmp_path: Path) -> None:
    heart = Heartbeat(tmp_path / "heartbeat.json", clock())
    heart.beat()
    for last in (stamp("zero"), stamp(monotonic=100.0), None):
        assert heart.latest(last) == last


@pytest.mark.parametrize("text", ["", "{", '{"boot": 3}', "\x00"])
def test_a_damaged_one_does_not_count(tmp_path: Path, text: str) -> None:
    (tmp_path / "heartbeat.json").write_text(text, encoding="utf-8")
    assert Heartbeat(tmp_path / "heartbeat.json", clock()).latest(stamp()) == stamp()


def test_a_folder_that_is_gone_costs_only_the_sign(tmp_path: Path) -> None:
    heart = Heartbeat(tmp_path / "gone" / "heartbeat.json", clock())
    heart.beat()
    assert heart.latest(stamp()) == stamp()


def test_it_ends_when_it_is_told(tmp_path: Path) -> None:
    stop = threading.Event()
    stop.set()
    Heartbeat(tmp_path / "heartbeat.json", clock()).run(stop)
    assert not (tmp_path / "heartbeat.json").exists()
