"""Every device: absent at the start, appears, vanishes, comes back, hangs. The table of hardware/README.md.

The adapters and their workers are the real ones; what is plugged in is a fake. Nothing waits for time: each
wait of a worker is a step of the test. What this can't show is the real driver and its electrical side.
"""

import threading
from collections.abc import Iterator
from pathlib import Path
from queue import Queue

import pytest
from gpiozero.pins.mock import MockFactory

from assistant.station.alive.vital_parts import Parts
from assistant.station.messages import Found, Lost, Message
from tests.devices.rigs import (
    WAIT_S,
    Buzzer,
    FootSwitch,
    Lamp,
    MicrophoneRig,
    Pedal,
    Rig,
    ScaleOnI2c,
    ScaleOnSpi,
    SpeakerRig,
)

POLLED = [ScaleOnI2c, ScaleOnSpi, FootSwitch, Pedal, Lamp, Buzzer]
EVERY = [MicrophoneRig, SpeakerRig, *POLLED]
_MOST_STEPS = 2000


class Stepped(threading.Event):
    """Each wait is a step of the scenario; when that is over the worker is stopped."""

    def __init__(self, scenario: Iterator[None]) -> None:
        super().__init__()
        self._scenario = scenario
        self._steps = 0

    def wait(self, timeout: float | None = None) -> bool:  # noqa: ARG002
        self._steps += 1
        assert self._steps < _MOST_STEPS, "the worker never got there"
        if next(self._scenario, "over") == "over":
            self.set()
        return self.is_set()


def comes_and_goes(rig: Rig) -> Iterator[None]:
    """Absent at the start, appears, vanishes, comes back."""
    for number, change in enumerate((lambda: None, rig.plug, rig.unplug, rig.plug), start=1):
        change()
        while len(rig.told) < number:
            yield


@pytest.mark.parametrize("kind", EVERY)
def test_it_is_told_once_that_it_is_gone_and_once_that_it_is_back(
    kind: type[Rig], tmp_path: Path, factory: MockFactory
) -> None:
    rig = kind(tmp_path, factory)
    rig.run(Stepped(comes_and_goes(rig)))
    assert rig.told[:4] == ["gone", "back", "gone", "back"]


@pytest.mark.parametrize("kind", POLLED)
def test_one_that_hangs_in_its_driver_is_told_and_works_again_when_it_is_let_go(
    kind: type[Rig], tmp_path: Path, factory: MockFactory
) -> None:
    """Microphone and speaker hang in processes of their own, which are ended: audio/test_sound_apart.py."""
    rig = kind(tmp_path, factory)
    rig.plug()
    inbox: Queue[Message] = Queue()
    now = 0.0
    parts = Parts(inbox, lambda: now)
    hangs, go_on, worked, stop = (threading.Event() for _ in range(4))
    wedged = True

    def touched() -> None:
        if wedged:
            hangs.set()
            assert go_on.wait(WAIT_S)

    def alive() -> None:
        parts.due("device", 20.0)
        if not wedged:
            worked.set()

    rig.touched, rig.alive = touched, alive
    alive()
    worker = threading.Thread(target=rig.run, args=(stop,), daemon=True)
    worker.start()
    assert hangs.wait(WAIT_S)
    now = 21.0
    parts.look()
    parts.look()
    wedged = False
    go_on.set()
    assert worked.wait(WAIT_S)
    parts.look()
    stop.set()
    worker.join(WAIT_S)
    assert [inbox.get_nowait() for _ in range(inbox.qsize())] == [Lost("device", "it hangs"), Found("device")]
