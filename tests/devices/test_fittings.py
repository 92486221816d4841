from queue import Queue

import pytest
from gpiozero.pins.mock import MockFactory

from assistant.devices.lamp import BEEPS, DARK, FAST, LONG_BEEPS, SLOW, STEADY, WINK, Blinker, Pattern
from assistant.fittings import Fittings, open_fittings
from assistant.loop import Found, Lost, Message, Turn
from assistant.settings import PinSettings, Settings
from tests.station.stand import Stand


class _Shown(Blinker):
    def __init__(self) -> None:
        self.patterns: list[Pattern] = []

    def show(self, pattern: Pattern) -> None:
        self.patterns.append(pattern)


class Kit:
    """A station with lamp and buzzer; gives what each turn showed."""

    def __init__(self) -> None:
        self.stand = Stand()
        self.lamp, self.buzzer = _Shown(), _Shown()
        self.fittings = Fittings(self.lamp, self.buzzer)

    def follow(self, turn: Turn, message: Message | None = None) -> Pattern:
        self.fittings.follow(turn, message, self.stand.station.state)
        return self.lamp.patterns[-1]

    def say(self, text: str) -> Pattern:
        return self.follow(self.stand.station.hear(text))

    def wait(self, seconds: float) -> Pattern:
        self.stand.clock.move(seconds)
        return self.follow(self.stand.station.due())


def test_the_lamp_follows_the_turns() -> None:
    kit = Kit()
    assert kit.say("new batch fifteen hundred") == WINK
    assert kit.say("pass me the salt") == STEADY
    assert kit.say("water six hundred") == SLOW
    assert kit.say("no") == WINK
    assert kit.say("stop listening") == DARK
    assert kit.say("start listening") == WINK


def test_a_ringing_timer_shows_and_sounds_until_it_is_silenced() -> None:
    kit = Kit()
    kit.say("timer three ten minutes")
    assert kit.buzzer.patterns == []
    assert kit.wait(600) == FAST
    assert kit.buzzer.patterns == [BEEPS]
    assert kit.say("pass me the salt") == FAST
    for _ in range(4):
        assert kit.wait(15) == FAST
    assert kit.buzzer.patterns[-1] == LONG_BEEPS
    assert kit.say("got it") == WINK


def test_a_lost_microphone_is_a_dark_lamp() -> None:
    kit = Kit()
    lost, found = Lost("microphone", "gone"), Found("microphone")
    assert kit.follow(kit.stand.station.tell("cannot_hear"), lost) == DARK
    assert kit.follow(kit.stand.station.tell("ready"), Lost("speaker", "gone")) == DARK
    assert kit.follow(kit.stand.station.tell("hearing_again"), found) == STEADY


@pytest.mark.usefixtures("factory")
def test_nothing_is_fitted_unless_it_is_named() -> None:
    told: list[str] = []
    fittings = open_fittings(Settings(), told.append)
    assert fittings.workers(Queue()) == []
    assert told == []


def test_what_is_named_is_fitted_and_lit(factory: MockFactory) -> None:
    told: list[str] = []
    fittings = open_fittings(Settings(pins=PinSettings(lamp=17, buzzer=27)), told.append)
    workers = fittings.workers(Queue())
    assert [worker.name for worker in workers] == ["lamp", "buzzer"]
    for worker in workers:
        worker.start().stop()
        assert not worker.alive
    assert factory.pin(17).state == 0
    assert told == []


@pytest.mark.usefixtures("factory")
def test_a_part_that_cant_be_used_is_told_and_left_out() -> None:
    told: list[str] = []
    taken = open_fittings(Settings(pins=PinSettings(lamp=17)), told.append)
    fittings = open_fittings(Settings(pins=PinSettings(lamp=17, buzzer=27)), told.append)
    assert [worker.name for worker in fittings.workers(Queue())] == ["buzzer"]
    assert [line.partition(" (")[0] for line in told] == ["The lamp on GPIO 17 can't be used"]
    del taken
