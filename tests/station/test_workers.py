"""Workers that die are begun again; parts that are lost or hang are told once; the queue has a bound."""

import threading
from collections.abc import Callable
from queue import Queue

import pytest

from assistant.batch.record.commands import SayAgain
from assistant.errors import SoundError
from assistant.station.alive.inbox import FELL_BEHIND, Inbox
from assistant.station.alive.vital_parts import Parts
from assistant.station.loop import Loop
from assistant.station.messages import (
    Beat,
    Died,
    Found,
    Lost,
    Message,
    Noticed,
    Pressed,
    Recovered,
    Stop,
)
from assistant.station.workers import AGAIN_S, WELL_S, Worker
from tests.station.stand import Stand


class Waits(threading.Event):
    """Notes how long it was waited for, and does not wait."""

    def __init__(self) -> None:
        super().__init__()
        self.noted: list[float] = []

    def wait(self, timeout: float | None = None) -> bool:
        self.noted.append(timeout or 0.0)
        return self.is_set()


class Later:
    """What happens after a while, when the test says so."""

    def __init__(self, seconds: float, act: Callable[[], None]) -> None:
        self.seconds = seconds
        self.act = act
        self.started = False
        self.cancelled = False

    def start(self) -> None:
        self.started = True

    def cancel(self) -> None:
        self.cancelled = True


def _told(inbox: "Queue[Message]") -> list[Message]:
    return [inbox.get_nowait() for _ in range(inbox.qsize())]


@pytest.mark.parametrize(
    ("error", "cause"),
    [
        (ZeroDivisionError("by nothing"), "ZeroDivisionError: by nothing"),
        (SoundError("the speaker is gone"), "the speaker is gone"),
    ],
)
def test_a_worker_that_dies_is_told_once_and_begun_again_later_each_time(
    error: Exception, cause: str
) -> None:
    inbox: Queue[Message] = Queue()
    stop = Waits()
    runs = 0

    def run(_stop: threading.Event) -> None:
        nonlocal runs
        runs += 1
        if runs > len(AGAIN_S) + 1:
            return
        raise error

    Worker("page", run, inbox, stopping=stop, later=Later).start()._thread.join(5)
    assert stop.noted == [*AGAIN_S, AGAIN_S[-1]]
    assert _told(inbox) == [Died("page", cause)]


def test_a_worker_that_lives_again_is_told_to_be_well_and_may_be_told_to_die_again() -> None:
    inbox: Queue[Message] = Queue()
    stop, timers = Waits(), list[Later]()
    runs = 0

    def later(seconds: float, act: Callable[[], None]) -> Later:
        timers.append(Later(seconds, act))
        return timers[-1]

    def run(_stop: threading.Event) -> None:
        nonlocal runs
        runs += 1
        if runs == 2:
            timers[-1].act()
        if runs == 3:
            return
        raise ValueError("broken")

    Worker("lamp", run, inbox, stopping=stop, later=later).start()._thread.join(5)
    died = Died("lamp", "ValueError: broken")
    assert _told(inbox) == [died, Recovered("lamp"), died]
    assert [(one.seconds, one.started, one.cancelled) for one in timers] == [
        (WELL_S, False, True),
        (WELL_S, True, True),
        (WELL_S, True, True),
    ]
    assert stop.noted == [AGAIN_S[0], AGAIN_S[0]], "who was well begins with the shortest wait"


class Time:
    """A time that moves when told."""

    def __init__(self) -> None:
        self.now = 0.0

    def __call__(self) -> float:
        return self.now


def test_a_loss_is_told_once_and_its_end_once() -> None:
    inbox: Queue[Message] = Queue()
    parts = Parts(inbox, Time())
    parts.found("microphone")
    for cause in ("unplugged", "still unplugged"):
        parts.lost("microphone", cause)
    assert parts.gone == {"microphone": "still unplugged"}
    for _ in range(2):
        parts.found("microphone")
    assert _told(inbox) == [Lost("microphone", "unplugged"), Found("microphone")]
    assert parts.gone == {}


def test_what_is_missing_at_the_start_is_told_only_when_it_is_found() -> None:
    inbox: Queue[Message] = Queue()
    parts = Parts(inbox, Time())
    parts.missing("lamp", "no pin")
    parts.lost("lamp", "no pin")
    assert _told(inbox) == []
    parts.found("lamp")
    assert _told(inbox) == [Found("lamp")]


def test_a_device_that_hangs_is_told_and_the_watchdog_is_fed() -> None:
    inbox: Queue[Message] = Queue()
    time = Time()
    parts = Parts(inbox, time)
    parts.due("jug scale", 10)
    parts.due("foot switch", 10)
    parts.rests("foot switch")
    for now in (9.0, 11.0, 12.0):
        time.now = now
        parts.look()
    assert _told(inbox) == [Lost("jug scale", "it hangs")]
    assert parts.live
    parts.due("jug scale", 10)
    parts.look()
    assert _told(inbox) == [Found("jug scale")]


@pytest.mark.parametrize("part", ["microphone", "recogniser", "voice"])
def test_the_watchdog_is_not_fed_while_a_vital_part_hangs(part: str) -> None:
    time = Time()
    parts = Parts(Queue(), time)
    parts.due(part, 10)
    time.now = 9.0
    assert parts.live
    time.now = 11.0
    assert not parts.live
    parts.rests(part)
    assert parts.live


def test_of_too_many_messages_reports_are_left_out_and_never_a_command() -> None:
    inbox = Inbox(most=3)
    beat, command = Beat(lambda: None), Pressed(SayAgain())
    for message in (command, beat, Noticed("jug_dripped"), command, command, command):
        inbox.put(message)
    assert _told(inbox) == [command, FELL_BEHIND, command, command, command]
    assert inbox.left_out == 2
    inbox.put(command)
    assert _told(inbox) == [command]


def test_parts_are_told_by_what_they_are_to_the_cook() -> None:
    stand = Stand()
    told: list[str] = []
    inbox: Queue[Message] = Queue()
    messages = (
        Lost("recogniser", "hangs"),
        Found("recogniser"),
        Lost("speaker", "pulled"),
        Found("speaker"),
        Lost("voice", "hangs"),
        Found("voice"),
        Lost("lamp", "no pin"),
        Found("lamp"),
        Died("page", "broken"),
        Recovered("page"),
        FELL_BEHIND,
        Stop(),
    )
    for message in messages:
        inbox.put(message)
    Loop(stand.station, inbox, lambda turn, _: told.extend(one.text for one in turn.replies)).run()
    assert told == [
        "I can't hear. Timers still call.",
        "I can hear again.",
        "The speaker works again.",
        "The lamp has stopped. Timers still call.",
        "The lamp works again.",
        "The page has stopped. Timers still call.",
        "The page works again.",
        "I fell behind. Check the account.",
    ]
